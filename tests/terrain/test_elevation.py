"""Opening an elevation raster: every doubt is a refusal or a stated conversion."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.errors import InputError
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.elevation import open_elevation

UTM32 = "EPSG:32632"
HILLS = 300 + np.add.outer(np.sin(np.arange(12.0)), np.cos(np.arange(14.0)))


def opened(path, name, *, crs=UTM32, cell_m=None, **answers):
    return open_elevation(path / name, TerrainSettings(**answers), crs=crs, cell_m=cell_m)


@pytest.mark.parametrize("marker", [-9999.0, -32768.0, 32767.0, 3.4028234663852886e38, -3.4028234663852886e38, 1e20, 65535.0, 0.0])
def test_an_undeclared_marker_stops_and_asks_and_the_answer_masks_it(write_elevation, tmp_path, marker):
    """T1."""
    z = HILLS.copy()
    z[3, 4] = marker
    name = write_elevation(z)
    with pytest.raises(InputError) as caught:
        opened(tmp_path, name, elevation_unit="m")
    assert "1 cells" in str(caught.value) and "elevation_nodata" in caught.value.remedy
    confirmed = opened(tmp_path, name, elevation_unit="m", elevation_nodata=marker)
    assert np.isnan(confirmed.metres[3, 4]) and np.isnan(confirmed.metres).sum() == 1


def test_a_rounded_marker_in_single_precision_is_masked_by_the_number_a_person_would_type(write_elevation, tmp_path):
    z = HILLS.astype("float32")
    z[0, 0] = np.float32(-3.4028235e38)
    name = write_elevation(z, dtype="float32")
    assert np.isnan(opened(tmp_path, name, elevation_unit="m", elevation_nodata=-3.4028235e38).metres[0, 0])


def test_a_second_undeclared_marker_is_found_beside_a_declared_one(write_elevation, tmp_path):
    """T1, T2."""
    z = HILLS.copy()
    z[0, 0], z[1, 1], z[2, 2] = -9999, np.nan, -32768
    with pytest.raises(InputError, match="-32768 in 1 cells"):
        opened(tmp_path, write_elevation(z, nodata=-9999), elevation_unit="m")


def test_nan_and_a_declared_marker_are_both_masked(write_elevation, tmp_path):
    """T2."""
    z = HILLS.copy()
    z[0, 0], z[1, 1], z[2, 2] = -9999, np.nan, np.inf
    found = opened(tmp_path, write_elevation(z, nodata=-9999), elevation_unit="m").metres
    assert np.isnan(found).sum() == 3
    assert np.nanmean(found) == pytest.approx(np.mean(np.delete(HILLS.ravel(), [0, 15, 30])))


def test_sea_level_is_elevation_and_not_a_marker(write_elevation, tmp_path):
    z = np.linspace(0, 4, 100).reshape(10, 10)
    assert opened(tmp_path, write_elevation(z), elevation_unit="m").metres[0, 0] == 0.0


def test_a_raster_of_whole_numbers_is_read(write_elevation, tmp_path):
    z = np.arange(48).reshape(6, 8) + 200
    found = opened(tmp_path, write_elevation(z, dtype="int16", nodata=-32768), elevation_unit="m").metres
    assert np.array_equal(found, z)


def test_a_projected_system_in_metres_does_not_tell_the_unit_of_elevation(write_elevation, tmp_path):
    """T10."""
    name = write_elevation(HILLS)
    with pytest.raises(InputError, match="unit of elevation is not known") as caught:
        opened(tmp_path, name)
    assert "elevation_unit" in caught.value.remedy


@pytest.mark.parametrize(("unit", "factor"), [("ft", 0.3048), ("Feet", 0.3048), ("US survey foot", 1200 / 3937), ("metre", 1.0)])
def test_the_band_unit_is_followed_and_feet_are_converted_once(write_elevation, tmp_path, unit, factor):
    """T10."""
    found = opened(tmp_path, write_elevation(HILLS, unit=unit))
    np.testing.assert_allclose(found.metres, HILLS * factor, rtol=1e-12)
    assert any("elevation is in" in note and unit in note for note in found.notes)


def test_a_setting_against_the_band_unit_is_followed_and_said(write_elevation, tmp_path):
    """T10: never overridden silently."""
    found = opened(tmp_path, write_elevation(HILLS, unit="ft"), elevation_unit="m")
    assert np.array_equal(found.metres, HILLS)
    assert any("says otherwise" in note and "'ft'" in note for note in found.notes)


def test_an_unknown_band_unit_stops(write_elevation, tmp_path):
    with pytest.raises(InputError, match="unit of elevation"):
        opened(tmp_path, write_elevation(HILLS, unit="fathom"))


def test_a_vertical_axis_in_feet_is_followed(write_elevation, tmp_path):
    found = opened(tmp_path, write_elevation(HILLS, crs="EPSG:32632+8228"))  # height in feet of 0.3048 m
    np.testing.assert_allclose(found.metres, HILLS * 0.3048, rtol=1e-9)


def test_several_bands_are_refused_until_one_is_named(write_elevation, tmp_path):
    name = write_elevation(np.stack([HILLS, HILLS + 50]))
    with pytest.raises(InputError, match="several bands"):
        opened(tmp_path, name, elevation_unit="m")
    assert np.array_equal(opened(tmp_path, name, elevation_unit="m", band=2).metres, HILLS + 50)
    with pytest.raises(InputError, match="no such band"):
        opened(tmp_path, name, elevation_unit="m", band=3)


def test_a_raster_without_a_system_is_refused_until_it_is_stated(write_elevation, tmp_path):
    name = write_elevation(HILLS, crs=None)
    with pytest.raises(InputError, match="does not say its coordinate system"):
        opened(tmp_path, name, elevation_unit="m")
    assert np.array_equal(opened(tmp_path, name, elevation_unit="m", elevation_crs=UTM32).metres, HILLS)


def test_a_stated_system_never_relabels_a_raster_that_has_another(write_elevation, tmp_path):
    """G9."""
    with pytest.raises(InputError, match="another system"):
        opened(tmp_path, write_elevation(HILLS), elevation_unit="m", elevation_crs="EPSG:3158")


def test_a_raster_without_a_place_is_refused(write_elevation, tmp_path):
    with pytest.raises(InputError, match="does not say where it lies"):
        opened(tmp_path, write_elevation(HILLS, (1, 0, 0, 0, 1, 0)), elevation_unit="m")


def test_a_file_that_is_no_raster_is_refused(tmp_path):
    (tmp_path / "dem.tif").write_text("not a raster")
    with pytest.raises(InputError, match="cannot be opened"):
        opened(tmp_path, "dem.tif", elevation_unit="m")


def test_a_raster_on_the_lattice_is_used_cell_by_cell(write_elevation, tmp_path):
    """T6: the probe at a cell's centre reads the cell."""
    found = opened(tmp_path, write_elevation(HILLS), elevation_unit="m")
    assert np.array_equal(found.metres, HILLS)
    assert found.grid.transform == (10.0, 0.0, 500_000.0, 0.0, -10.0, 5_400_000.0)


def test_a_raster_stored_from_south_to_north_is_turned(write_elevation, tmp_path):
    name = write_elevation(HILLS[::-1], (10, 0, 500_000, 0, 10, 5_400_000 - 120))
    found = opened(tmp_path, name, elevation_unit="m")
    assert np.array_equal(found.metres, HILLS)
    assert found.grid.north == 5_400_000


def test_aggregation_keeps_the_corner_and_gives_exact_means(write_elevation, tmp_path):
    """T7: a whole multiple, on the raster's lattice."""
    z = np.arange(48.0).reshape(6, 8) + 200
    found = opened(tmp_path, write_elevation(z), elevation_unit="m", cell_m=20)
    assert (found.grid.west, found.grid.north, found.grid.cell_m) == (500_000, 5_400_000, 20)
    assert np.array_equal(found.metres, z.reshape(3, 2, 4, 2).mean(axis=(1, 3)))
    assert any("2 by 2 cells" in note for note in found.notes)


def test_a_grid_that_is_no_whole_multiple_is_refused(write_elevation, tmp_path):
    """T7."""
    with pytest.raises(InputError, match="whole multiple"):
        opened(tmp_path, write_elevation(HILLS), elevation_unit="m", cell_m=25)


def test_oblong_cells_are_warped_and_said(write_elevation, tmp_path):
    """T7: anything off the lattice is warped once and reported; a plane keeps its heights (T6)."""
    x = 500_000 + 10 * (np.arange(40) + 0.5)
    y = 5_400_000 - 5 * (np.arange(60) + 0.5)
    z = 300 + 0.1 * (x[None, :] - 500_000) + 0.05 * (5_400_000 - y[:, None])
    found = opened(tmp_path, write_elevation(z, (10, 0, 500_000, 0, -5, 5_400_000)), elevation_unit="m", cell_m=10)
    cx, cy = found.grid.centres()
    expected = 300 + 0.1 * (cx[None, :] - 500_000) + 0.05 * (5_400_000 - cy[:, None])
    inner = np.s_[2:-2, 2:-2]
    np.testing.assert_allclose(found.metres[inner], expected[inner], atol=1e-6)
    assert any("bilinear" in note and "not square" in note for note in found.notes)
