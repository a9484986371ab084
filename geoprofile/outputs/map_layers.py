"""The raster layers of the page: which, in what order, with how large cells."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from ..grid import Grid
from ..rasters import CLASS
from .bundle import Bundle
from .map_colours import class_colour, number_legend
from .map_parts import RasterLayers, class_legend, limits_of, part_of, read_layer
from .map_relief import FLAT, LEVELS, shaded
from .map_surfaces import classes_group, surface_group

MOST_CELLS = 1_500_000
"""Cells of one layer that a phone draws without stutter."""


def raster_layers(bundle: Bundle, coarser: float = 1, room: float = np.inf) -> RasterLayers:
    """All layers, each with its own cells where they are not too many, or ``coarser`` times as wide; whole up to ``room`` bytes."""
    layers = RasterLayers(room=room)
    output = bundle.context.output
    if bundle.surfaces is not None:
        factor = factor_of(bundle.surfaces.grid, coarser)
        for surface in (*bundle.surfaces.surfaces, *bundle.surfaces.presences):
            layers.groups.append(surface_group(layers, bundle, surface, output, factor))
        for one in bundle.surfaces.classes:
            layers.groups.append(classes_group(layers, bundle, one, output, factor))
    if bundle.terrain is not None:
        _add_terrain(layers, bundle, output, coarser)
    coarse = sorted({(grid["cell_m"], grid["factor"]) for grid in layers.grids if grid["factor"] > 1})
    for cell, factor in coarse:
        layers.notes.append(
            f"To keep this page small, cells are {cell:g} m here and {cell / factor:g} m in the GeoTIFF files: "
            "a click reads the mean of those it covers, of classes the one in the middle."
        )
    return layers


def factor_of(grid: Grid, coarser: float) -> int:
    """How many cells a side become one: as many as keep below MOST_CELLS, or ``coarser`` times as many."""
    least = np.ceil(np.sqrt(max(grid.height * grid.width / MOST_CELLS, 1.0)))
    return int(np.ceil(coarser * least))


def factors(bundle: Bundle, coarser: float) -> tuple[int, ...]:
    """:func:`factor_of` of the grids that there are."""
    return tuple(factor_of(product.grid, coarser) for product in (bundle.surfaces, bundle.terrain) if product is not None)


def _add_terrain(layers: RasterLayers, bundle: Bundle, output: Path, coarser: float) -> None:
    terrain = bundle.terrain
    factor = factor_of(terrain.grid, coarser)
    parts = []
    for name, label in (("landform_element", "Landform elements"), ("slope", "Slope"), ("elevation", "Elevation")):
        raster = terrain.rasters.get(name)
        if raster is None:
            continue
        cells, decimals = read_layer(raster, output, terrain.grid, factor)
        layers.add(f"terrain:{name}", cells, factor, decimals)
        if raster.kind == CLASS:
            legend = class_legend(raster, [class_colour(k) for k in range(len(raster.legend))])
        else:
            legend = number_legend(raster.unit, "terrain", limits_of(cells))
        parts.append(part_of(name, label, raster.unit, f"terrain:{name}", legend, cells))
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
