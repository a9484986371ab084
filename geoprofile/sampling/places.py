"""The chosen places as files for a hand-held receiver, a desktop GIS and a table."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import geopandas as gpd
import numpy as np

from .. import environment as _environment  # noqa: F401
from ..errors import writing
from .chosen import CAUTION, Chosen

LAYER = "next_pits"


def places_frame(chosen: Chosen, crs: str) -> gpd.GeoDataFrame:
    """One row a place: name (N-01 ...), x_m, y_m, gain, gain_percent (of the measure before it), measure, unit."""
    count = len(chosen.points)
    before = chosen.before - np.concatenate([[0.0], np.cumsum(chosen.gain)[:-1]])
    with np.errstate(invalid="ignore", divide="ignore"):
        percent = np.where(before > 0, 100 * chosen.gain / before, np.nan)
    return gpd.GeoDataFrame(
        {
            "name": [f"N-{number:02d}" for number in range(1, count + 1)],
            "x_m": chosen.points[:, 0].round(1),
            "y_m": chosen.points[:, 1].round(1),
            "gain": significant(chosen.gain),
            "gain_percent": percent.round(1),
            "measure": [chosen.measure] * count,
            "unit": [chosen.unit] * count,
        },
        geometry=gpd.points_from_xy(*chosen.points.T),
        crs=crs,
    )


def significant(values: np.ndarray, digits: int = 4) -> np.ndarray:
    """Rounded to so many significant digits, NaN and 0 as they are."""
    return np.array([float(f"{value:.{digits}g}") for value in np.atleast_1d(values)])


def write_places(places: gpd.GeoDataFrame, output: Path) -> list[Path]:
    """next_pits.gpx (waypoints), next_pits.gpkg (points) and next_pits.csv, each whole or not at all; the same bytes twice."""
    with writing(output):
        output.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=output).close()  # the drivers say less clearly than the system what stands in the way
    said = [f"gain {row.gain:g} {row.unit}".strip() + f": {row.measure}; {CAUTION}" for row in places.itertuples()]
    waypoints = gpd.GeoDataFrame(
        {"name": places["name"], "desc": said}, geometry=places.geometry, crs=places.crs
    ).to_crs("EPSG:4326")  # fmt: skip
    return [
        _written(output / f"{LAYER}.gpx", lambda path: waypoints.to_file(path, driver="GPX", layer="waypoints", engine="pyogrio")),
        _written(output / f"{LAYER}.gpkg", lambda path: _geopackage(places, path)),
        _written(output / f"{LAYER}.csv", lambda path: places.drop(columns="geometry").to_csv(path, index=False)),
    ]


def _written(path: Path, write) -> Path:
    temporary = path.with_name(f".{path.name}")
    temporary.unlink(missing_ok=True)
    try:
        write(temporary)
        with writing(path):
            os.replace(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)
    return path


def _geopackage(places: gpd.GeoDataFrame, path: Path) -> None:
    import pyogrio

    # the file would carry the time of writing
    name = "OGR_CURRENT_DATE"
    before = pyogrio.get_gdal_config_option(name)
    pyogrio.set_gdal_config_options({name: "2000-01-01T00:00:00.000Z"})
    try:
        places.to_file(path, driver="GPKG", layer=LAYER, engine="pyogrio")
    finally:
        pyogrio.set_gdal_config_options({name: before})
