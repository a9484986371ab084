"""Rasters are written whole, named, with unit and nodata, and read back as written."""

import subprocess
from functools import partial

import numpy as np
import pytest
import rasterio

from geoprofile.errors import OutputError
from geoprofile.grid import Grid, Window
from geoprofile.rasters import CLASS, NUMBER, StreamedRaster, file_sha256, write_raster

GRID = Grid("EPSG:3158", 500_000.0, 5_800_000.0, 5.0, 300, 410)


def _numbers() -> np.ndarray:
    array = np.random.default_rng(1).normal(50, 10, GRID.shape)
    array[:20, :30] = np.nan
    return array


def test_name_unit_nodata_and_values_are_read_back(tmp_path):
    """T2, T17: one missing marker; names and units are kept."""
    array = _numbers()
    raster = write_raster(tmp_path, "surfaces/a.tif", array, GRID, name="a", title="Depth to lime", unit="cm")
    with rasterio.open(tmp_path / raster.path) as source:
        assert (source.descriptions, source.units) == (("Depth to lime",), ("cm",))
        assert np.isnan(source.nodata)
        assert source.crs.to_epsg() == 3158
        assert tuple(source.transform)[:6] == GRID.transform
        assert source.overviews(1), "a cloud-optimised file has overviews"
    np.testing.assert_array_equal(raster.read(tmp_path), array.astype("float32").astype("float64"))
    window = Window(10, 20, 30, 40)
    np.testing.assert_array_equal(raster.read(tmp_path, window), raster.read(tmp_path)[window.slices])


def test_overviews_stay_within_the_full_range(tmp_path):
    """T3: nothing leaks from nodata into the overviews."""
    raster = write_raster(tmp_path, "a.tif", _numbers(), GRID, name="a", title="A", unit="m")
    full = raster.read(tmp_path)
    with rasterio.open(tmp_path / raster.path, overview_level=0) as source:
        coarse = source.read(1)
    assert np.nanmin(coarse) >= np.nanmin(full) and np.nanmax(coarse) <= np.nanmax(full)


def test_overviews_of_classes_hold_only_classes(tmp_path):
    """T4 and small input 14: codes 10 and 50 in a checkerboard, nothing between them in the overviews."""
    grid = Grid("EPSG:32632", 500_000.0, 5_400_000.0, 10.0, 1024, 1024)
    row, column = np.indices(grid.shape) // 37
    array = np.where((row + column) % 2, 50, 10).astype("uint8")
    raster = write_raster(tmp_path, "c.tif", array, grid, name="c", title="C", unit="", kind=CLASS, legend={10: "ten", 50: "fifty"})
    with rasterio.open(tmp_path / raster.path) as source:
        levels = len(source.overviews(1))
        assert source.tags(1)["CLASSES"] == "10 = ten; 50 = fifty"
    assert levels
    for level in range(levels):
        with rasterio.open(tmp_path / raster.path, overview_level=level) as source:
            assert set(np.unique(source.read(1))) <= {0, 10, 50}


def test_the_same_array_gives_the_same_bytes(tmp_path):
    first = write_raster(tmp_path, "a.tif", _numbers(), GRID, name="a", title="A", unit="m")
    second = write_raster(tmp_path, "b.tif", _numbers(), GRID, name="a", title="A", unit="m")
    assert first.sha256 == second.sha256 == file_sha256(tmp_path / "a.tif")


def test_an_array_that_does_not_fit_is_refused_and_nothing_is_left(tmp_path):
    """T14, C6: no stretched tiles, no half file."""
    with pytest.raises(OutputError, match="does not fit"):
        write_raster(tmp_path, "a.tif", np.zeros((3, 3)), GRID, name="a", title="A", unit="m")
    with pytest.raises(OutputError, match="0..255"):
        write_raster(tmp_path, "a.tif", np.full(GRID.shape, 300), GRID, name="a", title="A", unit="", kind=CLASS)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("codes", [np.full(GRID.shape, -1), np.full(GRID.shape, 256), np.full(GRID.shape, 2.7), np.full(GRID.shape, np.nan)])
def test_class_codes_that_a_byte_cannot_hold_are_refused_before_they_are_cast_T5(tmp_path, codes):
    """T5, T19: no wrapping around (-1 would become 255), no cut-off decimals, no gap that becomes class 0."""
    with pytest.raises(OutputError, match="class codes must"):
        write_raster(tmp_path, "c.tif", codes, GRID, name="c", title="C", unit="", kind=CLASS)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("wrong", [1e39, np.inf, -np.inf])
def test_a_number_beyond_the_type_of_the_file_is_an_error_T5(tmp_path, wrong):
    array = np.zeros(GRID.shape)
    array[3, 4] = wrong
    with pytest.raises(OutputError, match="too large"):
        write_raster(tmp_path, "a.tif", array, GRID, name="a", title="A", unit="m")
    assert list(tmp_path.iterdir()) == []


def test_a_class_raster_says_that_0_is_nothing_T2(tmp_path):
    raster = write_raster(tmp_path, "c.tif", np.ones(GRID.shape, "uint8"), GRID, name="c", title="C", unit="", kind=CLASS)
    with rasterio.open(tmp_path / raster.path) as source:
        assert source.nodata == 0 and source.dtypes == ("uint8",)


def test_a_file_that_reads_back_differently_never_gets_its_name(tmp_path, monkeypatch):
    """T17, C6: one cell of the finished file is changed before it is compared."""
    import rasterio.shutil as shutil

    real = shutil.copy

    def spoil(source, target, **options):
        with rasterio.open(source, "r+") as plain:
            cells = plain.read(1)
        with rasterio.open(source) as plain, rasterio.open(str(source) + "2.tif", "w", **plain.profile) as other:
            cells[200, 200] += 1
            other.write(cells, 1)
            other.set_band_description(1, plain.descriptions[0])
            other.units = plain.units
            other.update_tags(1, **plain.tags(1))
        with rasterio.open(str(source) + "2.tif", "r+") as other:
            other.build_overviews([2])
        real(str(source) + "2.tif", target, **options)

    monkeypatch.setattr(shutil, "copy", spoil)
    with pytest.raises(OutputError, match="read back differs"):
        write_raster(tmp_path, "a.tif", _numbers(), GRID, name="a", title="A", unit="m")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.filterwarnings("ignore:The given matrix")
def test_large_file_mode_is_decided_before_anything_is_written_T16(tmp_path, monkeypatch):
    """T16: a plain TIFF ends at 4 GB; the working file is as large as its cells, so a grid of 4.3 GB must start in the other format."""
    real, made = rasterio.open, {}

    def small(path, mode="r", **options):
        if mode.startswith("w"):
            made.update(options)
            options |= {"height": 8, "width": 8, "BIGTIFF": "YES" if options.get("BIGTIFF") in ("YES", "IF_SAFER") else "NO"}
        return real(path, mode, **options)

    monkeypatch.setattr(rasterio, "open", small)
    large = Grid("EPSG:3158", 0.0, 0.0, 1.0, 33_000, 33_000)
    with StreamedRaster(tmp_path, "a.tif", large, name="a", title="A", unit="m") as raster:
        raster._sink.close()
        magic = raster._plain.read_bytes()[:4]
    assert magic == b"II+\x00", "43 is BigTIFF, 42 is not (TIFF 6.0; BigTIFF design, Aware Systems)"
    assert made["height"] == 33_000 and list(tmp_path.iterdir()) == []


def test_streamed_in_any_order_and_written_whole_are_the_same_file(tmp_path):
    array = _numbers()
    whole = write_raster(tmp_path, "a.tif", array, GRID, name="a", title="A", unit="m")
    with StreamedRaster(tmp_path, "b.tif", GRID, name="a", title="A", unit="m") as sink:
        for window in reversed(list(GRID.windows(64))):
            sink.write(window, array[window.slices])
        streamed = sink.finish()
    assert streamed.sha256 == whole.sha256


def test_a_stream_that_is_left_unfinished_leaves_nothing_and_keeps_the_old_file(tmp_path):
    """C6."""
    before = write_raster(tmp_path, "a.tif", _numbers(), GRID, name="a", title="A", unit="m").sha256
    with pytest.raises(KeyboardInterrupt), StreamedRaster(tmp_path, "a.tif", GRID, name="a", title="A", unit="m") as sink:
        sink.write(Window(0, 0, 5, 5), np.zeros((5, 5)))
        raise KeyboardInterrupt
    assert sorted(file.name for file in tmp_path.iterdir()) == [".products", "a.tif"]
    assert file_sha256(tmp_path / "a.tif") == before


def test_a_window_that_does_not_match_its_cells_is_refused(tmp_path):
    """T14: a short tile is never stretched."""
    with StreamedRaster(tmp_path, "a.tif", GRID, name="a", title="A", unit="m") as sink:
        with pytest.raises(OutputError, match="does not fit"):
            sink.write(Window(0, 0, 10, 10), np.zeros((10, 9)))


def test_what_changes_between_writing_and_reading_back_is_found(tmp_path):
    """T17: values and what is told about them are compared before the file takes its name."""
    for spoil in ("value", "unit"):
        with StreamedRaster(tmp_path, "a.tif", GRID, name="a", title="A", unit="m") as sink:
            sink.write(GRID.whole, _numbers())
            if spoil == "unit":
                sink.unit = "ft"
            else:
                sink._reads_back = partial(_spoiled, sink, sink._reads_back)
            with pytest.raises(OutputError, match="differs"):
                sink.finish()
    assert list(tmp_path.iterdir()) == []


def _spoiled(sink, reads_back) -> bool:
    with rasterio.open(sink._plain, "r+") as plain:
        plain.write(np.full((1, 1), 7.0, "float32"), 1, window=((250, 251), (300, 301)))
    return reads_back()


def _validator() -> bool:
    try:
        done = subprocess.run(["/usr/bin/python3", "-c", "import osgeo_utils.samples.validate_cloud_optimized_geotiff"], capture_output=True)
    except OSError:
        return False
    return done.returncode == 0


@pytest.mark.skipif(not _validator(), reason="GDAL's own check is not installed (Debian: python3-gdal)")
@pytest.mark.parametrize("kind", [NUMBER, CLASS])
def test_files_pass_gdals_own_check_of_cloud_optimised_files(tmp_path, kind):
    array = _numbers() if kind == NUMBER else np.ones(GRID.shape, "uint8")
    write_raster(tmp_path, "a.tif", array, GRID, name="a", title="A", unit="m" if kind == NUMBER else "", kind=kind)
    check = subprocess.run(
        ["/usr/bin/python3", "-m", "osgeo_utils.samples.validate_cloud_optimized_geotiff", "--full-check=yes", str(tmp_path / "a.tif")],
        capture_output=True, text=True,
    )  # fmt: skip
    assert check.returncode == 0 and "is a valid cloud optimized GeoTIFF" in check.stdout, check.stdout + check.stderr


def test_single_cells_are_those_of_the_windows_wherever_they_lie(tmp_path):
    grid = Grid("EPSG:3158", 500_000, 5_500_000, 10, 300, 520)
    cells = np.random.default_rng(3).random(grid.shape).astype("float32")
    raster = write_raster(tmp_path, "a.tif", cells, grid, name="a", title="A", unit="m")
    row, column = np.array([299, 0, 299, 150, 0]), np.array([519, 0, 519, 256, 257])
    found = raster.cells(tmp_path)
    assert found.at(row, column).tolist() == cells[row, column].astype(float).tolist()
    assert np.array_equal(found.read(Window(250, 250, 20, 20)), cells[250:270, 250:270])
    assert found.at(np.empty(0, int), np.empty(0, int)).tolist() == []


def test_every_third_row_and_column_is_that_of_the_whole(tmp_path):
    grid = Grid("EPSG:3158", 500_000, 5_500_000, 10, 1100, 2100)
    cells = np.random.default_rng(4).random(grid.shape).astype("float32")
    raster = write_raster(tmp_path, "a.tif", cells, grid, name="a", title="A", unit="m")
    rows, columns = np.arange(2, 1100, 3), np.arange(1000, 2100, 3)
    assert np.array_equal(raster.cells(tmp_path).every(rows, columns), cells[np.ix_(rows, columns)])
    assert raster.cells(tmp_path).every(rows[:0], columns).shape == (0, len(columns))


def test_a_folder_or_a_file_in_the_way_of_a_raster_is_told_before_anything_is_written(tmp_path):
    small = Grid("EPSG:3158", 500_000.0, 5_800_000.0, 5.0, 3, 4)
    mine = tmp_path / "terrain" / "slope.tif" / "mine.txt"
    mine.parent.mkdir(parents=True)
    mine.write_text("mine")
    (tmp_path / "surfaces").write_text("mine")
    for path, words in (("terrain/slope.tif", "a folder stands where this file"), ("surfaces/a.tif", "a file stands where a folder")):
        with pytest.raises(OutputError, match=words) as caught:
            write_raster(tmp_path, path, np.zeros(small.shape), small, name="a", title="A", unit="m")
        assert caught.value.where.startswith(str(tmp_path / path.split("/")[0])) and caught.value.remedy
    assert mine.read_text() == (tmp_path / "surfaces").read_text() == "mine"
    assert sorted(path.name for path in (tmp_path / "terrain").iterdir()) == ["slope.tif"]
