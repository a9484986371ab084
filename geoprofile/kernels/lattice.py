"""Borders of classes on the lattice of a raster's cells.

A vertex of the lattice is counted ``row * (width + 1) + column``, rows and columns from the north-west corner. ``state``
(height, width) uint8 holds what is known of each cell in bits; cells beyond the raster have class 0 and no state.
"""

from __future__ import annotations

import numpy as np
from numba import njit

APART = np.uint8(1)
"""State of cells that an outline passes: their polygons are made elsewhere."""


@njit(cache=True, nogil=True)
def mark_passed(state, x, y, away):
    """Set :data:`APART` where a line comes closer than ``away`` to a cell.

    ``x``, ``y`` (n,) float64: the line's corners in cells, columns eastward and rows southward; NaN between two lines.
    """
    height, width = state.shape
    for corner in range(len(x) - 1):
        x0, y0, x1, y1 = x[corner], y[corner], x[corner + 1], y[corner + 1]
        if not (np.isfinite(x0) and np.isfinite(x1)):
            continue
        if y0 > y1:
            x0, y0, x1, y1 = x1, y1, x0, y0
        for row in range(max(0, int(np.floor(y0 - away))), min(height - 1, int(np.floor(y1 + away))) + 1):
            top, bottom = max(y0, row - away), min(y1, row + 1 + away)
            a, b = x0, x1
            if y1 > y0:
                a = x0 + (x1 - x0) * ((top - y0) / (y1 - y0))
                b = x0 + (x1 - x0) * ((bottom - y0) / (y1 - y0))
            left, right = min(a, b) - away, max(a, b) + away
            for column in range(max(0, int(np.floor(left))), min(width - 1, int(np.floor(right))) + 1):
                state[row, column] |= APART


@njit(cache=True, nogil=True)
def _code(codes, row, column):
    return codes[row, column] if 0 <= row < codes.shape[0] and 0 <= column < codes.shape[1] else np.uint8(0)


@njit(cache=True, nogil=True)
def bends(codes, row, column):
    """Whether borders turn or meet at a vertex: it is one of the outlines."""
    a, b = _code(codes, row - 1, column - 1), _code(codes, row - 1, column)
    c, d = _code(codes, row, column - 1), _code(codes, row, column)
    return not ((a == b and c == d) or (a == c and b == d))


@njit(cache=True, nogil=True)
def seams(state, row, column):
    """Whether cells that are apart meet others at a vertex."""
    apart, others = False, False
    for down in (row - 1, row):
        for across in (column - 1, column):
            if 0 <= down < state.shape[0] and 0 <= across < state.shape[1]:
                if state[down, across] & APART:
                    apart = True
                else:
                    others = True
    return apart and others


@njit(cache=True, nogil=True)
def only_seam(codes, state, vertex):
    """(n,) bool: vertices (n,) where cells that are apart meet others and no border turns or ends."""
    across = codes.shape[1] + 1
    out = np.zeros(len(vertex), np.bool_)
    for place in range(len(vertex)):
        if vertex[place] >= 0:
            row, column = vertex[place] // across, vertex[place] % across
            out[place] = seams(state, row, column) and not bends(codes, row, column)
    return out


@njit(cache=True, nogil=True)
def _parted(codes, state, row, column, other_row, other_column):
    """Whether a side of a cell that is apart is a border of classes, or where its class goes on beyond it."""
    height, width = codes.shape
    one_in = 0 <= row < height and 0 <= column < width
    other_in = 0 <= other_row < height and 0 <= other_column < width
    one_apart = one_in and state[row, column] & APART != 0
    other_apart = other_in and state[other_row, other_column] & APART != 0
    if not (one_apart or other_apart):
        return False
    one, other = _code(codes, row, column), _code(codes, other_row, other_column)
    return one != other or (one > 0 and one_apart != other_apart)


@njit(cache=True, nogil=True)
def _walk_lines(codes, state, begin, end):
    height, width = codes.shape
    count, fill, across = 0, len(begin) > 0, width + 1
    for row in range(height + 1):
        first = -1
        for column in range(width + 1):
            if first >= 0 and (bends(codes, row, column) or seams(state, row, column)
                               or not _parted(codes, state, row - 1, column, row, column)):  # fmt: skip
                if fill:
                    begin[count], end[count] = row * across + first, row * across + column
                count, first = count + 1, -1
            if first < 0 and _parted(codes, state, row - 1, column, row, column):
                first = column
    for column in range(width + 1):
        first = -1
        for row in range(height + 1):
            if first >= 0 and (bends(codes, row, column) or seams(state, row, column)
                               or not _parted(codes, state, row, column - 1, row, column)):  # fmt: skip
                if fill:
                    begin[count], end[count] = first * across + column, row * across + column
                count, first = count + 1, -1
            if first < 0 and _parted(codes, state, row, column - 1, row, column):
                first = row
    return count


def lines_apart(codes, state):
    """Straight pieces of the borders of cells that are :data:`APART`: first and last vertex, (n,) each.

    ``codes`` (height, width) uint8. Where a class goes on beyond them there is a piece as well.
    """
    none = np.zeros(0, np.int64)
    count = _walk_lines(codes, state, none, none)
    begin, end = np.zeros(count, np.int64), np.zeros(count, np.int64)
    if count:
        _walk_lines(codes, state, begin, end)
    return begin, end
