"""How much clay an illuvial horizon must hold, given that of the eluvial horizon above: the three-part rule of each convention.

The steps are data: ``tables/clay_increase.toml``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from .tables import table


@dataclass(frozen=True, slots=True)
class Rule:
    """``within_cm``: vertical distance within which the increase must be reached; infinite where the source states none."""

    name: str
    source: str
    within_cm: float
    steps: tuple[tuple[float, float, float], ...]
    """(below this % of eluvial clay, added %, factor), from low to high."""


@cache
def clay_rule(convention: str) -> Rule:
    """The rule of a convention; KeyError where there is none."""
    entry = table("clay_increase")[convention]
    steps = tuple((step.get("below", np.inf), step.get("add", 0.0), step.get("times", 1.0)) for step in entry["steps"])
    return Rule(entry["name"], entry["source"], entry.get("within_cm", np.inf), steps)


def least_illuvial_clay(eluvial, convention: str) -> np.ndarray:
    """Least clay (%, array of the same shape) of the illuvial horizon below one of ``eluvial`` % clay; NaN stays NaN.

    Source: see :func:`clay_rule` of the convention.
    """
    eluvial = np.asarray(eluvial, dtype=float)
    least = np.full(eluvial.shape, np.nan)
    with np.errstate(invalid="ignore"):
        for below, add, times in reversed(clay_rule(convention).steps):
            least = np.where(eluvial < below, np.round(eluvial * times + add, 9), least)
    return least
