"""Depths in another unit than the stated one: whole surveys too shallow to be soil, and depths observed that differ by the factor of two units."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..problems import Problem, counted
from .profiles import Profiles

SHALLOWEST_CM = 3.0
"""A profile that ends above this is asked about: is the unit right? (common practice, no source)"""

LARGEST_FRACTION_CM = 5.0
"""Boundaries such as 0.15, 0.4 or 1.2 below this are what metres or feet look like (common practice, no source)."""

NEARLY_ALL = 0.9
FACTORS = ((100.0, "m"), (30.48, "ft"), (10.0, "mm"), (2.54, "in"))
"""Ratio of two units of depth and the unit beside cm (exact by definition), the telling ones first."""
NEAR = 0.015
ALONE = 30.0
"""A factor this large is told of a single pit; smaller ones come by chance and are told where most pits have them."""


def check_depth_unit(all_: Profiles) -> Iterator[Problem]:
    """Whether depths can be in the unit that is stated."""
    yield from _too_shallow(all_)
    yield from _another_unit_observed(all_)


def by_factor(observed: np.ndarray, deepest: np.ndarray) -> Iterator[tuple[np.ndarray, float, str, bool]]:
    """Pits whose two depths (n,), cm, differ by the factor of a unit: (positions, factor, unit, whether the observed is the larger)."""
    with np.errstate(invalid="ignore", divide="ignore"):
        both = (observed > 0) & (deepest > 0)
        ratio = np.where(both, observed / deepest, np.nan)
        for factor, unit in FACTORS:
            for more in (True, False):
                pits = np.flatnonzero(np.abs(np.log(ratio) - (1 if more else -1) * np.log(factor)) < NEAR)
                if len(pits) and (factor > ALONE or (len(pits) >= 3 and len(pits) >= both.sum() / 2)):
                    yield pits, factor, unit, more


def factor_told(observed: np.ndarray, deepest: np.ndarray) -> np.ndarray:
    """(n,) whether ``by_factor`` tells of the pit."""
    told = np.zeros(len(observed), bool)
    for pits, *_ in by_factor(observed, deepest):
        told[pits] = True
    return told


def _too_shallow(all_: Profiles) -> Iterator[Problem]:
    """All of a survey in metres or feet is told once; so are the few pits of it that are."""
    bounds = np.concatenate([all_.upper, all_.lower])
    of_pit = np.concatenate([all_.pit, all_.pit])
    below = np.isfinite(bounds) & (bounds > 0)
    bounds, of_pit = bounds[below], of_pit[below]
    if not len(bounds):
        return
    deepest = all_.deepest
    known = deepest > 0
    shallow = known & (deepest <= SHALLOWEST_CM)
    fraction = (bounds < LARGEST_FRACTION_CM) & (np.abs(bounds - np.round(bounds)) > 1e-6)
    if shallow.sum() >= NEARLY_ALL * known.sum() or fraction.mean() > 0.5:
        unit = "m" if np.median(deepest[known]) <= SHALLOWEST_CM else "ft"
        yield Problem(
            "warning",
            "unit",
            f"these depths look like {'metres' if unit == 'm' else 'metres or feet'}, and are read as centimetres",
            field="lower_cm",
            found=f"{counted(int(known.sum()), 'profile')}, half of them no deeper than {np.median(deepest[known]):g} cm, the deepest {deepest.max():g} cm",
            allowed=f"profiles that go below {SHALLOWEST_CM:g} cm, boundaries in whole centimetres",
            remedy=f'say depth_unit = "{unit}" in [pits]' + (' (or "m")' if unit == "ft" else "") + " if they are; correct the heading where it states cm",
        )
        return
    horizons = np.bincount(all_.pit[np.isfinite(all_.upper)], minlength=len(all_.names))
    # whole centimetres over rock are a shallow soil, not metres
    pits = np.flatnonzero(shallow & (horizons > 1) & (np.bincount(of_pit, fraction, minlength=len(all_.names)) > 0))
    if len(pits):
        yield all_.pit_problem(
            pits[0],
            "warning",
            "unit",
            f"{counted(len(pits), 'profile')} of several horizons end{'s' if len(pits) == 1 else ''} above {SHALLOWEST_CM:g} cm, the others do not: "
            "are these depths in metres?",
            field="lower_cm",
            found=", ".join(f"{all_.names[pit]} to {deepest[pit]:g} cm" for pit in pits[:12]) + (" ..." if len(pits) > 12 else ""),
            remedy="write the unit into the cells, as 0.4 m, or the depths in centimetres",
        )


def _another_unit_observed(all_: Profiles) -> Iterator[Problem]:
    """Depths observed that are a hundredth, a tenth or so of the last horizon's, or the reverse: one of the two is in another unit."""
    observed = all_.pit_numbers("observed_to_cm")
    deepest = all_.deepest
    for pits, factor, unit, more in by_factor(observed, deepest):
        # metres, feet and inches are larger than cm: the smaller number is in them; of millimetres it is the larger
        horizons_in = (unit != "mm") == more
        yield all_.pit_problem(
            pits[0],
            "warning",
            "depth observed",
            f"in {counted(len(pits), 'pit')} the depth observed is {f'{factor:g} times' if more else f'1/{factor:g} of'} the base of the last horizon: "
            "one of the two is in another unit",
            field="observed_to_cm",
            found=f"{observed[pits[0]]:g} cm observed, {deepest[pits[0]]:g} cm described" + (f"; pits {_some(all_.names[pits])}" if len(pits) > 1 else ""),
            remedy=f'if {"the horizons are" if horizons_in else "the depth observed is"} in {unit}, write both units into the headings in place of depth_unit, as '
            + ("lower ({}), observed to ({})".format(*((unit, "cm") if horizons_in else ("cm", unit)))),
        )


def _some(names: np.ndarray) -> str:
    return ", ".join(str(name) for name in names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")
