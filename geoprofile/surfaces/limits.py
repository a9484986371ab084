"""What values are possible, and how probable it is to lie below or above a limit."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np

from ..kernels.back_transform import share_below
from ..products import AttributeDefinition
from .methods.contract import MethodSettings, Prediction, number

SHOWN, MOVED, FARTHEST = "cells shown", "cells moved", "farthest moved by "


@dataclass(frozen=True)
class Clip:
    """What the map does to impossible values: the nearest possible one is taken."""

    lowest: float
    highest: float

    def __call__(self, prediction: Prediction) -> Prediction:
        return replace(
            prediction,
            **{name: np.clip(getattr(prediction, name), self.lowest, self.highest) for name in ("estimate", "low90", "high90")},
        )


def clip_for(definition: AttributeDefinition) -> Clip:
    """Depths and thicknesses end at 0, shares at 0 and 100 %."""
    lowest = 0.0 if definition.kind in ("depth", "thickness") or definition.unit == "%" else -np.inf
    return Clip(lowest, 100.0 if definition.unit == "%" else np.inf)


def limits_of(definition: AttributeDefinition, choice: MethodSettings) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Limits of the chances of less and of more, in the attribute's unit; those in cm are for attributes in cm."""
    pairs = (choice.less_than, choice.less_than_cm), (choice.more_than, choice.more_than_cm)
    return tuple(tuple(sorted({*own, *(in_cm if definition.unit == "cm" else ())})) for own, in_cm in pairs)


def probability_below(prediction: Prediction, limit: float) -> np.ndarray:
    """Probability of less than ``limit`` (> 0) under the prediction; clipping at 0 does not change it."""
    if prediction.middle is None:
        return share_below(limit, prediction.estimate, prediction.variance, None)
    plain = np.isnan(prediction.middle)
    middle = np.where(plain, prediction.estimate, prediction.middle)
    variance = np.where(plain, prediction.variance, prediction.deviation**2)
    power, below = prediction.power, np.full(prediction.estimate.shape, np.nan)
    known = np.isfinite(prediction.estimate)
    for one in [None, *np.unique(power[np.isfinite(power)])]:
        own = known & (np.isnan(power) if one is None else power == one)
        below[own] = share_below(limit, middle[own], variance[own], None if one is None else float(one))
    atom = np.where(plain, 0.0, prediction.atom)
    return atom + (1.0 - atom) * below


def probability_above(prediction: Prediction, limit: float) -> np.ndarray:
    """Probability of more than ``limit`` (>= 0) under the prediction: what is known to be the limit is not more."""
    at_limit = (prediction.variance == 0) & (prediction.estimate == limit)
    return np.where(at_limit, 0.0, 1.0 - probability_below(prediction, limit))


def clip_counts(raw: np.ndarray, clipped: np.ndarray, shown: np.ndarray) -> Counter:
    """Of one window: cells shown, cells among them that were moved, and how far the farthest was, as a key: a greatest value is no sum."""
    moved = shown & (raw != clipped) & np.isfinite(raw)
    counts = Counter({SHOWN: int(shown.sum())})
    if moved.any():
        counts[MOVED] = int(moved.sum())
        counts[f"{FARTHEST}{float(np.abs(raw - clipped)[moved].max())!r}"] = 1
    return counts


def clip_sentence(counts: Counter, unit: str) -> str:
    """What :func:`clip_counts` found over all windows; empty where nothing was moved."""
    if not counts[MOVED]:
        return ""
    farthest = max(float(key.removeprefix(FARTHEST)) for key in counts if key.startswith(FARTHEST))
    return (
        f"{counts[MOVED]} cells ({100 * counts[MOVED] / counts[SHOWN]:.1f} %) had impossible estimates and were set to the "
        f"nearest possible one; the largest change was {number(farthest)} {unit}"
    )
