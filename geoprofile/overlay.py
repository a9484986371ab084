"""Which cells a polygon covers, and which polygon a point belongs to.

Cells count by the exact share of them that lies inside, so that the areas of
neighbours add up and a polygon smaller than a cell still has a value. A point
belongs to one polygon at most.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from . import environment as _environment  # noqa: F401
from .errors import InputError
from .grid import Grid, Window

TILE = 1024
"""Side of the windows in which a polygon is looked at, cells."""


@dataclass(frozen=True)
class Cells:
    """Cells of all polygons, polygon after polygon.

    Parameters
    ----------
    start : (n + 1,) where the cells of polygon i begin: ``start[i]:start[i + 1]``.
    cell : (m,) index of the cell, row by row from the north-west corner.
    share : (m,) share of the cell inside the polygon, 0 to 1.
    cell_m2 : area of a cell, m2.
    polygon_m2 : (n,) area of each polygon, m2.
    """

    start: np.ndarray
    cell: np.ndarray
    share: np.ndarray
    cell_m2: float
    polygon_m2: np.ndarray

    def __len__(self) -> int:
        return len(self.polygon_m2)

    def of(self, polygon: int) -> tuple[np.ndarray, np.ndarray]:
        """Cell indices and shares of one polygon."""
        part = slice(self.start[polygon], self.start[polygon + 1])
        return self.cell[part], self.share[part]

    def outside_m2(self, polygon: int) -> float:
        """Area of the polygon that lies off the grid, m2."""
        _, share = self.of(polygon)
        return max(self.polygon_m2[polygon] - float(share.sum()) * self.cell_m2, 0.0)


def cells_in(polygons: gpd.GeoSeries, grid: Grid) -> Cells:
    """Exact shares of the grid's cells inside each polygon.

    Raises InputError where the polygons are not in the grid's system.
    """
    from pyproj import CRS

    if polygons.crs is None or CRS(polygons.crs) != CRS(grid.crs):
        raise InputError(
            "polygons and grid are not in the same coordinate system",
            found=str(polygons.crs),
            allowed=grid.crs,
            remedy="bring the polygons into the survey's system",
        )
    west, south, east, north = grid.bounds
    inside = shapely.intersects(polygons.values, shapely.box(west, south, east, north))
    cells, shares, counts = [], [], np.zeros(len(polygons), np.intp)
    found = _coverage(polygons.values[inside], grid.bounds, grid.shape, polygons.crs.to_wkt()) if inside.any() else []
    for place, one in zip(np.flatnonzero(inside), found):
        counts[place] = len(one["cell_id"])
        cells.append(np.asarray(one["cell_id"], np.intp))
        shares.append(np.asarray(one["coverage"], float))
    return Cells(
        np.concatenate([[0], np.cumsum(counts)]),
        np.concatenate(cells) if cells else np.zeros(0, np.intp),
        np.concatenate(shares) if shares else np.zeros(0),
        grid.cell_m**2,
        shapely.area(polygons.values),
    )


def _coverage(shapes, bounds: tuple[float, float, float, float], shape: tuple[int, int], crs: str) -> Iterator[dict]:
    """``cell_id`` and ``coverage`` of each shape on a raster of ``shape`` within ``bounds``."""
    from exactextract import exact_extract
    from exactextract.raster import NumPyRasterSource

    # one byte stands for the whole raster: only the geometry of the cells matters
    source = NumPyRasterSource(np.broadcast_to(np.int8(1), shape), *bounds, srs_wkt=crs)
    for feature in exact_extract(source, gpd.GeoDataFrame(geometry=list(shapes), crs=crs), ["cell_id", "coverage"]):
        yield feature["properties"]


@dataclass(frozen=True)
class Land:
    """One polygon looked at window by window: memory is that of a window, whatever the polygon covers.

    Not for several threads: the polygon is prepared.
    """

    shape: shapely.Geometry
    grid: Grid

    def __post_init__(self) -> None:
        shapely.prepare(self.shape)

    def windows(self, tile: int = TILE) -> Iterator[Window]:
        """Tiles on a fixed lattice from the grid's origin that the polygon may lie in, row by row, cut to its bounds."""
        grid = self.grid
        west, south, east, north = self.shape.bounds if not self.shape.is_empty else (np.inf,) * 4
        left, top = (max(0, math.floor(_bounded(away / grid.cell_m))) for away in (west - grid.west, grid.north - north))
        right = min(grid.width, math.ceil(_bounded((east - grid.west) / grid.cell_m)))
        bottom = min(grid.height, math.ceil(_bounded((grid.north - south) / grid.cell_m)))
        for row in range(top // tile * tile, bottom, tile):
            for column in range(left // tile * tile, right, tile):
                first, begin = max(row, top), max(column, left)
                window = Window(first, begin, min(row + tile, bottom) - first, min(column + tile, right) - begin)
                if window.height > 0 and window.width > 0 and self.shape.intersects(self._box(window)):
                    yield window

    def shares(self, window: Window) -> np.ndarray:
        """(height, width) exact share of each cell inside the polygon."""
        box = self._box(window)
        if self.shape.contains_properly(box):
            return np.ones((window.height, window.width))
        out = np.zeros(window.height * window.width)
        if self.shape.intersects(box):
            for found in _coverage([self.shape], box.bounds, (window.height, window.width), self.grid.crs):
                out[np.asarray(found["cell_id"], np.intp)] = found["coverage"]
        return out.reshape(window.height, window.width)

    def centres_inside(self, window: Window) -> np.ndarray:
        """(height, width) whether the centre of each cell lies inside the polygon."""
        box = self._box(window)
        if self.shape.contains_properly(box):
            return np.ones((window.height, window.width), bool)
        x, y = self.grid.centres(window)
        return shapely.contains_xy(self.shape, *np.meshgrid(x, y))

    def _box(self, window: Window) -> shapely.Geometry:
        cell, _, west, _, _, north = self.grid.window_transform(window)
        return shapely.box(west, north - cell * window.height, west + cell * window.width, north)


def _bounded(cells: float) -> float:
    return min(max(cells, -1.0), 1e12)


@dataclass(frozen=True)
class Places:
    """``polygon``: (n,) index of each point's polygon, -1 where it lies in none.

    ``ties`` maps a point to all polygons that contain or touch it, where there is more than one.
    """

    polygon: np.ndarray
    ties: dict[int, tuple[int, ...]]


PLACE_RULE = (
    "a pit belongs to the polygon it lies in; on a line between polygons, or where polygons overlap, "
    "to the one that is listed first"
)


def points_in(points: np.ndarray, polygons: np.ndarray) -> Places:
    """The one polygon of each point, by :data:`PLACE_RULE`.

    ``points`` are shapely Points, None where the place is not known.
    """
    place = np.full(len(points), -1, np.intp)
    ties: dict[int, tuple[int, ...]] = {}
    known = np.flatnonzero(~shapely.is_missing(points) & ~shapely.is_empty(points))
    if len(known) and len(polygons):
        point, polygon = shapely.STRtree(polygons).query(points[known], predicate="intersects")
        order = np.lexsort((polygon, point))
        point, polygon = known[point[order]], polygon[order]
        first, begin, count = np.unique(point, return_index=True, return_counts=True)
        place[first] = polygon[begin]
        ties = {int(p): tuple(int(i) for i in polygon[b : b + c]) for p, b, c in zip(first, begin, count) if c > 1}
    return Places(place, ties)
