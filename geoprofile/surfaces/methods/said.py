"""What pits say, on the scale that is modelled.

A pit says a value, or only a bound: a value known between limits narrower than a twentieth of the
spread is a reading with an error of that width; all other limits stay limits.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from ...kernels import kriging as kernel
from ...kernels.back_transform import forward
from .contract import CannotFit, MethodSettings, Observations, number
from .kriging import drift_columns

NARROW = 0.05
"""Limits nearer than this share of the measured values' standard deviation are a reading with variance width^2 / 12."""
MOSTLY = 2 / 3
"""A larger share of pits that say only a bound is remarked on."""


@dataclass(frozen=True)
class Said:
    """Observations on the modelled scale: ``low`` = ``high`` where measured, with an error variance where not quite."""

    points: np.ndarray
    low: np.ndarray
    high: np.ndarray
    error_variance: np.ndarray

    @property
    def exact(self) -> np.ndarray:
        return self.low == self.high

    def take(self, which: np.ndarray) -> Said:
        return Said(self.points[which], self.low[which], self.high[which], self.error_variance[which])


def what_pits_say(
    observations: Observations, power: float | None, transform: str, needed: int
) -> tuple[Said, tuple[str, ...]]:
    """Observations on the modelled scale, narrow limits as readings; and the sentence about bounds.

    Where fewer than ``needed`` values were measured all pairs of limits are readings with the error
    of their width: without some values the limits cannot be placed.
    """
    low, high = observations.low, observations.high
    if transform == "log" and (high <= 0).any():
        raise CannotFit(
            "a logarithm needs values above 0, and some pits say 0: choose transform = \"square_root\", or absent_as = \"two_part\" "
            "where 0 means absent"
        )
    low, high = forward(low, power), forward(high, power)
    exact = observations.low == observations.high
    error = np.zeros(len(low))
    narrow = np.zeros(len(low), bool)
    both = ~exact & np.isfinite(low) & np.isfinite(high)
    if exact.sum() < needed:
        narrow = both
    elif exact.sum() > 1:
        narrow = both & (high - low < NARROW * low[exact].std())
    if narrow.any():
        error[narrow] = (high[narrow] - low[narrow]) ** 2 / 12
        middle = low.copy()
        middle[narrow] = (low[narrow] + high[narrow]) / 2
        low, high = middle, np.where(narrow, middle, high)
    said = Said(observations.points, low, high, error)
    left = ~said.exact
    kinds = Counter(
        np.select([np.isposinf(high[left]), np.isneginf(low[left])], ["at least", "at most"], "between two limits").tolist()
    )
    notes = ()
    if left.any():
        parts = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
        notes += (f"{int(left.sum())} of {len(low)} pits say only a bound ({parts}): each counts for what it says, none as a value",)
    deep = left if observations.absent is None else left & ~observations.absent
    if deep.sum() > MOSTLY * len(low):
        notes += (
            "most pits say only a bound: depths beyond them rest on the shape of the normal distribution, not on pits; trust the "
            "chance of less than a limit (less_than_cm)",
        )
    if narrow.any():
        why = "known within narrow limits" if exact.sum() >= needed else "known between two limits, where hardly any pit has a value,"
        notes += (f"{int(narrow.sum())} pits {why} are readings with an error of that width",)
    return said, notes


def columns_of(observations: Observations) -> tuple[np.ndarray | None, np.ndarray, np.ndarray]:
    return (None, np.empty(0), np.empty(0)) if observations.drift is None else drift_columns(observations)


def trend_of(columns: np.ndarray | None, observations: Observations) -> np.ndarray:
    trend = kernel.with_constant(columns, len(observations))
    groups = observations.strata
    if groups is not None:  # a mean of its own for each stratum, or its pits would speak through the common mean
        trend = np.column_stack([groups[:, None] == np.unique(groups)[None, :], trend[:, 1:]]).astype(float)
    return trend


def repeated_readings(observations: Observations, settings: MethodSettings, said: Said) -> tuple[np.ndarray, np.ndarray] | None:
    """Readings behind each value and their squares about it, where they tell of the nugget: as error of measurement, untransformed."""
    repeats = observations.repeats
    if repeats is None or not settings.nugget_is_error or settings.transform != "none":
        return None
    repeats = np.where(said.exact, repeats, 1)
    return None if (repeats <= 1).all() else (repeats, np.where(said.exact, observations.within, 0.0))


def unit_on(observations: Observations, power: float | None) -> str:
    return observations.unit if power is None else ""


def scale_words(power: float | None, floor: bool) -> str:
    words = ""
    if power is not None:
        name = {0.0: "the logarithm", 0.5: "the square root"}.get(power, f"a Box-Cox scale of power {number(power)}")
        words = (
            f"; modelled on {name} (numbers of the model are on that scale), estimates are means and intervals quantiles, both taken back"
        )
    if floor:
        words += "; absent is at most 0 of a thickness that fades out (latent form)"
    return words
