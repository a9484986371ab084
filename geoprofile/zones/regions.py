"""Regions of squares of one class (four neighbours), found strip by strip, and given to a neighbour where they are small.

Only one strip of labels is held at a time: each is labelled once to find which regions
there are, how large they are and where they meet, and once more to write what became of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..grid import Window
from ..memory import give_back, require_memory
from .drawing import REMEDY
from .merging import merge_small
from .survey_share import SurveyShare

STRIP_SQUARES = 250_000
KIND_BITS = 48
"""Squares are counted in so many bits, with the class before them."""
BYTES_PER_REGION = 110
"""Measured on generated ground: what is held for each region, its neighbours included."""


@dataclass(frozen=True)
class Regions:
    """Regions in order of class, then of the first square row by row; number 0 is what is not mapped.

    ``kind`` (n,) class; ``area`` (n,) in squares; ``meetings`` (3, e): two regions and along how many sides they meet,
    once a strip. ``of_label`` (m,): region of each label of the strips, one strip after the other.
    """

    kind: np.ndarray
    area: np.ndarray
    meetings: np.ndarray
    of_label: np.ndarray


def merge_regions(
    codes: np.ndarray, share: SurveyShare, square_m2: float, least: float, kept_apart: frozenset[int] = frozenset()
) -> tuple[int, float]:
    """Regions smaller than ``least`` m2 take the class of the longest shared edge; ``codes`` (height, width) is changed.

    ``share`` says how much of each square counts. Returns how many regions were merged and their area, m2.
    Raises InputError where there are more regions than memory holds.
    """
    if least <= 0:
        return 0, 0.0
    regions = find_regions(codes, share)
    give_back()
    regions.area[0] = np.inf
    owner = merge_small(regions.area * square_m2, regions.meetings[:2], regions.meetings[2], least, regions.kind, kept_apart)
    final = regions.kind[owner]
    changed = final != regions.kind
    merged_m2 = float((regions.area[changed] * square_m2).sum())
    of_label = final.astype(codes.dtype)[regions.of_label]
    del regions, owner, final
    begin = 0
    for window in strips(codes):
        label, kinds = label_squares(codes[window.slices])
        codes[window.slices] = of_label[begin : begin + len(kinds)][label]
        begin += len(kinds)
    return int(changed.sum()), merged_m2


def find_regions(codes: np.ndarray, share: SurveyShare) -> Regions:
    """All regions of ``codes`` (height, width), 0 = not mapped. Raises InputError where there are too many for the memory."""
    keys, areas, edges, joins = [], [], [], []
    begin, above = 0, None
    for window in strips(codes):
        label, kind = label_squares(codes[window.slices])
        flat, number = label.ravel(), len(kind)
        first = np.zeros(number, np.int64)
        first[flat[::-1]] = np.arange(flat.size - 1, -1, -1)  # the last that is written is the first square
        keys.append(kind.astype(np.int64) << KIND_BITS | first + window.row * window.width)
        areas.append(np.bincount(flat, share.read(window).ravel(), number))
        label += begin
        label[codes[window.slices] == 0] = 0
        edges.append(_meetings(label if above is None else np.concatenate([above, label]), above is not None))
        if above is not None:
            same = (codes[window.row - 1] == codes[window.row]) & (above[0] > 0)
            joins.append(np.unique(np.stack([above[0][same], label[0][same]]), axis=1))
        above, begin = label[-1:].copy(), begin + number
        require_memory(begin * BYTES_PER_REGION, codes.size, f"drawing zones from {begin:,} patches or more", REMEDY)
    found = _in_one(keys), _in_one(areas), _in_one(edges)
    give_back()
    return _joined(*found, joins)


def strips(codes: np.ndarray) -> Iterator[Window]:
    """Whole rows that are looked at together."""
    rows, width = codes.shape
    height = max(1, STRIP_SQUARES // max(width, 1))
    for row in range(0, rows, height):
        yield Window(row, 0, min(height, rows - row), width)


def label_squares(codes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Labels 1.. of four-connected regions of one class, 0 where the code is 0; and the class of each label, 0 the first."""
    from scipy.ndimage import label

    labels, kinds = np.zeros(codes.shape, np.int32), [np.zeros(1, np.uint8)]
    begin = 0
    for code in np.flatnonzero(np.bincount(codes.ravel())).tolist():
        if code:
            found, count = label(codes == code)
            np.add(found, begin, out=found, where=found > 0)
            labels += found
            begin += count
            kinds.append(np.full(count, code, np.uint8))
    return labels, np.concatenate(kinds)


def _meetings(label: np.ndarray, begins_above: bool) -> np.ndarray:
    """(3, e) int32: two labels and along how many sides they meet; of the row above only what it shares with the next."""
    own = label[1:] if begins_above else label
    keys = []
    for a, b in ((own[:, :-1], own[:, 1:]), (label[:-1], label[1:])):
        differ = (a != b) & (a > 0) & (b > 0)
        a, b = a[differ].astype(np.int64), b[differ].astype(np.int64)
        keys.append(np.minimum(a, b) << 32 | np.maximum(a, b))
    key, sides = np.unique(np.concatenate(keys), return_counts=True)
    return np.stack([key >> 32, key & 0xFFFFFFFF, sides]).astype(np.int32)


def _in_one(parts: list[np.ndarray]) -> np.ndarray:
    """All parts along their last axis; the list is emptied, so that they are not held twice for long."""
    whole = np.concatenate(parts, axis=-1)
    parts.clear()
    return whole


def _joined(key, area, meetings, joins) -> Regions:
    """Regions from the strips' labels: those that go on in the next strip are one. ``key``: class, then first square."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    pairs = np.concatenate(joins, axis=1) if joins else np.zeros((2, 0), np.int32)
    not_mapped = np.flatnonzero(key >> KIND_BITS == 0)
    pairs = np.concatenate([pairs, np.stack([np.zeros_like(not_mapped), not_mapped])], axis=1)
    number = len(key)
    count, part = connected_components(coo_array((np.ones(pairs.shape[1], bool), tuple(pairs)), (number, number)), directed=False)
    begins = np.full(count, np.iinfo(np.int64).max)
    np.minimum.at(begins, part, key)
    order, rank = np.argsort(begins), np.empty(count, np.int32)
    rank[order] = np.arange(count, dtype=np.int32)
    of_label = rank[part]
    kind = (begins[order] >> KIND_BITS).astype(np.uint8)
    del begins, order, rank, part
    for one in meetings[:2]:
        one[:] = of_label[one]
    # a label that goes on below meets its own region there
    apart = np.flatnonzero(meetings[0] != meetings[1])
    for one in meetings:  # in place: they are what takes most
        one[: len(apart)] = one[apart]
    return Regions(kind, np.bincount(of_label, area, count), meetings[:, : len(apart)], of_label)
