"""Potential radiation from file to raster: the latitude is that of the grid, the unit is said."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.kernels.terrain_radiation import level_radiation
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.stage import compute_terrain


@pytest.fixture
def compute(make_context, a_record, write_elevation):
    def run(z, **answers):
        context = make_context(crs="EPSG:32632")
        name = write_elevation(z, unit="m")  # 9 degrees east, 48.75 degrees north
        terrain = compute_terrain(TerrainSettings(elevation=name, derive=("radiation",), **answers), context, a_record("terrain"))
        raster = terrain.rasters["radiation"]
        return raster, raster.read(context.output), " | ".join(terrain.notes)

    return run


def test_level_ground_gets_what_the_tables_say_for_its_latitude(compute):
    raster, cells, notes = compute(np.full((9, 9), 250.0), radiation_day_of_year=100)
    assert raster.unit == "MJ/m2"
    assert cells[4, 4] == pytest.approx(level_radiation(100, 48.75), abs=0.01)
    assert "latitude 48.75" in notes and "Paper 56" in notes


def test_relative_to_level_ground_a_south_slope_is_above_1_and_a_north_slope_below(compute):
    fall = np.tile(np.arange(9.0)[:, None], (1, 9))
    raster, south, _ = compute(300 - fall, radiation_relative=True, radiation_day_of_year=80)
    _, north, _ = compute(300 + fall, radiation_relative=True, radiation_day_of_year=80)
    assert raster.unit == "1" and "level ground = 1" in raster.title
    assert south[4, 4] > 1.05 and north[4, 4] < 0.95
