"""Which cells a polygon covers, which polygon a point belongs to."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.errors import InputError
from geoprofile.grid import Grid
from geoprofile.overlay import Land, cells_in, points_in

GRID = Grid("EPSG:32632", 0, 100, 10, 10, 10)


def series(*shapes, crs="EPSG:32632"):
    return gpd.GeoSeries(list(shapes), crs=crs)


def test_G9_polygons_in_another_system_are_refused():
    with pytest.raises(InputError, match="same coordinate system"):
        cells_in(series(shapely.box(0, 0, 1, 1), crs="EPSG:4326"), GRID)


def test_Z10_what_lies_off_the_grid_is_told():
    cells = cells_in(series(shapely.box(-50, 0, 50, 10), shapely.box(500, 500, 510, 510)), GRID)
    assert cells.of(0)[1].sum() == pytest.approx(5) and cells.outside_m2(0) == pytest.approx(500)
    assert len(cells.of(1)[0]) == 0 and cells.outside_m2(1) == pytest.approx(100)


@settings(max_examples=40, deadline=None)
@given(st.floats(1, 99), st.floats(1, 99), st.floats(0.1, 60))
def test_Z8_two_halves_of_any_disc_sum_to_the_disc(x, y, radius):
    disc = shapely.Point(x, y).buffer(radius)
    halves = [shapely.intersection(disc, shapely.box(*box)) for box in ((-100, -100, x, 200), (x, -100, 200, 200))]
    cells = cells_in(series(disc, *halves), GRID)
    areas = [cells.of(place)[1].sum() * 100 + cells.outside_m2(place) for place in range(3)]
    assert areas[1] + areas[2] == pytest.approx(areas[0], rel=1e-4)
    assert areas[0] == pytest.approx(disc.area, rel=1e-4)


def test_the_index_of_a_cell_counts_row_by_row_from_the_north_west():
    cells = cells_in(series(shapely.box(20, 80, 30, 90)), GRID)
    assert cells.of(0)[0].tolist() == [1 * 10 + 2] and cells.of(0)[1].tolist() == [1.0]


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
    cells, whole = cells_in(series(disc), GRID), np.zeros(100)
    whole[cells.cell] = cells.share
    land, found, centres = Land(disc, GRID), np.zeros((10, 10)), np.zeros((10, 10), bool)
    for window in land.windows(tile):
        found[window.slices] = land.shares(window)
        centres[window.slices] = land.centres_inside(window)
    assert np.allclose(found.ravel(), whole, atol=1e-6)  # shares are single precision
    assert np.array_equal(centres.ravel(), shapely.contains_xy(disc, *GRID.centre_points().T))


def test_a_polygon_off_the_grid_or_empty_has_no_windows():
    for shape in (shapely.box(500, 500, 510, 510), shapely.Polygon(), shapely.box(-1e9, 200, 1e9, 300)):
        assert list(Land(shape, GRID).windows()) == []
