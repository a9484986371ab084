"""Radiation that would reach sloping ground on a day if there were no air: a measure of warm and cold sides.

Daily radiation outside the atmosphere on a horizontal surface after Allen,
Pereira, Raes & Smith 1998 (FAO Irrigation and Drainage Paper 56, equations 21 to
25); on a slope the cosine between the sun and the surface's normal is integrated
over the hours when the sun is above the horizon and before the surface (Lee 1963;
Swift 1976, Water Resources Research 12:108-112). Air, clouds, diffuse light,
shade thrown by other ground and the angle between grid north and true north are
left out. Halo: one cell.
"""

from __future__ import annotations

import numpy as np
from numba import njit

SOLAR_CONSTANT = 0.0820
"""MJ per m2 and minute (FAO 56, equation 21)."""
HALO = 1


def sun_on(day_of_year: int) -> tuple[float, float]:
    """Radiation at right angles to the sun, MJ per m2 and minute, and declination, radians (FAO 56, equations 23, 24)."""
    turn = 2 * np.pi * day_of_year / 365
    return SOLAR_CONSTANT * (1 + 0.033 * np.cos(turn)), 0.409 * np.sin(turn - 1.39)


def level_radiation(day_of_year: int, latitude_degrees: float) -> float:
    """Daily radiation on level ground, MJ/m2 (FAO 56, equation 21); 0 in polar night."""
    strength, declination = sun_on(day_of_year)
    up = np.array([[0.0]])
    return float(_daily(up, up, strength, declination, np.radians(latitude_degrees))[0, 0])


def radiation(z, cell: float, day_of_year: int, latitude_degrees: float, *, relative: bool = False) -> np.ndarray:
    """Potential incoming radiation of a day, MJ per m2 of sloping surface.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none; with a halo of one cell.
    cell : side of a cell, m.
    day_of_year : 1 = the first of January.
    latitude_degrees : north positive.
    relative : divide by the radiation of level ground on that day (1 = as level ground).

    Returns
    -------
    (rows, columns) float64; NaN where the window of three by three cells lacks one.
    """
    z = np.ascontiguousarray(z, np.float64)
    strength, declination = sun_on(day_of_year)
    if relative:
        level = level_radiation(day_of_year, latitude_degrees)
        strength = strength / level if level > 0 else np.nan
    result = np.full(z.shape, np.nan)
    if min(z.shape) >= 3:
        p, q = _gradient(z, cell)
        result[1:-1, 1:-1] = _daily(p, q, strength, declination, np.radians(latitude_degrees))
    return result


@njit(cache=True, nogil=True)
def _gradient(z, cell):
    """Rise to the east and to the north (Evans 1980) of all but the outermost cells."""
    rows, columns = z.shape
    p, q = np.empty((rows - 2, columns - 2)), np.empty((rows - 2, columns - 2))
    scale = 1.0 / (6.0 * cell)
    for row in range(1, rows - 1):
        above, here, below = z[row - 1], z[row], z[row + 1]
        for column in range(1, columns - 1):
            a, c, g, i = above[column - 1], above[column + 1], below[column - 1], below[column + 1]
            gap = here[column] - here[column]
            p[row - 1, column - 1] = ((c - a) + (here[column + 1] - here[column - 1]) + (i - g)) * scale + gap
            q[row - 1, column - 1] = ((a - g) + (above[column] - below[column]) + (c - i)) * scale + gap
    return p, q


@njit(cache=True, nogil=True, error_model="numpy")
def _daily(p, q, strength, declination, latitude):
    """Integral over the day of max(0, normal . sun), with the sun above the horizon.

    With the hour angle w (0 at noon, west positive) the product is A + B cos w + C sin w,
    with the integral F(w) = A w + B sin w - C cos w. With D^2 = B^2 + C^2 and |A| < D the
    surface is lit from w1 to w2, where the product is 0; w2 < w1 means that it is dark from
    w2 to w1 (a steep slope that looks away from the sun has a morning and an evening). What
    counts lies between sunrise and sunset, -S to S. Written without branches, so that
    several cells are worked on at once.
    """
    high, level = np.sin(declination), np.cos(declination)
    north, up = np.cos(latitude), np.sin(latitude)
    sunset = np.arccos(min(1.0, max(-1.0, -up / north * high / level)))
    sine, cosine = np.sin(sunset), np.cos(sunset)
    factor = strength * 24.0 * 60.0 / (2.0 * np.pi)
    result = np.empty(p.shape)
    for row in range(p.shape[0]):
        for column in range(p.shape[1]):
            rise_east, rise_north = p[row, column], q[row, column]
            nz = 1.0 / np.sqrt(1.0 + rise_east * rise_east + rise_north * rise_north)
            a = high * (nz * up - rise_north * nz * north)
            b = level * (nz * north + rise_north * nz * up)
            c = level * rise_east * nz
            dd = b * b + c * c
            d = np.sqrt(dd)
            rest = dd - a * a
            e = np.sqrt(rest if rest > 0.0 else 0.0)
            w1 = _angle(-a * c - b * e, c * e - a * b)
            w2 = _angle(b * e - a * c, -a * b - c * e)
            first, last = -a * sunset - b * sine - c * cosine, a * sunset + b * sine - c * cosine  # F(-S), F(S)
            f1 = first if w1 < -sunset else (last if w1 > sunset else a * w1 - e)
            f2 = first if w2 < -sunset else (last if w2 > sunset else a * w2 + e)
            whole = last - first
            lit = f2 - f1 + (whole if w1 > w2 else 0.0)
            lit = whole if a >= d else (0.0 if a <= -d else lit)
            result[row, column] = factor * lit
    return result


_EIGHTH = np.tan(np.pi / 8)
_ARC = tuple(
    float(one)
    for one in np.polynomial.Chebyshev.interpolate(
        lambda u: np.arctan(np.sqrt(u)) / np.sqrt(u), 10, domain=[0.0, _EIGHTH**2]
    ).convert(kind=np.polynomial.Polynomial).coef
)  # fmt: skip
"""arctan(t) / t as a polynomial in t^2, for t up to tan(22.5 degrees)."""


@njit(inline="always")
def _angle(y, x):
    """arctan2 to 1e-14 without a branch: a call into the mathematics library would be made cell by cell."""
    wide, tall = abs(x), abs(y)
    t = (tall if tall < wide else wide) / (wide if tall < wide else tall)
    far = t > _EIGHTH
    t = (t - 1.0) / (t + 1.0) if far else t
    u = t * t
    arc = _ARC[10]
    arc = arc * u + _ARC[9]
    arc = arc * u + _ARC[8]
    arc = arc * u + _ARC[7]
    arc = arc * u + _ARC[6]
    arc = arc * u + _ARC[5]
    arc = arc * u + _ARC[4]
    arc = arc * u + _ARC[3]
    arc = arc * u + _ARC[2]
    arc = arc * u + _ARC[1]
    arc = (arc * u + _ARC[0]) * t
    arc = arc + 0.25 * np.pi if far else arc
    arc = 0.5 * np.pi - arc if tall > wide else arc
    arc = np.pi - arc if x < 0.0 else arc
    return -arc if y < 0.0 else arc
