"""Which cells a polygon covers, and which polygon a point belongs to.

Cells count by the exact share of them that lies inside, so that the areas of
neighbours add up and a polygon smaller than a cell still has a value. A point
belongs to one polygon at most.
"""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from . import environment as _environment  # noqa: F401
from .errors import InputError
from .grid import Grid


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
    from exactextract import exact_extract
    from exactextract.raster import NumPyRasterSource
    from pyproj import CRS

    if polygons.crs is None or CRS(polygons.crs) != CRS(grid.crs):
        raise InputError(
            "polygons and grid are not in the same coordinate system",
            found=str(polygons.crs),
            allowed=grid.crs,
            remedy="bring the polygons into the survey's system",
        )
    west, south, east, north = grid.bounds
    # one byte stands for the whole grid: only the geometry of the cells matters
    source = NumPyRasterSource(
        np.broadcast_to(np.int8(1), grid.shape), west, south, east, north, srs_wkt=polygons.crs.to_wkt()
    )
    inside = shapely.intersects(polygons.values, shapely.box(west, south, east, north))
    cells, shares, counts = [], [], np.zeros(len(polygons), np.intp)
    if inside.any():
        frame = gpd.GeoDataFrame(geometry=polygons.values[inside], crs=polygons.crs)
        for place, feature in zip(np.flatnonzero(inside), exact_extract(source, frame, ["cell_id", "coverage"])):
            found = feature["properties"]
            counts[place] = len(found["cell_id"])
            cells.append(np.asarray(found["cell_id"], np.intp))
            shares.append(np.asarray(found["coverage"], float))
    return Cells(
        np.concatenate([[0], np.cumsum(counts)]),
        np.concatenate(cells) if cells else np.zeros(0, np.intp),
        np.concatenate(shares) if shares else np.zeros(0),
        grid.cell_m**2,
        shapely.area(polygons.values),
    )


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
