"""The equal-area quadratic smoothing spline through the layers of a pit, and its means over any intervals.

Bishop, McBratney & Laslett 1999, Geoderma 89:185-208; Malone, McBratney, Minasny & Laslett 2009, Geoderma
154:138-152. The curve f minimises ``(1/n) sum (y_i - mean of f over layer i)^2 + lambda * integral of f'^2``. It is
quadratic in a layer, linear in a gap, constant beyond the ends, and smooth where these meet.

With R (n-1, n-1) and Q (n-1, n) of the papers the fitted means are ``(I + 6 n lambda Q' R^-1 Q)^-1 y``, and the slopes
at the inner boundaries ``6 R^-1 Q`` times them. We solve for the slopes first: ``(R + 6 n lambda Q Q') c = Q y`` with
slopes ``6 c`` is the same and has three diagonals, so the work grows with the number of layers and no more.
"""

from __future__ import annotations

from typing import NamedTuple

import numba
import numpy as np

LAMBDA = 0.1
"""Usual where depths are in cm (Malone et al. 2009; from memory, not checked against the print)."""
ROUNDING_CM = 1e-6
"""Layers may overlap by as much as this."""


class Splines(NamedTuple):
    """Curves of all pits, one entry a layer; ``slope_upper`` and ``slope_lower`` are f' at its two boundaries."""

    fitted: np.ndarray
    """Mean of the curve over the layer."""
    at_upper: np.ndarray
    slope_upper: np.ndarray
    slope_lower: np.ndarray


def fit_splines(start: np.ndarray, upper: np.ndarray, lower: np.ndarray, value: np.ndarray, smoothing: float = LAMBDA) -> Splines:
    """Curves of many pits at once.

    Parameters
    ----------
    start : (pits + 1,) first layer of each pit, and the number of layers behind the last.
    upper, lower : (layers,) depths in cm, downward, without overlap within a pit; gaps are allowed.
    value : (layers,) measured means, in any unit.
    smoothing : lambda; towards 0 the means are kept exactly, large ones draw all to the plain mean.

    Raises ValueError for a negative lambda, or layers that overlap or have no thickness.
    """
    start = np.ascontiguousarray(start, np.int64)
    upper, lower, value = (np.ascontiguousarray(part, float) for part in (upper, lower, value))
    if not smoothing >= 0:
        raise ValueError(f"lambda must be 0 or more, not {smoothing}")
    first = np.zeros(len(upper), bool)
    first[start[:-1][np.diff(start) > 0]] = True
    if not ((lower > upper).all() and (first[1:] | (upper[1:] >= lower[:-1] - ROUNDING_CM)).all()):
        raise ValueError("layers must have thickness, stand in order and not overlap")
    return Splines(*_fit(start, upper, lower, value, float(smoothing)))


def mean_over(start: np.ndarray, upper: np.ndarray, lower: np.ndarray, splines: Splines, top: np.ndarray, bottom: np.ndarray,
              lowest: float = -np.inf, highest: float = np.inf) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mean of each curve over each interval, within the depths that have layers, and whether it was clipped below and above.

    ``top`` and ``bottom`` are (pits, intervals) in cm; nothing is taken from above the first or below the last layer.
    Where the curve passes ``lowest`` or ``highest`` it is cut there, point by point, before the mean is taken.
    Three arrays (pits, intervals); the mean is NaN where an interval meets no depth of its pit.
    """
    start = np.ascontiguousarray(start, np.int64)
    upper, lower, top, bottom = (np.ascontiguousarray(part, float) for part in (upper, lower, top, bottom))
    return _means(start, upper, lower, *splines, top, bottom, float(lowest), float(highest))


@numba.njit(cache=True)
def _fit(start, upper, lower, value, smoothing):
    count = len(value)
    fitted, at_upper = value.copy(), value.copy()
    slope_upper, slope_lower = np.zeros(count), np.zeros(count)
    for pit in range(len(start) - 1):
        a, b = start[pit], start[pit + 1]
        n = b - a
        if n < 2:
            continue
        weight = 6.0 * n * smoothing
        diagonal, beside, right = np.empty(n - 1), np.empty(n - 1), np.empty(n - 1)
        for i in range(n - 1):
            k = a + i
            thick, under, gap = lower[k] - upper[k], lower[k + 1] - upper[k + 1], max(upper[k + 1] - lower[k], 0.0)
            diagonal[i] = 2.0 * (thick + under) + 6.0 * gap + 2.0 * weight
            beside[i] = under - weight
            right[i] = value[k + 1] - value[k]
        for i in range(1, n - 1):
            ratio = beside[i - 1] / diagonal[i - 1]
            diagonal[i] -= ratio * beside[i - 1]
            right[i] -= ratio * right[i - 1]
        right[n - 2] /= diagonal[n - 2]
        for i in range(n - 3, -1, -1):
            right[i] = (right[i] - beside[i] * right[i + 1]) / diagonal[i]
        for i in range(n):
            k = a + i
            above = right[i - 1] if i > 0 else 0.0
            below = right[i] if i < n - 1 else 0.0
            fitted[k] = value[k] - weight * (above - below)
            slope_upper[k], slope_lower[k] = 6.0 * above, 6.0 * below
            at_upper[k] = fitted[k] - (lower[k] - upper[k]) * (2.0 * above + below)
    return fitted, at_upper, slope_upper, slope_lower


@numba.njit(cache=True)
def _means(start, upper, lower, fitted, at_upper, slope_upper, slope_lower, top, bottom, lowest, highest):
    pits, intervals = top.shape
    mean = np.full((pits, intervals), np.nan)
    below, above = np.zeros((pits, intervals), np.bool_), np.zeros((pits, intervals), np.bool_)
    for pit in range(pits):
        for j in range(intervals):
            total = length = 0.0
            for k in range(start[pit], start[pit + 1]):
                thick = lower[k] - upper[k]
                bend = (slope_lower[k] - slope_upper[k]) / (2.0 * thick)
                part, done, under, over = _clipped_integral(at_upper[k], slope_upper[k], bend, top[pit, j] - upper[k], bottom[pit, j] - upper[k],
                                                    thick, lowest, highest)
                total, length = total + part, length + done
                below[pit, j], above[pit, j] = below[pit, j] or under, above[pit, j] or over
                if k + 1 < start[pit + 1] and upper[k + 1] > lower[k]:
                    end = at_upper[k] + thick * (slope_upper[k] + slope_lower[k]) / 2.0
                    part, done, under, over = _clipped_integral(end, slope_lower[k], 0.0, top[pit, j] - lower[k], bottom[pit, j] - lower[k],
                                                        upper[k + 1] - lower[k], lowest, highest)
                    total, length = total + part, length + done
                    below[pit, j], above[pit, j] = below[pit, j] or under, above[pit, j] or over
            if length > 0:
                mean[pit, j] = total / length
    return mean, below, above


@numba.njit(cache=True)
def _clipped_integral(value, slope, bend, begin, end, thick, lowest, highest):
    """Integral of ``value + slope t + bend t^2`` held between two limits, from begin to end within 0 to thick."""
    begin, end = max(begin, 0.0), min(end, thick)
    if end <= begin:
        return 0.0, 0.0, False, False
    knots = np.empty(6)
    knots[0], knots[1] = begin, end
    count = 2
    for limit in (lowest, highest):
        if not np.isfinite(limit):
            continue
        offset = value - limit
        roots = (np.nan, np.nan)
        if bend == 0.0:
            if slope != 0.0:
                roots = (-offset / slope, np.nan)
        else:
            inside = slope * slope - 4.0 * bend * offset
            if inside > 0.0:
                half = -0.5 * (slope + (np.sqrt(inside) if slope >= 0 else -np.sqrt(inside)))
                roots = (half / bend, offset / half if half != 0.0 else np.nan)
        for root in roots:
            if begin < root < end:
                knots[count] = root
                count += 1
    knots[:count].sort()
    total, under, over = 0.0, False, False
    for i in range(count - 1):
        p, q = knots[i], knots[i + 1]
        middle = 0.5 * (p + q)
        here = value + middle * (slope + bend * middle)
        # beyond a limit by more than rounding
        slack = 1e-9 * max(1.0, abs(here))
        if here < lowest - slack:
            total, under = total + lowest * (q - p), True
        elif here > highest + slack:
            total, over = total + highest * (q - p), True
        else:
            total += (q - p) * (value + slope * (p + q) / 2.0 + bend * (p * p + p * q + q * q) / 3.0)
    return total, end - begin, under, over
