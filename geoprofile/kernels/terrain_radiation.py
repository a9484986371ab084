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

    With the hour angle w (0 at noon, west positive) the product is A + B cos w + C sin w
    = A + D cos(w - v): positive on one arc about v, which meets the time between sunrise
    and sunset in one stretch, or in two (a steep slope that looks away from the pole's
    sun has a morning and an evening), or not at all.
    """
    high, level = np.sin(declination), np.cos(declination)
    north, up = np.cos(latitude), np.sin(latitude)
    whole = 2.0 * np.pi
    sunset = np.arccos(min(1.0, max(-1.0, -up / north * high / level)))
    sine, cosine = np.sin(sunset), np.cos(sunset)
    minutes = 24.0 * 60.0 / whole
    result = np.empty(p.shape)
    for row in range(p.shape[0]):
        for column in range(p.shape[1]):
            nz = 1.0 / np.sqrt(1.0 + p[row, column] ** 2 + q[row, column] ** 2)
            east, ny = -p[row, column] * nz, -q[row, column] * nz
            a = high * (ny * north + nz * up)
            b = level * (nz * north - ny * up)
            c = -level * east
            d = np.sqrt(b * b + c * c)
            if np.isnan(d):
                result[row, column] = np.nan
                continue
            if a <= -d:
                result[row, column] = 0.0
                continue
            lit_at_both_ends = a + b * cosine - np.abs(c) * sine > 0.0
            if lit_at_both_ends and (a >= d or -b <= d * cosine):  # and no dark hours about the middle between
                result[row, column] = strength * minutes * 2.0 * (a * sunset + b * sine)
                continue
            if a >= d:
                half, middle, edge = np.pi, 0.0, 0.0
            else:
                half, middle, edge = np.arccos(-a / d), np.arctan2(c, b), np.sqrt(d * d - a * a)
            # the integral is a w + b sin w - c cos w = a w + d sin(w - v): at the ends of the arc plus and minus ``edge``
            total = 0.0
            for around in range(-1, 2):
                begin, end = middle - half + around * whole, middle + half + around * whole
                at_begin, at_end = -edge, edge
                if begin < -sunset:
                    begin, at_begin = -sunset, -b * sine - c * cosine
                if end > sunset:
                    end, at_end = sunset, b * sine - c * cosine
                if end > begin:
                    total += a * (end - begin) + at_end - at_begin
            result[row, column] = strength * minutes * total
    return result
