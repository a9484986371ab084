"""Cells are read where they are asked for, whatever the grid."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.areal.cells import centres_of, read_cells_at, terrain_columns
from geoprofile.grid import Grid
from geoprofile.rasters import write_raster

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)


@pytest.fixture
def raster(tmp_path):
    def write(array, name="one"):
        write_raster(tmp_path, f"{name}.tif", array, GRID, name=name, title=name, unit="m")
        return tmp_path / f"{name}.tif"

    return write


def test_blocks_read_the_same_cells_as_the_whole(raster):
    array = np.arange(600.0).reshape(20, 30)
    path, rng = raster(array), np.random.default_rng(1)
    row, column = rng.integers(0, 20, 50), rng.integers(0, 30, 50)
    assert (read_cells_at(path, row, column) == array[row, column]).all()
    assert len(read_cells_at(path, row[:0], column[:0])) == 0


def test_terrain_is_brought_to_like_size_by_what_is_at_the_pits_and_is_nothing_outside(raster):
    slope = raster(np.random.default_rng(2).normal(5, 3, (20, 30)), "slope")
    points = centres_of(GRID, np.arange(0, 600, 7))
    found = terrain_columns((slope,), GRID, points)
    assert found.at(points).mean() == pytest.approx(0, abs=1e-6) and found.at(points).std() == pytest.approx(1, abs=1e-6)
    assert np.isnan(found.at(np.array([[599_000.0, 5_699_900.0]]))).all()


def test_terrain_that_is_not_there_or_on_another_grid_is_none(raster, tmp_path):
    points = centres_of(GRID, np.arange(5))
    assert terrain_columns((tmp_path / "none.tif",), GRID, points) is None
    other = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 21, 30)
    assert terrain_columns((raster(np.zeros((20, 30))),), other, points) is None
