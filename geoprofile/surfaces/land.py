"""Which cells of a window are mapped, in which stratum, and with what terrain.

Polygons are held as well-known binary and burnt window by window, rasters are read
window by window: small enough to be sent to another machine, and memory does not grow
with the grid. A cell belongs where its centre lies.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..grid import Grid, Window
from ..rasters import RasterCells


@dataclass(frozen=True)
class Land:
    """The cells that are mapped.

    Parameters
    ----------
    area : polygons of the survey area as well-known binary, in the grid's system; None = no end but the grid's.
    strata : (polygon, code) as burnt: the last one stays; None = all of it is stratum 1.
    elevation : cells without it are not mapped; None = no terrain.
    drift : terrain rasters that a cell must have to be mapped, in the order of the drift's columns.
    """

    grid: Grid
    area: tuple[bytes, ...] | None = None
    strata: tuple[tuple[bytes, int], ...] | None = None
    elevation: RasterCells | None = None
    drift: tuple[RasterCells, ...] = ()

    def on(self, drift) -> Land:
        """The same land where every raster of ``drift`` (drift.Drift, or None) has a value."""
        return self if drift is None else replace(self, drift=drift.rasters)

    @property
    def inputs(self) -> list[RasterCells]:
        """Readers of the arrays that :meth:`cells` takes, in their order."""
        return [*([self.elevation] if self.elevation else []), *self.drift]

    def cells(self, window: Window, *arrays: np.ndarray) -> tuple[np.ndarray, np.ndarray | None]:
        """Stratum codes (height, width) uint8, 0 where nothing is mapped, and the drift (height, width, p), or None."""
        codes = self._codes(window)
        for array in arrays:
            codes[~np.isfinite(array)] = 0
        drift = arrays[-len(self.drift) :] if self.drift else ()
        return codes, np.stack(drift, axis=-1) if drift else None

    @property
    def extent(self) -> Window:
        """The smallest window that holds all polygons, within the grid."""
        grid = self.grid
        bounds = [bounds for bounds in (_total(self._area), _total(self._strata)) if bounds is not None]
        west, south, east, north = grid.bounds
        for left, bottom, right, top in bounds:
            west, south, east, north = max(west, left), max(south, bottom), min(east, right), min(north, top)
        first_row, last_row = (min(max(int((grid.north - y) / grid.cell_m), 0), grid.height) for y in (north, south - grid.cell_m))
        first, last = (min(max(int((x - grid.west) / grid.cell_m), 0), grid.width) for x in (west, east + grid.cell_m))
        return Window(first_row, first, max(last_row - first_row, 0), max(last - first, 0))

    def _codes(self, window: Window) -> np.ndarray:
        shape = window.height, window.width
        codes = np.ones(shape, np.uint8) if self._strata is None else self._burnt(self._strata, window)
        if self._area is not None:
            codes[self._burnt(self._area, window) == 0] = 0
        return codes

    def _burnt(self, shapes: list, window: Window) -> np.ndarray:
        from rasterio import Affine
        from rasterio.features import rasterize

        transform = self.grid.window_transform(window)
        cell, _, west, _, _, north = transform
        south, east = north - cell * window.height, west + cell * window.width
        near = [
            (shape, code) for shape, code, (left, bottom, right, top) in shapes
            if left <= east and right >= west and bottom <= north and top >= south
        ]  # fmt: skip
        if not near:
            return np.zeros((window.height, window.width), np.uint8)
        return rasterize(near, out_shape=(window.height, window.width), transform=Affine(*transform), fill=0, dtype="uint8")

    @cached_property
    def _area(self) -> list | None:
        return None if self.area is None else _opened((part, 1) for part in self.area)

    @cached_property
    def _strata(self) -> list | None:
        return None if self.strata is None else _opened(self.strata)


def _opened(parts) -> list:
    import shapely

    return [(shape, code, shape.bounds) for shape, code in ((shapely.from_wkb(part), code) for part, code in parts)]


def _total(shapes: list | None) -> tuple[float, float, float, float] | None:
    if not shapes:
        return None
    west, south, east, north = np.array([bounds for *_, bounds in shapes]).T
    return float(west.min()), float(south.min()), float(east.max()), float(north.max())
