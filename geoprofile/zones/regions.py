"""Regions of squares of one class that are small are given to a neighbour, strip by strip."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..grid import Window
from ..memory import require_memory
from ..regions import Regions, recode
from ..regions import find_regions as find
from .classes import HeldCells
from .drawing import REMEDY
from .merging import merge_small
from .survey_share import SurveyShare

STRIP_SQUARES = 250_000
BYTES_PER_REGION = 100
"""Measured on generated ground: what is held for each region, its neighbours included."""


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
    area = regions.size * square_m2
    area[0] = np.inf
    owner = merge_small(area, (regions.one, regions.other), regions.sides, least, regions.kind, kept_apart)
    final = regions.kind[owner]
    changed = final != regions.kind
    merged, merged_m2 = int(changed.sum()), float(area[changed].sum())
    of_label, held = final[regions.of_label], HeldCells(codes)
    del regions, area, owner, final, changed
    recode(held, held, strips(codes), of_label)
    return merged, merged_m2


def find_regions(codes: np.ndarray, share: SurveyShare) -> Regions:
    """All regions of ``codes`` (height, width), 0 = not mapped, in order of class, then of the first square row by row.

    Raises InputError where there are too many for the memory.
    """
    def asked(number: int) -> None:
        require_memory(number * BYTES_PER_REGION, codes.size, f"drawing zones from {number:,} patches or more", REMEDY)

    return find(HeldCells(codes), strips(codes), codes.shape[1], asked, weight=share, class_by_class=True)


def strips(codes: np.ndarray) -> Iterator[Window]:
    """Whole rows that are looked at together."""
    rows, width = codes.shape
    height = max(1, STRIP_SQUARES // max(width, 1))
    for row in range(0, rows, height):
        yield Window(row, 0, min(height, rows - row), width)
