"""Lowest and highest ground around each cell, and how high a cell stands between them.

Neighbourhoods as in ``terrain_sums``, and the same halo. Elevations are compared
in whole steps of 2^-12 m; the lowest of some cells does not depend on their order.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from .terrain_sums import counted

_NONE = np.iinfo(np.int32).min


def height_within_relief(z, widths) -> np.ndarray:
    """Height above the lowest ground of the neighbourhood, per cent of its relief (highest minus lowest).

    0 = the lowest cell of its neighbourhood, 100 = the highest; NaN where there is no
    elevation or no relief.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none; with a halo of ``terrain_sums.halo_of(widths)`` cells.
    widths : ``terrain_sums.half_widths`` (circle) or ``square_widths`` (square).
    """
    steps, valid = counted(np.ascontiguousarray(z, np.float64))
    chain = _chain(widths)
    low = _highest(_or_none(steps, valid, -1), widths, *chain)
    high = _highest(_or_none(steps, valid, 1), widths, *chain)
    return _share(steps, valid, low, high)


@njit(cache=True, nogil=True, error_model="numpy")
def _share(steps, valid, turned_lowest, highest):
    share = np.empty(steps.shape)
    for row in range(steps.shape[0]):
        for column in range(steps.shape[1]):
            lowest = -np.int64(turned_lowest[row, column])
            relief = np.float64(np.int64(highest[row, column]) - lowest)
            above = 100.0 * np.float64(steps[row, column] - lowest)
            share[row, column] = above / relief if valid[row, column] else np.nan  # no relief: 0 / 0 = NaN
    return share


@njit(cache=True, nogil=True)
def _or_none(steps, valid, sign):
    values = np.empty(steps.shape, np.int32)
    for row in range(steps.shape[0]):
        for column in range(steps.shape[1]):
            values[row, column] = sign * steps[row, column] if valid[row, column] else _NONE
    return values


def _chain(widths) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Stretches of a row to build one from another, the narrowest first.

    Returns the half-widths, for each the place of the one it is built from, and for
    each row of the neighbourhood the place of its stretch. Three stretches of half-width
    v, shifted by w - v, cover one of half-width w when w is at most 3 v + 1.
    """
    made, source = [0], [0]
    for width in sorted({int(width) for width in widths} - {0}):
        while width > 3 * made[-1] + 1:
            source.append(len(made) - 1)
            made.append(3 * made[-1] + 1)
        source.append(len(made) - 1)
        made.append(width)
    place = {width: k for k, width in enumerate(made)}
    return np.array(made), np.array(source), np.array([place[int(width)] for width in widths])


@njit(cache=True, nogil=True)
def _highest(values, widths, made, source, place):
    rows, columns = values.shape
    reach, side = widths.size - 1, widths.max()
    length = columns + 2 * side
    highest = np.full((rows, columns), np.int32(_NONE))
    stretch = np.full((made.size, length), np.int32(_NONE))
    for other in range(rows):
        stretch[0, side : side + columns] = values[other]
        for k in range(1, made.size):
            shift = made[k] - made[source[k]]
            first, number = made[k], length - 2 * made[k]
            narrow = stretch[source[k]]
            left, middle, right = narrow[first - shift :], narrow[first:], narrow[first + shift :]
            wide = stretch[k, first:]
            for column in range(number):
                wide[column] = max(left[column], max(middle[column], right[column]))
        for row in range(max(0, other - reach), min(rows, other + reach + 1)):
            near, into = stretch[place[abs(other - row)], side:], highest[row]
            for column in range(columns):
                into[column] = max(into[column], near[column])
    return highest
