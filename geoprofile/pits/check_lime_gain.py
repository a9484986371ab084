"""The Canadian ca: thicker than 10 cm, and richer in carbonate than the parent material.

Source: Canadian System of Soil Classification 1998, chapter 2 (the relative limit from memory, not checked against the print).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..problems import Problem
from .profiles import Profiles, rounding

THICKER_THAN_CM = 10.0
RICH_PERCENT, ADDED, FACTOR = 15.0, 5.0, 4 / 3
"""CaCO3 below RICH_PERCENT must pass that of the parent material by ADDED (13 against 8); from there on by a third (28 against 21)."""


def check_lime_gain(all_: Profiles) -> Iterator[Problem]:
    """Runs of ca horizons by thickness, each ca horizon by its carbonate."""
    if all_.convention != "canadian":
        return
    enriched = all_.flags(lambda one: one.has("ca") and not one.organic)
    if not enriched.any():
        return
    yield from _thin(all_, enriched)
    yield from _poor(all_, enriched)


def greatest_reach(all_: Profiles) -> tuple[np.ndarray, np.ndarray]:
    """Shallowest top and deepest base that the record allows, cm; the base is infinite where observation ended in the horizon."""
    top_low, base_high = all_.column("upper_low_cm"), all_.column("lower_high_cm")
    top = np.where(np.isfinite(top_low), top_low, all_.upper)
    base = np.where(np.isfinite(base_high), base_high, all_.lower)
    ends = all_.frame["lower_is_end"].to_numpy(dtype=bool) if "lower_is_end" in all_.frame else np.zeros(len(top), bool)
    return top, np.where(np.isnan(base) | ends, np.inf, base)


def runs_of(all_: Profiles, flags: np.ndarray) -> list[np.ndarray]:
    """Rows of each unbroken run of flagged rows within a pit."""
    rows = np.flatnonzero(flags)
    if not len(rows):
        return []
    cut = (np.diff(rows) > 1) | (np.diff(all_.pit[rows]) != 0)
    return np.split(rows, np.flatnonzero(cut) + 1)


def _thin(all_: Profiles, enriched: np.ndarray) -> Iterator[Problem]:
    top, base = greatest_reach(all_)
    for run in runs_of(all_, enriched):
        thickness = base[run[-1]] - top[run[0]]
        if thickness <= THICKER_THAN_CM:
            yield all_.problem(run[0], "warning", "carbonate enrichment", f"ca is written, but its horizon is too thin for it ({all_.span(run[0])})",
                               field="designation", found=f"{thickness:g} cm", allowed=f"thicker than {THICKER_THAN_CM:g} cm",
                               remedy="write k if it only effervesces, or look at the depths")


def _poor(all_: Profiles, enriched: np.ndarray) -> Iterator[Problem]:
    """Each ca against the poorest C of the same material below it, within the rounding of the laboratory."""
    lime = all_.column("caco3_percent")
    if not np.isfinite(lime[enriched]).any():
        return
    half = rounding(lime)
    parent = all_.flags(lambda one: one.known and one.master == "C" and not one.has("ca"))
    for row in np.flatnonzero(enriched & np.isfinite(lime)):
        below = all_.rows_of(all_.pit[row])
        below = below[(below > row) & parent[below] & np.isfinite(lime[below]) & (all_.material[below] == all_.material[row])]
        if not len(below):
            continue
        least = below[np.argmin(lime[below])]
        base = max(lime[least] - half, 0.0)
        needed = base + ADDED if lime[row] < RICH_PERCENT else base * FACTOR
        if lime[row] + half < needed:
            rule = f"{ADDED:g} % more" if lime[row] < RICH_PERCENT else "a third more"
            yield all_.problem(row, "warning", "carbonate enrichment", f"ca is written, but its carbonate hardly passes that of {all_.span(least)} ({all_.span(row)})",
                               field="caco3_percent", found=f"{lime[row]:g} against {lime[least]:g} %", allowed=f"{rule} than the parent material",
                               remedy="write k, or look at the measurements")
