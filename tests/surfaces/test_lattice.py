"""The grid of surfaces."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from geoprofile.errors import InputError
from geoprofile.grid import Grid
from geoprofile.surfaces.lattice import surface_grid

X, Y = np.array([500_013.0, 500_487.0, np.nan]), np.array([5_500_021.0, 5_500_260.0, 5.0])


def test_terrain_gives_its_own_lattice(make_context):
    from types import SimpleNamespace

    grid = Grid("EPSG:3158", 3.5, 99.5, 7.0, 4, 9)
    assert surface_grid(SimpleNamespace(grid=grid), make_context(cell_m=50), X, Y, None) is grid


def test_without_terrain_the_grid_covers_the_pits_with_a_margin_on_whole_multiples_of_the_cell(make_context):
    grid = surface_grid(None, make_context(cell_m=10), X, Y, None)
    west, south, east, north = grid.bounds
    assert grid.west % 10 == 0 and grid.north % 10 == 0 and grid.cell_m == 10
    margin = 0.1 * np.hypot(474, 239)
    assert west <= 500_013 - margin < west + 10 and south <= 5_500_021 - margin < south + 10
    assert east - 10 < 500_487 + margin <= east and north - 10 < 5_500_260 + margin <= north


def test_a_survey_area_sets_the_extent(make_context):
    area = gpd.GeoDataFrame(geometry=[shapely.box(500_000, 5_500_000, 500_095, 5_500_040)], crs="EPSG:3158")
    assert surface_grid(None, make_context(cell_m=10), X, Y, area).shape == (4, 10)


def test_no_cell_is_an_error_that_says_what_to_name(make_context):
    with pytest.raises(InputError, match="there is no grid") as caught:
        surface_grid(None, make_context(), X, Y, None)
    assert "cell_m" in caught.value.remedy


def test_one_pit_with_a_wrong_coordinate_does_not_fill_the_memory(make_context):
    with pytest.raises(InputError, match="too large") as caught:
        surface_grid(None, make_context(cell_m=5), np.append(X, 5_000.0), np.append(Y, 50.0), None)
    assert "wrong coordinates" in caught.value.remedy


def test_degrees_are_refused(make_context):
    """K12"""
    with pytest.raises(InputError, match="not degrees"):
        surface_grid(None, make_context(cell_m=5, crs="EPSG:4326"), X, Y, None)
