"""Terrain as drift: the same rasters, on the same lattice, at pits and at cells."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import numpy as np

from ..errors import SettingsError
from ..grid import Grid
from ..products import Terrain
from ..rasters import CLASS, RasterCells

SLACK = 0.1
"""Terrain counts as seen by the pits up to this share of their span beyond their lowest and highest."""


@dataclass(frozen=True)
class Drift:
    """Terrain rasters by name, as they are read: cell by cell at pits, window by window for maps."""

    names: tuple[str, ...]
    rasters: tuple[RasterCells, ...]
    grid: Grid

    def at(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """(n, p) value of the cell that each point lies in, NaN outside."""
        row, column, inside = self.grid.cells_of(x, y)
        out = np.full((len(row), len(self.rasters)), np.nan)
        for number, raster in enumerate(self.rasters):
            out[inside, number] = raster.at(row[inside], column[inside])
        return out


def open_drift(names: tuple[str, ...], terrain: Terrain | None, output: Path) -> Drift:
    """Terrain rasters to be read as drift.

    Raises SettingsError for a raster that is not there, or that holds classes:
    class codes are not quantities.
    """
    if terrain is None:
        raise SettingsError(
            "drift needs terrain, and no elevation raster is named", where="surfaces.drift", found=", ".join(names),
            remedy="name an elevation raster ([terrain] elevation), or leave drift out",
        )  # fmt: skip
    found = []
    for name in names:
        raster = terrain.rasters.get(name)
        if raster is None:
            near = get_close_matches(name, terrain.rasters, 1)
            raise SettingsError(
                "there is no such terrain raster to use as drift", where="surfaces.drift", found=name,
                allowed=", ".join(sorted(terrain.rasters)),
                remedy=f"did you mean {near[0]!r}?" if near else "choose one of these, or derive it ([terrain] derive)",
            )  # fmt: skip
        if raster.kind == CLASS:
            raise SettingsError(
                "a raster of classes cannot be a drift: its codes are names, not quantities", where="surfaces.drift",
                found=name, remedy="use a raster of numbers, or draw zones from the classes",
            )  # fmt: skip
        found.append(raster.cells(output))
    return Drift(tuple(names), tuple(found), terrain.grid)


def beyond_pits(drift: np.ndarray, at_pits: np.ndarray) -> np.ndarray:
    """(...) bool of places (..., p): some drift lies outside what the pits (n, p) span, by more than SLACK of their span."""
    low, high = at_pits.min(axis=0), at_pits.max(axis=0)
    slack = SLACK * (high - low)
    return ((drift < low - slack) | (drift > high + slack)).any(axis=-1)
