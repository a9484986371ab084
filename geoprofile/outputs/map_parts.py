"""What a layer of the page is made of: its cells, its classes with their colours and hectares."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from ..areal import certainty
from ..grid import Grid
from ..rasters import CLASS, RasterFile
from .map_colours import number_legend, round_limits
from .map_rasters import Cells, grid_plain, packed, read_cells

PLACES = {"cm": 1, "m": 1, "%": 1, "percent": 1, "degrees": 1}
PROBABILITY_LIMITS = [10.0, 30.0, 50.0, 70.0, 90.0]


@dataclass
class RasterLayers:
    """What goes into the page: ``grids``, ``rasters`` by key, ``groups`` of layers, the relief, and notes."""

    grids: list[dict] = field(default_factory=list)
    rasters: dict[str, dict] = field(default_factory=dict)
    groups: list[dict] = field(default_factory=list)
    relief: dict = field(default_factory=dict)
    """``{raster, flat, light}``: key, shade of level ground, lightest shade."""
    notes: list[str] = field(default_factory=list)
    room: float = np.inf
    """Bytes that the rasters may take; those beyond are counted and not kept, for such a page is not written."""
    size: int = 0
    """Bytes of all rasters."""

    def grid(self, grid: Grid, factor: int) -> int:
        plain = grid_plain(grid, factor)
        if plain not in self.grids:
            self.grids.append(plain)
        return self.grids.index(plain)

    def add(self, key: str, cells: Cells, factor: int, decimals: int) -> None:
        raster = {"grid": self.grid(cells.grid, factor), "decimals": decimals, **packed(cells)}
        self.size += len(raster["data"])
        self.rasters[key] = raster if self.size <= self.room else raster | {"data": ""}


def read_layer(raster: RasterFile, output: Path, grid: Grid, factor: int) -> tuple[Cells, int]:
    """Cells with a step that suits their unit, and its decimals."""
    cells = read_cells(raster, output, grid, factor, 0.0)
    if raster.kind == CLASS:
        return cells, 0
    decimals = _decimals(raster.unit, cells.array)
    return Cells(cells.grid, cells.array, 10.0**-decimals), decimals


def probability_part(
    layers: RasterLayers, part: str, label: str, key: str, raster: RasterFile, output: Path, grid: Grid, factor: int
) -> dict:
    """A layer of a probability, added in whole percent."""
    cells = read_cells(raster, output, grid, factor, 0.0)
    cells = Cells(cells.grid, cells.array * (100 / certainty(raster)), 1.0)
    layers.add(key, cells, factor, 0)
    return part_of(part, label, "%", key, number_legend("%", "probability", PROBABILITY_LIMITS), cells)


def part_of(part: str, label: str, unit: str, key: str, legend: list[dict], cells: Cells) -> dict:
    """A layer of the page; each row of its legend gets the hectares that it covers."""
    classes = np.array([row.get("code", k + 1) for k, row in enumerate(legend)])
    if cells.step:
        finite = cells.array[np.isfinite(cells.array)]
        edges = [row["below"] for row in legend[:-1]]
        at = np.digitize(finite, edges) + 1
    else:
        at = cells.array[cells.array > 0]
    counts = np.bincount(at.ravel().astype(int), minlength=257)
    for row, code in zip(legend, classes):
        row["ha"] = float(f"{counts[code] * cells.grid.cell_ha:.3g}")
    return {"part": part, "label": label, "unit": unit, "raster": key, "legend": legend}


def class_legend(raster: RasterFile, colours: list[str]) -> list[dict]:
    """A row a class of the raster, in the order of their codes."""
    return [
        {"label": label, "colour": colour, "code": int(code)}
        for (code, label), colour in zip(sorted(raster.legend.items()), colours)
    ]


def limits_of(cells: Cells) -> list[float]:
    """Round limits between which nearly all cells lie."""
    finite = cells.array[np.isfinite(cells.array)]
    return round_limits(*np.percentile(finite, [1, 99])) if finite.size else []


def _decimals(unit: str, cells: np.ndarray) -> int:
    if unit in PLACES:
        return PLACES[unit]
    finite = cells[np.isfinite(cells)]
    span = float(np.ptp(finite)) if finite.size else 0.0
    return int(np.clip(np.ceil(3 - np.log10(span)), 0, 6)) if span > 0 else 3
