"""Regions of cells of one class (four neighbours), found window by window: memory grows with them and not with the grid.

Each window is labelled once to find which regions there are, how large they are and where they
meet, and once more to write what became of them. Results do not depend on the windows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from .blocks import Reader, Sink
from .grid import Window
from .kernels.regions import first_cells, joined, label_regions, sides_between
from .memory import give_back


@dataclass(frozen=True)
class Regions:
    """Regions in order of their first cells, row by row; number 0 is what has no class.

    ``kind`` (n,) uint8 class; ``size`` (n,) float64: cells, or the sum of their weights.
    ``one``, ``other``, ``sides`` (e,) int32: two regions and how many sides of cells they share, once a window.
    ``of_label`` (m,) int32: region of each label, the windows one after the other; the first is 0.
    """

    kind: np.ndarray
    size: np.ndarray
    one: np.ndarray
    other: np.ndarray
    sides: np.ndarray
    of_label: np.ndarray


def find_regions(
    source: Reader, windows: Iterable[Window], width: int, asked: Callable[[int], None], *,
    weight: Reader | None = None, class_by_class: bool = False,
) -> Regions:  # fmt: skip
    """All regions of class codes (uint8, 0 = none) that ``source`` gives.

    Parameters
    ----------
    windows : that tile the grid, row by row. width : columns of the grid.
    asked : told how many labels there are, after each window; raises where they are too many.
    weight : how much each cell counts; None = 1.
    class_by_class : regions come in order of class, and only within one in order of their first cells.
    """
    kinds, firsts, sizes = [np.zeros(1, np.uint8)], [np.full(1, -1)], [np.zeros(1)]
    meetings: tuple[list, list, list] = ([], [], [])
    joins: list[np.ndarray] = []
    seams, last = _Seams(width), 0
    for window in windows:
        codes = source.read(window)
        label, cells = label_regions(codes)
        size = cells if weight is None else np.bincount(label.ravel(), weight.read(window).ravel(), len(cells))
        sizes[0] += size[0]
        sizes.append(size[1:].astype(float))
        place = first_cells(label, len(cells))[1:]
        kinds.append(codes.ravel()[place])
        firsts.append((place // window.width + window.row) * width + place % window.width + window.column)
        np.add(label, last, out=label, where=label > 0)
        last += len(cells) - 1
        keys, same = seams.across(window, codes, label)
        joins.append(same)
        key, sides = np.unique(np.concatenate([sides_between(label), keys]), return_counts=True)
        for parts, numbers in zip(meetings, (key >> 32, key & 0xFFFFFFFF, sides)):
            parts.append(numbers.astype(np.int32))
        asked(last)
    of_label = joined(last + 1, *_in_one(joins))
    kind, size, of_label = _together(of_label, *(_in_one(parts) for parts in (kinds, firsts, sizes)), class_by_class)
    one, other, sides = (_in_one(parts) for parts in meetings)
    for labels in (one, other):
        np.take(of_label, labels, out=labels, mode="clip")  # the other modes hold a copy
    return Regions(kind, size, one, other, sides, of_label)


def recode(source: Reader, sink: Sink, windows: Iterable[Window], of_label: np.ndarray) -> int:
    """Write the class ``of_label`` (m,) of each label where cells have another; returns how many cells changed.

    ``source`` and ``windows`` are those that the regions were found with: ``of_label = kind[regions.of_label]`` gives
    each region the class ``kind`` (n,), of which the first is 0.
    """
    last, changed = 0, 0
    for window in windows:
        codes = source.read(window)
        label, cells = label_regions(codes)
        now = of_label[last : last + len(cells)].copy()
        now[0] = 0
        last += len(cells) - 1
        new = now[label]
        differ = int(np.count_nonzero(new != codes))
        if differ:
            sink.write(window, new)
            changed += differ
    return changed


class _Seams:
    """What windows share with the one to the left and those above: their last column and rows."""

    def __init__(self, width: int) -> None:
        self.above = np.zeros(width, np.uint8), np.zeros(width, np.int32)
        self.left = np.zeros(0, np.uint8), np.zeros(0, np.int32)

    def across(self, window: Window, codes: np.ndarray, label: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Keys of sides between regions that differ, as ``sides_between``; pairs (2, e) of labels of one region."""
        columns = slice(window.column, window.column + window.width)
        pairs = []
        if window.row:
            pairs.append((*(side[columns] for side in self.above), codes[0], label[0]))
        if window.column:
            pairs.append((*self.left, codes[:, 0], label[:, 0]))
        keys, same = [np.zeros(0, np.int64)], [np.zeros((2, 0), np.int32)]
        for code_before, before, code, own in pairs:
            alike = code == code_before
            same.append(np.unique(np.stack([before, own])[:, alike & (own > 0)], axis=1))
            differ = ~alike & (own > 0) & (before > 0)
            keys.append(before[differ].astype(np.int64) << 32 | own[differ])  # what lies before has the smaller label
        for side, last in zip(self.above, (codes, label)):
            side[columns] = last[-1]
        self.left = codes[:, -1].copy(), label[:, -1].copy()
        return np.concatenate(keys), np.concatenate(same, axis=1)


def _together(root, kind, first, size, class_by_class) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Class and size of each region and the region of each label; ``root`` (m,): the least label of its region."""
    np.minimum.at(first, root, first.copy())
    roots = np.flatnonzero(root == np.arange(len(root), dtype=np.int32)).astype(np.int32)
    roots = roots[np.argsort(first[roots])]  # what has no class, with -1, comes first
    if class_by_class:
        roots = roots[np.argsort(kind[roots], kind="stable")]
    number = np.empty(len(root), np.int32)
    number[roots] = np.arange(len(roots), dtype=np.int32)
    of_label = number[root]
    return kind[roots], np.bincount(of_label, size, len(roots)), of_label


def _in_one(parts: list[np.ndarray]) -> np.ndarray:
    """All parts along their last axis; the list is emptied, so that they are not held twice for long."""
    whole = np.concatenate(parts, axis=-1) if parts else np.zeros((2, 0), np.int32)
    parts.clear()
    give_back()
    return whole
