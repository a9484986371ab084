"""Rings around regions of cells of one class (four neighbours), traced along the cells' sides.

A ring has its region on the right: shells run clockwise on the map, holes the other way. Vertices stand where borders
turn or meet, so that neighbours share every vertex of their common border. Each side is passed twice, once to count and
once to write: memory is that of the rings.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from .lattice import APART, bends, seams

_PASSED, _ASKED = np.uint8(2), np.uint8(4)
_DOWN, _ACROSS = np.array([0, 1, 0, -1]), np.array([1, 0, -1, 0])
"""East, south, west, north."""
_NORTH = 3


def rings_of(codes, state):
    """Rings of all cells with a class that are not :data:`APART`.

    Parameters
    ----------
    codes : (height, width) uint8, 0 = none.
    state : (height, width) uint8; the same again afterwards.

    Returns
    -------
    vertex : (v,) int32 or int64, ring after ring; a ring ends where it began, which is not repeated.
    begin : (r + 1,) int64, where each ring begins in ``vertex``.
    region : (r,) int64, which region each ring belongs to, ascending; the first ring of a region is its shell.
    seam : (k,) bool for each region: whether its class goes on in cells that are apart, or a vertex stands there only
        because they are.
    code : (k,) uint8, class of each region.
    """
    none, no_flag, no_code = np.zeros(0, number_type(codes)), np.zeros(0, np.bool_), np.zeros(0, np.uint8)
    cycles, vertices, _ = _walk(codes, state, True, none, np.zeros(0, np.int64), no_flag, no_flag, no_code, none, none, none)
    walked, begin = np.empty(vertices, none.dtype), np.full(cycles + 1, vertices, np.int64)
    shell, meets, kind = np.empty(cycles, np.bool_), np.empty(cycles, np.bool_), np.empty(cycles, np.uint8)
    asks, cell, passed_by = (np.empty(cycles, none.dtype) for _ in range(3))
    _, _, found = _walk(codes, state, False, walked, begin, shell, meets, kind, asks, cell, passed_by)
    order = np.argsort(cell[:found])
    around = passed_by[:found][order][np.searchsorted(cell[:found][order], asks[~shell])]
    region = _region_of_cycles(shell, around)
    seam = np.zeros(int(shell.sum()), np.bool_)
    seam[region[meets]] = True
    vertex, begin, cycle, opens = _apart(walked, begin, codes.shape[1] + 1)
    del walked
    of_ring = region[cycle]
    order = np.lexsort((~opens, of_ring))
    return *_ordered(vertex, begin, order), of_ring[order], seam, kind[shell]


def number_type(codes):
    """Type of the numbers of vertices."""
    return np.int32 if (codes.shape[0] + 1) * (codes.shape[1] + 1) < 2**31 else np.int64


@njit(cache=True, nogil=True)
def _region_of_cycles(shell, around):
    """``around``: for each cycle that is no shell one of the same region that began before it."""
    region = np.empty(len(shell), np.int64)
    shells = 0
    for one in range(len(shell)):
        if shell[one]:
            region[one] = shells
            shells += 1
        else:
            region[one] = region[around[one - shells]]
    return region


@njit(cache=True, nogil=True)
def _member(codes, state, row, column, code):
    inside = 0 <= row < codes.shape[0] and 0 <= column < codes.shape[1]
    return inside and codes[row, column] == code and state[row, column] & APART == 0


@njit(cache=True, nogil=True)
def _walk(codes, state, first, vertex, begin, shell, meets, kind, asks, cell, passed_by):
    """One pass along all sides; the ``first`` counts only, and sets the marks that the second takes away.

    Returns how many cycles there are, how many vertices, and how many cells whose cycle was asked for.
    """
    height, width = codes.shape
    cycles, vertices, found = 0, 0, 0
    for top in range(height):
        for left in range(width):
            code = codes[top, left]
            if code == 0 or state[top, left] & APART or (state[top, left] & _PASSED != 0) == first:
                continue
            if _member(codes, state, top, left - 1, code):
                continue
            # along the west side of the first cell, northward; (row, column) is the cell on the right
            row, column, heading, area, seam, began = top, left, _NORTH, 0, False, vertices
            while True:
                if heading == _NORTH:
                    state[row, column] ^= _PASSED
                    area -= column
                    if not first and state[row, column] & _ASKED:
                        state[row, column] ^= _ASKED
                        cell[found], passed_by[found] = row * width + column, cycles
                        found += 1
                elif heading == 1:
                    area += column + 1
                ahead, turned = (_DOWN[heading], _ACROSS[heading]), (heading + 3) % 4
                beside, next_to = row + _DOWN[turned], column + _ACROSS[turned]
                if 0 <= beside < height and 0 <= next_to < width and codes[beside, next_to] == code:
                    seam = True  # it is apart, else there were no side
                right_in = _member(codes, state, row + ahead[0], column + ahead[1], code)
                left_in = _member(codes, state, beside + ahead[0], next_to + ahead[1], code)
                at_row = row + (1 if heading == 1 or heading == 2 else 0)
                at_column = column + (1 if heading == 0 or heading == 1 else 0)
                bent = bends(codes, at_row, at_column)
                if bent or seams(state, at_row, at_column):
                    seam |= not bent
                    if not first:
                        number = at_row * (width + 1) + at_column
                        # where a region touches itself at a corner, a ring may come twice
                        vertex[vertices] = ~number if left_in and not right_in else number
                    vertices += 1
                if not right_in:
                    heading = (heading + 1) % 4
                elif left_in:
                    row, column, heading = beside + ahead[0], next_to + ahead[1], turned
                else:
                    row, column = row + ahead[0], column + ahead[1]
                if row == top and column == left and heading == _NORTH:
                    break
            place = -1 if area > 0 else _west_of_hole(codes, state, top, left, code)
            if not first:
                begin[cycles], shell[cycles], meets[cycles], kind[cycles] = began, area > 0, seam, code
                asks[cycles] = top * width + place
            elif place >= 0:
                state[top, place] |= _ASKED
            cycles += 1
    return cycles, vertices, found


@njit(cache=True, nogil=True)
def _west_of_hole(codes, state, row, column, code):
    """Column of the cell where the region begins to the west of a hole, in the first row of the hole.

    Above that row all is region, so the first cell of the class to the west is of the same one.
    """
    column -= 1
    while not _member(codes, state, row, column, code):
        column -= 1
    while _member(codes, state, row, column - 1, code):
        column -= 1
    return column


@njit(cache=True, nogil=True)
def _apart(walked, begin, across):
    """Cycles taken apart where they come to a vertex a second time, so that no ring touches itself.

    Returns vertices, where each ring begins, the cycle of each ring, and whether it is a shell.
    """
    vertex = np.empty_like(walked)
    twice = 0
    for one in walked:
        twice += one < 0
    most = len(begin) - 1 + twice
    begins, cycle, opens = np.empty(most + 1, np.int64), np.empty(most, np.int64), np.empty(most, np.bool_)
    stack, partner, level = np.empty(0, walked.dtype), np.empty(0, np.int64), np.empty(0, np.int64)
    rings, written = 0, 0
    for one in range(len(begin) - 1):
        length = begin[one + 1] - begin[one]
        own = walked[begin[one] : begin[one + 1]]
        touching = np.flatnonzero(own < 0)
        if len(touching) < 2:
            for place in range(length):
                vertex[written + place] = own[place] if own[place] >= 0 else ~own[place]
            begins[rings], cycle[rings] = written, one
            opens[rings] = _turned(vertex, written, written + length, across) > 0
            rings, written = rings + 1, written + length
            continue
        if len(stack) < length:
            stack, partner, level = np.empty(length, walked.dtype), np.full(length, -1, np.int64), np.full(length, -1, np.int64)
        order = touching[np.argsort(own[touching])]
        for place in range(len(order) - 1):
            if own[order[place]] == own[order[place + 1]]:
                a, b = order[place], order[place + 1]
                partner[a], partner[b] = b, a
        depth = 0
        for place in range(length + 1):
            # what lies on the stack since the first visit is a ring of its own; at the end, all that is left
            last = place == length
            bottom = 0 if last else (level[partner[place]] if partner[place] >= 0 else -1)
            if bottom >= 0 and depth > bottom:
                begins[rings], cycle[rings] = written, one
                for rung in range(bottom, depth):
                    vertex[written + rung - bottom] = stack[rung]
                length_of = depth - bottom
                opens[rings] = _turned(vertex, written, written + length_of, across) > 0
                rings, written, depth = rings + 1, written + length_of, bottom
            if not last:
                stack[depth] = own[place] if own[place] >= 0 else ~own[place]
                if partner[place] >= 0:
                    level[place] = depth
                depth += 1
        for place in touching:
            partner[place], level[place] = -1, -1
    begins[rings] = written
    return vertex, begins[: rings + 1], cycle[:rings], opens[:rings]


@njit(cache=True, nogil=True)
def _turned(vertex, begin, end, across):
    """Area within a ring, in cells, times two: positive where it runs clockwise on the map."""
    total = 0
    for place in range(begin, end):
        one, other = vertex[place], vertex[place + 1 if place + 1 < end else begin]
        total += (one % across) * (other // across) - (other % across) * (one // across)
    return total


@njit(cache=True, nogil=True)
def _ordered(vertex, begin, order):
    out, begins = np.empty_like(vertex), np.empty_like(begin)
    written = 0
    for place in range(len(order)):
        begins[place] = written
        for one in range(begin[order[place]], begin[order[place] + 1]):
            out[written] = vertex[one]
            written += 1
    begins[len(order)] = written
    return out, begins
