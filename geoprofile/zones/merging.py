"""Small areas are given to the neighbour they share the longest edge with.

Works on a graph of areas, wherever it comes from: regions of cells, or parts of
polygons. The smallest goes first; what it is merged into grows before the next is
looked at. The total does not change.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable

import numpy as np


def merge_small(
    area: np.ndarray,
    edges: Iterable[tuple[int, int, float]],
    least: float,
    kind: np.ndarray,
    kept_apart: frozenset[int] = frozenset(),
) -> np.ndarray:
    """Which area each one ends in.

    Parameters
    ----------
    area : (n,) size of each.
    edges : (a, b, length of the shared edge).
    least : what is smaller than this is merged, when it has a neighbour.
    kind : (n,) class code; neighbours of one class are one area from the start.
    kept_apart : classes that are never merged into another; others may be merged
        into them only when no other neighbour is there.

    Returns
    -------
    (n,) index of the area that each belongs to in the end; that one's class is the class.
    """
    area = np.array(area, float)
    owner = np.arange(len(area))
    neighbours: list[dict[int, float]] = [{} for _ in area]
    for a, b, length in edges:
        if a != b and length > 0:
            neighbours[a][b] = neighbours[a].get(b, 0.0) + length
            neighbours[b][a] = neighbours[b].get(a, 0.0) + length

    def join(small: int, into: int) -> None:
        owner[small] = into
        area[into] += area[small]
        for other, length in neighbours[small].items():
            del neighbours[other][small]
            if other != into:
                neighbours[into][other] = neighbours[into].get(other, 0.0) + length
                neighbours[other][into] = neighbours[into][other]
        neighbours[small] = {}

    def join_same_kind(one: int) -> None:
        """Neighbours of the same class are one area: a merge may have brought them together."""
        while True:
            same = next((other for other in sorted(neighbours[one]) if kind[other] == kind[one]), None)
            if same is None:
                return
            join(same, one)

    for one in range(len(area)):
        if owner[one] == one:
            join_same_kind(one)
    queue = [(area[one], one) for one in range(len(area)) if owner[one] == one and area[one] < least]
    heapq.heapify(queue)
    while queue:
        size, one = heapq.heappop(queue)
        if owner[one] != one or size != area[one] or kind[one] in kept_apart:
            continue  # gone into another, or grown since it was queued
        choices = [other for other in neighbours[one] if kind[other] not in kept_apart] or list(neighbours[one])
        if not choices:
            continue
        # equal edges: the larger neighbour, then the earlier one, so that the result does not depend on chance
        into = max(choices, key=lambda other: (round(neighbours[one][other], 6), area[other], -other))
        join(one, into)
        join_same_kind(into)
        if area[into] < least:
            heapq.heappush(queue, (area[into], into))
    while True:
        further = owner[owner]
        if (further == owner).all():
            return owner
        owner = further
