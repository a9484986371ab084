"""Letters of sodium and salts against what was measured."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from ..problems import Problem
from .check_lime_gain import greatest_reach, runs_of
from .profiles import Profiles, rounding

CALCIUM_TO_SODIUM = 10.0
"""Canadian n: exchangeable calcium to sodium of at most this (Canadian System of Soil Classification 1998, chapters 2 and 12)."""

NATRIC_SAR = 13.0
"""Sodium adsorption ratio of a natric horizon (Keys to Soil Taxonomy, from memory). The USDA letter n itself has no limit."""

SALINE = 4.0
"""EC of the saturation paste, dS/m, of the Canadian sa; at least 10 cm thick and a third above that of the C (all from memory)."""

NOT_SALINE = 2.0
"""EC of the saturation paste, dS/m, up to which a soil is called nonsaline (Soil Survey Manual 2017, from memory)."""

_CALCIUM = re.compile(r"\b(?:calcium|Ca)\s*[:=]?\s*(\d+(?:\.\d+)?)(?![\d.]*\s*%)")
_SODIUM = re.compile(r"\b(?:sodium|Na)\s*[:=]?\s*(\d+(?:\.\d+)?)(?![\d.]*\s*%)")
SALT_THICKNESS_CM, SALT_FACTOR = 10.0, 4 / 3


def check_salts(all_: Profiles) -> Iterator[Problem]:
    """n against exchangeable cations or SAR; sa and z against conductivity and thickness."""
    yield from _sodium(all_)
    yield from _conductivity(all_)
    if all_.convention == "canadian":
        yield from _thin(all_)


def _sodium(all_: Profiles) -> Iterator[Problem]:
    sodic = all_.flags(lambda one: one.has("n") and "B" in one.master)
    calcium, sodium = _cations(all_, sodic)
    if all_.convention == "canadian":
        with np.errstate(invalid="ignore", divide="ignore"):
            least = (calcium - rounding(calcium)) / (sodium + rounding(sodium))
            rows = np.flatnonzero(sodic & (sodium >= 0) & (least > CALCIUM_TO_SODIUM))
        for row in rows:
            ratio = f"{calcium[row] / sodium[row]:.1f}" if sodium[row] else "no sodium"
            yield all_.problem(row, "warning", "sodium", f"n is written, but there is much more calcium than sodium ({all_.span(row)})",
                               field="exchangeable_sodium", found=f"Ca {calcium[row]:g}, Na {sodium[row]:g}: {ratio}",
                               allowed=f"calcium to sodium of {CALCIUM_TO_SODIUM:g} or less",
                               remedy="write nj if only the structure shows it, or look at the analysis")
        return
    sar = all_.column("sar")
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero(sodic & (sar + rounding(sar) < NATRIC_SAR)) if all_.convention == "usda" else ()
    for row in rows:
        yield all_.problem(row, "note", "sodium", f"n is written, but the sodium adsorption ratio is low ({all_.span(row)})", field="sar",
                           found=f"{sar[row]:g}", allowed=f"{NATRIC_SAR:g} or more in a natric horizon; n itself has no limit",
                           remedy="nothing to do if n only means an accumulation; else look at the analysis")


def _cations(all_: Profiles, sodic: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Exchangeable calcium and sodium (n,): from their columns, else from remarks that name both (``calcium 10.8, sodium 0.7``)."""
    calcium, sodium = all_.column("exchangeable_calcium").copy(), all_.column("exchangeable_sodium").copy()
    remarks = all_.text("remarks")
    for row in np.flatnonzero(sodic & ~(np.isfinite(calcium) & np.isfinite(sodium))):
        found = [pattern.search(remarks[row]) for pattern in (_CALCIUM, _SODIUM)]
        if all(found):
            calcium[row], sodium[row] = (float(one.group(1)) for one in found)
    return calcium, sodium


def _conductivity(all_: Profiles) -> Iterator[Problem]:
    """Only pastes are compared: other extracts read lower. Where no extract is said the finding is a note."""
    ec = all_.column("ec_ds_m")
    extract = np.array([text.casefold() for text in all_.text("ec_extract")], dtype=object)
    paste = np.array([not text or "paste" in text or text in ("ece", "saturated", "saturation extract") for text in extract], bool)
    letters, limit = (("sa", SALINE) if all_.convention == "canadian" else ("z", NOT_SALINE))
    salty = all_.flags(lambda one: one.has(letters) and not one.organic)
    half = rounding(ec)
    with np.errstate(invalid="ignore"):
        weak = salty & paste & (ec + half < limit)
    for row in np.flatnonzero(weak):
        yield all_.problem(row, "warning" if extract[row] else "note", "salts", f"{letters} is written, but the conductivity is low ({all_.span(row)})",
                           field="ec_ds_m", found=f"{ec[row]:g} dS/m" + (f", {extract[row]}" if extract[row] else ", the extract is not said"),
                           allowed=f"{limit:g} dS/m or more in the saturation paste",
                           remedy="say the extract (paste, 1:2, 1:5), or leave the letter out")
    if all_.convention != "canadian":
        return
    parent = all_.flags(lambda one: one.known and one.master == "C" and not one.has("sa"))
    for row in np.flatnonzero(salty & np.isfinite(ec) & ~weak):
        below = all_.rows_of(all_.pit[row])
        below = below[(below > row) & parent[below] & np.isfinite(ec[below]) & (extract[below] == extract[row])]
        if len(below) and ec[row] + half < (ec[below].min() - half) * SALT_FACTOR:
            least = below[np.argmin(ec[below])]
            yield all_.problem(row, "warning", "salts", f"sa is written, but its conductivity hardly passes that of {all_.span(least)} ({all_.span(row)})",
                               field="ec_ds_m", found=f"{ec[row]:g} against {ec[least]:g} dS/m", allowed="a third more than the C",
                               remedy="leave sa out, or look at the measurements")


def _thin(all_: Profiles) -> Iterator[Problem]:
    top, base = greatest_reach(all_)
    for run in runs_of(all_, all_.flags(lambda one: one.has("sa") and not one.organic)):
        thickness = base[run[-1]] - top[run[0]]
        if thickness < SALT_THICKNESS_CM:
            yield all_.problem(run[0], "warning", "salts", f"sa is written, but its horizon is too thin for it ({all_.span(run[0])})", field="designation",
                               found=f"{thickness:g} cm", allowed=f"{SALT_THICKNESS_CM:g} cm or more", remedy="write s if salts are only visible, or look at the depths")
