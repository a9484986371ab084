"""Crs, transform and shape travel together; cells are found exactly."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.errors import InputError
from geoprofile.grid import Grid, Window

GRID = Grid("EPSG:3158", 500_000.0, 5_800_000.0, 5.0, 7, 11)


def test_every_cell_centre_finds_its_own_cell():
    """T6, T12: no half-cell shift, windows are whole cells."""
    points = GRID.centre_points()
    rows, columns, inside = GRID.cells_of(points[:, 0], points[:, 1])
    assert inside.all()
    assert np.array_equal(rows, np.repeat(np.arange(7), 11))
    assert np.array_equal(columns, np.tile(np.arange(11), 7))


def test_points_outside_are_told_apart_from_points_inside():
    """T11: outside is an outcome, not cell 0."""
    _, _, inside = GRID.cells_of(np.array([499_999.9, 500_055.0, 500_054.9]), np.array([5_799_990.0, 5_799_990.0, 5_799_990.0]))
    assert inside.tolist() == [False, False, True]


@settings(max_examples=40)
@given(st.integers(1, 40), st.integers(1, 40), st.integers(1, 17))
def test_windows_tile_the_grid_once(height, width, tile):
    grid = Grid("EPSG:3158", 0.0, 0.0, 10.0, height, width)
    seen = np.zeros(grid.shape, int)
    for window in grid.windows(tile):
        seen[window.slices] += 1
    assert (seen == 1).all()


def test_the_centres_of_a_window_are_those_of_the_grid():
    x, y = GRID.centres()
    part_x, part_y = GRID.centres(Window(2, 3, 4, 5))
    assert np.array_equal(part_x, x[3:8]) and np.array_equal(part_y, y[2:6])
    assert GRID.window_transform(Window(2, 3, 4, 5))[2::3] == (500_015.0, 5_799_990.0)


@pytest.mark.parametrize(("cell_m", "factor"), [(5.0, 1), (10.0, 2), (25.0, 5)])
def test_a_survey_cell_is_a_whole_multiple_of_the_terrain_cell(cell_m, factor):
    assert GRID.factor_to(cell_m) == factor


@pytest.mark.parametrize("cell_m", [7.0, 2.5, 12.5, 10.5, 9.9])
def test_a_cell_that_is_no_multiple_is_refused_with_the_ones_that_are(cell_m):
    with pytest.raises(InputError, match="whole multiple") as caught:
        GRID.factor_to(cell_m)
    assert caught.value.allowed.startswith("5, 10, 15")


def test_a_coarser_grid_covers_all_of_the_finer_one_from_the_same_corner():
    coarse = GRID.coarser(2)
    assert (coarse.shape, coarse.cell_m, coarse.west, coarse.north) == ((4, 6), 10.0, GRID.west, GRID.north)
    assert coarse.bounds[1] <= GRID.bounds[1] and coarse.bounds[2] >= GRID.bounds[2]


def test_a_cell_of_50_by_50_metres_is_a_quarter_of_a_hectare():
    assert Grid("EPSG:3158", 0.0, 0.0, 50.0, 1, 1).cell_ha == 0.25
