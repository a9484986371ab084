"""Rasters and lists of water, from the elevation file to what is written."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.stage import compute_terrain
from geoprofile.terrain.water import WAYS

WATER = ("wetness_index", "catchment_area", "height_above_channel", "distance_to_channel")


@pytest.fixture
def compute(make_context, a_record, write_elevation):
    """The product and its rasters, of an elevation on cells of 10 m."""

    def run(z, derive=WATER, **answers):
        context = make_context(crs="EPSG:32632")
        settings = TerrainSettings(elevation=write_elevation(z, unit="m"), derive=derive, **answers)
        terrain = compute_terrain(settings, context, a_record("terrain"))
        return terrain, {name: raster.read(context.output).astype(float) for name, raster in terrain.rasters.items()}

    return run


def slope_with_potholes() -> np.ndarray:
    """A plane that falls 1 m in 10 m to the east; a pothole of 2 m (nine cells) and a dent of 5 cm (one cell)."""
    z = np.tile(200.0 - np.arange(60.0), (31, 1))
    z[9:12, 19:22] = z[10, 22] - 2.0
    z[22, 40] = z[22, 41] - 0.05
    return z


@pytest.mark.parametrize("way", ["steepest", "infinite"])
def test_on_a_plane_catchment_and_wetness_grow_with_the_distance_from_the_divide(compute, way):
    """geostat.md 5.5: a = distance to the divide; 500 m on a tangent of 0.1 give 8.517193."""
    _, cells = compute(np.tile(200.0 - np.arange(60.0), (9, 1)), water_way=way)
    assert cells["catchment_area"][4, 49] == 50 * 100
    assert cells["wetness_index"][4, 49] == pytest.approx(8.517193, abs=1e-5)


@pytest.mark.parametrize("way", sorted(WAYS))
def test_every_way_of_sharing_water_is_said_and_loses_none(compute, way):
    terrain, cells = compute(np.tile(200.0 - np.arange(60.0), (9, 1)), water_way=way)
    assert any(WAYS[way][1] in note for note in terrain.notes)
    assert cells["catchment_area"][:, -1].sum() == pytest.approx(9 * 60 * 100, rel=1e-6)


def test_kept_potholes_are_listed_and_the_ground_that_drains_only_into_them_is_reported(compute):
    terrain, _ = compute(slope_with_potholes())
    deep, dent = terrain.sinks.to_dict("records")
    assert deep["depth_m"] == pytest.approx(2.0, abs=1e-3) and deep["area_m2"] == 900
    assert deep["volume_m3"] == pytest.approx(1800, abs=1)
    assert dent["depth_m"] == pytest.approx(0.05, abs=3e-4) and dent["area_m2"] == 100
    assert deep["catchment_m2"] > 9 * 900 and dent["catchment_m2"] > 4000
    share = (deep["catchment_m2"] + dent["catchment_m2"]) / (31 * 60 * 100)
    assert any("potholes kept" in note and f"{share:.0%} of the ground drains only into them" in note for note in terrain.notes)


def test_a_dent_of_noise_is_filled_where_a_least_depth_is_stated(compute):
    terrain, cells = compute(slope_with_potholes(), least_pothole_depth_m=0.3)
    assert terrain.sinks["kept"].tolist() == [True, False]
    assert any("less than 0.3 m deep filled as noise" in note for note in terrain.notes)
    assert cells["catchment_area"][21:24, 41].sum() == 3 * 42 * 100


def test_filled_potholes_let_all_water_reach_the_edge(compute):
    terrain, cells = compute(slope_with_potholes(), depressions="fill")
    assert cells["catchment_area"][:, -1].sum() == 31 * 60 * 100
    assert not terrain.sinks["kept"].any()
    assert any("potholes filled" in note for note in terrain.notes)


def test_height_and_way_to_the_channel_have_no_value_where_water_reaches_none(compute):
    terrain, cells = compute(slope_with_potholes(), channel_area_m2=4000)
    height, distance = cells["height_above_channel"], cells["distance_to_channel"]
    assert height[2, 0] == pytest.approx(39.0) and distance[2, 0] == 390  # the 40th cell gathers 4,000 m2
    assert np.isnan(height[10, 0]) and np.isnan(distance[10, 0])  # its water stays in the pothole
    assert any("gathers 4000 m2 or more" in note for note in terrain.notes)


def test_no_water_is_asked_for_no_list_is_made(compute):
    terrain, _ = compute(slope_with_potholes(), derive=("slope",))
    assert terrain.sinks is None
