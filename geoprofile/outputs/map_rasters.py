"""Rasters as the page carries them: whole numbers on the survey's own grid.

Each raster is quantised to a stated step (0.1 cm, 1 %), differenced along rows,
deflated and written as base64. The browser draws it cell by cell at its true
place and reads the same numbers at a click. When cells are _coarsened to keep
within the size, the page says so.
"""

from __future__ import annotations

import base64
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..grid import Grid
from ..rasters import CLASS, RasterFile

PART = 512
"""About the side of what is read at once, cells."""
ROWS = 128
"""Packed at a time."""
MOST_STEPS = 65_000


@dataclass(frozen=True)
class Cells:
    """A raster at the map's cell: numbers with NaN, or classes with 0, where there is nothing."""

    grid: Grid
    array: np.ndarray
    step: float
    """Smallest difference kept, in the raster's unit; 0 for classes."""


def read_cells(raster: RasterFile, output: Path, grid: Grid, factor: int, step: float) -> Cells:
    """Read part by part; ``factor`` cells a side become one: the mean of numbers, the middle cell of classes."""
    import rasterio

    coarse = grid.coarser(factor)
    if raster.kind == CLASS:
        rows, columns = (np.minimum(np.arange(0, side, factor) + factor // 2, side - 1) for side in grid.shape)
        return Cells(coarse, raster.cells(output).every(rows, columns), 0.0)
    array = np.full(coarse.shape, np.nan, np.float32)
    with rasterio.open(output / raster.path) as source:  # once: blocks that two parts share are then decoded once
        for part in coarse.windows(max(1, PART // factor)):
            row, column = part.row * factor, part.column * factor
            height, width = min(part.height * factor, grid.height - row), min(part.width * factor, grid.width - column)
            array[part.slices] = _means(source.read(1, window=((row, row + height), (column, column + width))), factor)
    return Cells(coarse, array, step)


def _means(part: np.ndarray, factor: int) -> np.ndarray:
    """Means of what there is in ``factor`` by ``factor`` cells; short last cells are of what is left."""
    if factor == 1:
        return part
    height, width = part.shape
    padded = np.full((-(-height // factor) * factor, -(-width // factor) * factor), np.nan)  # sums of float64
    padded[:height, :width] = part
    blocks = padded.reshape(padded.shape[0] // factor, factor, -1, factor).swapaxes(1, 2)
    blocks = blocks.reshape(*blocks.shape[:2], -1)
    count = np.isfinite(blocks).sum(-1)
    return np.where(count > 0, np.nansum(blocks, -1) / np.maximum(count, 1), np.nan)


def packed(cells: Cells) -> dict:
    """``{bits, offset, step, data}``: a cell holds 0 for nothing, else value = (offset + cell - 1) * step."""
    array, step = cells.array, cells.step or 1.0
    if cells.step:
        low, high = _ends(array)
        first, last = (round(end / step) for end in (low, high))
        if last - first > MOST_STEPS:
            coarser = 10 ** np.ceil(np.log10((high - low) / MOST_STEPS))
            return packed(Cells(cells.grid, array, max(float(coarser), step * 10)))
        offset, most = first, last - first + 1
    else:
        offset, most = 1, int(array.max(initial=0))
    kind = np.dtype("<u1" if most <= 255 else "<u2")
    difference = np.empty(array.shape, kind)
    for top in range(0, len(array), ROWS):
        rows = slice(top, top + ROWS)
        whole = _steps(array[rows], step, offset) if cells.step else array[rows].astype(np.int64)
        difference[rows] = np.diff(whole, axis=1, prepend=0).astype(kind)  # wraps, and unwraps in the browser
    data = difference.view(np.uint8).reshape(-1, kind.itemsize).T.tobytes()  # low bytes, then high bytes
    return {
        "bits": 8 * kind.itemsize,
        "offset": offset,
        "step": step,
        "data": base64.b64encode(zlib.compress(data, 9)).decode("ascii"),
    }


def _ends(array: np.ndarray) -> tuple[float, float]:
    """The least and the largest number; zeros where there is none."""
    finite = np.isfinite(array)
    return (float(array.min(where=finite, initial=np.inf)), float(array.max(where=finite, initial=-np.inf))) if finite.any() else (0.0, 0.0)


def _steps(array: np.ndarray, step: float, offset: int) -> np.ndarray:
    """How many steps above ``offset``, counted from 1; 0 where there is nothing."""
    finite = np.isfinite(array)
    whole = np.zeros(array.shape, np.int64)
    whole[finite] = np.round(array[finite].astype(np.float64) / step).astype(np.int64) - offset + 1
    return whole


def grid_plain(grid: Grid, factor: int) -> dict:
    return {
        "west": grid.west,
        "north": grid.north,
        "cell_m": grid.cell_m,
        "height": grid.height,
        "width": grid.width,
        "factor": factor,
    }
