"""Which cells a polygon covers, which polygon a point belongs to."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.grid import Grid
from geoprofile.overlay import Land, points_in, shared_land

GRID = Grid("EPSG:32632", 0, 100, 10, 10, 10)


def covered(shape, grid=GRID, tile=1024) -> np.ndarray:
    """Shares of all cells, put together from the windows."""
    land, found = Land(shape, grid), np.zeros(grid.shape)
    for window in land.windows(tile):
        found[window.slices] = land.shares(window)
    return found


def at_once(shape) -> np.ndarray:
    """The same by the library that computes shares, asked for the whole grid."""
    frame, found = gpd.GeoDataFrame(geometry=[shape], crs=GRID.crs), np.zeros(100)
    source = NumPyRasterSource(np.zeros(GRID.shape), *GRID.bounds, srs_wkt=frame.crs.to_wkt())
    for feature in exact_extract(source, frame, ["cell_id", "coverage"]):
        found[np.asarray(feature["properties"]["cell_id"], int)] = feature["properties"]["coverage"]
    return found.reshape(GRID.shape)


def test_Z10_what_lies_off_the_grid_is_in_no_cell():
    assert covered(shapely.box(-50, 0, 50, 10)).sum() == pytest.approx(5)
    assert covered(shapely.box(500, 500, 510, 510)).sum() == 0


@settings(max_examples=40, deadline=None)
@given(st.floats(30, 70), st.floats(30, 70), st.floats(0.1, 29))
def test_Z8_two_halves_of_any_disc_sum_to_the_disc(x, y, radius):
    disc = shapely.Point(x, y).buffer(radius)
    halves = [shapely.intersection(disc, shapely.box(*box)) for box in ((-100, -100, x, 200), (x, -100, 200, 200))]
    whole, one, other = (covered(shape).sum() * 100 for shape in (disc, *halves))
    assert one + other == pytest.approx(whole, rel=1e-4) and whole == pytest.approx(disc.area, rel=1e-4)


def test_rows_count_from_the_north():
    assert np.argwhere(covered(shapely.box(20, 80, 30, 90))).tolist() == [[1, 2]]


def test_Z12_Z15_a_point_on_a_line_belongs_to_the_first_and_is_listed():
    left, right = shapely.box(0, 0, 5, 10), shapely.box(5, 0, 10, 10)
    places = points_in(
        np.array([shapely.Point(1, 1), shapely.Point(5, 1), shapely.Point(20, 1), None]), np.array([left, right])
    )
    assert places.polygon.tolist() == [0, 0, -1, -1]
    assert places.ties == {1: (0, 1)}


def test_no_polygons_or_no_points_is_no_fault():
    assert points_in(np.array([shapely.Point(0, 0)]), np.array([], object)).polygon.tolist() == [-1]
    assert points_in(np.array([], object), np.array([shapely.box(0, 0, 1, 1)])).polygon.tolist() == []


@settings(max_examples=25, deadline=None)
@given(st.floats(-20, 120), st.floats(-20, 120), st.floats(0.1, 70), st.sampled_from([1, 3, 4, 10, 64]))
def test_a_polygon_looked_at_window_by_window_covers_the_same_cells_by_the_same_shares(x, y, radius, tile):
    disc = shapely.difference(shapely.Point(x, y).buffer(radius), shapely.Point(x, y).buffer(radius / 3))
    land, centres = Land(disc, GRID), np.zeros((10, 10), bool)
    for window in land.windows(tile):
        centres[window.slices] = land.centres_inside(window)
    assert np.allclose(covered(disc, tile=tile), at_once(disc), atol=1e-6)  # shares are single precision
    assert np.array_equal(centres.ravel(), shapely.contains_xy(disc, *GRID.centre_points().T))


def test_a_polygon_off_the_grid_or_empty_has_no_windows():
    for shape in (shapely.box(500, 500, 510, 510), shapely.Polygon(), shapely.box(-1e9, 200, 1e9, 300)):
        assert list(Land(shape, GRID).windows()) == []


def test_polygons_that_overlap_are_listed_with_the_land_they_share_and_neighbours_are_not():
    shapes = np.array([shapely.box(0, 0, 10, 10), shapely.box(10, 0, 20, 10), shapely.box(5, 0, 15, 10)])
    assert shared_land(shapes) == [(0, 2, 50.0), (1, 2, 50.0)]
