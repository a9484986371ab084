"""Shade of the ground under one light, for looking at.

The share of light is the cosine between light and normal (Horn 1981, Proceedings
of the IEEE 69:14-47, with its window of three by three cells). Halo: one cell.
"""

from __future__ import annotations

import numpy as np
from numba import njit

HALO = 1
DARKEST, LIGHTEST = 1.0, 255.0


def hillshade(z, cell: float, azimuth_degrees: float = 315.0, altitude_degrees: float = 45.0) -> np.ndarray:
    """Whole grey levels, 1 (no light) to 255 (light at right angles); NaN where the window lacks a cell.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none; with a halo of one cell.
    cell : side of a cell, m.
    azimuth_degrees, altitude_degrees : where the light is, clockwise from north and above the horizon.
    """
    z = np.ascontiguousarray(z, np.float64)
    result = np.full(z.shape, np.nan)
    if min(z.shape) >= 3:
        azimuth, altitude = np.radians(azimuth_degrees), np.radians(altitude_degrees)
        _shade(z, cell, np.sin(azimuth) * np.cos(altitude), np.cos(azimuth) * np.cos(altitude), np.sin(altitude), result)
    return result


@njit(cache=True, nogil=True)
def _shade(z, cell, east, north, up, result):
    scale = 1.0 / (8.0 * cell)
    for row in range(1, z.shape[0] - 1):
        above, here, below = z[row - 1], z[row], z[row + 1]
        for column in range(1, z.shape[1] - 1):
            a, c, g, i = above[column - 1], above[column + 1], below[column - 1], below[column + 1]
            gap = here[column] - here[column]
            p = ((c - a) + 2.0 * (here[column + 1] - here[column - 1]) + (i - g)) * scale + gap
            q = ((a - g) + 2.0 * (above[column] - below[column]) + (c - i)) * scale
            light = (up - east * p - north * q) / np.sqrt(1.0 + p * p + q * q)
            result[row, column] = np.rint(DARKEST + (LIGHTEST - DARKEST) * max(light, 0.0)) if light == light else np.nan
