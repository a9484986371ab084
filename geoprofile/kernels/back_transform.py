"""From a normal prediction on the scale that was modelled to the scale that people read.

The scale is a power (Box & Cox 1964, JRSS B 26:211-252): t(y) = (y^power - 1) / power,
the logarithm at power 0; ``None`` is no transform. Back again

    estimate       the mean of what is predicted, not the back-transform of the mean
    90 % interval  the 5 and 95 % quantiles, back-transformed

so both belong to one distribution: its mean is unbiased for sums and means over areas,
its quantiles hold nine in ten. For the logarithm the mean is exp(m + v / 2), for the
square root and for what ends at 0 it has a closed form, for other powers it is
integrated (Gauss-Hermite, 32 nodes). With ``floor`` everything below 0 is 0: the
feature is absent there (Tobin 1958).
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

Z90 = 1.6448536269514722
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(32)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


def forward(values: np.ndarray, power: float | None) -> np.ndarray:
    """The modelled scale; what lies below 0 counts as 0, infinite limits stay infinite."""
    values = np.asarray(values, float)
    if power is None:
        return values
    positive = np.maximum(values, 0.0)
    with np.errstate(divide="ignore"):
        moved = np.log(positive) if power == 0 else (positive**power - 1.0) / power
    return np.where(np.isneginf(values), -np.inf, moved)


def backward(values: np.ndarray, power: float | None) -> np.ndarray:
    """The scale that people read."""
    if power is None:
        return values
    if power == 0:
        return np.exp(values)
    return np.maximum(power * values + 1.0, 0.0) ** (1.0 / power)


def read_back(
    mean: np.ndarray, variance: np.ndarray, power: float | None, floor: bool = False
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Estimate, variance and both ends of the 90 % interval of arrays of normal predictions, in one shape."""
    deviation = np.sqrt(variance)
    low, high = (backward(mean + side * deviation, power) for side in (-Z90, Z90))
    if power is None and not floor:
        return mean, variance, low, high
    if power is None:
        first, second = _floored(mean, deviation, 2)
        return first, np.maximum(second - first**2, 0.0), np.maximum(low, 0.0), np.maximum(high, 0.0)
    if power == 0:
        estimate = np.exp(mean + variance / 2)
        return estimate, estimate**2 * np.expm1(variance), low, high
    if power == 0.5:
        _, first, _, second = _floored(mean / 2 + 1.0, deviation / 2, 4)
        return first, np.maximum(second - first**2, 0.0), low, high
    first, second = np.zeros_like(mean), np.zeros_like(mean)
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        value = backward(mean + node * deviation, power)
        first += weight * value
        second += weight * value * value
    return first, np.maximum(second - first**2, 0.0), low, high


def _floored(mean: np.ndarray, deviation: np.ndarray, orders: int) -> tuple[np.ndarray, ...]:
    """Moments 1 to ``orders`` (2 or 4) of max(0, W), W normal (Johnson, Kotz & Balakrishnan 1994)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(deviation > 0, mean / deviation, np.where(mean > 0, np.inf, -np.inf))
    above = ndtr(z)
    edge = np.where(np.isfinite(z), deviation * np.exp(-0.5 * np.where(np.isfinite(z), z, 0.0) ** 2) / np.sqrt(2 * np.pi), 0.0)
    square = deviation**2
    moments = [above, mean * above + edge]
    for order in range(2, orders + 1):
        # E W^n+ = m E W^(n-1)+ + (n - 1) s^2 E W^(n-2)+, by parts
        moments.append(mean * moments[-1] + (order - 1) * square * moments[-2])
    return tuple(np.maximum(moment, 0.0) for moment in moments[1:])


def share_below(
    limit: float, mean: np.ndarray, variance: np.ndarray, power: float | None
) -> np.ndarray:
    """Probability of less than ``limit`` (on the scale people read)."""
    at = float(forward(np.array(limit), power))
    with np.errstate(divide="ignore", invalid="ignore"):
        z = (at - mean) / np.sqrt(variance)
    return np.where(variance > 0, ndtr(z), np.where(np.isnan(mean), np.nan, mean < at))
