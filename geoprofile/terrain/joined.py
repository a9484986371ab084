"""Several files as one raster, where they lie on one lattice (T8).

Nothing is shifted or resampled to make files fit. Where files overlap, the first
that was listed and has elevation counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from pyproj import CRS

from ..errors import InputError
from ..grid import Window
from .band import Band
from .lattice import same_system

OFF = 0.001
"""Share of a cell that a file may lie off the lattice: what rounding of coordinates leaves."""


@dataclass(frozen=True)
class Joined:
    """Bands and the row and column of each one's first cell; ``first`` carries crs, shape and transform of all."""

    first: Band
    bands: tuple[tuple[Band, int, int], ...]

    def read(self, window: Window) -> np.ndarray:
        cells = np.full((window.height, window.width), np.nan)
        for band, row, column in self.bands:
            top, left = max(window.row, row), max(window.column, column)
            bottom = min(window.row + window.height, row + band.height)
            right = min(window.column + window.width, column + band.width)
            if bottom <= top or right <= left:
                continue
            into = cells[top - window.row : bottom - window.row, left - window.column : right - window.column]
            np.copyto(into, band.read(Window(top - row, left - column, bottom - top, right - left)), where=np.isnan(into))
        return cells


def joined(bands: Sequence[Band]) -> tuple[Band, Band | Joined, str]:
    """Band that stands for all (crs, shape, place), what reads them, and the sentence that says so.

    Raises InputError that names the first file that is off the lattice of the first.
    """
    first = bands[0]
    if len(bands) == 1:
        return first, first, ""
    a, _, c, _, e, f = first.transform
    places = []
    for band in bands:
        _refuse_another_lattice(band, first)
        row, column = (band.transform[5] - f) / e, (band.transform[2] - c) / a
        if max(abs(row - round(row)), abs(column - round(column))) > OFF:
            raise InputError(
                "an elevation raster lies off the cells of the first", where=band.where,
                found=f"{column:.3f} cells east and {row:.3f} south of {first.where}", allowed="whole cells",
                remedy="resample it onto the others, or leave it out",
            )  # fmt: skip
        places.append((round(row), round(column)))
    north, west = min(row for row, _ in places), min(column for _, column in places)
    height = max(row + band.height for band, (row, _) in zip(bands, places)) - north
    width = max(column + band.width for band, (_, column) in zip(bands, places)) - west
    transform = (a, 0.0, c + west * a, 0.0, e, f + north * e)
    whole = replace(first, transform=transform, height=height, width=width)
    members = tuple((band, row - north, column - west) for band, (row, column) in zip(bands, places))
    note = f"{len(bands)} elevation rasters joined cell by cell; where they overlap, the first that is listed and has elevation counts"
    return whole, Joined(whole, members), note


def _refuse_another_lattice(band: Band, first: Band) -> None:
    a, b, _, d, e, _ = band.transform
    same_cells = b == d == 0 == first.transform[1] == first.transform[3] and np.allclose(
        (a, e), (first.transform[0], first.transform[4]), rtol=1e-7, atol=0.0
    )
    if not same_cells or not same_system(CRS.from_wkt(band.crs), CRS.from_wkt(first.crs)):
        raise InputError(
            "elevation rasters have different cells or systems", where=band.where,
            found=f"cells of {a:g} by {-e:g} in {CRS.from_wkt(band.crs).name}",
            allowed=f"cells of {first.transform[0]:g} by {-first.transform[4]:g} in {CRS.from_wkt(first.crs).name}, as {first.where}",
            remedy="bring the files onto one grid first",
        )  # fmt: skip
