"""GeoTIFF in and out: one way to write a cloud-optimised file, one way to read a window.

What is written is read back and compared, window by window; it takes its final
name only then. Numbers are float32 with NaN as nodata, classes are bytes with 0
as nodata.
"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from . import environment as _environment  # noqa: F401
from .cloud_optimised import BLOCK, make_cloud_optimised, same_cells
from .errors import OutputError, not_written
from .grid import Grid, Window
from .written import file_sha256, place, refuse_before_work

NUMBER, CLASS = "number", "class"
STRETCH = 4 * BLOCK


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

    def cells(self, output: Path) -> RasterCells:
        """The same raster as blocks and single places read it."""
        return RasterCells(str((Path(output) / self.path).resolve()))


@dataclass(frozen=True)
class RasterCells:
    """One of our own rasters, read window by window; small enough to be sent to another machine."""

    path: str

    def read(self, window: Window) -> np.ndarray:
        return read_window(Path(self.path), window)

    def at(self, row: np.ndarray, column: np.ndarray) -> np.ndarray:
        """(n,) values of single cells."""
        import rasterio

        row, column = np.asarray(row, np.intp), np.asarray(column, np.intp)
        # block by block, so that each is read once
        order = np.lexsort((column // BLOCK, row // BLOCK))
        first = np.flatnonzero(np.diff(row[order] // BLOCK, prepend=-1) | np.diff(column[order] // BLOCK, prepend=-1))
        with rasterio.open(self.path) as source:
            values = np.empty(len(row), _ours(source.dtypes[0]))
            for own in np.split(order, first[1:]):
                if len(own):
                    top, left = int(row[own].min()), int(column[own].min())
                    window = Window(top, left, int(row[own].max()) - top + 1, int(column[own].max()) - left + 1)
                    values[own] = source.read(1, window=_theirs(window))[row[own] - top, column[own] - left]
        return values

    def every(self, rows: np.ndarray, columns: np.ndarray) -> np.ndarray:
        """(rows, columns) values where these rows and columns, ascending, meet; read window by window."""
        import rasterio

        with rasterio.open(self.path) as source:
            values = np.empty((len(rows), len(columns)), _ours(source.dtypes[0]))
            for down, top, height in _stretches(rows):
                for across, left, width in _stretches(columns):
                    cells = source.read(1, window=_theirs(Window(top, left, height, width)))
                    values[down, across] = cells[np.ix_(rows[down] - top, columns[across] - left)]
        return values


def _ours(dtype: str) -> str:
    return "float64" if dtype.startswith("float") else dtype


def _stretches(places: np.ndarray) -> list[tuple[slice, int, int]]:
    """Members of ascending ``places`` that lie in one stretch of the file's blocks, with the stretch's first place and length."""
    ends = np.flatnonzero(np.diff(places // STRETCH)) + 1
    parts = zip([0, *ends.tolist()], [*ends.tolist(), len(places)], strict=True)
    return [(slice(a, b), int(places[a]), int(places[b - 1] - places[a]) + 1) for a, b in parts if b > a]


def read_window(path: Path, window: Window | None = None) -> np.ndarray:
    """The first band of one of our own rasters; see :class:`RasterFile` for types."""
    import rasterio

    with rasterio.open(path) as source:
        array = source.read(1, window=_theirs(window))
    return array.astype(np.float64) if array.dtype.kind == "f" else array


def _theirs(window: Window | None):
    from rasterio.windows import Window as RasterioWindow

    return None if window is None else RasterioWindow(window.column, window.row, window.width, window.height)


@dataclass(frozen=True)
class RasterToWrite:
    """One raster of a stage before it is made; ``name`` is also the file's name without ending."""

    name: str
    title: str
    unit: str = ""
    kind: str = NUMBER
    legend: dict[int, str] | None = None

    @property
    def dtype(self) -> str:
        return "uint8" if self.kind == CLASS else "float32"

    def streamed(self, output: Path, folder: str, grid: Grid) -> StreamedRaster:
        """To be filled window by window as ``output/folder/name.tif``."""
        return StreamedRaster(
            output, f"{folder}/{self.name}.tif", grid,
            name=self.name, title=self.title, unit=self.unit, kind=self.kind, legend=self.legend,
        )  # fmt: skip


class StreamedRaster:
    """A raster written window by window, in any order, by one writer.

    Use it as a context manager: windows go into a plain file in a temporary folder
    beside the target; :meth:`finish` makes the cloud-optimised file of it, compares
    and gives it its name. Leaving without ``finish`` leaves nothing behind.

    Parameters
    ----------
    output, path : the file is ``output/path``.
    name, title, unit : tag ``NAME``, band description, band unit.
    kind : ``NUMBER`` (float32, NaN) or ``CLASS`` (bytes, 0).
    legend : class names, written as the tag ``CLASSES``.
    """

    def __init__(
        self, output: Path, path: str, grid: Grid, *, name: str, title: str, unit: str, kind: str = NUMBER,
        legend: dict[int, str] | None = None,
    ) -> None:  # fmt: skip
        self.path, self.grid, self.name, self.title, self.unit, self.kind = path, grid, name, title, unit, kind
        self.legend = dict(legend or {})
        self.output, self.target = Path(output), Path(output) / path
        self.dtype = "uint8" if kind == CLASS else "float32"

    def __enter__(self) -> StreamedRaster:
        import rasterio

        refuse_before_work(self.output, [self.path])  # before hours of work rather than after
        self._stack = ExitStack()
        try:
            self.target.parent.mkdir(parents=True, exist_ok=True)
            folder = self._stack.enter_context(tempfile.TemporaryDirectory(dir=self.target.parent, prefix=".writing-"))
        except OSError as error:
            raise not_written(error, self.target.parent) from error
        self._plain, self._done = Path(folder) / "plain.tif", Path(folder) / "done.tif"
        self._sink = self._stack.enter_context(
            rasterio.open(
                self._plain, "w+", driver="GTiff", height=self.grid.height, width=self.grid.width, count=1, dtype=self.dtype,
                crs=self.grid.crs, transform=rasterio.Affine(*self.grid.transform),
                nodata=0 if self.kind == CLASS else float("nan"), tiled=True, blockxsize=BLOCK, blockysize=BLOCK, BIGTIFF="IF_SAFER",
            )
        )  # fmt: skip
        self._sink.set_band_description(1, self.title)
        if self.unit:
            self._sink.units = (self.unit,)
        self._sink.update_tags(1, **self._tags)
        return self

    def __exit__(self, kind, *error) -> None:
        try:
            self._stack.close()
        except (*self._gdal_errors, SystemError):
            if kind is None:  # what could not be written says so again when it is closed
                raise

    @property
    def _gdal_errors(self) -> tuple[type[Exception], ...]:
        from rasterio._err import CPLE_BaseError
        from rasterio.errors import RasterioError

        return RasterioError, CPLE_BaseError

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """GDAL does not say why it could not write: a disk that is full is known by what is free on it."""
        try:
            yield
        except (*self._gdal_errors, SystemError) as error:  # rasterio's word for what GDAL gives no reason for
            needed = 2 * self.grid.height * self.grid.width * np.dtype(self.dtype).itemsize
            full = shutil.disk_usage(self.target.parent).free < needed
            said = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) if full else OSError(errno.EIO, str(error))
            raise not_written(said, self.target) from error

    @property
    def _tags(self) -> dict[str, str]:
        classes = "; ".join(f"{code} = {text}" for code, text in sorted(self.legend.items()))
        return {"NAME": self.name} | ({"CLASSES": classes} if classes else {})

    def write(self, window: Window, cells: np.ndarray) -> None:
        """Put cells in their place; raises OutputError when they do not fit the window or the type (T5, T14)."""
        if cells.shape != (window.height, window.width):
            raise OutputError(
                "a raster does not fit its grid", where=self.path, found=str(cells.shape), allowed=f"{(window.height, window.width)}"
            )
        if self.kind == CLASS and cells.size and not (cells.min() >= 0 and cells.max() <= 255):
            raise OutputError("class codes must lie in 0..255", where=self.path, found=f"{cells.min()}..{cells.max()}")
        if self.kind == CLASS and cells.dtype.kind == "f" and not np.array_equal(cells, np.floor(cells)):
            raise OutputError("class codes must be whole numbers: classes are never averaged (T19)", where=self.path)
        with np.errstate(over="ignore"):
            cells = np.ascontiguousarray(cells, dtype=self.dtype)
        if self.kind != CLASS and np.isinf(cells).any():
            raise OutputError("a number is too large for the file", where=self.path, found="an infinite value",
                              allowed="up to 3.4e38, and NaN where there is nothing")  # fmt: skip
        with self._writing():
            self._sink.write(cells, 1, window=_theirs(window))

    def read(self, window: Window) -> np.ndarray:
        """What has been written so far; only by the one who writes."""
        return self._sink.read(1, window=_theirs(window))

    def finish(self) -> RasterFile:
        """Make, compare and name the cloud-optimised file; raises OutputError when it reads back differently."""
        with self._writing():
            self._sink.close()
            make_cloud_optimised(self._plain, self._done, classes=self.kind == CLASS)
        with self._writing(), ThreadPoolExecutor(1) as beside:
            digest = beside.submit(file_sha256, self._done)
            same = self._reads_back()
        if not same:
            raise OutputError("a raster read back differs from what was computed", where=str(self.target))
        place(self._done, self.output, self.path, digest.result())
        return RasterFile(self.name, self.path, digest.result(), self.title, self.unit, self.kind, self.legend)

    def _reads_back(self) -> bool:
        import rasterio

        with rasterio.open(self._plain) as plain, rasterio.open(self._done, NUM_THREADS="ALL_CPUS") as done:
            told = (
                done.descriptions[0] == self.title
                and (done.units[0] or "") == self.unit
                and self._tags.items() <= done.tags(1).items()
                and (done.dtypes, done.shape, done.crs, done.transform) == (plain.dtypes, plain.shape, plain.crs, plain.transform)
                and (done.scales, done.offsets) == ((1.0,), (0.0,))
                and np.array_equal(done.nodata, plain.nodata, equal_nan=True)
            )
            return told and same_cells(self._plain, self._done)


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
    """Write ``array`` (grid.shape) as a cloud-optimised GeoTIFF under ``output/path``; see :class:`StreamedRaster`.

    For what fits in memory. Raises OutputError when the array does not fit the
    grid or reads back differently.
    """
    with StreamedRaster(output, path, grid, name=name, title=title, unit=unit, kind=kind, legend=legend) as raster:
        raster.write(grid.whole, np.asarray(array))
        return raster.finish()
