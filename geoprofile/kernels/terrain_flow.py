"""Where water goes from each cell and how much ground drains through it.

Neighbours are numbered from east, clockwise: E, SE, S, SW, W, NW, N, NE. A
direction to one neighbour is a power of two in that order: 1 E, 2 SE, 4 S, 8 SW,
16 W, 32 NW, 64 N, 128 NE; 0 = no lower neighbour; 247 = no elevation.

Four ways to share a cell's water among lower neighbours:

    STEEPEST         all to the steepest fall (O'Callaghan & Mark 1984, Computer Vision,
                     Graphics, and Image Processing 28:323-344)
    INFINITE         along the steepest of eight triangular facets, to the two neighbours that
                     bound it, by angle (Tarboton 1997, Water Resources Research 33:309-319)
    MULTIPLE_FREEMAN to all, by tangent of the fall to a power (Freeman 1991, Computers &
                     Geosciences 17:413-422)
    MULTIPLE_QUINN   to all, by tangent times length of contour, 1/2 towards sides and
                     sqrt(2)/4 towards corners (Quinn and others 1991, Hydrological Processes 5:59-79)

Directions need a halo of one cell; catchments need the whole grid.
"""

from __future__ import annotations

import numpy as np
from numba import njit

NO_ELEVATION = 247
STEEPEST, INFINITE, MULTIPLE_FREEMAN, MULTIPLE_QUINN = 0, 1, 2, 3
FREEMAN_EXPONENT = 1.1
DOWN = np.array([0, 1, 1, 1, 0, -1, -1, -1])
RIGHT = np.array([1, 1, 0, -1, -1, -1, 0, 1])
_SIDE = np.array([0, 6, 6, 4, 4, 2, 2, 0])
_CORNER = np.array([7, 7, 5, 5, 3, 3, 1, 1])
"""The two neighbours that bound each facet, in Tarboton's order: from east, counter-clockwise."""


@njit(cache=True, nogil=True)
def steepest_neighbour(z):
    """Direction of the steepest fall; of equal falls the first from east, clockwise.

    Parameters
    ----------
    z : (rows, columns) float64, square cells, NaN = none.

    Returns
    -------
    (rows, columns) uint8, codes as in the module.
    """
    rows, columns = z.shape
    code = np.full(z.shape, NO_ELEVATION, np.uint8)
    share = np.zeros(8)
    for row in range(rows):
        for column in range(columns):
            if np.isnan(z[row, column]):
                continue
            code[row, column] = 0
            if _to_steepest(z, row, column, share):
                for k in range(8):
                    if share[k] > 0.0:
                        code[row, column] = 1 << k
    return code


@njit(cache=True, nogil=True)
def infinite_direction(z, cell):
    """Azimuth of the steepest facet (degrees, downslope, clockwise from north) and its fall (tangent).

    Tarboton 1997. NaN and 0 where no facet falls. A facet that lacks a cell is passed over.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none; with a halo of one cell.
    cell : side of a cell, m.
    """
    rows, columns = z.shape
    azimuth, fall = np.full(z.shape, np.nan), np.full(z.shape, np.nan)
    for row in range(rows):
        for column in range(columns):
            if np.isnan(z[row, column]):
                continue
            facet, angle, drop = _steepest_facet(z, row, column)
            fall[row, column] = drop / cell
            if facet >= 0:
                turn = 1.0 if _CORNER[facet] == _SIDE[facet] + 1 else -1.0
                azimuth[row, column] = (90.0 + 45.0 * _SIDE[facet] + turn * np.degrees(angle)) % 360.0
    return azimuth, fall


@njit(cache=True, nogil=True)
def shares(z, row, column, way, exponent):
    """Shares of one cell's water for its eight neighbours; they add up to 1, or are all 0 where none is lower."""
    share = np.zeros(8)
    _share(z, row, column, way, exponent, share)
    return share


@njit(cache=True, nogil=True)
def catchment(z, across, way, exponent):
    """Number of cells that drain through each cell, itself included; NaN where there is no elevation.

    A cell passes its water on when all that drains into it has arrived. Memory: 18 bytes
    a cell with ``z`` and ``across``.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none; the whole grid.
    across : (rows, columns) uint8, direction of cells that have no lower neighbour
        (over flats); 0 = water ends there. Must not lead in circles.
    way : ``STEEPEST``, ``INFINITE``, ``MULTIPLE_FREEMAN`` or ``MULTIPLE_QUINN``.
    exponent : of Freeman's way.

    Returns
    -------
    cells (rows, columns) float64, and the number of cells that wait in circles (0 unless ``across`` is wrong).
    """
    rows, columns = z.shape
    done = np.uint8(255)
    share = np.zeros(8)
    waiting = np.zeros(z.shape, np.uint8)
    cells = np.full(z.shape, np.nan)
    for row in range(rows):
        for column in range(columns):
            if np.isnan(z[row, column]):
                continue
            cells[row, column] = 1.0
            if _all_shares(z, across, row, column, way, exponent, share):
                for k in range(8):
                    if share[k] > 0.0:
                        waiting[row + DOWN[k], column + RIGHT[k]] += 1
    ready = np.empty(1024, np.int64)
    stuck = 0
    for row in range(rows):
        for column in range(columns):
            if waiting[row, column] != 0 or np.isnan(z[row, column]):
                continue
            ready[0], number = row * columns + column, 1
            while number > 0:
                number -= 1
                y, x = ready[number] // columns, ready[number] % columns
                waiting[y, x] = done
                if not _all_shares(z, across, y, x, way, exponent, share):
                    continue
                for k in range(8):
                    if share[k] > 0.0:
                        v, u = y + DOWN[k], x + RIGHT[k]
                        cells[v, u] += share[k] * cells[y, x]
                        waiting[v, u] -= 1
                        if waiting[v, u] == 0:
                            if number == ready.size:
                                longer = np.empty(2 * ready.size, np.int64)
                                longer[:number] = ready
                                ready = longer
                            ready[number] = v * columns + u
                            number += 1
    for row in range(rows):
        for column in range(columns):
            if waiting[row, column] != done and not np.isnan(z[row, column]):
                stuck += 1
    return cells, stuck


@njit(cache=True, nogil=True)
def down_to_channel(direction, z, channel, cell):
    """Height above, and way of the water to, the channel that a cell drains to.

    Parameters
    ----------
    direction : (rows, columns) uint8, codes as in the module; the whole grid.
    z : (rows, columns) float64, m.
    channel : (rows, columns) bool.
    cell : side of a cell, m.

    Returns
    -------
    height and distance along the water's way, m; NaN where the water reaches no channel.
    """
    rows, columns = z.shape
    diagonal = np.sqrt(2.0) * cell
    unknown = -1.0
    foot, distance = np.full(z.shape, np.nan), np.full(z.shape, unknown)
    way = np.empty(1024, np.int64)
    for row in range(rows):
        for column in range(columns):
            number, y, x = 0, row, column
            base, far = np.nan, np.nan
            while True:
                if direction[y, x] == NO_ELEVATION:
                    break
                if channel[y, x]:
                    base, far = z[y, x], 0.0
                    foot[y, x], distance[y, x] = base, far
                    break
                if distance[y, x] != unknown:
                    base, far = foot[y, x], distance[y, x]
                    break
                if number == way.size:
                    longer = np.empty(2 * way.size, np.int64)
                    longer[:number] = way
                    way = longer
                way[number] = y * columns + x
                number += 1
                distance[y, x] = np.nan
                k = _number(direction[y, x])
                if k < 0:
                    break
                y, x = y + DOWN[k], x + RIGHT[k]
                if y < 0 or y >= rows or x < 0 or x >= columns:
                    break
            while number > 0:
                number -= 1
                y, x = way[number] // columns, way[number] % columns
                far += diagonal if _number(direction[y, x]) % 2 == 1 else cell
                foot[y, x], distance[y, x] = base, far
    for row in range(rows):
        for column in range(columns):
            foot[row, column] = z[row, column] - foot[row, column]
            if distance[row, column] == unknown:
                distance[row, column] = np.nan
    return foot, distance


@njit(cache=True, nogil=True)
def _number(code):
    """Number of the neighbour that a direction names; -1 = none."""
    for k in range(8):
        if code == 1 << k:
            return k
    return -1


@njit(cache=True, nogil=True)
def _all_shares(z, across, row, column, way, exponent, share):
    """Shares of a cell; over flats all goes where ``across`` says. False where the water ends."""
    if _share(z, row, column, way, exponent, share):
        return True
    k = _number(across[row, column])
    if k < 0:
        return False
    y, x = row + DOWN[k], column + RIGHT[k]
    if y < 0 or y >= z.shape[0] or x < 0 or x >= z.shape[1] or np.isnan(z[y, x]):
        return False
    share[k] = 1.0
    return True


@njit(cache=True, nogil=True)
def _share(z, row, column, way, exponent, share):
    if way == STEEPEST:
        return _to_steepest(z, row, column, share)
    if way == INFINITE:
        facet, angle, _ = _steepest_facet(z, row, column)
        if facet < 0:  # beside gaps a cell may have a lower neighbour but no whole facet
            return _to_steepest(z, row, column, share)
        share[:] = 0.0
        part = angle / (0.25 * np.pi)
        share[_SIDE[facet]], share[_CORNER[facet]] = 1.0 - part, part
        return True
    total = 0.0
    for k in range(8):
        share[k] = 0.0
        y, x = row + DOWN[k], column + RIGHT[k]
        if y < 0 or y >= z.shape[0] or x < 0 or x >= z.shape[1]:
            continue
        fall = z[row, column] - z[y, x]
        if fall > 0.0:
            corner = k % 2 == 1
            if corner:
                fall *= np.sqrt(0.5)
            if way == MULTIPLE_FREEMAN:
                share[k] = fall**exponent
            else:
                share[k] = fall * (np.sqrt(2.0) / 4.0 if corner else 0.5)
            total += share[k]
    if total == 0.0:
        return False
    for k in range(8):
        share[k] /= total
    return True


@njit(cache=True, nogil=True)
def _to_steepest(z, row, column, share):
    shorter = 1.0 / np.sqrt(2.0)
    best, towards = 0.0, -1
    share[:] = 0.0
    for k in range(8):
        y, x = row + DOWN[k], column + RIGHT[k]
        if y < 0 or y >= z.shape[0] or x < 0 or x >= z.shape[1]:
            continue
        fall = z[row, column] - z[y, x]
        if k % 2 == 1:
            fall *= shorter
        if fall > best:
            best, towards = fall, k
    if towards < 0:
        return False
    share[towards] = 1.0
    return True


@njit(cache=True, nogil=True)
def _steepest_facet(z, row, column):
    """Facet (-1 = none falls), angle from its side towards its corner (radians) and fall per side of a cell."""
    rows, columns = z.shape
    here = z[row, column]
    best, chosen, along, beside = 0.0, -1, 0.0, 0.0
    for facet in range(8):
        y1, x1 = row + DOWN[_SIDE[facet]], column + RIGHT[_SIDE[facet]]
        y2, x2 = row + DOWN[_CORNER[facet]], column + RIGHT[_CORNER[facet]]
        if y2 < 0 or y2 >= rows or x2 < 0 or x2 >= columns:
            continue
        s1, s2 = here - z[y1, x1], z[y1, x1] - z[y2, x2]
        if s2 <= 0.0:
            s2, fall = 0.0, s1  # towards the side
        elif s2 >= s1:
            fall = (here - z[y2, x2]) * np.sqrt(0.5)  # towards the corner
            s1 = s2
        else:
            fall = np.sqrt(s1 * s1 + s2 * s2)
        if fall > best:  # never where a cell is missing: comparisons with NaN are false
            best, chosen, along, beside = fall, facet, s1, s2
    if chosen < 0:
        return -1, 0.0, 0.0
    return chosen, np.arctan2(beside, along), best
