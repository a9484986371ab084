"""Survey area and strata: which cells and pits lie where.

A cell belongs where its centre lies, a pit where it lies; a pit on a shared edge
belongs to the stratum named first in the file.
"""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np

from ..context import Context
from ..errors import InputError
from ..grid import Grid
from ..layers import read_polygons, refuse_nameless
from ..rasters import RasterCells
from .land import Land


@dataclass(frozen=True)
class Strata:
    """``names`` by code, from 1. ``use``: split, stop, or '' (no strata). ``polygons`` with a column ``code``; None = no strata."""

    names: dict[int, str]
    use: str
    polygons: gpd.GeoDataFrame | None = None

    def codes_at(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """(n,) code of the stratum of each point, 0 where none."""
        if self.polygons is None:
            return np.ones(len(x), dtype=int)
        return _first_containing(self.polygons, x, y)


def read_area(context: Context) -> gpd.GeoDataFrame | None:
    source = context.survey.area_source
    if source is None:
        return None
    return read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="the survey area")


def points_inside(area: gpd.GeoDataFrame | None, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """(n,) bool; points without a place count as inside, they are left out for that already."""
    if area is None:
        return np.ones(len(x), dtype=bool)
    return (_first_containing(area.assign(code=1), x, y) > 0) | ~np.isfinite(x)


def read_strata(context: Context) -> Strata:
    """Polygons of [survey] strata; those that share a name in its ``id`` column are one stratum."""
    source = context.survey.strata
    if source is None:
        return Strata({1: ""}, "")
    frame = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="the strata")
    if source.id is not None:
        if source.id not in frame.columns:
            raise InputError(f"the strata have no column {source.id!r}", where=source.file,
                             allowed=", ".join(str(name) for name in frame.columns if name not in ("id", "geometry")))  # fmt: skip
        refuse_nameless(frame, source.id, context.path(source.file), "the strata")
        frame["id"] = frame[source.id].astype(str)
    names = list(dict.fromkeys(frame["id"]))
    if len(names) > 255:
        raise InputError("there are more than 255 strata", where=source.file, found=str(len(names)),
                         remedy="name strata by a column that groups them, as id = \"parent_material\"")  # fmt: skip
    frame["code"] = [names.index(name) + 1 for name in frame["id"]]
    return Strata(dict(enumerate(names, start=1)), source.use, frame)


def land_of(grid: Grid, area: gpd.GeoDataFrame | None, strata: Strata, elevation: RasterCells | None = None) -> Land:
    """The cells that lie in the area and in a stratum, and have an elevation."""
    burnt = None
    if strata.polygons is not None:
        # the last one burnt stays: reversed, so that the first in the file wins as it does for pits
        burnt = tuple(zip(strata.polygons.geometry.to_wkb(), map(int, strata.polygons["code"]), strict=True))[::-1]
    return Land(grid, None if area is None else tuple(area.geometry.to_wkb()), burnt, elevation)


def _first_containing(polygons: gpd.GeoDataFrame, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    import shapely

    codes = np.zeros(len(x), dtype=int)
    here = np.flatnonzero(np.isfinite(x) & np.isfinite(y))
    points = shapely.points(np.asarray(x)[here], np.asarray(y)[here])
    which, polygon = shapely.STRtree(polygons.geometry.to_numpy()).query(points, predicate="intersects")
    own = polygons["code"].to_numpy()
    for position in np.lexsort((polygon, which))[::-1]:
        codes[here[which[position]]] = own[polygon[position]]
    return codes
