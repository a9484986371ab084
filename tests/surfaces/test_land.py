"""Cells of a window: area, strata and terrain, the same however the grid is cut."""

from __future__ import annotations

import pickle

import geopandas as gpd
import numpy as np
import shapely

from geoprofile.blocks import Threads
from geoprofile.grid import Grid, Window
from geoprofile.surfaces import sample
from geoprofile.surfaces.drift import open_drift
from geoprofile.surfaces.land import Land
from geoprofile.surfaces.sample import sample_land
from geoprofile.surfaces.strata import Strata, land_of

GRID = Grid("EPSG:3158", 500_000, 5_501_000, 10, 100, 130)


def rough_ground(invented, context):
    """A round area, two strata that share a ragged line, gaps in elevation and in the drift."""
    rng = np.random.default_rng(3)
    west, _, east, north = GRID.bounds
    south = north - 1000
    middle = shapely.Point(west + 600, south + 450)
    area = gpd.GeoDataFrame(geometry=[middle.buffer(430), shapely.box(west + 1100, south, west + 1200, south + 90)], crs=GRID.crs)
    line = [(west + 500 + rng.normal(0, 60), y) for y in np.linspace(south - 10, north + 10, 25)]
    left = shapely.Polygon([(west, south - 10), *line, (west, north + 10)])
    right = shapely.Polygon([(east, south - 10), *line, (east, north + 10)])
    strata = gpd.GeoDataFrame({"code": [1, 2]}, geometry=[left, right], crs=GRID.crs)
    gaps = rng.random(GRID.shape) < 0.1
    terrain = invented.terrain(
        context, GRID, elevation=np.where(gaps, np.nan, 300.0), slope=np.where(gaps[::-1], np.nan, rng.random(GRID.shape))
    )
    land = land_of(GRID, area, Strata({1: "till", 2: "sand"}, "split", strata), terrain.rasters["elevation"].cells(context.output))
    return land, open_drift(("slope",), terrain, context.output), gaps


def read(land, window):
    return land.cells(window, *(source.read(window) for source in land.inputs))


def test_windows_put_together_are_the_whole(invented, make_context):
    context = make_context()
    land, drift, gaps = rough_ground(invented, context)
    land = pickle.loads(pickle.dumps(land.on(drift)))
    whole, columns = read(land, GRID.whole)
    assert set(np.unique(whole)) == {0, 1, 2} and columns.shape == (*GRID.shape, 1)
    assert not whole[gaps].any() and not whole[gaps[::-1]].any(), "no terrain, no drift: not mapped"
    for side in (7, 32, 100):
        for window in GRID.windows(side):
            codes, part = read(land, window)
            assert np.array_equal(codes, whole[window.slices]) and np.array_equal(part, columns[window.slices], equal_nan=True)


def test_a_land_without_polygons_and_terrain_is_the_whole_grid():
    codes, drift = Land(GRID).cells(Window(3, 4, 5, 6))
    assert (codes == 1).all() and codes.shape == (5, 6) and drift is None
    assert Land(GRID).extent == GRID.whole


def test_small_land_is_sampled_cell_by_cell_in_the_order_of_the_grid(invented, make_context):
    context = make_context()
    land, drift, _ = rough_ground(invented, context)
    found = sample_land(land.on(drift), Threads(2, block=1))
    codes, columns = read(land.on(drift), GRID.whole)
    assert np.array_equal(found.codes, codes[codes > 0]) and np.array_equal(found.drift, columns[codes > 0])
    assert np.array_equal(found.points, GRID.centre_points()[codes.ravel() > 0])


def test_a_large_land_is_sampled_on_a_lattice_whatever_the_blocks(invented, make_context, monkeypatch):
    context = make_context()
    land, _, _ = rough_ground(invented, context)
    monkeypatch.setattr(sample, "MOST_CELLS", 900)
    monkeypatch.setattr("geoprofile.blocks.TILE", 16)
    found = [sample_land(land, Threads(number, block)) for number, block in ((1, 1), (2, 3), (2, None))]
    for one in found:
        assert np.array_equal(one.points, found[0].points) and np.array_equal(one.codes, found[0].codes)
    row, column, _ = GRID.cells_of(*found[0].points.T)
    extent = land.extent
    assert extent.row > 0 and extent.column > 0 and extent.width < GRID.width, "the lattice lies over the land, not over the grid"
    step = int(np.diff(np.unique(row)).min())
    assert step >= 3 and not ((row - extent.row) % step).any() and not ((column - extent.column) % step).any()
    assert np.array_equal(found[0].codes, read(land, GRID.whole)[0][row, column])
    assert 200 < len(found[0].codes) <= 900


def test_land_off_the_grid_has_no_cells(make_context):
    far = gpd.GeoDataFrame(geometry=[shapely.box(0, 0, 10, 10)], crs=GRID.crs)
    land = land_of(GRID, far, Strata({1: ""}, ""))
    assert not land.cells(GRID.whole)[0].any()
    found = sample_land(land, Threads(1))
    assert len(found.codes) == 0 and len(found.targets().points) == 0
