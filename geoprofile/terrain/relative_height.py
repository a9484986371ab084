"""Classes of relative height after Weiss 2001 (conference poster, San Diego).

How far a cell stands above or below the mean of its surroundings, measured in
standard deviations of that over the whole grid::

    ridge             above 1
    upper slope       0.5 to 1
    middle slope      -0.5 to 0.5, steeper than 5 degrees
    flat              -0.5 to 0.5, up to 5 degrees
    lower slope       -1 to -0.5      (the poster prints 'below 0.5': a lost minus sign)
    valley            below -1

The classes belong to one radius and one area: another of either gives others.
Halo: that of relative elevation; classes themselves need none.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..kernels.terrain_sums import STEPS_PER_METRE

LEGEND = {1: "ridge", 2: "upper slope", 3: "middle slope", 4: "flat", 5: "lower slope", 6: "valley"}


def spread_counts(relative: np.ndarray) -> dict[str, int]:
    """Number, sum and sum of squares of relative elevation in whole steps of 2^-12 m.

    Whole numbers: the counts of any windows add up to those of the grid (as
    ``collections.Counter`` does), in any order and without rounding.

    Parameters
    ----------
    relative : relative elevation of cells counted once (no halo), m; NaN = none.
    """
    steps = np.rint(relative[~np.isnan(relative)] * STEPS_PER_METRE).astype(np.int64)
    # squares of 16 bits at a time: 64 bits hold their sums however many cells a window has
    high, low = steps >> 16, steps & 0xFFFF
    squares = (int(high @ high) << 32) + (int(high @ low) << 17) + int(low @ low)
    return {"relative_cells": int(steps.size), "relative_sum": int(steps.sum()), "relative_squares": squares}


def standard_deviation(counts: Mapping[str, int]) -> float:
    """Standard deviation of relative elevation, m, from added-up :func:`spread_counts`; 0 where there is none."""
    cells, total, squares = (counts.get(f"relative_{name}", 0) for name in ("cells", "sum", "squares"))
    if cells == 0:
        return 0.0
    return float(np.sqrt((cells * squares - total * total) / cells**2)) / STEPS_PER_METRE


def relative_height_classes(
    relative: np.ndarray, slope_degrees: np.ndarray, deviation_m: float, flat_up_to_degrees: float = 5.0
) -> np.ndarray:
    """Codes of :data:`LEGEND`, uint8; 0 where relative elevation or slope is not known.

    Parameters
    ----------
    relative : elevation minus the mean of its surroundings, m.
    slope_degrees : slope.
    deviation_m : standard deviation of ``relative`` over the whole grid, m.
    """
    known = ~(np.isnan(relative) | np.isnan(slope_degrees))
    height = relative / deviation_m if deviation_m > 0 else np.zeros_like(relative)
    code = np.select(
        [height > 1, height > 0.5, height >= -0.5, height >= -1], [1, 2, np.where(slope_degrees > flat_up_to_degrees, 3, 4), 5], 6
    )
    return np.where(known, code, 0).astype(np.uint8)
