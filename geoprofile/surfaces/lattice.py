"""The grid of surfaces: the terrain's own, or one laid over the area or the pits."""

from __future__ import annotations

import math

import geopandas as gpd
import numpy as np

from ..context import Context
from ..errors import InputError
from ..grid import Grid
from ..products import Terrain

MOST_CELLS = 1_000_000_000
"""More cells than this, laid without an elevation raster, are taken for a pit with wrong coordinates."""


def surface_grid(terrain: Terrain | None, context: Context, x: np.ndarray, y: np.ndarray, area: gpd.GeoDataFrame | None) -> Grid:
    """``terrain.grid`` where there is one, so that drift at pits and cells comes from one lattice.

    Else cells of ``grid.cell_m`` on whole multiples of it, over the survey area or,
    without one, over the pits with a margin of a tenth of their extent and at least 5 cells.
    ``x``, ``y`` : places of the pits, m, NaN allowed.
    """
    refuse_degrees(context.survey.crs)
    if terrain is not None:
        return terrain.grid
    cell = context.grid.cell_m
    if cell is None:
        raise InputError(
            "there is no grid for the surfaces", where="grid.cell_m",
            remedy="name an elevation raster ([terrain] elevation) or a cell ([grid] cell_m)",
        )  # fmt: skip
    if area is not None:
        west, south, east, north = area.total_bounds
    else:
        here = np.isfinite(x) & np.isfinite(y)
        if not here.any():
            raise InputError("no pit has a place, and there is no survey area to lay a grid over", where="survey.area",
                             remedy="give the pits coordinates, or name a survey area")  # fmt: skip
        west, east, south, north = x[here].min(), x[here].max(), y[here].min(), y[here].max()
        margin = max(5 * cell, 0.1 * math.hypot(east - west, north - south))
        west, east, south, north = west - margin, east + margin, south - margin, north + margin
    first_column, last_column = math.floor(west / cell), math.ceil(east / cell)
    first_row, last_row = math.floor(south / cell), math.ceil(north / cell)
    width, height = max(last_column - first_column, 1), max(last_row - first_row, 1)
    if width * height > MOST_CELLS:
        raise InputError(
            "the grid of the surfaces would be too large", where="grid.cell_m",
            found=f"{width:,} x {height:,} cells of {cell:g} m", allowed=f"at most {MOST_CELLS:,} cells",
            remedy="choose a wider cell; check for a pit with wrong coordinates",
        )  # fmt: skip
    return Grid(context.survey.crs, first_column * cell, last_row * cell, cell, height, width)


def refuse_degrees(crs: str) -> None:
    """Distances in degrees differ by direction: only a projected system will do."""
    from pyproj import CRS

    from .. import environment as _environment  # noqa: F401

    if not CRS.from_user_input(crs).is_projected:
        raise InputError(
            "surfaces need a projected system in metres, not degrees", where="survey.crs", found=crs,
            remedy="choose the UTM zone or national grid of the area",
        )  # fmt: skip
