"""Small elevation rasters, written as described in each test."""

from __future__ import annotations

import numpy as np
import pytest


@pytest.fixture
def write_elevation(tmp_path):
    """Write a raster and give its name; ``transform`` is west, north and cell, or six affine numbers."""

    def write(z, transform=(500_000.0, 5_400_000.0, 10.0), *, name="dem.tif", crs="EPSG:32632", nodata=None, unit=None, dtype=None):
        import warnings

        import rasterio
        from rasterio.errors import NotGeoreferencedWarning

        z = np.asarray(z)
        z = z if z.ndim == 3 else z[None]
        west, north, cell = transform if len(transform) == 3 else (0, 0, 0)
        affine = rasterio.Affine(cell, 0, west, 0, -cell, north) if len(transform) == 3 else rasterio.Affine(*transform)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            with rasterio.open(
                tmp_path / name, "w", driver="GTiff", height=z.shape[1], width=z.shape[2], count=z.shape[0],
                dtype=dtype or "float64", crs=crs, transform=affine, nodata=nodata,
            ) as sink:  # fmt: skip
                sink.write(z.astype(dtype or "float64"))
                if unit:
                    sink.units = (unit,) * z.shape[0]
        return name

    return write
