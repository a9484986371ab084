"""Means of a surface over an area: the model is rebuilt, and believed only if it gives the surface back."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from geoprofile.areal import BY_MODEL, WIDEST, area_draws, areal_mean
from geoprofile.areal.area import area_of_cells
from geoprofile.areal.means import share_of_draws
from geoprofile.areal.rebuilt import error_model, known_of
from geoprofile.grid import Grid
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_grid, solve
from geoprofile.problems import problems_frame
from geoprofile.products import Surface, Surfaces
from geoprofile.rasters import write_raster
from geoprofile.record import Record

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)
MODEL = Model("exponential", 10.0, 40.0, 60.0)
TOLD = {"kind": "exponential", "nugget": 10.0, "partial_sill": 40.0, "scale_m": 60.0, "nugget_is_error": False,
        "drift": [], "by_stratum": False}  # fmt: skip


@pytest.fixture
def pits():
    rng = np.random.default_rng(11)
    return np.column_stack([600_000 + rng.uniform(0, 300, 50), 5_700_000 - rng.uniform(0, 200, 50)]), rng.normal(
        30, 7, 50
    )


def surfaces_of(pits, told, status="measured", high=None):
    places, values = pits
    points = pd.DataFrame({"attribute": "a", "pit_id": "p", "x": places[:, 0], "y": places[:, 1], "low": values,
                           "high": values if high is None else high, "status": status, "predicted": np.nan})  # fmt: skip
    surface = Surface("a", "A", "cm", "m", "M", "a_estimate_cm", parameters=told)
    return surface, Surfaces(Record("test", {}), GRID, (surface,), {}, (), pd.DataFrame(), points, problems_frame([]))


def test_a_model_that_gives_the_surface_back_is_believed_and_another_is_not(pits, make_context):
    estimate = predict_grid(solve(*pits, MODEL), *GRID.centres())[0].ravel()
    surface, surfaces = surfaces_of(pits, TOLD)
    assert error_model(surface, surfaces, known_of(estimate, GRID), make_context()) is not None
    assert error_model(surface, surfaces, known_of(estimate + 3, GRID), make_context()) is None
    for told in ({}, TOLD | {"scale_m": 20.0}):
        assert error_model(*surfaces_of(pits, told), known_of(estimate, GRID), make_context()) is None


def test_pits_with_bounds_have_no_such_model(pits, make_context):
    estimate = predict_grid(solve(*pits, MODEL), *GRID.centres())[0].ravel()
    high = pits[1].copy()
    high[0] = np.nan
    assert error_model(*surfaces_of(pits, TOLD, high=high), known_of(estimate, GRID), make_context()) is None


def test_the_interval_of_the_mean_is_that_of_block_kriging(pits, make_context):
    system = solve(*pits, MODEL)
    estimate, variance = (array.ravel() for array in predict_grid(system, *GRID.centres()))
    surface, surfaces = surfaces_of(pits, TOLD)
    model = error_model(surface, surfaces, known_of(estimate, GRID), make_context())
    cell, share = np.arange(200), np.ones(200)
    low, high = estimate - 1.645 * variance**0.5, estimate + 1.645 * variance**0.5
    mean = areal_mean(area_of_cells(cell, share, estimate, low, high), model)
    # written out: c'c over the block, minus what the pits know, plus the unknown mean
    block, places = GRID.centre_points()[:200], pits[0]
    own = 40 * np.exp(-np.hypot(*(block[:, None] - block[None]).transpose(2, 0, 1)) / 60).mean()
    k = (40 * np.exp(-np.hypot(*(places[:, None] - block[None]).transpose(2, 0, 1)) / 60)).mean(axis=1)
    inverse = np.linalg.inv(
        40 * np.exp(-np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)) / 60) + 10 * np.eye(50)
    )
    owed = own - k @ inverse @ k + (1 - inverse.sum(axis=0) @ k) ** 2 / inverse.sum()
    assert mean.basis == BY_MODEL and mean.mean == pytest.approx(estimate[:200].mean())
    assert (mean.high90 - mean.mean) / 1.644854 == pytest.approx(owed**0.5, rel=1e-6)
    widest = areal_mean(area_of_cells(cell, share, estimate, low, high), None)
    assert widest.basis == WIDEST and widest.low90 < mean.low90 and widest.high90 > mean.high90


def test_the_trend_follows_terrain_that_is_read_again(pits, make_context):
    context = make_context()
    height, width = GRID.shape
    hill = np.add.outer(np.linspace(0, 5, height), np.sin(np.arange(width) / 4))
    write_raster(context.output, "terrain/hill.tif", hill, GRID, name="hill", title="Hill", unit="m")
    row, column, _ = GRID.cells_of(pits[0][:, 0], pits[0][:, 1])
    values = pits[1] + 4 * hill[row, column]
    system = solve(pits[0], values, MODEL, hill[row, column][:, None])
    estimate = predict_grid(system, *GRID.centres(), hill[:, :, None])[0].ravel()
    surface, surfaces = surfaces_of((pits[0], values), TOLD | {"drift": ["hill"]})
    assert error_model(surface, surfaces, known_of(estimate, GRID), context) is not None
    assert error_model(*surfaces_of((pits[0], values), TOLD | {"drift": ["dale"]}), known_of(estimate, GRID), context) is None


def test_each_stratum_has_its_own_errors(pits, make_context, tmp_path):
    west, east = (
        shapely.box(600_000, 5_699_800, 600_150, 5_700_000),
        shapely.box(600_150, 5_699_800, 600_300, 5_700_000),
    )
    gpd.GeoDataFrame({"name": ["west", "east"]}, geometry=[west, east], crs=GRID.crs).to_file(tmp_path / "lines.gpkg")
    context = make_context(strata={"file": "lines.gpkg", "id": "name"})
    estimate, systems = np.empty(GRID.shape), {}
    for name, columns, own in (
        ("west", slice(0, 15), pits[0][:, 0] < 600_150),
        ("east", slice(15, 30), pits[0][:, 0] >= 600_150),
    ):
        systems[name] = solve(pits[0][own], pits[1][own], MODEL)
        x, y = GRID.centres()
        estimate[:, columns] = predict_grid(systems[name], x[columns], y)[0]
    told = TOLD | {"by_stratum": True, "strata": {"west": TOLD, "east": TOLD}}
    model = error_model(*surfaces_of(pits, told), known_of(estimate.ravel(), GRID), context)
    assert model is not None
    points = GRID.centre_points()[::7]
    half = points[:, 0] < 600_150
    both, one, other = (model.mean_variance(p, np.ones(len(p))) for p in (points, points[half], points[~half]))
    assert both == pytest.approx(half.mean() ** 2 * one + (1 - half.mean()) ** 2 * other)


def test_the_share_below_a_limit_has_an_interval_that_holds_what_the_model_draws(pits, make_context):
    estimate = predict_grid(solve(*pits, MODEL), *GRID.centres())[0].ravel()
    model = error_model(*surfaces_of(pits, TOLD), known_of(estimate, GRID), make_context())
    cell, share = np.arange(600), np.ones(600)
    (mean, low, high), (_, sure, _) = share_of_draws(area_draws(model, [area_of_cells(cell, share, estimate)], (30.0, 90.0)), 0)
    assert 0 < low < high < 1 and sure == pytest.approx(1)
    # the mean of the simulated shares is the mean probability
    from scipy.special import ndtr

    variance = predict_grid(solve(*pits, MODEL), *GRID.centres())[1].ravel()
    owed = ndtr((30 - estimate) / variance**0.5).mean()
    assert low < owed < high and mean == pytest.approx(owed, abs=0.02)
