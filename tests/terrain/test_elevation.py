"""Opening an elevation raster: every doubt is a refusal or a stated conversion."""

from __future__ import annotations

import numpy as np
import pytest
import rasterio

from geoprofile.errors import InputError
from geoprofile.grid import Window
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.elevation import open_elevation
from geoprofile.terrain.missing import Scan, scan, suspects

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


def tiles_of(write_elevation, z, cuts=((slice(0, 7), slice(0, 9)), (slice(0, 7), slice(9, 14)), (slice(7, 12), slice(0, 14))), shift=0.0):
    """The raster cut into files that lie where they belong; the last one moved by ``shift`` cells."""
    names = []
    for number, (rows, columns) in enumerate(cuts):
        moved = shift if number == len(cuts) - 1 else 0.0
        place = (500_000.0 + 10 * (columns.start + moved), 5_400_000.0 - 10 * rows.start, 10.0)
        names.append(write_elevation(z[rows, columns], place, name=f"tile {number}.tif", nodata=-9999))
    return names


def opened_together(path, names, **answers):
    return open_elevation([path / name for name in names], TerrainSettings(elevation_unit="m", **answers), crs=UTM32)


def test_tiles_on_one_lattice_are_joined_without_a_seam(write_elevation, tmp_path):
    """T8: no new gaps inside, no cell moved, whatever the order."""
    names = tiles_of(write_elevation, HILLS)
    for order in (names, names[::-1]):
        found = opened_together(tmp_path, order)
        assert np.array_equal(found.metres, HILLS)
        assert (found.grid.west, found.grid.north) == (500_000, 5_400_000)
    assert any("3 elevation rasters joined" in note for note in found.notes)
    window = Window(5, 7, 6, 5)
    assert np.array_equal(found.read(window), HILLS[window.slices])


def test_a_tile_off_the_lattice_is_refused_by_name(write_elevation, tmp_path):
    """T8: nothing is snapped."""
    with pytest.raises(InputError, match="off the cells") as caught:
        opened_together(tmp_path, tiles_of(write_elevation, HILLS, shift=0.4))
    assert "tile 2.tif" in str(caught.value) and "0.400 cells east" in str(caught.value)


def test_a_tile_with_other_cells_is_refused(write_elevation, tmp_path):
    """T7, T8."""
    names = tiles_of(write_elevation, HILLS)
    names.append(write_elevation(HILLS[:4, :4], (500_140.0, 5_400_000.0, 5.0), name="finer.tif"))
    with pytest.raises(InputError, match="different cells"):
        opened_together(tmp_path, names)


def test_where_tiles_overlap_the_first_with_elevation_counts(write_elevation, tmp_path):
    first = HILLS.copy()
    first[5:, :] = np.nan
    names = [write_elevation(first, name="first.tif"), write_elevation(HILLS + 1, name="second.tif")]
    assert np.array_equal(opened_together(tmp_path, names).metres, np.where(np.isnan(first), HILLS + 1, first))


def test_a_marker_in_any_tile_is_found(write_elevation, tmp_path):
    """T1."""
    z = HILLS.copy()
    z[10, 10] = -32768
    with pytest.raises(InputError, match="-32768 in 1 cells"):
        opened_together(tmp_path, tiles_of(write_elevation, z))


def test_a_raster_of_classes_is_no_elevation(tmp_path):
    """T19: codes are never averaged or sloped."""
    with rasterio.open(
        tmp_path / "classes.tif", "w", driver="GTiff", height=9, width=9, count=1, dtype="uint8", crs=UTM32,
        transform=rasterio.Affine(10, 0, 500_000, 0, -10, 5_400_000),
    ) as sink:  # fmt: skip
        sink.write(np.full((9, 9), 3, "uint8"), 1)
        sink.write_colormap(1, {3: (10, 120, 10, 255)})
    with pytest.raises(InputError, match="classes, not elevations"):
        opened(tmp_path, "classes.tif", elevation_unit="m")


@pytest.mark.parametrize("how", ["as it is", "aggregated", "oblong", "in degrees"])
def test_a_window_holds_the_same_bits_as_the_whole(write_elevation, tmp_path, how):
    """T6, T12, T13: reading by windows changes nothing, gaps included."""
    rng = np.random.default_rng(8)
    z = 300 + rng.normal(0, 3, (60, 80))
    z[rng.random(z.shape) < 0.03] = np.nan
    place, crs, cell = {
        "as it is": ((500_000.0, 5_400_000.0, 10.0), UTM32, None),
        "aggregated": ((500_000.0, 5_400_000.0, 10.0), UTM32, 30),
        "oblong": ((10, 0, 500_000, 0, -7, 5_400_000), UTM32, None),
        "in degrees": ((11, 48, 1 / 3600), "EPSG:4326", None),
    }[how]
    found = opened(tmp_path, write_elevation(z, place, crs=crs), elevation_unit="m", cell_m=cell)
    whole = found.metres
    assert whole.shape == found.grid.shape and not np.isnan(whole).all()
    for window in found.grid.windows(13):
        assert found.read(window).tobytes() == np.ascontiguousarray(whole[window.slices]).tobytes()


def test_a_scan_by_windows_finds_what_a_scan_of_the_whole_finds():
    rng = np.random.default_rng(9)
    z = rng.normal(300, 5, (40, 40))
    doubtful = rng.random(z.shape) < 0.1
    z[doubtful] = rng.choice([-9999.0, 0.0, 1e20, np.nan], doubtful.sum())
    parts = sum((scan(z[row : row + 9, column : column + 9]) for row in range(0, 40, 9) for column in range(0, 40, 9)), Scan())
    assert len(suspects(parts)) == 3
    assert suspects(parts) == suspects(scan(z)) and parts.known == scan(z).known
