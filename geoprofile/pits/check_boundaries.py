"""What is said of a boundary against its depths, and depths that are only ranges.

Source: WRB 2022 Annex 1 Tables 8.30 and 8.31 (after Schoeneberger et al. 2012): distinctness is the thickness of the
transition; smooth is a plane, broken is discontinuous.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from ..problems import Problem
from .profiles import Profiles

_DOUBT = re.compile(r"\b(uncertain|doubtful|illegible|unreadable|not (?:legible|readable|printed)|figures? unclear)\b", re.IGNORECASE)
READING_CM = 1.0
"""A depth is read to this, cm (ours): a range no wider than this beyond the transition is no contradiction."""


def check_boundaries(all_: Profiles) -> Iterator[Problem]:
    """Smooth boundaries whose depth varies, transitions thicker than the horizon, depths given as ranges."""
    distinctness = all_.terms("boundary_distinctness", "boundary_distinctness")
    form = all_.term_names("boundary_form", "boundary_form")
    low, high = all_.column("lower_low_cm"), all_.column("lower_high_cm")
    with np.errstate(invalid="ignore"):
        range_ = high - low
    yield from _smooth(all_, distinctness, form, range_)
    yield from _thicker_than_horizon(all_, distinctness)
    yield from _next_depth(all_, distinctness)
    yield from _uncertain(all_, form)


def _smooth(all_: Profiles, distinctness: np.ndarray, form: np.ndarray, range_: np.ndarray) -> Iterator[Problem]:
    # a diffuse boundary has no limit of thickness: any range fits it; one without a word of distinctness has none to give
    widest = np.array([0.0 if one is None else one.high or np.inf for one in distinctness], dtype=float)
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((form == "smooth") & (range_ > widest + READING_CM))
    for row in rows:
        words = " ".join(one for one in (distinctness[row].name if distinctness[row] else "", "smooth") if one)
        yield all_.problem(row, "note", "boundary", f"the lower boundary is {words}, yet its depth varies by {range_[row]:g} cm ({all_.span(row)})", field="boundary_form",
                           found=f"{all_.column('lower_low_cm')[row]:g} to {all_.column('lower_high_cm')[row]:g} cm", allowed="one depth within the transition: smooth is a plane",
                           remedy="write wavy or irregular, or one depth; the range is used")


def _thicker_than_horizon(all_: Profiles, distinctness: np.ndarray) -> Iterator[Problem]:
    """A transition is centred on its boundary: half of it lies in the horizon, which must hold it. Organic horizons have other classes."""
    least = np.array([one.low if one and one.low else 0.0 for one in distinctness], dtype=float)
    thickness = all_.lower - all_.upper
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero(all_.same_pit & all_.mineral & (thickness > 0) & (least / 2 >= thickness))
    for row in rows:
        yield all_.problem(row, "note", "boundary", f"a {distinctness[row].name} boundary is wider than the horizon itself ({all_.span(row)})", field="boundary_distinctness",
                           found=f"{thickness[row]:g} cm thick", allowed=f"a transition of {least[row]:g} cm or more needs more soil", remedy="look at the boundary and at the depths")


def _next_depth(all_: Profiles, distinctness: np.ndarray) -> Iterator[Problem]:
    """Depths that part or overlap by more than the transition: the next horizon does not begin where this one ends."""
    widest = np.array([one.high if one and one.high else np.nan for one in distinctness], dtype=float)
    following = np.append(all_.upper[1:], np.nan)
    ends = np.where(np.isnan(all_.column("lower_high_cm")), all_.lower, all_.column("lower_high_cm"))
    starts = np.where(np.isnan(all_.column("lower_low_cm")), all_.lower, all_.column("lower_low_cm"))
    with np.errstate(invalid="ignore"):
        off = np.fmax(following - ends, starts - following)
        rows = np.flatnonzero(all_.same_pit & (off > 0.5) & (off > widest))
    for row in rows:
        how = "part" if following[row] > all_.lower[row] else "overlap"
        yield all_.problem(row, "note", "boundary", f"the boundary is {distinctness[row].name}, yet {all_.span(row)} and {all_.span(row + 1)} {how} by {off[row]:g} cm", field="boundary_distinctness",
                           found=f"{all_.lower[row]:g} and {following[row]:g} cm", allowed=f"within {widest[row]:g} cm", remedy="correct the depths, or the boundary")


def _uncertain(all_: Profiles, form: np.ndarray) -> Iterator[Problem]:
    """Depths known only as a range that no wavy boundary explains, and figures that the notes themselves call doubtful; once for all."""
    waves = np.isin(form.astype(str), ("wavy", "irregular", "broken")) | np.array([" to " in text for text in all_.text("boundary_form")], bool)
    over = np.append(False, all_.same_pit[:-1])
    wide = _is_range(all_, "lower") & ~waves
    wide |= _is_range(all_, "upper") & ~over
    doubtful = np.array([bool(_DOUBT.search(text)) for text in all_.text("remarks")], bool)
    of_pit = np.array([bool(_DOUBT.search(text)) for text in all_.pit_text("remarks")], bool)[all_.pit] & ~over
    rows = np.flatnonzero(wide | doubtful | of_pit)
    if len(rows):
        many = f"{len(rows)} horizons" if len(rows) > 1 else "one horizon"
        yield all_.problem(rows[0], "note", "uncertain figures", f"figures of {many} are only known as a range, were read as about, or are called doubtful in the remarks", field="lower_cm",
                           found=f"first: {_range(all_, rows[0])}; pits {all_.some_pits(rows)}", allowed="ranges are kept: what is made of them is a range too",
                           remedy="write the depth itself, or that the boundary is wavy; use doubtful figures with care")


def _is_range(all_: Profiles, side: str) -> np.ndarray:
    with np.errstate(invalid="ignore"):
        return all_.column(f"{side}_high_cm") - all_.column(f"{side}_low_cm") > 0


def _range(all_: Profiles, row: int) -> str:
    for side in ("lower", "upper"):
        low, high = all_.column(f"{side}_low_cm")[row], all_.column(f"{side}_high_cm")[row]
        if high > low:
            return f"{all_.name_of(row)} {'down to' if side == 'lower' else 'from'} {low:g} to {high:g} cm"
    return all_.span(row)
