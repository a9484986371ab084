"""What values are possible, and how probable it is to lie below a limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..kernels.back_transform import share_below
from ..products import AttributeDefinition
from .methods.contract import Prediction, number


def clip_for(definition: AttributeDefinition):
    """What the map does to impossible values: depths and thicknesses end at 0, shares at 0 and 100 %."""
    lowest = 0.0 if definition.kind in ("depth", "thickness") or definition.unit == "%" else -np.inf
    highest = 100.0 if definition.unit == "%" else np.inf

    def clip(prediction: Prediction) -> Prediction:
        return replace(
            prediction,
            **{name: np.clip(getattr(prediction, name), lowest, highest) for name in ("estimate", "low90", "high90")},
        )

    return clip


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


def clip_sentence(raw: np.ndarray, clipped: np.ndarray, shown: np.ndarray, unit: str) -> str:
    moved = shown & (raw != clipped) & np.isfinite(raw)
    if not moved.any():
        return ""
    return (
        f"{int(moved.sum())} cells ({100 * moved.sum() / shown.sum():.1f} %) had impossible estimates and were set to the "
        f"nearest possible one; the largest change was {number(float(np.abs(raw - clipped)[moved].max()))} {unit}"
    )
