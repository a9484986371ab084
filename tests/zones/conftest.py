"""An invented survey small enough to check by hand: pits with attributes, a surface, terrain."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from geoprofile.grid import Grid
from geoprofile.problems import problems_frame
from geoprofile.products import (
    PIT_COLUMNS,
    VALUE_COLUMNS,
    AttributeDefinition,
    Attributes,
    Pits,
    Refusal,
    Surface,
    Surfaces,
    Terrain,
    typed,
)
from geoprofile.rasters import CLASS, write_raster
from geoprofile.record import Record

CRS = "EPSG:3158"
WEST, NORTH = 600_000.0, 5_700_000.0
LIME = AttributeDefinition("depth_to_carbonates", "Depth to carbonates", "cm", "depth", "", "", True)


@pytest.fixture
def grid() -> Grid:
    """20 rows by 30 columns of 10 m: 6 ha."""
    return Grid(CRS, WEST, NORTH, 10.0, 20, 30)


@pytest.fixture
def at():
    """A point so many metres east and south of the grid's corner."""
    return lambda east, south: shapely.Point(WEST + east, NORTH - south)


@pytest.fixture
def block():
    """A rectangle in the same metres."""
    return lambda west, north, east, south: shapely.box(WEST + west, NORTH - south, WEST + east, NORTH - north)


@pytest.fixture
def make_pits():
    """Pits and attributes from rows of (pit_id, point, {attribute: interval}) and optional fields of the pit."""

    def make(rows, definitions=(LIME,), fields=None):
        ids = [row[0] for row in rows]
        places = [row[1] for row in rows]
        table = pd.DataFrame({"pit_id": ids, "datum": "mineral surface"} | (fields or {}))
        frame = gpd.GeoDataFrame(typed(table, PIT_COLUMNS), geometry=places, crs=CRS)
        values = [
            {
                "pit_id": pit,
                "attribute": name,
                "low": one.low,
                "high": one.high,
                "status": one.status,
                "presence": one.presence,
                "evidence": "",
                "flags": "",
            }
            for pit, _, said in rows
            for name, one in said.items()
        ]
        record = Record("test", {})
        empty = problems_frame([])
        pits = Pits(record, frame, pd.DataFrame(), pd.DataFrame(), empty)
        own = frame[["pit_id", "place_id", "position_accuracy_m", "geometry"]]
        values = typed(pd.DataFrame(values, columns=list(VALUE_COLUMNS)), VALUE_COLUMNS)
        return pits, Attributes(record, own, values, tuple(definitions), empty)

    return make


@pytest.fixture
def make_surfaces(grid):
    """Surfaces of depth to carbonates from arrays: estimate, and any of low90, high90, presence, reliability, below_25."""

    def make(context, refusals=(), attribute="depth_to_carbonates", probability_unit="", **arrays):
        rasters, keys = {}, {}
        for part, array in arrays.items():
            name = f"{attribute}_{part}"
            kind = (
                {"kind": CLASS, "legend": {1: "backed by the pits", 2: "too far from pits"}}
                if part == "reliability"
                else {}
            )
            rasters[name] = write_raster(
                context.output,
                f"surfaces/{name}.tif",
                np.asarray(array),
                grid,
                name=name,
                title=name,
                unit=probability_unit if part == "presence" or part.startswith("below_") else "cm",
                **kind,
            )
            keys[part] = name
        below = {part.removeprefix("below_"): keys.pop(part) for part in list(keys) if part.startswith("below_")}
        mapped = (Surface(attribute, "Depth to carbonates", "cm", "test", "Test", below=below, **keys),) if keys else ()
        return Surfaces(
            Record("test", {}),
            grid,
            mapped,
            rasters,
            tuple(Refusal(*one) for one in refusals),
            pd.DataFrame(),
            pd.DataFrame(),
            problems_frame([]),
        )

    return make


@pytest.fixture
def make_terrain(grid):
    """Terrain from arrays by name; landform_element is a class raster with the legend given."""

    def make(context, legend=None, units=None, **arrays):
        rasters = {}
        for name, array in arrays.items():
            kind = {"kind": CLASS, "legend": legend} if name == "landform_element" else {}
            rasters[name] = write_raster(
                context.output,
                f"terrain/{name}.tif",
                np.asarray(array),
                grid,
                name=name,
                title=name,
                unit=(units or {}).get(name, "m"),
                **kind,
            )
        return Terrain(Record("test", {}), grid, rasters, problems_frame([]))

    return make


@pytest.fixture
def write_layer(tmp_path):
    """Writes polygons or lines to a GeoPackage in the survey's folder; returns the file's name."""

    def write(name, shapes, /, **columns):
        gpd.GeoDataFrame(columns, geometry=shapes, crs=CRS).to_file(tmp_path / name)
        return name

    return write
