"""The finished file: overviews as GDAL makes them, every block there, or nothing at all."""

import subprocess
import sys

import numpy as np
import pytest
import rasterio
import rasterio.shutil
from rasterio.errors import RasterioIOError

from geoprofile.cloud_optimised import refuse_lost_blocks
from geoprofile.grid import Grid
from geoprofile.rasters import CLASS, write_raster


@pytest.mark.parametrize("width, height, halvings", [(256, 256, 0), (257, 100, 1), (512, 513, 2), (1000, 1500, 3)])
def test_overviews_halve_until_one_block_holds_all(width, height, halvings, tmp_path):
    grid = Grid("EPSG:3158", 500_000.0, 5_830_000.0, 5.0, height, width)
    raster = write_raster(tmp_path, "a.tif", np.arange(width * height).reshape(grid.shape), grid, name="a", title="A", unit="m")
    with rasterio.open(tmp_path / raster.path) as source:
        assert source.overviews(1) == [2, 4, 8][:halvings]
        assert source.tags(ns="IMAGE_STRUCTURE") == {"COMPRESSION": "DEFLATE", "INTERLEAVE": "BAND", "LAYOUT": "COG", "PREDICTOR": "3"}


@pytest.mark.parametrize("kind, resampling", [("number", "AVERAGE"), (CLASS, "NEAREST")])
def test_overviews_are_those_that_gdals_driver_makes(kind, resampling, tmp_path):
    """GDAL's COG driver, left to make them itself, on sides that halve evenly."""
    grid = Grid("EPSG:3158", 500_000.0, 5_830_000.0, 5.0, 1024, 1536)
    array = np.random.default_rng(3).integers(1, 200, grid.shape).astype("uint8" if kind == CLASS else "float32")
    array[200:420, 300:330] = 0 if kind == CLASS else np.nan
    raster = write_raster(tmp_path, "a.tif", array, grid, name="a", title="A", unit="", kind=kind)
    plain, theirs = tmp_path / "plain.tif", tmp_path / "theirs.tif"
    with rasterio.open(
        plain, "w", driver="GTiff", height=1024, width=1536, count=1, dtype=array.dtype, crs=grid.crs,
        transform=rasterio.Affine(*grid.transform), nodata=0 if kind == CLASS else np.nan,
    ) as sink:  # fmt: skip
        sink.write(array, 1)
    rasterio.shutil.copy(plain, theirs, driver="COG", BLOCKSIZE="256", OVERVIEW_RESAMPLING=resampling)
    for level in range(3):
        with (
            rasterio.open(tmp_path / raster.path, overview_level=level) as made,
            rasterio.open(theirs, overview_level=level) as expected,
        ):
            np.testing.assert_array_equal(made.read(1), expected.read(1))


def test_a_block_that_is_not_in_the_file_is_missed(tmp_path):
    """A sparse file leaves out blocks that were never written; so does one that the disk did not take."""
    path = tmp_path / "a.tif"
    shape = {"height": 600, "width": 600, "count": 1, "dtype": "float32", "tiled": True, "blockxsize": 256, "blockysize": 256}
    with rasterio.open(path, "w", driver="GTiff", SPARSE_OK=True, transform=rasterio.Affine(5, 0, 0, 0, -5, 0), **shape) as sink:
        sink.write(np.ones((256, 600), "float32"), 1, window=((0, 256), (0, 600)))
    with pytest.raises(RasterioIOError, match="not written"):
        refuse_lost_blocks(path, 0)


def test_a_file_that_is_cut_off_is_seen(tmp_path):
    raster = write_raster(tmp_path, "a.tif", np.random.default_rng(1).normal(size=(600, 600)), Grid("EPSG:3158", 0.0, 0.0, 5.0, 600, 600),
                          name="a", title="A", unit="m")  # fmt: skip
    path = tmp_path / raster.path
    refuse_lost_blocks(path, 2)
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 3 // 4])
    with pytest.raises(RasterioIOError, match="cut off"):
        refuse_lost_blocks(path, 2)

LIMITED = """
import resource, signal, sys
from pathlib import Path
import numpy as np
from geoprofile.errors import OutputError
from geoprofile.grid import Grid
from geoprofile import rasters
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
folder = Path(sys.argv[1])
if sys.argv[2] == "full":
    rasters.shutil.disk_usage = lambda place: type("Usage", (), {"free": 0})
grid = Grid("EPSG:3158", 500_000.0, 5_830_000.0, 5.0, 700, 700)
cells = np.random.default_rng(1).normal(size=grid.shape)
for limit in map(int, sys.argv[3:]):
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.getrlimit(resource.RLIMIT_FSIZE)[1]))
    try:
        made = rasters.write_raster(folder, "a.tif", cells, grid, name="a", title="A", unit="m")
    except OutputError as error:
        print(error.exit_code, error.what, len(list(folder.iterdir())))
    else:
        print("written", np.array_equal(made.read(folder), cells.astype("float32").astype(float)))
"""


@pytest.mark.parametrize("disk, told", [("full", "there is no room to write this"), ("free", "this could not be written")])
def test_a_raster_that_the_disk_does_not_take_is_refused_as_an_output_and_nothing_is_left(disk, told, tmp_path):
    """Whichever step meets the limit of a file's size: cells, overviews, the finished file. The last limit is enough."""
    pytest.importorskip("resource", reason="limits of a process are a matter of Unix")
    limits = [1_000, 300_000, 1_500_000, 2_200_000, 2_380_000, 2_500_000, 20_000_000]
    run = subprocess.run([sys.executable, "-c", LIMITED, str(tmp_path), disk, *map(str, limits)], capture_output=True, text=True)
    assert run.stdout.splitlines() == [f"6 {told} 0"] * 6 + ["written True"], run.stderr
