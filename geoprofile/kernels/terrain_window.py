"""Slope, aspect and curvatures from windows of three by three cells.

Letters as on paper, row 1 north: ``a b c / d e f / g h i``. With cell size k,
east positive and north positive::

    p = dz/dx   (c + w f + i - a - w d - g) / ((4 + 2 w) k)     w = 1 Evans, 2 Horn
    q = dz/dy   (a + w b + c - g - w h - i) / ((4 + 2 w) k)
    r = d2z/dx2   (a + c + d + f + g + i - 2 (b + e + h)) / (3 k2)
    t = d2z/dy2   (a + b + c + g + h + i - 2 (d + e + f)) / (3 k2)
    s = d2z/dxdy  (c + g - a - i) / (4 k2)

Evans 1980 (Zeitschrift fuer Geomorphologie, Supplement 36): the quadratic fitted
to the nine cells by least squares; Horn 1981 (Proceedings of the IEEE 69:14-47).
A window that lacks a cell gives NaN. No sum is shared between cells, so results
do not depend on how a raster is cut into blocks.
"""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def slope_and_aspect(z, cell, weight):
    """Slope and the direction it faces.

    Parameters
    ----------
    z : (rows, columns) float64, elevation in m, NaN = none.
    cell : side of a cell, m.
    weight : weight of the middle neighbours: 1.0 Evans, 2.0 Horn.

    Returns
    -------
    slope in degrees; sine and cosine of the azimuth that the slope faces
    (downslope, clockwise from north). Level ground faces nowhere: NaN.
    """
    rows, columns = z.shape
    slope = np.full(z.shape, np.nan)
    sine = np.full(z.shape, np.nan)
    cosine = np.full(z.shape, np.nan)
    scale = 1.0 / ((4.0 + 2.0 * weight) * cell)
    degrees = 180.0 / np.pi
    for row in range(1, rows - 1):
        for column in range(1, columns - 1):
            a, b, c = z[row - 1, column - 1], z[row - 1, column], z[row - 1, column + 1]
            d, f = z[row, column - 1], z[row, column + 1]
            g, h, i = z[row + 1, column - 1], z[row + 1, column], z[row + 1, column + 1]
            if np.isnan(z[row, column]):
                continue
            p = ((c - a) + weight * (f - d) + (i - g)) * scale
            q = ((a - g) + weight * (b - h) + (c - i)) * scale
            steepness = np.sqrt(p * p + q * q)
            slope[row, column] = np.arctan(steepness) * degrees
            if steepness > 0.0:
                sine[row, column] = -p / steepness
                cosine[row, column] = -q / steepness
    return slope, sine, cosine


@njit(cache=True, error_model="numpy")
def curvatures(z, cell):
    """Profile, plan and tangential curvature, 1/m; convex is positive, concave negative.

    With g = p2 + q2::

        profile    = -(p2 r + 2 p q s + q2 t) / (g (1 + g)^1.5)     down the slope
        plan       = -(q2 r - 2 p q s + p2 t) / g^1.5               along the contour; + on noses, where flow diverges
        tangential = -(q2 r - 2 p q s + p2 t) / (g (1 + g)^0.5)     plan times the sine of slope

    Evans 1980; Young 1978. Level ground has no downslope direction: NaN.

    Parameters
    ----------
    z : (rows, columns) float64, elevation in m, NaN = none.
    cell : side of a cell, m.
    """
    rows, columns = z.shape
    profile = np.full(z.shape, np.nan)
    plan = np.full(z.shape, np.nan)
    tangential = np.full(z.shape, np.nan)
    for row in range(1, rows - 1):
        for column in range(1, columns - 1):
            e = z[row, column]
            # differences from the middle cell: a datum of hundreds of metres costs no digits
            a, b, c = z[row - 1, column - 1] - e, z[row - 1, column] - e, z[row - 1, column + 1] - e
            d, f = z[row, column - 1] - e, z[row, column + 1] - e
            g, h, i = z[row + 1, column - 1] - e, z[row + 1, column] - e, z[row + 1, column + 1] - e
            p = (c + f + i - a - d - g) / (6.0 * cell)
            q = (a + b + c - g - h - i) / (6.0 * cell)
            r = (a + c + d + f + g + i - 2.0 * (b + h)) / (3.0 * cell * cell)
            t = (a + b + c + g + h + i - 2.0 * (d + f)) / (3.0 * cell * cell)
            s = (c + g - a - i) / (4.0 * cell * cell)
            steep = p * p + q * q
            if not steep > 1e-14:  # also where a neighbour is missing; 1e-14 is a rise of 0.1 mm in a kilometre
                continue
            down = -(p * p * r + 2.0 * p * q * s + q * q * t)
            along = -(q * q * r - 2.0 * p * q * s + p * p * t)
            profile[row, column] = down / (steep * (1.0 + steep) ** 1.5)
            plan[row, column] = along / steep**1.5
            tangential[row, column] = along / (steep * np.sqrt(1.0 + steep))
    return profile, plan, tangential
