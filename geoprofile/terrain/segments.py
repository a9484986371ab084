"""Class rasters without crumbs: segments below a stated size join a neighbour.

A segment is the cells of one class that share sides. The smallest goes first (of
equals the one whose first cell comes first, row by row); it joins the neighbour
with which it shares the longest border, of equals the larger, then the one that
comes first. What has grown large enough by joining stays. Cells without a class
take no part: a segment that touches nothing else stays, however small. Needs the
whole grid. The idea of cleaning landform elements is that of Pennock & Corre 2001
(Soil & Tillage Research 58:151-162); the rule is ours.
"""

from __future__ import annotations

import heapq
from collections import defaultdict

import numpy as np

BYTES_PER_CELL, BYTES_PER_SEGMENT = 32, 850
"""Most that cleaning takes at once, measured: numbering takes 16 bytes a cell; each segment that is too small takes a
table of its neighbours (white noise has 0.4 segments a cell, smooth ground 0.003)."""


def memory_needed(cells: int, segments: int = 0) -> int:
    """Bytes that cleaning a grid of this many cells takes, beside the codes themselves."""
    return BYTES_PER_CELL * cells + BYTES_PER_SEGMENT * segments


def count_segments(code: np.ndarray) -> int:
    """How many segments there are; needs 16 bytes a cell."""
    return _segments(code)[1].size - 1


def clean_segments(code: np.ndarray, least_cells: float) -> tuple[np.ndarray, int]:
    """Codes without segments of fewer than ``least_cells`` cells, and the number of cells that changed.

    Parameters
    ----------
    code : (rows, columns) of a whole-number type, 0 = no class.
    least_cells : cells a segment must have to stay.
    """
    if least_cells <= 1 or not code.any():
        return code.copy(), 0
    segment, kinds = _segments(code)
    size = np.bincount(segment.ravel(), minlength=kinds.size)
    border = _borders_of_small(segment, size, least_cells)
    joined_to = _join(size, kinds, border, least_cells)
    cleaned = kinds[joined_to][segment]
    return cleaned, int(np.count_nonzero(cleaned != code))


def segment_sizes(code: np.ndarray) -> np.ndarray:
    """Number of cells of the segment that each cell belongs to; 0 where there is no class."""
    segment, kinds = _segments(code)
    size = np.bincount(segment.ravel(), minlength=kinds.size)
    size[0] = 0
    return size[segment]


def _segments(code: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Number of each cell's segment (0 = no class), and the class of each number; in order of first cells."""
    from scipy.ndimage import label

    segment, count = np.zeros(code.shape, np.int32), 0
    for kind in np.unique(code[code != 0]):
        number, found = label(code == kind)
        segment += np.where(number > 0, number + count, 0).astype(np.int32)
        count += found
    first = np.zeros(count + 1, np.int64)
    first[segment.ravel()[::-1]] = np.arange(segment.size - 1, -1, -1)  # the last one written is the first cell
    order = np.zeros(count + 1, np.int32)
    order[1 + np.argsort(first[1:])] = np.arange(1, count + 1)
    segment = order[segment]
    kinds = np.zeros(count + 1, code.dtype)
    kinds[segment] = code
    kinds[0] = 0
    return segment, kinds


def _borders_of_small(segment: np.ndarray, size: np.ndarray, least_cells: float) -> dict[int, dict[int, int]]:
    """For each segment that is too small: its neighbours and the sides of cells it shares with each."""
    border: dict[int, dict[int, int]] = defaultdict(dict)
    small = size < least_cells
    pairs = []
    for one, other in ((segment[:, :-1], segment[:, 1:]), (segment[:-1], segment[1:])):
        meet = (one != other) & (one > 0) & (other > 0) & (small[one] | small[other])
        pairs.append(np.column_stack([one[meet], other[meet]]).astype(np.int64))
    pairs = np.concatenate(pairs)
    pairs = np.concatenate([pairs, pairs[:, ::-1]])
    pairs = pairs[small[pairs[:, 0]]]
    keys, sides = np.unique(pairs[:, 0] * size.size + pairs[:, 1], return_counts=True)
    for key, number in zip(keys.tolist(), sides.tolist(), strict=True):
        border[key // size.size][key % size.size] = number
    return border


def _join(size: np.ndarray, kinds: np.ndarray, border: dict[int, dict[int, int]], least_cells: float) -> np.ndarray:
    """The segment that each one ends up in."""
    into = list(range(size.size))
    cells = size.tolist()

    def where(segment: int) -> int:
        while into[segment] != segment:
            into[segment] = into[into[segment]]
            segment = into[segment]
        return segment

    def neighbours(segment: int) -> dict[int, int]:
        now: dict[int, int] = {}
        for other, sides in border.get(segment, {}).items():
            other = where(other)
            if other != segment:
                now[other] = now.get(other, 0) + sides
        return now

    waiting = [(cells[segment], segment) for segment in border]
    heapq.heapify(waiting)
    while waiting:
        counted, segment = heapq.heappop(waiting)
        if where(segment) != segment or counted != cells[segment]:
            continue  # it has joined another, or grown since
        around = neighbours(segment)
        if not around:
            continue
        target = min(around, key=lambda other: (-around[other], -cells[other], other))
        # neighbours of the target's class now touch it through the cells that join: they become one with it
        alike = [other for other in around if other != target and kinds[other] == kinds[target]]
        combined = dict(border.get(target, {}))
        for member in (segment, *alike):
            for other, sides in border.pop(member, {}).items():
                combined[other] = combined.get(other, 0) + sides
            into[member] = target
            cells[target] += cells[member]
        if cells[target] < least_cells:
            border[target] = combined
            heapq.heappush(waiting, (cells[target], target))
        else:
            border.pop(target, None)
    return np.array([where(segment) for segment in range(size.size)])
