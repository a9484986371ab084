"""Exact sums over circles, squares and blocks.

Elevations are counted in whole steps of 2^-12 m (0.24 mm). Whole numbers add up
to the same total in any order, so running sums leave no trace of where they
started and a result does not depend on how a raster is cut.

Neighbourhoods are given by ``widths``: how many columns to each side of the
middle belong to it, for rows 0, 1, 2 ... away from the middle. Halo of everything
here: :func:`halo_of` cells.
"""

from __future__ import annotations

import numpy as np
from numba import njit

STEPS_PER_METRE = 4096
_COUNT_BITS = 20


def to_steps(z: np.ndarray) -> np.ndarray:
    """Metres to whole steps (int64); 0 where there is no elevation."""
    return np.rint(np.where(np.isnan(z), 0.0, z) * STEPS_PER_METRE).astype(np.int64)


def half_widths(radius_cells: float) -> np.ndarray:
    """Widths of a circle: the cells whose centres lie within the radius."""
    away = np.arange(int(radius_cells + 1e-9) + 1)
    return np.floor(np.sqrt(np.maximum(radius_cells**2 - away**2, 0.0)) + 1e-9).astype(np.int64)


def square_widths(cells: int) -> np.ndarray:
    """Widths of a square of ``2 cells + 1`` cells a side."""
    return np.full(cells + 1, cells, np.int64)


def halo_of(widths: np.ndarray) -> int:
    """Cells that a window needs around it."""
    return max(int(widths.size) - 1, int(widths.max()))


def cells_in(widths: np.ndarray) -> int:
    """Number of cells in a whole neighbourhood."""
    return int(2 * (2 * widths + 1).sum() - (2 * widths[0] + 1))


def circle_sums(steps, valid, widths):
    """Sum and number of the valid cells in the neighbourhood of each cell.

    Parameters
    ----------
    steps : (rows, columns) int64.
    valid : (rows, columns) bool.
    widths : int64 from :func:`half_widths` or :func:`square_widths`.

    Returns
    -------
    sums (int64) and counts (int64); the neighbourhood is cut at the raster's edge.
    """
    cells = cells_in(widths)
    largest = max(abs(int(steps.max())), abs(int(steps.min()))) if steps.size else 0
    if cells < 1 << _COUNT_BITS and cells * largest < 1 << (62 - _COUNT_BITS):
        # sum and count side by side in one whole number: half the work, the same result
        return _taken_apart(neighbourhood_sums(_side_by_side(steps, valid), widths))
    return neighbourhood_sums(steps * valid, widths), neighbourhood_sums(valid.astype(np.int64), widths)


@njit(cache=True, nogil=True)
def _side_by_side(steps, valid):
    both = np.empty(steps.shape, np.int64)
    for row in range(steps.shape[0]):
        for column in range(steps.shape[1]):
            both[row, column] = (steps[row, column] << _COUNT_BITS) + 1 if valid[row, column] else 0
    return both


@njit(cache=True, nogil=True)
def _taken_apart(both):
    sums = np.empty(both.shape, np.int64)
    for row in range(both.shape[0]):
        for column in range(both.shape[1]):
            sums[row, column] = both[row, column] >> _COUNT_BITS
            both[row, column] -= sums[row, column] << _COUNT_BITS
    return sums, both


@njit(cache=True, nogil=True)
def neighbourhood_sums(values, widths):
    """Sum of whole numbers (int64) over the neighbourhood of each cell; work grows with the radius, not its square."""
    rows, columns = values.shape
    reach, side = widths.size - 1, widths.max()
    sums = np.zeros((rows, columns), np.int64)
    # total of the cells to the left, continued to both sides so that no neighbourhood is clipped cell by cell
    running = np.zeros(columns + 2 * side + 1, np.int64)
    for other in range(rows):
        total = np.int64(0)
        for column in range(columns):
            total += values[other, column]
            running[side + column + 1] = total
        running[side + columns + 1 :] = total
        for row in range(max(0, other - reach), min(rows, other + reach + 1)):
            width = widths[abs(other - row)]
            right, left, into = running[side + width + 1 :], running[side - width :], sums[row]
            for column in range(columns):
                into[column] += right[column] - left[column]
    return sums


def relative_elevation(z, widths, *, middle: bool = True) -> tuple[np.ndarray, np.ndarray]:
    """Elevation minus the mean of its neighbourhood, m, and how many cells had elevation there.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none; with a halo of :func:`halo_of` cells.
    widths : from :func:`half_widths` (circle) or :func:`square_widths` (square).
    middle : whether the cell itself belongs to the mean. ``square_widths(1)`` without the
        middle is elevation minus the mean of the eight neighbours.

    Returns
    -------
    relative elevation (float64) and count (int64); NaN where there is no elevation, or no neighbour.
    """
    z = np.ascontiguousarray(z, np.float64)
    steps, valid = counted(z)
    sums, counts = circle_sums(steps, valid, widths)
    return _relative(steps, valid, sums, counts, middle), counts if middle else counts - valid


@njit(cache=True, nogil=True)
def counted(z):
    """Whole steps and where there is elevation, as :func:`to_steps`."""
    steps, valid = np.empty(z.shape, np.int64), np.empty(z.shape, np.bool_)
    for row in range(z.shape[0]):
        for column in range(z.shape[1]):
            here = z[row, column]
            valid[row, column] = here == here
            steps[row, column] = np.int64(np.rint(here * STEPS_PER_METRE)) if here == here else 0
    return steps, valid


@njit(cache=True, nogil=True, error_model="numpy")
def _relative(steps, valid, sums, counts, middle):
    relative = np.empty(steps.shape)
    for row in range(steps.shape[0]):
        for column in range(steps.shape[1]):
            own, total, count = steps[row, column], sums[row, column], counts[row, column]
            if not middle:
                total, count = total - own, count - 1
            # count times own minus sum is a whole number: only the division rounds
            metres = np.float64(count * own - total) / (np.float64(count) * STEPS_PER_METRE)
            relative[row, column] = metres if valid[row, column] else np.nan
    return relative


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
