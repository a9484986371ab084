"""Pits by the landform element they stand on: the trade's first question of a hummocky landscape."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..context import Context
from ..grid import Grid
from ..overlay import Land
from ..products import Terrain
from ..rasters import RasterCells
from .findings import Findings
from .places import CountedPits
from .tables import Grouping, hectares

RASTER = "landform_element"


def by_landform_element(
    pits: CountedPits, terrain: Terrain | None, area: shapely.Geometry | None, context: Context, findings: Findings
) -> Grouping | None:
    """Each pit in the element of its cell, with the element's hectares in the survey area; None without the raster."""
    if terrain is None or RASTER not in terrain.rasters:
        return None
    raster, grid = terrain.rasters[RASTER], terrain.grid
    cells = raster.cells(context.output)
    land = Land(shapely.box(*grid.bounds) if area is None else area, grid)
    counts = np.zeros(256, np.int64)
    for window in land.windows():
        counts += np.bincount(cells.read(window)[land.centres_inside(window)], minlength=256)
        context.progress.check()
    names = dict(sorted(raster.legend.items()))
    groups = pd.DataFrame({
        RASTER: pd.Series(list(names.values()), dtype="str"),
        "area_ha": hectares([counts[one] * grid.cell_m**2 for one in names]),
    })  # fmt: skip
    findings.note("a pit belongs to the landform element of the cell it stands in; hectares are counted by cell centres")
    of_pit = pd.Series(_elements_at(pits.counted, cells, grid, names), index=pd.Index(pits.counted["pit_id"], dtype="str"), dtype="str")
    left = pits.left_out
    left_out = pd.DataFrame({"pit_id": left["pit_id"], "group": _elements_at(left, cells, grid, names), "why": left["why"]})
    return Grouping(RASTER, RASTER, "landform_elements", groups, of_pit, left_out.astype("str"))


def _elements_at(pits: gpd.GeoDataFrame, cells: RasterCells, grid: Grid, names: dict[int, str]) -> list[str]:
    """The element of the cell that each pit stands in, "" where there is none."""
    x, y = shapely.get_x(pits.geometry.values), shapely.get_y(pits.geometry.values)
    placed = np.isfinite(x)
    row, column, inside = grid.cells_of(np.where(placed, x, 0.0), np.where(placed, y, 0.0))
    return [names.get(int(code), "") for code in np.where(inside & placed, cells.at(row, column), 0)]
