"""The squares that zones are drawn on: the grid's cells, or groups of them that are no wider than the map can show.

A map cannot show what is narrower than half a millimetre of it. Cells are grouped into
squares up to that width, each with the class that most of its mapped cells have (codes are
never averaged), so that the work grows with the map and not with the raster.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely

from ..blocks import Layout, Tile, Workers
from ..grid import Grid, Window
from ..memory import require_memory
from .classes import ClassCells
from .draft import Draft
from .legibility import DRAWN_MM, MapScale
from .survey_share import SurveyShare, share_of_survey

SQUARES_IN_LEAST_SIDE = 5
"""The side of the least area holds at least so many squares, so that its shape is drawn (common practice, no source)."""
TILE = 512
BYTES_PER_SQUARE = 5
"""Measured on generated ground: what drawing holds for each square."""
STATED_FROM = 10_000_000
"""From so many squares on a note states the memory."""
REMEDY = "state a smaller map scale or a larger least_area_ha, make grid.cell_m larger, or draw parts of the survey one by one"


@dataclass(frozen=True)
class Drawing:
    """``codes`` uint8 on squares of ``side`` x ``side`` cells, 0 = not mapped; ``share``: how much of each is survey."""

    side: int
    codes: np.ndarray
    share: SurveyShare

    @property
    def grid(self) -> Grid:
        return self.share.grid


def cells_a_side(grid: Grid, scale: MapScale) -> int:
    """Cells along the side of a square; 1 where cells are as wide as the map can show, or every cell is asked for."""
    widest = min(DRAWN_MM / 1000 * scale.denominator, scale.smoothing_m, math.sqrt(scale.least_area_ha * 10_000) / SQUARES_IN_LEAST_SIDE)
    return max(1, math.floor(widest / grid.cell_m + 1e-9))


def draw(draft: Draft, area: shapely.Geometry | None, scale: MapScale, crew: Workers) -> tuple[Drawing, str]:
    """Majority classes on the squares, and the sentence that says so; ``area``: the survey's, None = all that is mapped.

    Raises InputError before anything is read where the memory is not there.
    """
    side = cells_a_side(draft.grid, scale)
    grid = draft.grid.coarser(side)
    squares = grid.height * grid.width
    takes = require_memory(BYTES_PER_SQUARE * squares, squares, "drawing zones", REMEDY)
    told = (
        f"zones were drawn cell by cell, cells of {grid.cell_m:g} m" if side == 1 else
        f"zones were drawn on squares of {side} x {side} cells ({grid.cell_m:g} m), no wider than {DRAWN_MM:g} mm of map, each with the "
        "class that most of its cells with a class have; where less than half of its land has one, with none"
    )  # fmt: skip
    if squares >= STATED_FROM:
        told += f"; {takes}"
    codes, share = np.zeros(grid.shape, np.uint8), share_of_survey(area, draft.grid, side)
    for found in crew.each(partial(_squares_of, draft.cells, side), _blocks(draft.grid, side, crew)):
        for window, own, mapped in found:
            enough = mapped >= (0.5 - 1e-6) * side**2 * share.read(window)
            codes[window.slices] = np.where(enough, own, 0)
    return Drawing(side, codes, share), told


@dataclass(frozen=True)
class LandKept:
    """``share`` 0 to 1 of the land with a class keeps it in the zones; ``by_cells_m2``: code -> land of the survey that its cells cover."""

    share: float
    by_cells_m2: dict[int, float]


def land_kept(draft: Draft, drawing: Drawing, crew: Workers) -> LandKept:
    """What merging and drawing moved, once the drawing's codes are those of the zones."""
    sums = {}
    for found in crew.each(partial(_counted_of, draft.cells, drawing.side), _blocks(draft.grid, drawing.side, crew)):
        for window, codes, counts in found:
            share, own = drawing.share.read(window), drawing.codes[window.slices]
            found_here = sums[window.row, window.column] = np.zeros((2, 256))
            for code, count in zip(codes, counts):
                land = share * count
                found_here[:, code] = land.sum(dtype=float), (land * (own == code)).sum(dtype=float)
    # blocks come as they are done; sums are taken in one order
    cells, same = np.array([sums[place] for place in sorted(sums)]).reshape(-1, 2, 256).sum(axis=0)
    by_cells = {code: float(cells[code]) * draft.grid.cell_m**2 for code in draft.names}
    return LandKept(float(same[1:].sum() / max(cells[1:].sum(), 1e-9)), by_cells)


def _blocks(grid: Grid, side: int, crew: Workers) -> Iterator[tuple[Tile, ...]]:
    return Layout(grid, 0, crew.block, max(1, TILE // side) * side).blocks()


def _squares_of(cells: ClassCells, side: int, block: tuple[Tile, ...]) -> list[tuple[Window, np.ndarray, np.ndarray]]:
    return [(_square_window(tile.core, side), *majority(cells.read(tile.core), side)) for tile in block]


def _counted_of(cells: ClassCells, side: int, block: tuple[Tile, ...]) -> list[tuple[Window, np.ndarray, np.ndarray]]:
    return [(_square_window(tile.core, side), *counted(cells.read(tile.core), side)) for tile in block]


def _square_window(core: Window, side: int) -> Window:
    return Window(core.row // side, core.column // side, -(-core.height // side), -(-core.width // side))


def counted(codes: np.ndarray, side: int) -> tuple[np.ndarray, np.ndarray]:
    """The codes that there are (n,) and how often each is in each square (n, rows, columns); squares at the edge may be short."""
    height, width = codes.shape
    rows, columns = -(-height // side), -(-width // side)
    found = np.unique(codes)
    counts = np.empty((len(found), rows, columns), np.min_scalar_type(side**2))
    same = np.zeros((rows * side, columns * side), bool)
    for number, code in enumerate(found):
        np.equal(codes, code, out=same[:height, :width])
        counts[number] = same.reshape(rows, side, columns, side).sum(axis=(1, 3), dtype=counts.dtype)
    return found, counts


def majority(codes: np.ndarray, side: int) -> tuple[np.ndarray, np.ndarray]:
    """The code that most cells with one have in each square, uint8, of equal ones the smallest; and how many cells have one."""
    if side == 1:
        return codes.astype(np.uint8), codes > 0
    found, counts = counted(codes, side)
    found, counts = found[found > 0], counts[found > 0]
    if not len(found):
        empty = np.zeros((-(-codes.shape[0] // side), -(-codes.shape[1] // side)), np.uint8)
        return empty, empty
    mapped = counts.sum(axis=0, dtype=counts.dtype)
    return np.where(mapped > 0, found[np.argmax(counts, axis=0)], 0).astype(np.uint8), mapped
