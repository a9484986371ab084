"""Depths of a profile that do not go together: order, gaps, overlaps, missing, inverted or of no thickness (R23)."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..problems import Problem
from .check_depth_unit import factor_told
from .places import place_of
from .profiles import Profiles

SNAP_CM = 0.5
"""Gaps and overlaps up to this are rounding, cm (R23)."""

DEEPEST_CM = 300.0
"""Deeper than this is asked about: is the unit right? (common practice, no source)"""


def check_depths(all_: Profiles) -> Iterator[Problem]:
    """Every fault of depths, check by check."""
    for check in (_repeated, _missing_depths, _inverted, _order, _overlaps_and_gaps, _surface, _too_deep):
        yield from check(all_)


def _repeated(all_: Profiles) -> Iterator[Problem]:
    rows = all_.as_given.iloc[np.sort(all_.repeated)]
    for _, of_pit in rows.groupby(rows["pit_id"].astype("str"), sort=False):
        yield Problem(
            "warning",
            "repeated",
            f"{_horizons(len(of_pit))} of this pit listed twice, with the same designation and depths",
            field="pit_id",
            remedy="remove one copy, or give the second pit an id of its own",
            **place_of(of_pit.iloc[0]),
        )


def _horizons(count: int) -> str:
    return "one horizon" if count == 1 else f"{count} horizons"


def _missing_depths(all_: Profiles) -> Iterator[Problem]:
    for row in np.flatnonzero(np.isnan(all_.upper)):
        yield all_.problem(
            row,
            "error",
            "missing depth",
            f"{all_.name_of(row)} has no upper depth",
            field="upper_cm",
            remedy="add the depth; the horizon is not used",
        )
    # rows without an upper depth sort last within their pit and must not stand for a next horizon
    followed = all_.same_pit & np.append(np.isfinite(all_.upper[1:]), False)
    for row in np.flatnonzero(np.isnan(all_.lower) & np.isfinite(all_.upper) & followed):
        yield all_.problem(
            row,
            "warning",
            "missing depth",
            f"{all_.span(row)} has no lower depth, yet {all_.span(row + 1)} follows",
            field="lower_cm",
            remedy=f"write {all_.upper[row + 1]:g} if it reaches down to it",
        )


def _inverted(all_: Profiles) -> Iterator[Problem]:
    with np.errstate(invalid="ignore"):
        inverted, none = all_.lower < all_.upper, all_.lower == all_.upper
    for row in np.flatnonzero(inverted):
        yield all_.problem(
            row,
            "error",
            "inverted",
            f"{all_.name_of(row)} ends above where it begins",
            field="lower_cm",
            found=f"{all_.upper[row]:g}-{all_.lower[row]:g}",
            remedy="exchange or correct the two depths",
        )
    for row in np.flatnonzero(none):
        yield all_.problem(
            row,
            "error",
            "zero thickness",
            f"{all_.name_of(row)} has no thickness",
            field="lower_cm",
            found=f"{all_.upper[row]:g}-{all_.lower[row]:g}",
            remedy="correct the depths, or leave out a horizon that is not there",
        )


def _order(all_: Profiles) -> Iterator[Problem]:
    frame = all_.as_given.iloc[all_.by_row]
    upper = frame["upper_cm"].to_numpy(dtype=float)
    previous = frame["upper_cm"].astype(float).groupby(frame["pit_id"].astype("str"), sort=False).shift().to_numpy()
    with np.errstate(invalid="ignore"):
        back = upper < previous
    for row in np.flatnonzero(back):
        yield Problem(
            "note",
            "order",
            "horizons are not written from top to bottom: they were put in order of depth",
            field="upper_cm",
            found=f"{upper[row]:g} cm follows {previous[row]:g} cm",
            **place_of(frame.iloc[row]),
        )


def _overlaps_and_gaps(all_: Profiles) -> Iterator[Problem]:
    """Between neighbours; limits of wavy boundaries count (``100-120/130`` meets ``125``)."""
    low, high = (
        np.where(np.isnan(one), all_.lower, one) for one in (all_.column("lower_low_cm"), all_.column("lower_high_cm"))
    )
    next_low = np.append(
        np.where(np.isnan(all_.column("upper_low_cm")), all_.upper, all_.column("upper_low_cm"))[1:], np.nan
    )
    next_high = np.append(
        np.where(np.isnan(all_.column("upper_high_cm")), all_.upper, all_.column("upper_high_cm"))[1:], np.nan
    )
    with np.errstate(invalid="ignore"):
        sound = all_.same_pit & (all_.lower > all_.upper)
        overlap = sound & (np.fmin(low, all_.lower) > next_high + SNAP_CM)
        gap = sound & (np.fmax(high, all_.lower) < next_low - SNAP_CM)
    for row in np.flatnonzero(overlap):
        twice = all_.upper[row] == all_.upper[row + 1]
        what = (
            f"{all_.span(row)} and {all_.span(row + 1)} begin at the same depth"
            if twice
            else f"{all_.span(row)} reaches below the top of {all_.span(row + 1)}"
        )
        yield all_.problem(
            row + 1,
            "warning",
            "overlap",
            what,
            field="upper_cm",
            found=f"{np.fmin(all_.lower[row], all_.lower[row + 1]) - all_.upper[row + 1]:g} cm twice",
            allowed=f"{SNAP_CM:g} cm",
            remedy="correct the depths; until then averages over them lie between what both horizons say",
        )
    for row in np.flatnonzero(gap):
        yield all_.problem(
            row + 1,
            "warning",
            "gap",
            f"nothing is described between {all_.span(row)} and {all_.span(row + 1)}",
            field="upper_cm",
            found=f"{all_.upper[row + 1] - all_.lower[row]:g} cm",
            allowed=f"{SNAP_CM:g} cm",
            remedy="add the missing horizon or correct the depths",
        )


def _surface(all_: Profiles) -> Iterator[Problem]:
    first = np.append(True, all_.pit[1:] != all_.pit[:-1])
    with np.errstate(invalid="ignore"):
        late = first & (all_.upper > SNAP_CM)
        above = (all_.upper < 0) & ~all_.flags(lambda one: one.organic or not one.parts or one.master == "W")
    for row in np.flatnonzero(late):
        yield all_.problem(
            row,
            "warning",
            "surface",
            f"the first horizon described, {all_.span(row)}, does not start at the surface",
            field="upper_cm",
            found=f"{all_.upper[row]:g} cm",
            allowed="0 cm, or organic layers above it",
            remedy="add what lies above, or correct the depths",
        )
    for row in np.flatnonzero(above):
        yield all_.problem(
            row,
            "warning",
            "surface",
            f"{all_.span(row)} lies above the mineral surface, yet is not organic",
            field="upper_cm",
            remedy="check the depths, and how organic layers are counted in this pit",
        )


def _too_deep(all_: Profiles) -> Iterator[Problem]:
    deepest = all_.deepest
    observed = all_.pit_numbers("observed_to_cm")
    with np.errstate(invalid="ignore"):
        only_observed = (observed > DEEPEST_CM) & ~(deepest > DEEPEST_CM) & ~factor_told(observed, deepest)
    for pit in np.flatnonzero(only_observed):
        yield all_.pit_problem(
            pit,
            "warning",
            "unit",
            f"the depth observed is {observed[pit]:g} cm, the deepest horizon reaches {deepest[pit]:g} cm",
            field="observed_to_cm",
            allowed=f"{DEEPEST_CM:g} cm without being asked about",
            remedy="check that the depth observed and its unit are right: a layer that was not met is read as deeper than it",
        )
    for pit in np.flatnonzero(deepest > DEEPEST_CM):
        yield all_.pit_problem(
            pit,
            "warning",
            "unit",
            f"the deepest horizon reaches {deepest[pit]:g} cm",
            field="lower_cm",
            allowed=f"{DEEPEST_CM:g} cm without being asked about",
            remedy="check that the unit of depths is right",
        )
