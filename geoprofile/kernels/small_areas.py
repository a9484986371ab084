"""A graph of areas, in which the small ones join a neighbour one after the other.

Each edge stands in the lists of both its areas; when one joins another, its list is
hung on the other's. Which area an edge leads to is looked up when it is followed.
About 40 bytes an area and 20 an edge.
"""

from __future__ import annotations

import numpy as np
from numba import njit

_SAME_LENGTH = 1e6
"""Lengths are compared in millionths."""


@njit(cache=True, nogil=True)
def owners(area, first, second, length, least, kind, apart):
    """(n,) int32: the area that each one ends in; rules in ``zones/merging.py``.

    ``area`` (n,) float64 is changed. ``first``, ``second`` (e,) int32 and ``length`` (e,) numbers: edges, several between
    the same two add up. ``kind`` (n,) whole numbers; ``apart`` (n,) bool: never joins a neighbour.
    """
    number = len(area)
    owner = np.arange(number).astype(np.int32)
    head, tail = np.full(number, -1, np.int32), np.full(number, -1, np.int32)
    after = np.full(2 * len(first), -1, np.int32)
    for edge in range(len(first)):
        if first[edge] != second[edge] and length[edge] > 0:
            _hang(first[edge], 2 * edge, 2 * edge, head, tail, after)
            _hang(second[edge], 2 * edge + 1, 2 * edge + 1, head, tail, after)
    shared, near = np.zeros(number, length.dtype), np.empty(number, np.int32)
    for one in range(number):
        more = owner[one] == one
        while more:
            more = False
            count = _neighbours(one, owner, head, tail, after, first, second, length, shared, near)
            for other in near[:count]:
                if kind[other] == kind[one]:
                    _join(other, one, owner, area, head, tail, after)
                    more = True
                shared[other] = 0
    # a heap of those below the least, and where in it each is
    heap, place = np.empty(number, np.int32), np.full(number, -1, np.int32)
    count = 0
    for one in range(number):
        if owner[one] == one and area[one] < least:
            heap[count], place[one] = one, count
            count += 1
    for rung in range(count // 2 - 1, -1, -1):
        _sink(rung, heap, count, place, area)
    while count:
        one, count = heap[0], count - 1
        heap[0], place[one] = heap[count], -1
        if count:
            place[heap[0]] = 0
            _sink(0, heap, count, place, area)
        if area[one] >= least:
            break  # it grew, and so did all others
        if owner[one] != one or apart[one]:
            continue
        beside = _neighbours(one, owner, head, tail, after, first, second, length, shared, near)
        if beside == 0:
            continue
        into = near[0]
        for other in near[1:beside]:
            if _better(other, into, shared, area, apart):
                into = other
        _join(one, into, owner, area, head, tail, after)
        # neighbours of one class are one area: only those of the one that came can be new
        for other in near[:beside]:
            shared[other] = 0
            if other != into and kind[other] == kind[into]:
                _join(other, into, owner, area, head, tail, after)
        if place[into] >= 0:
            _sink(place[into], heap, count, place, area)
    for one in range(number):
        owner[one] = _find(one, owner)
    return owner


@njit(cache=True, nogil=True)
def _sink(rung, heap, count, place, area):
    """Bring down what has grown: the smallest stands first, of equal ones the earlier."""
    one = heap[rung]
    while 2 * rung + 1 < count:
        below = 2 * rung + 1
        if below + 1 < count and _before(heap[below + 1], heap[below], area):
            below += 1
        if not _before(heap[below], one, area):
            break
        heap[rung] = heap[below]
        place[heap[rung]] = rung
        rung = below
    heap[rung] = one
    place[one] = rung


@njit(cache=True, nogil=True)
def _before(one, other, area):
    return area[one] < area[other] or (area[one] == area[other] and one < other)


@njit(cache=True, nogil=True)
def _better(one, other, shared, area, apart):
    """Whether ``one`` is taken before ``other``."""
    if apart[one] != apart[other]:
        return not apart[one]
    # equal edges: the larger neighbour, then the earlier one, so that the result does not depend on chance
    a, b = np.rint(shared[one] * _SAME_LENGTH), np.rint(shared[other] * _SAME_LENGTH)
    if a != b:
        return a > b
    return area[one] > area[other] or (area[one] == area[other] and one < other)


@njit(cache=True, nogil=True)
def _find(one, owner):
    while owner[one] != one:
        owner[one] = owner[owner[one]]
        one = owner[one]
    return one


@njit(cache=True, nogil=True)
def _hang(one, begin, end, head, tail, after):
    if head[one] < 0:
        head[one] = begin
    else:
        after[tail[one]] = begin
    tail[one] = end


@njit(cache=True, nogil=True)
def _join(small, into, owner, area, head, tail, after):
    owner[small] = into
    area[into] += area[small]
    if head[small] >= 0:
        _hang(into, head[small], tail[small], head, tail, after)


@njit(cache=True, nogil=True)
def _neighbours(one, owner, head, tail, after, first, second, length, shared, near):
    """How many neighbours there are, in ``near``, their lengths in ``shared`` (0 before); edges within ``one`` leave its list."""
    count, place, kept = 0, head[one], np.int32(-1)
    head[one], tail[one] = -1, -1
    while place >= 0:
        following = after[place]
        edge = place // 2
        other = _find(second[edge] if place % 2 == 0 else first[edge], owner)
        if other != one:
            if shared[other] == 0:
                near[count] = other
                count += 1
            shared[other] += length[edge]
            if kept < 0:
                head[one] = place
            else:
                after[kept] = place
            kept = place
        place = following
    if kept >= 0:
        after[kept] = -1
        tail[one] = kept
    return count
