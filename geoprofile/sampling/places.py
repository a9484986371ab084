"""The land that pits may be dug on, and the chosen places as files for a hand-held receiver and for a desktop GIS."""

from __future__ import annotations

import os
from pathlib import Path

import geopandas as gpd
import numpy as np
import shapely

from .. import environment as _environment  # noqa: F401
from ..context import Context
from ..errors import InputError
from ..layers import read_polygons
from ..products import Pits, Terrain
from .next_pits import NextPits

AIM_CELLS = 20_000


def land_cells(terrain: Terrain | None, pits: Pits, context: Context) -> np.ndarray:
    """(m, 2) centres of the cells of the survey area, m; of the elevation raster where no area is named.

    Raises InputError where neither an area nor an elevation raster is named.
    """
    area = None
    source = context.survey.area_source
    if source is not None:
        area = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="the survey area").union_all()
    if terrain is not None:
        centres = terrain.grid.centre_points()
        centres = centres[np.isfinite(terrain.rasters["elevation"].read(context.output)).ravel()]
    elif area is not None:
        centres = _lattice(area)
    else:
        raise InputError("there is no land to choose from", where="survey.area",
                         remedy="name the survey area ([survey] area) or an elevation raster ([terrain] elevation)")  # fmt: skip
    if area is None:
        return centres
    shapely.prepare(area)
    return centres[shapely.contains_xy(area, centres[:, 0], centres[:, 1])]


def existing_points(pits: Pits) -> np.ndarray:
    """(n, 2) places of the pits that have one, m."""
    placed = pits.pits.geometry[pits.pits.geometry.notna()]
    return np.column_stack([placed.x, placed.y])


def places_frame(chosen: NextPits, crs: str) -> gpd.GeoDataFrame:
    """One row a place: name (N-01 ...), x_m, y_m, gain_m2, gain_percent of the distance measure before it."""
    count = len(chosen.points)
    before = chosen.before_m2 - np.concatenate([[0.0], np.cumsum(chosen.gain_m2)[:-1]])
    return gpd.GeoDataFrame(
        {
            "name": [f"N-{number:02d}" for number in range(1, count + 1)],
            "x_m": chosen.points[:, 0].round(1),
            "y_m": chosen.points[:, 1].round(1),
            "gain_m2": chosen.gain_m2.round(1),
            "gain_percent": (100 * chosen.gain_m2 / before).round(1),
        },
        geometry=gpd.points_from_xy(*chosen.points.T),
        crs=crs,
    )


def write_places(places: gpd.GeoDataFrame, output: Path) -> list[Path]:
    """next_pits.gpx (waypoints) and next_pits.csv, each whole or not at all."""
    output.mkdir(parents=True, exist_ok=True)
    gpx, table = output / "next_pits.gpx", output / "next_pits.csv"
    waypoints = gpd.GeoDataFrame(
        {"name": places["name"], "desc": [f"gain {gain:g} m2" for gain in places["gain_m2"]]}, geometry=places.geometry, crs=places.crs
    ).to_crs("EPSG:4326")
    temporary = output / ".next_pits.gpx"
    temporary.unlink(missing_ok=True)
    waypoints.to_file(temporary, driver="GPX", layer="waypoints", engine="pyogrio")
    os.replace(temporary, gpx)
    temporary = output / ".next_pits.csv"
    places.drop(columns="geometry").to_csv(temporary, index=False)
    os.replace(temporary, table)
    return [gpx, table]


def _lattice(area: shapely.Geometry) -> np.ndarray:
    """Centres on a square lattice of about AIM_CELLS cells over the area's bounds."""
    west, south, east, north = area.bounds
    step = max(np.sqrt((east - west) * (north - south) / AIM_CELLS), 1.0)
    x, y = np.arange(west + step / 2, east, step), np.arange(south + step / 2, north, step)
    return np.column_stack([np.tile(x, len(y)), np.repeat(y, len(x))])
