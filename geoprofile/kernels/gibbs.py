"""Draws of normal values that are known only within limits, one value at a time given all others.

Gibbs sampling (Geman & Geman 1984) with exact draws of the truncated normal
(Robert 1995): value i given the rest is normal with mean y_i - (Q (y - m))_i / Q_ii
and variance 1 / Q_ii, Q the inverse of the covariance, cut at its limits. Slower than
expectation propagation and right to the shape of the tails: its oracle in tests, and
the source of draws for conditional simulation.
"""

from __future__ import annotations

import numba
import numpy as np

from .truncated_normal import standard_draw


def limited_draws(
    mean: np.ndarray,
    covariance: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    count: int,
    rng: np.random.Generator,
    *,
    first: np.ndarray | None = None,
    settle: int = 100,
    apart: int = 10,
) -> np.ndarray:
    """(k, count) draws of x ~ N(mean, covariance) given ``low`` < x < ``high`` (k,), in order of drawing.

    ``first`` : (k,) where to begin, such as the means of the propagation; brought within the limits.
    ``settle`` : sweeps thrown away first; ``apart`` : sweeps between draws that are kept.
    """
    if len(mean) == 0:
        return np.empty((0, count))
    precision = np.linalg.inv(covariance)
    start = np.array(mean if first is None else first, float)
    nearest = np.where(np.isfinite(low), low, -np.inf), np.where(np.isfinite(high), high, np.inf)
    start = np.clip(start, *nearest)
    return _draws(
        np.ascontiguousarray(precision), np.asarray(mean, float), np.asarray(low, float), np.asarray(high, float), start,
        count, rng, settle, apart,
    )  # fmt: skip


@numba.njit(cache=True)
def _draws(precision, mean, low, high, start, count, rng, settle, apart):
    size = len(mean)
    away = start - mean
    pull = precision @ away
    out = np.empty((size, count))
    for kept in range(count):
        for _ in range(apart if kept else settle + apart):
            for i in range(size):
                own = precision[i, i]
                centre = away[i] - pull[i] / own
                spread = 1.0 / np.sqrt(own)
                new = centre + spread * standard_draw(
                    (low[i] - mean[i] - centre) / spread, (high[i] - mean[i] - centre) / spread, rng
                )
                change = new - away[i]
                away[i] = new
                for j in range(size):
                    pull[j] += precision[i, j] * change
        pull = precision @ away  # rounding does not pile up
        out[:, kept] = mean + away
    return out
