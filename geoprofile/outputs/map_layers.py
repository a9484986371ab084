"""The raster layers of the page: which, in what classes and colours, in what units."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from ..grid import Grid
from ..products import Surface
from ..rasters import CLASS, RasterFile
from .bundle import Bundle
from .columns import NO_SKILL
from .map_colours import NOTHING, class_colour, number_legend, round_limits
from .map_rasters import Cells, grid_plain, packed, read_cells
from .map_relief import FLAT, LEVELS, shaded

PROBABILITY_LIMITS = [10.0, 30.0, 50.0, 70.0, 90.0]
BACKED = "#44aa99"
MOST_CELLS = 1_500_000
"""Cells of one layer that a phone draws without stutter."""
PLACES = {"cm": 1, "m": 1, "%": 1, "percent": 1, "degrees": 1}


@dataclass
class RasterLayers:
    """What goes into the page: ``grids``, ``rasters`` by key, ``groups`` of layers, the relief, and notes."""

    grids: list[dict] = field(default_factory=list)
    rasters: dict[str, dict] = field(default_factory=dict)
    groups: list[dict] = field(default_factory=list)
    relief: dict = field(default_factory=dict)
    """``{raster, flat, light}``: key, shade of level ground, lightest shade."""
    notes: list[str] = field(default_factory=list)

    def size(self) -> int:
        return sum(len(raster["data"]) for raster in self.rasters.values())

    def grid(self, grid: Grid, factor: int) -> int:
        plain = grid_plain(grid, factor)
        if plain not in self.grids:
            self.grids.append(plain)
        return self.grids.index(plain)

    def add(self, key: str, cells: Cells, factor: int, decimals: int) -> None:
        self.rasters[key] = {"grid": self.grid(cells.grid, factor), "decimals": decimals, **packed(cells)}


def raster_layers(bundle: Bundle, coarser: int = 1) -> RasterLayers:
    """All layers, each with its own cells where they are not too many, or ``coarser`` times as wide."""
    layers = RasterLayers()
    output = bundle.context.output
    if bundle.surfaces is not None:
        for surface in (*bundle.surfaces.surfaces, *bundle.surfaces.presences):
            layers.groups.append(_surface_group(layers, bundle, surface, output, coarser))
    if bundle.terrain is not None:
        _add_terrain(layers, bundle, output, coarser)
    coarse = sorted({(grid["cell_m"], grid["factor"]) for grid in layers.grids if grid["factor"] > 1})
    for cell, factor in coarse:
        layers.notes.append(
            f"To keep this page small, cells are {cell:g} m here and {cell / factor:g} m in the GeoTIFF files: "
            "a click reads the mean of those it covers."
        )
    return layers


def least_factor(grid: Grid) -> int:
    """How many cells a side must become one to stay below MOST_CELLS."""
    return int(np.ceil(np.sqrt(max(grid.height * grid.width / MOST_CELLS, 1.0))))


def _decimals(unit: str, cells: np.ndarray) -> int:
    if unit in PLACES:
        return PLACES[unit]
    finite = cells[np.isfinite(cells)]
    span = float(np.ptp(finite)) if finite.size else 0.0
    return int(np.clip(np.ceil(3 - np.log10(span)), 0, 6)) if span > 0 else 3


def _read(raster: RasterFile, output: Path, grid: Grid, factor: int) -> tuple[Cells, int]:
    cells = read_cells(raster, output, grid, factor, 0.0)
    if raster.kind == CLASS:
        return cells, 0
    decimals = _decimals(raster.unit, cells.array)
    return Cells(cells.grid, cells.array, 10.0**-decimals), decimals


def _surface_group(layers: RasterLayers, bundle: Bundle, surface: Surface, output: Path, coarser: int) -> dict:
    rasters, grid = bundle.surfaces.rasters, bundle.surfaces.grid
    factor = coarser * least_factor(grid)
    parts: list[dict] = []
    limits: list[float] = []
    for part, label, key in (
        ("estimate", "Estimate", surface.estimate),
        ("low90", "Low end of the 90 % interval", surface.low90),
        ("high90", "High end of the 90 % interval", surface.high90),
    ):
        if not key or key not in rasters:
            continue
        cells, decimals = _read(rasters[key], output, grid, factor)
        if part == "estimate":
            finite = cells.array[np.isfinite(cells.array)]
            # Low, estimate and high share classes and colours: they can be compared by eye.
            limits = round_limits(*np.percentile(finite, [1, 99])) if finite.size else []
        layers.add(key, cells, factor, decimals)
        legend = number_legend(surface.unit, "depth", limits)
        parts.append(_part(part, label, surface.unit, key, legend, cells))
    probabilities = [("presence", "Probability of presence", surface.presence)] if surface.presence else []
    probabilities += [
        ("below", f"Probability of less than {limit} {surface.unit}", key) for limit, key in surface.below.items()
    ]
    for part, label, key in probabilities:
        if key not in rasters:
            continue
        cells = read_cells(rasters[key], output, grid, factor, 0.0)
        percent = cells.array if rasters[key].unit in ("%", "percent") else cells.array * 100
        cells = Cells(cells.grid, percent, 1.0)
        layers.add(key, cells, factor, 0)
        parts.append(_part(part, label, "%", key, number_legend("%", "probability", PROBABILITY_LIMITS), cells))
    if surface.reliability and surface.reliability in rasters:
        raster = rasters[surface.reliability]
        cells, _ = _read(raster, output, grid, factor)
        layers.add(surface.reliability, cells, factor, 0)
        parts.append(
            _part("reliability", "Backed by pits?", "", surface.reliability, _class_legend(raster, True), cells)
        )
    return {
        "name": surface.attribute,
        "title": surface.title,
        "unit": surface.unit,
        "kind": "surface",
        "method": surface.method_title,
        "model": surface.model,
        "score": surface.score,
        "skill": NO_SKILL not in surface.score,
        "pits_used": surface.pits_used,
        "notes": list(surface.notes),
        "parts": parts,
    }


def _part(part: str, label: str, unit: str, key: str, legend: list[dict], cells: Cells) -> dict:
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


def _class_legend(raster: RasterFile, reliability: bool = False) -> list[dict]:
    rows = []
    for k, (code, label) in enumerate(sorted(raster.legend.items())):
        colour = class_colour(k)
        if reliability:
            colour = BACKED if code == 1 else ("#ddcc77", "#cc6677", "#aa4499", NOTHING)[min(k - 1, 3)]
        rows.append({"label": label, "colour": colour, "code": int(code)})
    return rows


def _add_terrain(layers: RasterLayers, bundle: Bundle, output: Path, coarser: int) -> None:
    terrain = bundle.terrain
    factor = coarser * least_factor(terrain.grid)
    parts = []
    for name, label in (("landform_element", "Landform elements"), ("slope", "Slope"), ("elevation", "Elevation")):
        raster = terrain.rasters.get(name)
        if raster is None:
            continue
        cells, decimals = _read(raster, output, terrain.grid, factor)
        layers.add(f"terrain:{name}", cells, factor, decimals)
        if raster.kind == CLASS:
            legend = _class_legend(raster)
        else:
            finite = cells.array[np.isfinite(cells.array)]
            limits = round_limits(*np.percentile(finite, [1, 99])) if finite.size else []
            legend = number_legend(raster.unit, "terrain", limits)
        parts.append(_part(name, label, raster.unit, f"terrain:{name}", legend, cells))
        if name == "elevation":
            shade, exaggeration = shaded(cells)
            layers.add("relief", shade, factor, 0)
            layers.relief = {"raster": "relief", "flat": FLAT, "light": LEVELS}
            layers.notes.append(
                f"Relief shading is made from the survey's own elevation, light from the north-west, "
                f"heights exaggerated {exaggeration:g} times."
            )
    if parts:
        layers.groups.append({"name": "terrain", "title": "Terrain", "unit": "", "kind": "terrain", "parts": parts})
