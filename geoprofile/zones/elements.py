"""Pits by the landform element they stand on: the trade's first question of a hummocky landscape."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..context import Context
from ..overlay import Land
from ..products import Terrain
from .findings import Findings
from .tables import Grouping, hectares

RASTER = "landform_element"


def by_landform_element(
    own_pits: gpd.GeoDataFrame, terrain: Terrain | None, area: shapely.Geometry | None, context: Context, findings: Findings
) -> Grouping | None:
    """Each pit in the element of its cell, with the element's hectares in the survey area; None without the raster."""
    if terrain is None or RASTER not in terrain.rasters:
        return None
    raster, grid = terrain.rasters[RASTER], terrain.grid
    x, y = shapely.get_x(own_pits.geometry.values), shapely.get_y(own_pits.geometry.values)
    placed = np.isfinite(x)
    row, column, inside = grid.cells_of(np.where(placed, x, 0.0), np.where(placed, y, 0.0))
    cells = raster.cells(context.output)
    code = np.where(inside & placed, cells.at(row, column), 0)
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
    of_pit = pd.Series([names.get(int(one), "") for one in code], index=pd.Index(own_pits["pit_id"], dtype="str"), dtype="str")
    return Grouping(RASTER, RASTER, "landform_elements", groups, of_pit)
