"""The squares that zones are drawn on: the grid's cells, or groups of them that are no wider than the map can show.

A map cannot show what is narrower than half a millimetre of it. Cells are grouped into
squares up to that width, each with the class that most of its cells have (codes are never
averaged), so that the work grows with the map and not with the raster.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from ..blocks import Layout, Tile, Workers
from ..grid import Grid, Window
from ..memory import require_memory
from .classes import ClassCells
from .draft import Draft
from .legibility import DRAWN_MM, MapScale

SQUARES_IN_LEAST_SIDE = 5
"""The side of the least area holds at least so many squares, so that its shape is drawn (common practice, no source)."""
TILE = 512
BYTES_PER_SQUARE = 24
BYTES_PER_REGION = 1_500
"""Measured on generated ground: what drawing holds for each square, and for each patch of one class."""
STATED_FROM = 10_000_000
"""From so many squares on a note states the memory."""


@dataclass(frozen=True)
class Drawing:
    """Codes uint8 on squares of ``side`` x ``side`` cells of ``cells``; 0 = not mapped."""

    cells: Grid
    side: int
    codes: np.ndarray

    @property
    def grid(self) -> Grid:
        return self.cells.coarser(self.side)


def cells_a_side(grid: Grid, scale: MapScale) -> int:
    """Cells along the side of a square; 1 where cells are as wide as the map can show, or every cell is asked for."""
    widest = min(DRAWN_MM / 1000 * scale.denominator, scale.smoothing_m, math.sqrt(scale.least_area_ha * 10_000) / SQUARES_IN_LEAST_SIDE)
    return max(1, math.floor(widest / grid.cell_m + 1e-9))


def draw(draft: Draft, scale: MapScale, crew: Workers) -> tuple[Drawing, str]:
    """Majority classes on the squares, and the sentence that says so; raises InputError before anything is read where their memory is not there."""
    side = cells_a_side(draft.grid, scale)
    grid = draft.grid.coarser(side)
    squares = grid.height * grid.width
    takes = require_memory(BYTES_PER_SQUARE * squares, squares, "drawing zones", REMEDY)
    told = (
        f"zones were drawn cell by cell, cells of {grid.cell_m:g} m" if side == 1 else
        f"zones were drawn on squares of {side} x {side} cells ({grid.cell_m:g} m), no wider than {DRAWN_MM:g} mm of map, each with the "
        "class that most of its cells have"
    )  # fmt: skip
    if squares >= STATED_FROM:
        told += f"; {takes}"
    codes = np.zeros(grid.shape, np.uint8)
    for found in crew.each(partial(_squares_of, draft.cells, side), _blocks(draft.grid, side, crew)):
        for window, own in found:
            codes[window.slices] = own
    return Drawing(draft.grid, side, codes), told


REMEDY = "state a smaller map scale or a larger least_area_ha, make grid.cell_m larger, or draw parts of the survey one by one"


def regions_fit(squares: int, regions: int) -> None:
    """Raises InputError where classes are so ragged that their patches do not fit in memory."""
    require_memory(regions * BYTES_PER_REGION, squares, f"drawing zones from {regions:,} patches", REMEDY)


def land_kept(draft: Draft, drawing: Drawing, final: np.ndarray, weight: np.ndarray, crew: Workers) -> float:
    """Share of the mapped land whose cells keep their class in ``final`` codes; ``weight``: share of each square in the survey. Of cells with a class."""
    sums = {}
    for found in crew.each(partial(_counted_of, draft.cells, drawing.side), _blocks(draft.grid, drawing.side, crew)):
        for window, codes, counts in found:
            share, own = weight[window.slices], final[window.slices]
            mapped = (share * counts[codes > 0].sum(axis=0)).sum(dtype=float)
            same = sum((share * count * (own == code)).sum(dtype=float) for code, count in zip(codes, counts) if code)
            sums[window.row, window.column] = same, mapped
    # blocks come as they are done; sums are taken in one order
    same, mapped = np.array([sums[place] for place in sorted(sums)]).reshape(-1, 2).sum(axis=0)
    return float(same / max(mapped, 1e-9))


def _blocks(grid: Grid, side: int, crew: Workers) -> Iterator[tuple[Tile, ...]]:
    return Layout(grid, 0, crew.block, max(1, TILE // side) * side).blocks()


def _squares_of(cells: ClassCells, side: int, block: tuple[Tile, ...]) -> list[tuple[Window, np.ndarray]]:
    return [(_square_window(tile.core, side), majority(cells.read(tile.core), side)) for tile in block]


def _counted_of(cells: ClassCells, side: int, block: tuple[Tile, ...]) -> list[tuple[Window, np.ndarray, np.ndarray]]:
    return [(_square_window(tile.core, side), *counted(cells.read(tile.core), side)) for tile in block]


def _square_window(core: Window, side: int) -> Window:
    return Window(core.row // side, core.column // side, -(-core.height // side), -(-core.width // side))


def counted(codes: np.ndarray, side: int) -> tuple[np.ndarray, np.ndarray]:
    """The codes that there are (n,) and how often each is in each square (n, rows, columns); squares at the edge may be short."""
    height, width = codes.shape
    rows, columns = -(-height // side), -(-width // side)
    found = np.unique(codes)
    counts = np.empty((len(found), rows, columns), np.int64)
    for number, code in enumerate(found):
        same = np.zeros((rows * side, columns * side), bool)
        same[:height, :width] = codes == code
        counts[number] = same.reshape(rows, side, columns, side).sum(axis=(1, 3))
    return found, counts


def majority(codes: np.ndarray, side: int) -> np.ndarray:
    """The code that most cells of each square have; of equal ones the smallest, 0 the last."""
    if side == 1:
        return codes.astype(np.uint8)
    found, counts = counted(codes, side)
    order = np.argsort(np.where(found == 0, 256, found), kind="stable")
    return found[order][np.argmax(counts[order], axis=0)].astype(np.uint8)
