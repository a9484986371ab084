"""An elevation raster opened safely: every doubt is a refusal or a stated conversion.

What a raster does not say about itself (no-data value, unit, system, band) is
asked for by the name of the setting that answers it, never guessed. Opening looks
through the whole raster once, window by window, and keeps none of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from pyproj import CRS

from ..blocks import Layout, Reader, Threads, Tile, Workers
from ..grid import Grid, Window
from ..kernels.terrain_sums import block_means
from ..progress import Progress
from ..settings.terrain import TerrainSettings
from .band import Band, open_band
from .joined import Joined, joined
from .lattice import on_survey_lattice
from .missing import Scan, refuse_markers, scan
from .vertical_unit import METRES

AT_ONCE = 1 << 20
"""Cells of the raster that are read at once for aggregation."""


@dataclass(frozen=True)
class Elevation:
    """Elevation in metres on a grid in the survey's system; NaN = none.

    ``level``: all elevation has one value.
    """

    grid: Grid
    reader: Reader
    notes: tuple[str, ...] = ()
    level: bool = False

    def read(self, window: Window) -> np.ndarray:
        """(rows, columns) float64, m."""
        return self.reader.read(window)

    @property
    def metres(self) -> np.ndarray:
        """The whole grid: for rasters that fit in memory."""
        return np.ascontiguousarray(self.reader.read(self.grid.whole))


def open_elevation(
    path: Path | Sequence[Path],
    settings: TerrainSettings,
    *,
    crs: str,
    cell_m: float | None = None,
    workers: Workers | None = None,
    progress: Progress | None = None,
) -> Elevation:
    """Open a raster, or several on one lattice, as elevation in metres in ``crs``, aggregated to ``cell_m``.

    Parameters
    ----------
    path : anything GDAL reads.
    settings : answers to what the raster does not say.
    crs : projected system in metres.
    cell_m : cell of the result, m; None keeps the raster's own.
    workers, progress : who looks through the raster, default one thread; who watches, and may cancel.

    Raises
    ------
    InputError when a file is no raster, or its band, system, position, unit or
    no-data value is not known, files do not lie on one lattice, or ``cell_m`` is no
    whole multiple of the cell.
    """
    notes: list[str] = []
    paths = [path] if isinstance(path, Path) else list(path)
    bands = [open_band(file, settings, notes) for file in paths]
    whole, reader, joining = joined(bands)
    notes = list(dict.fromkeys([*notes, *([joining] if joining else [])]))
    found = _looked_through(whole, reader, settings, workers or Threads(1), progress or Progress())
    grid, reader, lattice_note = on_survey_lattice(
        reader, (whole.height, whole.width), CRS.from_wkt(whole.crs), whole.transform, crs, cell_m, whole.where
    )
    notes.append(lattice_note)
    times = 1 if cell_m is None else grid.factor_to(cell_m)
    if times > 1:
        reader = Averaged(reader, times, grid)
        grid = grid.coarser(times)
        notes.append(
            f"elevation aggregated from {grid.cell_m / times:g} to {grid.cell_m:g} m: mean of {times} by {times} cells "
            "from the raster's north-west corner, where at least half of them have elevation"
        )
    return Elevation(grid, reader, tuple(notes), found.low >= found.high and not found.doubtful)


@dataclass(frozen=True)
class Averaged:
    """Means of ``times`` by ``times`` cells of ``fine``, from its north-west corner."""

    source: Reader
    times: int
    fine: Grid

    def read(self, window: Window) -> np.ndarray:
        times = self.times
        cells = np.empty((window.height, window.width))
        rows = max(1, AT_ONCE // (window.width * times * times))
        left, right = window.column * times, min((window.column + window.width) * times, self.fine.width)
        for row in range(0, window.height, rows):
            top = (window.row + row) * times
            bottom = min((window.row + min(row + rows, window.height)) * times, self.fine.height)
            cells[row : row + rows] = block_means(self.source.read(Window(top, left, bottom - top, right - left)), times)
        return cells


def _looked_through(whole: Band, reader: Band | Joined, settings: TerrainSettings, workers: Workers, progress: Progress) -> Scan:
    """Markers are looked for in the file's own unit; the scan is of the whole raster."""
    native = _in_the_files_unit(reader)
    tiles = Layout(Grid("", 0.0, 0.0, 1.0, whole.height, whole.width), block=workers.block)
    found = Scan()
    with progress.task("looking through the elevation raster", len(tiles)) as task:
        for part in workers.each(partial(_scan_block, native), tiles.blocks()):
            found += part
            task.advance()
    return refuse_markers([found], settings.elevation_nodata, whole.where)


def _in_the_files_unit(reader: Band | Joined) -> Band | Joined:
    if isinstance(reader, Joined):
        return Joined(reader.first, tuple((replace(band, factor=METRES), row, column) for band, row, column in reader.bands))
    return replace(reader, factor=METRES)


def _scan_block(reader: Reader, block: tuple[Tile, ...]) -> Scan:
    return sum((scan(reader.read(tile.core)) for tile in block), Scan())
