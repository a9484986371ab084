"""Small areas are given to the neighbour they share the longest edge with.

Works on a graph of areas, wherever it comes from: regions of cells, or parts of
polygons. The smallest goes first; what it is merged into grows before the next is
looked at. The total does not change.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..kernels.small_areas import owners


def merge_small(
    area: np.ndarray,
    between: Sequence[np.ndarray],
    length: np.ndarray,
    least: float,
    kind: np.ndarray,
    kept_apart: frozenset[int] = frozenset(),
) -> np.ndarray:
    """Which area each one ends in.

    Parameters
    ----------
    area : (n,) size of each.
    between : two of (e,), which two areas share an edge; edges between the same two add up.
    length : (e,) length of the shared edge.
    least : what is smaller than this is merged, when it has a neighbour.
    kind : (n,) class code; neighbours of one class are one area from the start.
    kept_apart : classes that are never merged into another; others may be merged
        into them only when no other neighbour is there.

    Returns
    -------
    (n,) index of the area that each belongs to in the end; that one's class is the class.
    """
    first, second = (np.ascontiguousarray(one, np.int32) for one in between)
    apart = np.isin(kind, np.array(sorted(kept_apart), np.int64))
    return owners(np.array(area, float), first, second, np.ascontiguousarray(length), float(least), np.asarray(kind), apart)
