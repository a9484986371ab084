"""Exact sums over blocks and circles.

Elevations are counted in whole steps of 2^-12 m (0.24 mm). Whole numbers add up
to the same total in any order, so running sums leave no trace of where they
started and a result does not depend on how a raster is cut.
"""

from __future__ import annotations

import numpy as np
from numba import njit

STEPS_PER_METRE = 4096


def to_steps(z: np.ndarray) -> np.ndarray:
    """Metres to whole steps (int64); 0 where there is no elevation."""
    return np.rint(np.where(np.isnan(z), 0.0, z) * STEPS_PER_METRE).astype(np.int64)


def half_widths(radius_cells: float) -> np.ndarray:
    """Columns to each side of the middle that lie in a circle, for rows 0, 1, 2 ... away from it."""
    away = np.arange(int(radius_cells + 1e-9) + 1)
    return np.floor(np.sqrt(np.maximum(radius_cells**2 - away**2, 0.0)) + 1e-9).astype(np.int64)


@njit(cache=True)
def circle_sums(steps, valid, widths):
    """Sum and number of the valid cells in a circle about each cell.

    Parameters
    ----------
    steps : (rows, columns) int64.
    valid : (rows, columns) bool.
    widths : int64 from :func:`half_widths`.

    Returns
    -------
    sums (int64) and counts (int64); the circle is cut at the raster's edge.
    """
    rows, columns = steps.shape
    running = np.zeros((rows, columns + 1), np.int64)
    counted = np.zeros((rows, columns + 1), np.int64)
    for row in range(rows):
        for column in range(columns):
            inside = valid[row, column]
            running[row, column + 1] = running[row, column] + (steps[row, column] if inside else 0)
            counted[row, column + 1] = counted[row, column] + (1 if inside else 0)
    sums = np.zeros((rows, columns), np.int64)
    counts = np.zeros((rows, columns), np.int64)
    reach = widths.size - 1
    for row in range(rows):
        for other in range(max(0, row - reach), min(rows, row + reach + 1)):
            width = widths[abs(other - row)]
            for column in range(columns):
                left = max(0, column - width)
                right = min(columns, column + width + 1)
                sums[row, column] += running[other, right] - running[other, left]
                counts[row, column] += counted[other, right] - counted[other, left]
    return sums, counts


def block_means(z: np.ndarray, factor: int, least_share: float = 0.5) -> np.ndarray:
    """Mean of blocks of ``factor`` by ``factor`` cells from the north-west corner.

    A block has a value where at least ``least_share`` of its cells do; blocks cut
    by the edge are judged by the whole block.

    Parameters
    ----------
    z : (rows, columns) float64, NaN = none.
    """
    if factor == 1:
        return z
    rows, columns = -(-z.shape[0] // factor), -(-z.shape[1] // factor)
    padded = np.full((rows * factor, columns * factor), np.nan)
    padded[: z.shape[0], : z.shape[1]] = z
    blocks = padded.reshape(rows, factor, columns, factor)
    counts = np.count_nonzero(~np.isnan(blocks), axis=(1, 3))
    sums = to_steps(blocks).sum(axis=(1, 3))
    enough = counts >= least_share * factor * factor
    return np.where(enough, sums / np.maximum(counts, 1) / STEPS_PER_METRE, np.nan)
