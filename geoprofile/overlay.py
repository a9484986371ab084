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
from .grid import Grid, Window

TILE = 1024
"""Side of the windows in which a polygon is looked at, cells."""


def _coverage(polygon, bounds: tuple[float, float, float, float], shape: tuple[int, int], crs: str) -> Iterator[dict]:
    """``cell_id`` and ``coverage`` of a polygon on a raster of ``shape`` within ``bounds``; none where it covers nothing."""
    from exactextract import exact_extract
    from exactextract.raster import NumPyRasterSource

    # one byte stands for the whole raster: only the geometry of the cells matters
    source = NumPyRasterSource(np.broadcast_to(np.int8(1), shape), *bounds, srs_wkt=crs)
    for feature in exact_extract(source, gpd.GeoDataFrame(geometry=[polygon], crs=crs), ["cell_id", "coverage"]):
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
            for found in _coverage(self.shape, box.bounds, (window.height, window.width), self.grid.crs):
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


def shared_land(shapes: np.ndarray, least_m2: float = 1.0) -> list[tuple[int, int, float]]:
    """(one, other, m2) of every two of the (n,) polygons that have more than ``least_m2`` in common, in order."""
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    one, other = one[one < other], other[one < other]
    area = shapely.area(shapely.intersection(shapes[one], shapes[other]))
    return sorted((int(a), int(b), float(m2)) for a, b, m2 in zip(one, other, area, strict=True) if m2 > least_m2)
