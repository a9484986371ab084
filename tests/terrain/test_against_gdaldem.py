"""Slope and aspect against gdaldem, an independent program (geostat.md 5.2: they agree to single precision)."""

from __future__ import annotations

import shutil
import subprocess

import numpy as np
import pytest
import rasterio

from geoprofile.kernels.terrain_window import slope_and_aspect


@pytest.mark.skipif(shutil.which("gdaldem") is None, reason="gdaldem is not installed (Debian: gdal-bin)")
def test_horns_window_gives_the_slope_and_aspect_of_gdaldem(write_elevation, tmp_path):
    z = np.random.default_rng(4).normal(300, 4, (40, 50)).astype("float32")
    name = write_elevation(z, dtype="float32", unit="m", nodata=-9999)
    slope, sine, cosine = slope_and_aspect(z.astype(float), 10.0, 2.0)
    facing = np.degrees(np.arctan2(sine, cosine)) % 360
    for mode, mine in (("slope", slope), ("aspect", facing)):
        subprocess.run(["gdaldem", mode, tmp_path / name, tmp_path / f"{mode}.tif", "-q"], check=True)
        with rasterio.open(tmp_path / f"{mode}.tif") as source:
            theirs = source.read(1).astype(float)
        theirs[theirs == -9999] = np.nan
        apart = np.abs(mine - theirs)
        if mode == "aspect":
            apart = np.minimum(apart, 360 - apart)
            apart[slope < 1] = 0  # single precision of gdaldem: on nearly level ground the direction is noise
        assert np.nanmax(apart) < (1e-3 if mode == "slope" else 0.02)
        assert np.array_equal(np.isnan(mine), np.isnan(theirs))
