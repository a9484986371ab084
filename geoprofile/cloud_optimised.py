"""A plain GeoTIFF made into a cloud-optimised one, and the two compared.

Overviews are made on the plain file, where nothing is compressed yet: left to the
driver of the finished file, they would be packed twice. GDAL tells nobody of a block
that it could not write while it closed a file; such a block would read as nothing,
so both files are asked for every block.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

BLOCK = 256
"""Side of a block of our files, cells: the least that is read."""
LEVEL_OF_NUMBERS, LEVEL_OF_CLASSES = 1, 6
"""How hard DEFLATE tries, 1 to 9: numbers come out 1 to 3 % larger at 1 than at 6, in half the time (scripts/bench terrain)."""
AT_ONCE = 2048
"""Side of the window that is compared at once, cells."""
_BITS = {"uint8": "uint8", "float32": "uint32"}
"""Compared as bits: NaN equals itself, and it is quicker."""


def make_cloud_optimised(plain: Path, done: Path, *, classes: bool) -> None:
    """Write ``done`` with overviews: means of numbers, or the nearest cell of ``classes``. ``plain`` gets the overviews too.

    Raises
    ------
    RasterioError, CPLE_BaseError or SystemError, as GDAL and rasterio have it, when something could not be written.
    """
    import rasterio
    from rasterio.enums import Resampling
    from rasterio.shutil import copy

    with rasterio.open(plain) as source:
        halvings = max(0, math.ceil(math.log2(max(source.shape) / BLOCK)))
    if halvings:  # half the side again and again, until one block holds all
        with rasterio.Env(GDAL_NUM_THREADS="ALL_CPUS"), rasterio.open(plain, "r+") as sink:
            sink.build_overviews([2**level for level in range(1, halvings + 1)], Resampling.nearest if classes else Resampling.average)
    refuse_lost_blocks(plain, halvings)
    copy(
        plain, done, driver="COG", COMPRESS="DEFLATE", PREDICTOR="YES", LEVEL=str(LEVEL_OF_CLASSES if classes else LEVEL_OF_NUMBERS),
        BLOCKSIZE=str(BLOCK), OVERVIEWS="FORCE_USE_EXISTING", BIGTIFF="IF_SAFER", NUM_THREADS="ALL_CPUS",
    )  # fmt: skip
    refuse_lost_blocks(done, halvings)


def refuse_lost_blocks(path: Path, halvings: int) -> None:
    """Raise RasterioIOError when a block of the raster or of its overviews is not in the file, or is cut off."""
    import rasterio
    from rasterio.errors import RasterioError, RasterioIOError

    size = 0
    try:
        for level in range(-1, halvings):
            with rasterio.open(path, **({} if level < 0 else {"overview_level": level})) as source:
                rows, columns = (-(-side // BLOCK) for side in source.shape)
                size += sum(source.block_size(1, row, column) for row in range(rows) for column in range(columns))
    except RasterioError as error:
        raise RasterioIOError("a part of the raster was not written") from error
    if path.stat().st_size < size:
        raise RasterioIOError("the raster is cut off")


def same_cells(plain: Path, done: Path) -> bool:
    """Whether both hold the same bits in every cell, read window by window."""
    import rasterio

    with rasterio.open(plain) as first, rasterio.open(done, NUM_THREADS="ALL_CPUS") as second:
        bits = _BITS[first.dtypes[0]]
        height, width = first.shape
        windows = (
            ((row, min(row + AT_ONCE, height)), (column, min(column + AT_ONCE, width)))
            for row in range(0, height, AT_ONCE) for column in range(0, width, AT_ONCE)
        )  # fmt: skip
        return all(np.array_equal(first.read(1, window=part).view(bits), second.read(1, window=part).view(bits)) for part in windows)
