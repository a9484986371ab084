"""How much of each square lies in the survey: held where the outline cuts, else one number a window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from ..grid import Grid, Window
from ..overlay import Land

WINDOW = 128
"""Side of the windows, squares."""
NODE_M = 0.001
"""Coordinates are brought to whole millimetres once, before anything is overlaid."""


@dataclass(frozen=True)
class SurveyShare:
    """Shares 0 to 1 of the squares of ``grid``.

    ``outline``: the survey area in whole millimetres, as far as there are cells; None = all that is mapped.
    ``asked_m2``: its area before it was cut to the cells. ``parts``: by row and column of the window; where there is
    an outline a window that is not among them lies outside.
    """

    grid: Grid
    outline: shapely.Geometry | None
    asked_m2: float
    parts: dict[tuple[int, int], np.ndarray]

    def read(self, window: Window) -> np.ndarray:
        """(height, width) float32."""
        if self.outline is None:
            return np.broadcast_to(np.float32(1), (window.height, window.width))
        out = np.zeros((window.height, window.width), np.float32)
        for (row, column), part in self._within(window):
            top, left = row * WINDOW - window.row, column * WINDOW - window.column
            below, right = min(top + WINDOW, window.height), min(left + WINDOW, window.width)
            inner = part[max(0, -top) : below - top, max(0, -left) : right - left] if part.ndim else part
            out[max(0, top) : below, max(0, left) : right] = inner
        return out

    def _within(self, window: Window) -> Iterator[tuple[tuple[int, int], np.ndarray]]:
        for row in range(window.row // WINDOW, -(-(window.row + window.height) // WINDOW)):
            for column in range(window.column // WINDOW, -(-(window.column + window.width) // WINDOW)):
                if (row, column) in self.parts:
                    yield (row, column), self.parts[row, column]


def share_of_survey(area: shapely.Geometry | None, cells: Grid, side: int = 1) -> SurveyShare:
    """Exact shares of squares of ``side`` x ``side`` cells inside the survey area; None = whatever is mapped."""
    grid, asked_m2 = cells.coarser(side), 0.0
    if area is not None:
        area = shapely.set_precision(area, NODE_M)
        asked_m2 = area.area
    if (grid.height * side, grid.width * side) != cells.shape:  # the last squares reach beyond the cells
        whole = shapely.box(*cells.bounds)
        area = shapely.set_precision(whole if area is None else shapely.intersection(area, whole), NODE_M)
    if area is None:
        return SurveyShare(grid, None, asked_m2, {})
    land, parts = Land(area, grid), {}
    for cut in land.windows(WINDOW):  # cut to the area's bounds
        row, column = cut.row // WINDOW, cut.column // WINDOW
        top, left = row * WINDOW, column * WINDOW
        share = land.shares(Window(top, left, min(WINDOW, grid.height - top), min(WINDOW, grid.width - left)))
        parts[row, column] = np.float32(1) if (share == 1).all() else share.astype(np.float32)
    return SurveyShare(grid, area, asked_m2, parts)
