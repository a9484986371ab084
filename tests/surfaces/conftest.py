"""Invented pits with one attribute, ready for map_surfaces."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from geoprofile.problems import problems_frame
from geoprofile.products import PIT_COLUMNS, VALUE_COLUMNS, AttributeDefinition, Attributes, Pits, typed
from geoprofile.record import Record

CRS = "EPSG:3158"
ORIGIN = np.array([500_000.0, 5_500_000.0])


def definition(name="a_e_thickness", kind="thickness", can_be_absent=True, unit="cm"):
    return AttributeDefinition(name, name.replace("_", " ").capitalize(), unit, kind, "invented", "invented", can_be_absent)


def products(points, columns, definitions, **pit_fields):
    """Pits and Attributes of one row a point. ``columns``: attribute -> list of (low, high, status, presence)."""
    points = np.asarray(points, float)
    ids = [f"P{number:03d}" for number in range(1, len(points) + 1)]
    geometry = gpd.points_from_xy(points[:, 0], points[:, 1], crs=CRS)
    frame = pd.DataFrame({"pit_id": ids, "place_id": ids, **pit_fields})
    pits = gpd.GeoDataFrame(typed(frame, PIT_COLUMNS), geometry=geometry)
    rows = [
        {"pit_id": pit, "attribute": name, "low": low, "high": high, "status": status, "presence": presence}
        for name, values in columns.items()
        for pit, (low, high, status, presence) in zip(ids, values, strict=True)
    ]
    values = typed(pd.DataFrame(rows), VALUE_COLUMNS)
    short = pits[["pit_id", "place_id", "position_accuracy_m", "geometry"]]
    nothing = problems_frame([])
    return (
        Pits(Record("pits", {"pits": {"visits": "latest"}}), pits, pd.DataFrame(), pd.DataFrame(), nothing),
        Attributes(Record("attributes", {}), short, values, tuple(definitions), nothing),
    )


def measured(values):
    return [(float(value), float(value), "measured", "present") for value in values]


def field(points, seed=1, model=("exponential", 0.0, 1.0, 150.0), mean=0.0):
    """One draw of a Gaussian field at ``points``."""
    from geoprofile.kernels.covariance import Model, covariance, squared_distances

    matrix = covariance(Model(*model), np.sqrt(squared_distances(points, points)))
    draw = np.random.default_rng(seed).standard_normal(len(points))
    return mean + np.linalg.cholesky(matrix + 1e-9 * np.eye(len(points))) @ draw


def scattered(count=80, side=800.0, seed=1):
    return ORIGIN + np.random.default_rng(seed).uniform(0, side, (count, 2))


def sampled_terrain(context, grid, **layers):
    """A Terrain whose rasters are functions of x and y (arrays), or arrays."""
    from geoprofile.products import Terrain
    from geoprofile.rasters import write_raster

    x, y = np.meshgrid(*grid.centres())
    rasters = {}
    for name, layer in {"elevation": lambda x, y: 0 * x + 300.0, **layers}.items():
        cells = layer(x, y) if callable(layer) else layer
        kind = "class" if cells.dtype == np.uint8 else "number"
        rasters[name] = write_raster(
            context.output, f"terrain/{name}.tif", cells, grid, name=name, title=name, unit="", kind=kind
        )
    return Terrain(Record("terrain", {}), grid, rasters, problems_frame([]))


@pytest.fixture(autouse=True)
def one_thread():
    """As the stage does it: on a busy machine threads inside small matrices wait for one another."""
    from threadpoolctl import threadpool_limits

    with threadpool_limits(1):
        yield


@pytest.fixture
def invented():
    """Makers of invented pits: see the functions of this file."""
    return SimpleNamespace(
        CRS=CRS, ORIGIN=ORIGIN, definition=definition, products=products, measured=measured, field=field,
        scattered=scattered, terrain=sampled_terrain,
    )  # fmt: skip


@pytest.fixture
def map_it(make_context, a_record):
    """Map with settings as a dict; returns (Surfaces, Context)."""
    from geoprofile.settings.surfaces import SurfacesSettings
    from geoprofile.surfaces.stage import map_surfaces

    def run(made, settings=None, terrain=None, cell_m=20.0, **survey):
        pits, attributes = made
        context = make_context(cell_m=cell_m, **{"crs": CRS, **survey})
        if callable(terrain):
            terrain = terrain(context)
        surfaces = map_surfaces(pits, attributes, terrain, SurfacesSettings(**(settings or {})), context, a_record("surfaces"))
        return surfaces, context

    return run
