"""The cells of a raster: system, corner, cell and size in one frozen object.

``x, y`` are eastings and northings in metres,
``row, column`` count from the north-west corner.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .errors import InputError


@dataclass(frozen=True, slots=True)
class Window:
    """Whole cells: rows [row, row + height), columns [column, column + width)."""

    row: int
    column: int
    height: int
    width: int

    @property
    def slices(self) -> tuple[slice, slice]:
        return slice(self.row, self.row + self.height), slice(self.column, self.column + self.width)


@dataclass(frozen=True, slots=True)
class Grid:
    """A north-up grid of square cells in a projected system in metres.

    Parameters
    ----------
    crs : text that pyproj understands, as ``EPSG:3158``.
    west, north : outer corner of the first cell, m.
    cell_m : side of a cell, m.
    height, width : rows and columns.
    """

    crs: str
    west: float
    north: float
    cell_m: float
    height: int
    width: int

    @property
    def shape(self) -> tuple[int, int]:
        return self.height, self.width

    @property
    def transform(self) -> tuple[float, float, float, float, float, float]:
        """The six affine numbers a, b, c, d, e, f (x = a column + b row + c)."""
        return self.cell_m, 0.0, self.west, 0.0, -self.cell_m, self.north

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """West, south, east, north in m."""
        return (
            self.west,
            self.north - self.cell_m * self.height,
            self.west + self.cell_m * self.width,
            self.north,
        )

    @property
    def whole(self) -> Window:
        return Window(0, 0, self.height, self.width)

    @property
    def cell_ha(self) -> float:
        return self.cell_m**2 / 10_000

    def windows(self, tile: int = 256) -> Iterator[Window]:
        """Tiles on a fixed lattice from the grid's origin, row by row; short ones at the edges."""
        for row in range(0, self.height, tile):
            for column in range(0, self.width, tile):
                yield Window(row, column, min(tile, self.height - row), min(tile, self.width - column))

    def window_transform(self, window: Window) -> tuple[float, float, float, float, float, float]:
        west = self.west + window.column * self.cell_m
        north = self.north - window.row * self.cell_m
        return self.cell_m, 0.0, west, 0.0, -self.cell_m, north

    def centres(self, window: Window | None = None) -> tuple[np.ndarray, np.ndarray]:
        """x of each column (width,) and y of each row (height,), cell centres in m."""
        window = window or self.whole
        x = self.west + (window.column + np.arange(window.width) + 0.5) * self.cell_m
        y = self.north - (window.row + np.arange(window.height) + 0.5) * self.cell_m
        return x, y

    def centre_points(self, window: Window | None = None) -> np.ndarray:
        """(height * width, 2) array of x, y, row by row."""
        x, y = self.centres(window)
        return np.column_stack([np.tile(x, len(y)), np.repeat(y, len(x))])

    def cells_of(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Row, column (int) and inside (bool) of points; row and column are 0 where outside.

        A point on an edge belongs to the cell east and south of it.
        """
        column = np.floor((np.asarray(x, float) - self.west) / self.cell_m)
        row = np.floor((self.north - np.asarray(y, float)) / self.cell_m)
        inside = (row >= 0) & (row < self.height) & (column >= 0) & (column < self.width)
        return (
            np.where(inside, row, 0).astype(np.intp),
            np.where(inside, column, 0).astype(np.intp),
            inside,
        )

    def coarser(self, factor: int) -> Grid:
        """Cells ``factor`` times as wide from the same origin; edges that do not fill a cell stay in a short last cell."""
        return Grid(
            self.crs, self.west, self.north, self.cell_m * factor, -(-self.height // factor), -(-self.width // factor)
        )

    def factor_to(self, cell_m: float) -> int:
        """How many of these cells make one of ``cell_m``; refuses what is not a whole multiple."""
        factor = round(cell_m / self.cell_m)
        if factor < 1 or abs(factor * self.cell_m - cell_m) > 1e-6 * self.cell_m:
            raise InputError(
                "the survey grid must be a whole multiple of the elevation raster's cell",
                found=f"grid.cell_m = {cell_m:g}, elevation cell {self.cell_m:g} m",
                allowed=", ".join(f"{self.cell_m * k:g}" for k in (1, 2, 3, 4, 5)) + " ...",
                remedy="set cell_m to one of these, or leave it out to use the elevation's own cell",
            )
        return factor
