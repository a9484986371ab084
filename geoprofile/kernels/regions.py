"""Regions of cells of one code that share sides, within one window of a grid, and how they go on in the next.

Labels begin at 1 in the order of first cells, row by row, so that the same cells always get the same labels (two passes
over the cells, labels that turn out to be one are joined: Rosenfeld & Pfaltz 1966, J. ACM 13:471-494).
"""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def label_regions(codes):
    """Label of each cell (rows, columns) int32, 0 where ``codes`` (uint8) are 0; (n + 1,) int64 how many cells have each."""
    rows, columns = codes.shape
    label = np.zeros((rows, columns), np.int32)
    parent = np.zeros(codes.size + 1, np.int32)
    count = 0
    for row in range(rows):
        for column in range(columns):
            code = codes[row, column]
            if code == 0:
                continue
            own = np.int32(0)
            if row > 0 and codes[row - 1, column] == code:
                own = _root(label[row - 1, column], parent)
            if column > 0 and codes[row, column - 1] == code:
                left = _root(label[row, column - 1], parent)
                if own == 0 or left == own:
                    own = left
                else:  # the earlier one stays
                    parent[max(own, left)] = min(own, left)
                    own = min(own, left)
            if own == 0:
                count += 1
                own = np.int32(count)
                parent[own] = own
            label[row, column] = own
    found = 0
    for one in range(1, count + 1):  # a label's parent is never later than it, so it has its last number already
        if parent[one] == one:
            found += 1
            parent[one] = found
        else:
            parent[one] = parent[parent[one]]
    cells = np.zeros(found + 1, np.int64)
    for row in range(rows):
        for column in range(columns):
            label[row, column] = parent[label[row, column]]
            cells[label[row, column]] += 1
    return label, cells


@njit(cache=True, nogil=True)
def first_cells(label, number):
    """(number,) int64: the place of the first cell of each label, row by row; -1 of a label without cells."""
    first = np.full(number, -1, np.int64)
    place = 0
    for one in label.flat:
        if first[one] < 0:
            first[one] = place
        place += 1
    return first


@njit(cache=True, nogil=True)
def sides_between(label):
    """(m,) int64: smaller label << 32 | larger one, once for each side that cells of two regions share in a window."""
    rows, columns = label.shape
    count = 0
    for write in (False, True):
        keys = np.empty(count if write else 0, np.int64)
        count = 0
        for row in range(rows):
            for column in range(columns):
                one = label[row, column]
                if one == 0:
                    continue
                if column + 1 < columns:
                    other = label[row, column + 1]
                    if other != one and other != 0:
                        if write:
                            keys[count] = _key(one, other)
                        count += 1
                if row + 1 < rows:
                    other = label[row + 1, column]
                    if other != one and other != 0:
                        if write:
                            keys[count] = _key(one, other)
                        count += 1
    return keys


@njit(cache=True, nogil=True)
def joined(number, one, other):
    """(number,) int32: the least of the labels that are one region with each; ``one``, ``other`` (e,): pairs of one region."""
    parent = np.arange(number).astype(np.int32)
    for pair in range(len(one)):
        a, b = _root(one[pair], parent), _root(other[pair], parent)
        parent[max(a, b)] = min(a, b)
    for label in range(number):
        parent[label] = parent[parent[label]]
    return parent


@njit(cache=True, nogil=True)
def _key(one, other):
    return np.int64(min(one, other)) << 32 | np.int64(max(one, other))


@njit(cache=True, nogil=True)
def _root(one, parent):
    while parent[one] != one:
        parent[one] = parent[parent[one]]
        one = parent[one]
    return one
