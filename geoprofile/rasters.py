"""GeoTIFF in and out: one way to write a cloud-optimised file, one way to read a window.

What is written is read back and compared; it takes its final name only then.
Numbers are float32 with NaN as nodata, classes are bytes with 0 as nodata.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from . import environment as _environment  # noqa: F401
from .errors import OutputError
from .grid import Grid, Window

NUMBER, CLASS = "number", "class"


@dataclass(frozen=True)
class RasterFile:
    """One raster of a product: where it is, what it means, its hash.

    ``path`` is relative to the survey's output folder. ``legend`` maps class
    codes (1..255) to names for class rasters.
    """

    name: str
    path: str
    sha256: str
    title: str
    unit: str
    kind: str = NUMBER
    legend: dict[int, str] = field(default_factory=dict)

    def read(self, output: Path, window: Window | None = None) -> np.ndarray:
        """Numbers: float64 with NaN where there is nothing. Classes: uint8 with 0 where there is nothing."""
        return read_window(Path(output) / self.path, window)


def read_window(path: Path, window: Window | None = None) -> np.ndarray:
    """The first band of one of our own rasters; see :class:`RasterFile` for types."""
    import rasterio
    from rasterio.windows import Window as RasterioWindow

    where = None if window is None else RasterioWindow(window.column, window.row, window.width, window.height)
    with rasterio.open(path) as source:
        array = source.read(1, window=where)
    return array.astype(np.float64) if array.dtype.kind == "f" else array


def file_sha256(path: Path) -> str:
    with open(path, "rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()


def write_raster(
    output: Path,
    path: str,
    array: np.ndarray,
    grid: Grid,
    *,
    name: str,
    title: str,
    unit: str,
    kind: str = NUMBER,
    legend: dict[int, str] | None = None,
) -> RasterFile:
    """Write ``array`` (grid.shape) as a cloud-optimised GeoTIFF under ``output/path``.

    Band description is ``title``, band unit is ``unit``; class names go into the
    tag ``CLASSES``. Raises OutputError when the array does not fit the grid or
    reads back differently.
    """
    import rasterio
    from rasterio.shutil import copy as rasterio_copy

    legend = dict(legend or {})
    if array.shape != grid.shape:
        raise OutputError("a raster does not fit its grid", where=path, found=str(array.shape), allowed=str(grid.shape))
    dtype = "uint8" if kind == CLASS else "float32"
    if kind == CLASS:
        if array.min(initial=0) < 0 or array.max(initial=0) > 255:
            raise OutputError("class codes must lie in 0..255", where=path, found=f"{array.min()}..{array.max()}")
    cells = np.ascontiguousarray(array, dtype=dtype)
    target = Path(output) / path
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".writing-") as folder:
        plain, done = Path(folder) / "plain.tif", Path(folder) / "done.tif"
        profile = dict(
            driver="GTiff",
            height=grid.height,
            width=grid.width,
            count=1,
            dtype=dtype,
            crs=grid.crs,
            transform=rasterio.Affine(*grid.transform),
            nodata=0 if kind == CLASS else float("nan"),
            tiled=True,
            blockxsize=256,
            blockysize=256,
            BIGTIFF="IF_SAFER",
        )
        with rasterio.open(plain, "w", **profile) as sink:
            sink.write(cells, 1)
            sink.set_band_description(1, title)
            if unit:
                sink.units = (unit,)
            tags = {"NAME": name}
            if legend:
                tags["CLASSES"] = "; ".join(f"{code} = {text}" for code, text in sorted(legend.items()))
            sink.update_tags(1, **tags)
        rasterio_copy(
            plain,
            done,
            driver="COG",
            COMPRESS="DEFLATE",
            PREDICTOR="YES",
            BLOCKSIZE="256",
            OVERVIEW_RESAMPLING="NEAREST" if kind == CLASS else "AVERAGE",
            BIGTIFF="IF_SAFER",
        )
        with rasterio.open(done) as source:
            same = np.array_equal(source.read(1), cells, equal_nan=kind != CLASS)
            told = source.descriptions[0] == title and (not unit or source.units[0] == unit)
        if not (same and told):
            raise OutputError("a raster read back differs from what was computed", where=str(target))
        os.replace(done, target)
    return RasterFile(name, path, file_sha256(target), title, unit, kind, legend)
