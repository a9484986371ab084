"""Against gdaldem, an independent program, on invented ground and on real elevation (geostat.md 5.2).

Both ridge-36 rasters (9 m and 28 m, resampled from the national elevation of the
United States) and the Maine raster (20 m, made from spot elevations, with flat
water and gaps).
"""

from __future__ import annotations

import shutil
import subprocess

import numpy as np
import pytest
import rasterio

from geoprofile.kernels.terrain_shade import hillshade
from geoprofile.kernels.terrain_sums import relative_elevation, square_widths
from geoprofile.kernels.terrain_window import HORN, slope_and_aspect

from ..conftest import SHARED

pytestmark = pytest.mark.skipif(shutil.which("gdaldem") is None, reason="gdaldem is not installed (Debian: gdal-bin)")
REAL = (
    "ridge-36/1_3arcsec_arcproj_bilin.tif",
    "ridge-36/1arcsec_arcproj_bilin.tif",
    "maine/dem20m_DERIVED_from_spotElevations.tif",
)


def theirs(mode: str, source, folder, *options: str) -> np.ndarray:
    """Their raster, NaN where they have nothing."""
    subprocess.run(["gdaldem", mode, source, folder / f"{mode}.tif", "-q", *options], check=True)
    with rasterio.open(folder / f"{mode}.tif") as made:
        return made.read(1, masked=True).astype(float).filled(np.nan)


def agrees(mine: np.ndarray, other: np.ndarray, most: float) -> None:
    assert np.array_equal(np.isnan(mine), np.isnan(other)), "values in the same cells"
    assert np.nanmax(np.abs(mine - other)) <= most


@pytest.fixture(params=["invented", *REAL])
def ground(request, write_elevation, tmp_path):
    """(file, elevation with NaN, cell in m)."""
    if request.param == "invented":
        z = np.random.default_rng(4).normal(300, 4, (40, 50)).astype("float32")
        file = tmp_path / write_elevation(z, dtype="float32", unit="m", nodata=-9999)
    else:
        file = SHARED / "data" / request.param
        if not file.is_file():
            pytest.skip(f"{request.param} is not beside the project")
    with rasterio.open(file) as source:
        z = source.read(1, masked=True).astype(float).filled(np.nan)
        return file, z, source.transform.a


def test_slope_and_aspect_by_horns_window(ground, tmp_path):
    file, z, cell = ground
    slope, sine, cosine = slope_and_aspect(z, cell, HORN)
    agrees(slope, theirs("slope", file, tmp_path), 1e-3)
    facing = theirs("aspect", file, tmp_path)
    steep = slope > 1  # on nearly level ground the direction is noise in their single precision
    assert np.array_equal(np.isnan(sine[steep]), np.isnan(facing[steep]))
    apart = np.abs(np.degrees(np.arctan2(sine, cosine)) % 360 - facing)[steep]
    assert np.nanmax(np.minimum(apart, 360 - apart)) <= 0.05


def test_relative_elevation_in_its_form_of_three_by_three_cells(ground, tmp_path):
    """Elevation minus the mean of its eight neighbours; ours also has cells at edges and gaps."""
    file, z, _ = ground
    other = theirs("TPI", file, tmp_path)
    mine = relative_elevation(z, square_widths(1), middle=False)[0]
    agrees(np.where(np.isnan(other), np.nan, mine), other, 5e-4)


def test_hillshade_to_one_grey_level(ground, tmp_path):
    file, z, cell = ground
    agrees(hillshade(z, cell), theirs("hillshade", file, tmp_path), 1.0)
