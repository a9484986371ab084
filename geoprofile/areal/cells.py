"""Cells of a raster where they are asked for, and terrain that a trend follows: in memory of a strip, not of the grid."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..grid import Grid, Window
from ..rasters import read_window

STRIP_CELLS = 4_000_000


def read_cells_at(path: Path, grid: Grid, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    """(m,) values of cells of a raster on ``grid``, read strip by strip, only strips and columns that are wanted."""
    found = np.full(len(row), np.nan)
    if not len(row):
        return found
    left, right = int(column.min()), int(column.max()) + 1
    height = max(1, STRIP_CELLS // (right - left))
    for top in np.unique(row // height) * height:
        own = np.flatnonzero((row >= top) & (row < top + height))
        first, last = int(row[own].min()), int(row[own].max()) + 1
        found[own] = read_window(path, Window(first, left, last - first, right - left))[row[own] - first, column[own] - left]
    return found


def centres_of(grid: Grid, cell: np.ndarray) -> np.ndarray:
    """(m, 2) centres of cells given in the grid's order."""
    row, column = np.divmod(cell, grid.width)
    x, y = grid.centres()
    return np.column_stack([x[column], y[row]])


@dataclass(frozen=True)
class TerrainColumns:
    """Rasters of terrain on the surface's grid; ``centre`` and ``spread`` (p,) bring them to like size, which changes no kriging."""

    paths: tuple[Path, ...]
    grid: Grid
    centre: np.ndarray
    spread: np.ndarray

    def at(self, points: np.ndarray) -> np.ndarray:
        """(m, p) value of the cell that each point lies in; NaN outside."""
        row, column, inside = self.grid.cells_of(points[:, 0], points[:, 1])
        raw = np.stack([read_cells_at(path, self.grid, row, column) for path in self.paths], axis=-1)
        return np.where(inside[:, None], (raw - self.centre) / self.spread, np.nan)


def terrain_columns(paths: tuple[Path, ...], grid: Grid, points: np.ndarray) -> TerrainColumns | None:
    """Brought to like size by what is at ``points``; None where a raster is not there or on another grid."""
    import rasterio

    for path in paths:
        if not path.is_file():
            return None
        with rasterio.open(path) as source:
            if source.shape != grid.shape:
                return None
    raw = TerrainColumns(paths, grid, np.zeros(len(paths)), np.ones(len(paths))).at(points)
    known = raw[np.isfinite(raw).all(axis=1)]
    if not len(known):
        return None
    spread = known.std(axis=0)
    return TerrainColumns(paths, grid, known.mean(axis=0), np.where(spread > 0, spread, 1.0))
