"""Cells of a raster where they are asked for, and terrain that a trend follows: in memory of a block or a strip, not of the grid."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..grid import Grid
from ..rasters import RasterCells, RasterFile

STRIP_CELLS = 2_000_000


def read_cells_at(path: Path, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    """(m,) values of cells of a raster, float64; only the file's blocks that hold one are read, one at a time."""
    return RasterCells(str(path)).at(row, column).astype(np.float64)


def certainty(raster: RasterFile) -> float:
    """What the raster of a probability holds where it is certain: 100 in per cent, else 1."""
    return 100.0 if raster.unit in ("%", "percent") else 1.0


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
        raw = np.stack([read_cells_at(path, row, column) for path in self.paths], axis=-1)
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
