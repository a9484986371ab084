"""What values are possible, and how probable it is to lie below a limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

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
    """Probability of less than ``limit`` (> 0) under the normal prediction; clipping at 0 does not change it."""
    from scipy.special import ndtr

    with np.errstate(divide="ignore", invalid="ignore"):
        score = (limit - prediction.estimate) / np.sqrt(prediction.variance)
    return np.where(prediction.variance > 0, ndtr(score), np.where(np.isnan(prediction.estimate), np.nan, prediction.estimate < limit))


def clip_sentence(raw: np.ndarray, clipped: np.ndarray, shown: np.ndarray, unit: str) -> str:
    moved = shown & (raw != clipped) & np.isfinite(raw)
    if not moved.any():
        return ""
    return (
        f"{int(moved.sum())} cells ({100 * moved.sum() / shown.sum():.1f} %) had impossible estimates and were set to the "
        f"nearest possible one; the largest change was {number(float(np.abs(raw - clipped)[moved].max()))} {unit}"
    )
