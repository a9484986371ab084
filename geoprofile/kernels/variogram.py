"""The sample variogram: half the mean squared difference of pairs, by distance (Matheron 1963)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np


class SampleVariogram(NamedTuple):
    """One entry a bin with pairs: number of pairs, their mean distance, semivariance."""

    pairs: np.ndarray
    distance: np.ndarray
    semivariance: np.ndarray


def sample_variogram(
    points: np.ndarray, values: np.ndarray, longest: float, bins: int = 15, groups: np.ndarray | None = None
) -> SampleVariogram:
    """Pairs sorted into ``bins`` equal bins (from, to] up to ``longest``.

    Pairs farther apart than ``longest`` are left out, never gathered in the last
    bin; neither are pairs at distance 0 used. With ``groups`` (n,) only pairs of one
    group count. Shapes: points (n, 2), values (n,).
    """
    first, second = np.triu_indices(len(points), 1)
    points = np.asarray(points, float)
    distance = np.hypot(*(points[first] - points[second]).T)
    keep = (distance > 0) & (distance <= longest)
    if groups is not None:
        keep &= groups[first] == groups[second]
    distance = distance[keep]
    squares = (values[first[keep]] - values[second[keep]]) ** 2
    edges = np.linspace(0.0, longest, bins + 1)
    number = np.clip(np.searchsorted(edges, distance, side="left") - 1, 0, bins - 1)
    pairs = np.bincount(number, minlength=bins)
    filled = pairs > 0
    sums = np.bincount(number, distance, bins)[filled], np.bincount(number, squares, bins)[filled]
    return SampleVariogram(pairs[filled], sums[0] / pairs[filled], 0.5 * sums[1] / pairs[filled])


