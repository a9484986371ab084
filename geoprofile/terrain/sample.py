"""The value of a raster at a place, or the reason why there is none (T11).

Inside, no data, outside and a suspect system are four outcomes; only the first
gives a number.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..grid import Grid
from ..products import Terrain
from ..rasters import CLASS
from .elevation import Elevation

INSIDE = "inside"
NO_DATA = "no data"
OUTSIDE = "outside"
SUSPECT = "looks like longitude and latitude"


@dataclass(frozen=True)
class Samples:
    """``value`` (n,) float64, NaN unless ``outcome`` is ``inside``; ``outcome`` (n,) text."""

    value: np.ndarray
    outcome: np.ndarray


def sample(source: Terrain | Elevation, x, y, *, name: str = "elevation", output: Path | None = None) -> Samples:
    """Value of the cell in which each place lies.

    Parameters
    ----------
    source : a Terrain (then ``name`` chooses the raster and ``output`` is the survey's
        output folder) or an Elevation.
    x, y : easting and northing in the survey's system, m, (n,).
    """
    if isinstance(source, Terrain):
        if output is None:
            raise ValueError("a Terrain holds paths: give the output folder they are relative to")
        raster = source.rasters[name]

        def at(row, column):  # only the blocks that hold places are read
            found = raster.cells(output).at(row, column).astype(np.float64)
            return np.where(found == 0, np.nan, found) if raster.kind == CLASS else found

        return _sampled(at, source.grid, x, y)
    return sample_cells(source.metres, source.grid, x, y)


def sample_cells(cells: np.ndarray, grid: Grid, x, y) -> Samples:
    """The same for an array on a grid; NaN cells are no data."""
    return _sampled(lambda row, column: cells[row, column], grid, x, y)


def _sampled(at: Callable, grid: Grid, x, y) -> Samples:
    x, y = np.atleast_1d(np.asarray(x, float)), np.atleast_1d(np.asarray(y, float))
    row, column, inside = grid.cells_of(x, y)
    value = np.full(len(x), np.nan)
    value[inside] = at(row[inside], column[inside])
    degrees = ~inside & (np.abs(x) <= 180) & (np.abs(y) <= 90)
    outcome = np.select([degrees, ~inside, np.isnan(value)], [SUSPECT, OUTSIDE, NO_DATA], INSIDE)
    return Samples(value, outcome)
