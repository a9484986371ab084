"""The cells of a coarse lattice over the mapped land: what fitting and validation know of the map.

Parts by location and the choice of a form of absence need to know how far the mapped
cells are from the pits, not every cell. The lattice starts at the land's north-west
corner and depends on nothing but the grid and the land; where the land is small it
holds every cell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import numpy as np

from ..blocks import Layout, Tile, Workers
from ..grid import Window
from .folds import Targets
from .land import Land

MOST_CELLS = 250_000
"""A lattice over larger land leaves cells out: every second, third ... row and column is taken."""


@dataclass(frozen=True)
class Sample:
    """Mapped cells of the lattice, row by row: ``points`` (m, 2) in m, ``codes`` (m,), ``drift`` (m, p) or None."""

    points: np.ndarray
    codes: np.ndarray
    drift: np.ndarray | None
    cell_m: float

    def targets(self, which: np.ndarray | None = None) -> Targets:
        """An even sample of the cells ``which`` (m,) bool; of all where there is none such."""
        if which is None or not which.any():
            which = np.ones(len(self.codes), bool)
        return Targets.among(self.points[which], self.codes[which], self.cell_m)


def sample_land(land: Land, crew: Workers) -> Sample:
    """Look at the lattice cells of every tile that has some; the rasters are read once, window by window."""
    extent, grid = land.extent, land.grid
    step = max(1, math.ceil(math.sqrt(extent.height * extent.width / MOST_CELLS)))
    found = list(crew.each(partial(_looked_at, land, extent, step), Layout(grid, 0, crew.block).blocks()))
    row, column, codes, drift = (np.concatenate(parts) for parts in zip(*found, strict=True))
    order = np.lexsort((column, row))
    x, y = grid.centres()
    points = np.column_stack([x[column[order]], y[row[order]]])
    return Sample(points, codes[order].astype(int), drift[order] if land.drift else None, grid.cell_m)


def _looked_at(land: Land, extent: Window, step: int, block: tuple[Tile, ...]) -> tuple[np.ndarray, ...]:
    """Row, column, code and drift of the lattice cells of a block that are mapped."""
    found = [(np.empty(0, np.intp), np.empty(0, np.intp), np.empty(0, np.uint8), np.empty((0, len(land.drift))))]
    for tile in block:
        rows = _lattice(extent.row, extent.height, step, tile.core.row, tile.core.height)
        columns = _lattice(extent.column, extent.width, step, tile.core.column, tile.core.width)
        if not len(rows) or not len(columns):
            continue
        codes, drift = land.cells(tile.core, *(source.read(tile.core) for source in land.inputs))
        row, column = np.meshgrid(rows, columns, indexing="ij")
        here = row - tile.core.row, column - tile.core.column
        mapped = codes[here] > 0
        found.append((
            row[mapped], column[mapped], codes[here][mapped],
            np.empty((int(mapped.sum()), 0)) if drift is None else drift[here][mapped],
        ))  # fmt: skip
    return tuple(np.concatenate(parts) for parts in zip(*found, strict=True))


def _lattice(start: int, length: int, step: int, first: int, count: int) -> np.ndarray:
    """Members of start, start + step ... below start + length that lie in [first, first + count)."""
    begin = start + max(0, -(-(first - start) // step)) * step
    return np.arange(begin, min(start + length, first + count), step, dtype=np.intp)
