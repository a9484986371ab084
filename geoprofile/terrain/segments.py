"""Class rasters without crumbs: segments below a stated size join a neighbour.

A segment is the cells of one class that share sides. The smallest goes first (of
equals the one whose first cell comes first, row by row); it joins the neighbour
with which it shares the longest border, of equals the larger, then the one that
comes first. What has grown large enough by joining stays. Cells without a class
take no part: a segment that touches nothing else stays, however small. Memory
grows with the segments, not with the grid. The idea of cleaning landform elements
is that of Pennock & Corre 2001 (Soil & Tillage Research 58:151-162); the rule is ours.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import numpy as np

from ..grid import Grid, Window
from ..kernels.small_areas import owners
from ..memory import give_back, require_memory
from ..regions import find_regions, recode

WINDOW = 1024
"""Side of the windows that are looked at one by one, cells; shows in no result."""
BYTES_PER_SEGMENT = 100
"""Measured on generated ground: what is held for each segment, its neighbours included."""
REMEDY = "set least_segment_m2 = 0 under [terrain], make grid.cell_m larger, or set a larger analysis_scale_m"


class Codes(Protocol):
    """Class codes (uint8, 0 = no class) that are read and written window by window."""

    def read(self, window: Window) -> np.ndarray: ...

    def write(self, window: Window, cells: np.ndarray) -> None: ...


def clean_segments(
    codes: Codes, grid: Grid, least_cells: float, check: Callable[[], None] = lambda: None
) -> tuple[int, int]:
    """Join segments of fewer than ``least_cells`` cells to a neighbour; ``codes`` are changed.

    ``check`` is called after each window; what it raises stops the work before anything is changed.
    Returns how many cells have a class, and how many of them changed it.
    Raises InputError where there are more segments than memory holds.
    """
    give_back()

    def asked(segments: int) -> None:
        check()
        needed, cells = segments * BYTES_PER_SEGMENT, grid.height * grid.width
        require_memory(needed, cells, f"cleaning {segments:,} segments or more", REMEDY)

    regions = find_regions(codes, grid.windows(WINDOW), grid.width, asked)
    known, apart = int(regions.size[1:].sum()), np.zeros(len(regions.kind), bool)
    owner = owners(regions.size, regions.one, regions.other, regions.sides, float(least_cells), regions.kind, apart)
    of_label = regions.kind[owner][regions.of_label]
    del regions, apart, owner
    return known, recode(codes, codes, grid.windows(WINDOW), of_label)
