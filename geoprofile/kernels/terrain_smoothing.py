"""The plane fitted about each cell with given weights, and its height there.

Weights fall off from the middle in rows and in columns alike, so sums over a
square are sums over rows of sums over columns. Where every cell of the square is
there the plane's height is the weighted mean and nothing else is added up; only
near gaps and edges is the slope of the plane needed. Which of the two a cell gets
depends on its own square, and sums run in the order of the cells: a cell has the
same bits in any window. Halo: ``weight.size // 2`` cells.
"""

from __future__ import annotations

import numpy as np
from numba import njit

LEAST_SPREAD = 1e-6
"""Neighbours whose places vary less than this (determinant, in fourth powers of the weights' deviation) lie in one line."""


def local_plane(z: np.ndarray, weight: np.ndarray, deviation: float) -> np.ndarray:
    """Height at each cell of the plane fitted by weighted least squares to the cells around it.

    Local linear regression (Cleveland 1979, Journal of the American Statistical
    Association 74:829-836). Cells without elevation stay without.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none.
    weight : (2 n + 1,) float64, weights of the cells -n to n away; symmetric, adding up to 1.
    deviation : standard deviation of the weights, cells.
    """
    z = np.ascontiguousarray(z, np.float64)
    weight = np.ascontiguousarray(weight, np.float64)
    away = np.arange(weight.size) - weight.size // 2.0
    return _local_plane(z, weight, weight * away, weight * away**2, LEAST_SPREAD * deviation**4)


@njit(cache=True, nogil=True, error_model="numpy")
def _local_plane(z, k0, k1, k2, least):
    """k1, k2: weights times distance, and times its square.

    Row after row: sums along rows are kept for as many rows as weights reach, in a ring, so
    that little memory is touched.
    """
    rows, columns = z.shape
    taps, reach = k0.size, k0.size // 2
    ring = np.zeros((taps, 5, columns))
    there, height = np.zeros(columns + 2 * reach), np.zeros(columns + 2 * reach)
    valid_in_column = np.zeros(columns, np.int64)
    s = np.zeros((9, columns))
    result = np.full((rows, columns), np.nan)
    for coming in range(rows + reach):
        slot = ring[coming % taps]
        slot[:] = 0.0
        for column in range(columns):
            if coming < rows:
                here = z[coming, column]
                there[reach + column] = 1.0 if here == here else 0.0
                height[reach + column] = here if here == here else 0.0
                valid_in_column[column] += 1 if here == here else 0
            if coming >= taps:
                gone = z[coming - taps, column]
                valid_in_column[column] -= 1 if gone == gone else 0
        if coming < rows:
            _add_row(slot[0], k0, height)
            _add_row(slot[1], k0, there)
            _add_row(slot[2], k1, there)
            _add_row(slot[3], k2, there)
            _add_row(slot[4], k1, height)
        row = coming - reach
        if row < 0:
            continue
        low, high = max(0, reach - row), min(taps, rows + reach - row)
        s[:] = 0.0
        for tap in range(low, high):
            _add(s[0], k0[tap], ring[(row + tap - reach) % taps, 0])
        # from the first to the last cell that lacks a neighbour, the window's own sides apart
        first, last = columns, -1
        near = 0
        for column in range(min(reach, columns)):
            near += valid_in_column[column]
        for column in range(columns):
            if column + reach < columns:
                near += valid_in_column[column + reach]
            if column - reach - 1 >= 0:
                near -= valid_in_column[column - reach - 1]
            here = z[row, column]
            if here == here:
                if near == taps * taps:
                    result[row, column] = s[0, column]
                elif reach <= column < columns - reach:
                    first, last = min(first, column), column
        side = min(reach, columns)
        _planes(z, row, 0, side, ring, low, high, k0, k1, k2, s, least, result)
        _planes(z, row, max(side, columns - reach), columns, ring, low, high, k0, k1, k2, s, least, result)
        if first <= last:
            _planes(z, row, first, last + 1, ring, low, high, k0, k1, k2, s, least, result)
    return result


@njit(cache=True, nogil=True)
def _add_row(into, weight, values):
    number = into.size
    for tap in range(weight.size):
        share, shifted = weight[tap], values[tap:]
        for column in range(number):
            into[column] += share * shifted[column]


@njit(inline="always")
def _add(into, share, values):
    number = into.size
    for column in range(number):
        into[column] += share * values[column]


@njit(cache=True, nogil=True, error_model="numpy")
def _planes(z, row, begin, end, ring, low, high, k0, k1, k2, s, least, result):
    """Heights of planes for the cells of one row from ``begin`` to ``end`` that have elevation but no result yet."""
    taps = k0.size
    s[1:, begin:end] = 0.0
    for tap in range(low, high):
        part = ring[(row + tap - taps // 2) % taps]
        _add(s[1, begin:end], k0[tap], part[1, begin:end])
        _add(s[2, begin:end], k0[tap], part[2, begin:end])
        _add(s[3, begin:end], k1[tap], part[1, begin:end])
        _add(s[4, begin:end], k0[tap], part[3, begin:end])
        _add(s[5, begin:end], k1[tap], part[2, begin:end])
        _add(s[6, begin:end], k2[tap], part[1, begin:end])
        _add(s[7, begin:end], k0[tap], part[4, begin:end])
        _add(s[8, begin:end], k1[tap], part[0, begin:end])
    for column in range(begin, end):
        if not (z[row, column] == z[row, column] and result[row, column] != result[row, column]):
            continue
        w = s[1, column]
        height, mx, my = s[0, column] / w, s[2, column] / w, s[3, column] / w
        vxx, vxy, vyy = s[4, column] / w - mx * mx, s[5, column] / w - mx * my, s[6, column] / w - my * my
        vzx, vzy = s[7, column] / w - height * mx, s[8, column] / w - height * my
        determinant = vyy * vxx - vxy * vxy
        if determinant > least:  # neighbours in one line do not carry a plane; the mean is all they give
            ky = (vzy * vxx - vzx * vxy) / determinant
            kx = (vzx * vyy - vzy * vxy) / determinant
            height -= ky * my + kx * mx
        result[row, column] = height
