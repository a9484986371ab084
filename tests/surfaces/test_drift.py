"""Terrain as drift."""

import numpy as np
import pytest

from geoprofile.errors import SettingsError
from geoprofile.grid import Grid
from geoprofile.surfaces.drift import beyond_pits, open_drift

GRID = Grid("EPSG:3158", 500_000, 5_500_060, 10, 6, 11)


def test_values_at_pits_are_those_of_the_cell_they_lie_in_on_a_grid_that_is_not_square(make_context, invented):
    """K14"""
    context = make_context()
    terrain = invented.terrain(context, GRID, east=lambda x, y: x - 500_000, north=lambda x, y: y - 5_500_000)
    drift = open_drift(("east", "north"), terrain, context.output)
    places = np.array([500_003.0, 500_109.0, 0.0, 500_004.0]), np.array([5_500_059.0, 5_500_001.0, 0.0, 5_500_058.0])
    found = drift.at(*places)
    assert found[[0, 1, 3]].tolist() == [[5.0, 55.0], [105.0, 5.0], [5.0, 55.0]] and np.isnan(found[2]).all()
    cells = np.stack([raster.read(GRID.whole) for raster in drift.rasters], axis=-1)
    assert cells.shape == (6, 11, 2) and cells[5, 10].tolist() == [105.0, 5.0], "the same rasters at cells"


def test_a_raster_that_is_not_there_is_named_with_the_nearest_name(make_context, invented):
    context = make_context()
    terrain = invented.terrain(context, GRID, relative_elevation=lambda x, y: x)
    with pytest.raises(SettingsError) as caught:
        open_drift(("relative_elevaton",), terrain, context.output)
    assert "relative_elevation" in caught.value.remedy
    with pytest.raises(SettingsError, match="drift needs terrain"):
        open_drift(("slope",), None, context.output)


def test_classes_are_never_averaged_as_numbers(make_context, invented):
    """K20"""
    context = make_context()
    terrain = invented.terrain(context, GRID, landform_element=np.ones(GRID.shape, np.uint8))
    with pytest.raises(SettingsError, match="names, not quantities"):
        open_drift(("landform_element",), terrain, context.output)


def test_terrain_beyond_what_the_pits_span_is_marked():
    stack = np.array([[[-1.01], [-0.99], [5.0], [10.99], [11.01]]])
    assert list(beyond_pits(stack, np.array([[0.0], [10.0]]))[0]) == [True, False, False, False, True]
