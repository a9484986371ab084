"""The terrain stage: from file to rasters, on surfaces whose derivatives are known."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely

from geoprofile.errors import InputError
from geoprofile.kernels.terrain_sums import cells_in, half_widths, relative_elevation
from geoprofile.rasters import read_window
from geoprofile.settings.base import files_in
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.sample import INSIDE, NO_DATA, OUTSIDE, SUSPECT, sample
from geoprofile.terrain.stage import compute_terrain

ALL = (
    "elevation", "slope", "aspect_sine", "aspect_cosine", "profile_curvature", "plan_curvature", "tangential_curvature",
    "relative_elevation", "wetness_index", "landform_element",
)  # fmt: skip


@pytest.fixture
def compute(make_context, a_record):
    def run(name, *, crs="EPSG:32632", cell_m=None, area=None, **answers):
        context = make_context(cell_m, crs=crs, area=area)
        terrain = compute_terrain(TerrainSettings(elevation=name, **answers), context, a_record("terrain"))
        return terrain, {key: raster.read(context.output) for key, raster in terrain.rasters.items()}, context

    return run


def bowl(n=41, cell=10.0):
    x = (np.arange(n) - n // 2) * cell
    return 100 + 0.0005 * (x[None, :] ** 2 + x[::-1, None] ** 2)


def test_every_raster_is_on_one_grid_with_its_unit_and_name(write_elevation, compute):
    terrain, cells, context = compute(write_elevation(bowl(), unit="m"))
    assert set(terrain.rasters) == set(ALL)
    for name, raster in terrain.rasters.items():
        with rasterio.open(context.output / raster.path) as source:
            assert source.shape == terrain.grid.shape
            assert source.tags(1)["NAME"] == name
            assert (source.units[0] or "") == raster.unit
    assert terrain.rasters["slope"].unit == "degrees"
    assert terrain.rasters["profile_curvature"].unit == "1/m"
    assert terrain.rasters["landform_element"].legend[6] == "convergent footslope"


def test_a_bowl_read_from_a_file_has_its_exact_derivatives(write_elevation, compute):
    """geostat.md 5.2: the point 100 m east and 120 m north of the middle."""
    _, cells, _ = compute(write_elevation(bowl(), unit="m"))
    at = 20 - 12, 20 + 10
    assert cells["slope"][at] == pytest.approx(8.878142, abs=1e-5)
    facing = np.degrees(np.arctan2(cells["aspect_sine"][at], cells["aspect_cosine"][at])) % 360
    assert facing == pytest.approx(219.805571, abs=1e-4)
    assert cells["profile_curvature"][at] == pytest.approx(-9.64485e-4, rel=1e-5)
    assert cells["plan_curvature"][at] == pytest.approx(-6.40184e-3, rel=1e-5)
    assert cells["tangential_curvature"][at] == pytest.approx(-9.88019e-4, rel=1e-5)


def test_the_outermost_cells_have_elevation_but_no_slope(write_elevation, compute):
    _, cells, _ = compute(write_elevation(bowl(), unit="m"))
    assert not np.isnan(cells["elevation"]).any()
    assert np.isnan(cells["slope"][0]).all() and not np.isnan(cells["slope"][1:-1, 1:-1]).any()


def test_only_what_is_asked_for_is_made_and_elevation_always(write_elevation, compute):
    terrain, _, _ = compute(write_elevation(bowl(), unit="m"), derive=("wetness_index",))
    assert set(terrain.rasters) == {"elevation", "wetness_index"}


def test_no_unit_of_elevation_no_terrain(write_elevation, compute):
    with pytest.raises(InputError, match="unit of elevation"):
        compute(write_elevation(bowl()))


DEGREES = np.tile(np.arange(50) / 3600 * 111320 * np.cos(np.radians(48)) * np.tan(np.radians(5)) / 0.3048, (50, 1))


def test_input_10_a_plane_in_degrees_and_feet_is_5_degrees_steep(write_elevation, compute):
    """T9, T10, input 10 of pains.md: 89.997 degrees when degrees are taken as metres, 16.02 when feet are."""
    name = write_elevation(DEGREES, (11, 48, 1 / 3600), crs="EPSG:4326", unit="ft")
    terrain, cells, _ = compute(name)
    slope = cells["slope"]
    known = ~np.isnan(slope)
    away = known.copy()
    for _ in range(3):  # away from the edges of the data, which lie askew after reprojection
        away[1:-1, 1:-1] &= away[:-2, 1:-1] & away[2:, 1:-1] & away[1:-1, :-2] & away[1:-1, 2:]
        away[[0, -1]] = away[:, [0, -1]] = False
    assert away.sum() > 500
    assert np.abs(slope[away] - 5.0).max() < 0.1
    said = " | ".join(terrain.notes)
    assert "bilinear" in said and "WGS 84" in said and "feet of 0.3048 m" in said and "converted once" in said


def test_input_10_the_copy_without_the_tag_stops_and_asks(write_elevation, compute):
    """T10."""
    name = write_elevation(DEGREES, (11, 48, 1 / 3600), crs="EPSG:4326")
    with pytest.raises(InputError) as caught:
        compute(name)
    assert 'elevation_unit = "m" or "ft"' in caught.value.remedy


def test_input_11_suspect_value_then_mean_100_and_four_outcomes(write_elevation, compute):
    """T1, T11, input 11 of pains.md."""
    z = np.full((4, 4), 100.0)
    z[0, 0] = -9999
    name = write_elevation(z, dtype="float32")
    with pytest.raises(InputError, match="-9999 in 1 cells"):
        compute(name, elevation_unit="m")
    terrain, cells, context = compute(name, elevation_unit="m", elevation_nodata=-9999)
    assert np.nanmean(cells["elevation"]) == 100.0
    found = sample(
        terrain, [500_025, 500_005, 499_000, 9.0], [5_399_975, 5_399_995, 5_399_999, 48.7], output=context.output
    )
    assert found.outcome.tolist() == [INSIDE, NO_DATA, OUTSIDE, SUSPECT]
    assert found.value[0] == 100.0 and np.isnan(found.value[1:]).all()


def test_a_probe_at_a_cell_centre_reads_the_same_before_and_after(write_elevation, compute, tmp_path):
    """T6."""
    z = 300 + np.random.default_rng(2).normal(0, 2, (20, 30)).astype("float32").astype(float)
    name = write_elevation(z, unit="m", dtype="float32")
    terrain, _, context = compute(name)
    x, y = terrain.grid.centres()
    found = sample(terrain, np.tile(x, 20), np.repeat(y, 30), output=context.output)
    with rasterio.open(tmp_path / name) as source:
        before = np.array([value[0] for value in source.sample(zip(np.tile(x, 20), np.repeat(y, 30)))])
    assert np.array_equal(found.value, before.astype(float))


def test_the_survey_area_must_be_reached(write_elevation, compute, tmp_path):
    square = gpd.GeoDataFrame({"n": [1]}, geometry=[shapely.box(900_000, 5_400_000, 900_500, 5_400_500)], crs="EPSG:32632")
    square.to_file(tmp_path / "area.gpkg")
    with pytest.raises(InputError, match="does not reach the survey area"):
        compute(write_elevation(bowl(), unit="m"), area="area.gpkg")


def test_a_raster_that_covers_half_of_the_area_is_used_and_reported(write_elevation, compute, tmp_path):
    half = gpd.GeoDataFrame({"n": [1]}, geometry=[shapely.box(499_800, 5_399_700, 500_200, 5_399_900)], crs="EPSG:32632")
    half.to_file(tmp_path / "area.gpkg")
    terrain, _, _ = compute(write_elevation(bowl(), unit="m"), area="area.gpkg")
    assert terrain.problems["check"].tolist() == ["elevation_cover"]
    assert "50.0%" in terrain.problems["found"][0]


def test_whole_metre_elevations_are_warned_about_unless_smoothed(write_elevation, compute):
    z = np.rint(bowl())
    name = write_elevation(z, unit="m", dtype="int16")
    assert compute(name)[0].problems["check"].tolist() == ["elevation_steps"]
    assert compute(name, analysis_scale_m=60)[0].problems.empty


def test_smoothing_is_stated_and_leaves_the_elevation_raster_alone(write_elevation, compute):
    z = bowl() + np.random.default_rng(0).normal(0, 0.3, (41, 41))
    name = write_elevation(z, unit="m")
    rough, smooth = compute(name), compute(name, analysis_scale_m=60)
    assert np.array_equal(rough[1]["elevation"], smooth[1]["elevation"])
    assert np.nanstd(smooth[1]["profile_curvature"]) < np.nanstd(rough[1]["profile_curvature"]) / 3
    assert any("analysis scale of 60 m" in note for note in smooth[0].notes)


def test_relative_elevation_of_a_plane_is_0_and_of_a_step_is_half_of_it():
    x = np.arange(60) * 10.0
    widths = half_widths(100 / 10)
    plane, near = relative_elevation(np.tile(250 + 0.05 * x, (60, 1)), widths)
    assert np.abs(plane[15:45, 15:45]).max() < 2**-11  # elevations are counted in steps of 2^-12 m
    assert (near[15:45, 15:45] == cells_in(widths)).all() and (near[0] < cells_in(widths)).all()
    step, _ = relative_elevation(np.tile(np.where(x < 300, 250.0, 252.0), (60, 1)), widths)
    assert step[30, 29] == pytest.approx(-1, abs=0.1) and step[30, 30] == pytest.approx(1, abs=0.1)


def test_relative_elevation_of_a_bowl_is_its_exact_ring_mean():
    """Mean of k r2 over the cells of a circle about the middle, added up cell by cell."""
    z = bowl()
    y, x = np.mgrid[-10:11, -10:11] * 10.0
    inside = x**2 + y**2 <= 100**2
    found, _ = relative_elevation(z, half_widths(100 / 10))
    assert found[20, 20] == pytest.approx(-0.0005 * (x**2 + y**2)[inside].mean(), abs=2**-11)


def test_twice_gives_the_same_bytes(write_elevation, compute):
    name = write_elevation(bowl(), unit="m")
    assert {k: r.sha256 for k, r in compute(name)[0].rasters.items()} == {k: r.sha256 for k, r in compute(name)[0].rasters.items()}


def test_terrain_is_refused_without_a_raster(compute):
    with pytest.raises(InputError, match="terrain.elevation"):
        compute(None)


def test_written_aspect_is_unknown_on_level_ground(write_elevation, compute):
    _, cells, context = compute(write_elevation(np.full((9, 9), 250.0), unit="m"))
    assert np.isnan(cells["aspect_sine"]).all()
    assert (read_window(context.output / "terrain/landform_element.tif")[1:-1, 1:-1] == 7).all()


def test_water_that_does_not_fit_in_memory_is_refused_before_anything_is_written(write_elevation, compute, tmp_path, monkeypatch):
    """T15."""
    monkeypatch.setattr("geoprofile.memory.memory_free", lambda: 1000)
    name = write_elevation(bowl(), unit="m")
    with pytest.raises(InputError, match="more memory than there is"):
        compute(name)
    assert not (tmp_path / "out" / "terrain").exists()
    assert "slope" in compute(name, derive=("slope",))[0].rasters, "what needs only its surroundings runs all the same"


def test_several_tiles_give_what_one_raster_gives_and_each_is_an_input(write_elevation, compute):
    """T8."""
    whole = compute(write_elevation(bowl(), unit="m"), derive=("slope",))[0]
    west, east = bowl()[:, :20], bowl()[:, 20:]
    names = (
        write_elevation(west, name="west.tif", unit="m"),
        write_elevation(east, (500_200.0, 5_400_000.0, 10.0), name="east.tif", unit="m"),
    )
    tiles = compute(names, derive=("slope",))[0]
    assert tiles.grid == whole.grid
    assert tiles.rasters["slope"].sha256 == whole.rasters["slope"].sha256
    assert list(files_in(TerrainSettings(elevation=names))) == [("elevation[1]", "west.tif"), ("elevation[2]", "east.tif")]


def test_further_scales_come_beside_the_first(write_elevation, compute):
    name = write_elevation(bowl() + np.random.default_rng(0).normal(0, 0.3, (41, 41)), unit="m")
    several = compute(name, derive=("slope", "mean_curvature"), analysis_scale_m=30, further_scales_m=(60.0,))[1]
    alone = compute(name, derive=("slope", "mean_curvature"), analysis_scale_m=60)[1]
    assert {"slope", "slope_at_60m", "mean_curvature", "mean_curvature_at_60m"} <= set(several)
    np.testing.assert_array_equal(several["slope_at_60m"], alone["slope"])
    assert np.nanstd(several["mean_curvature_at_60m"]) < np.nanstd(several["mean_curvature"])
