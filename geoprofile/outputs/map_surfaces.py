"""The surfaces of the page: numbers with their intervals and probabilities, and classes with theirs."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from ..products import ClassSurface, Surface
from .bundle import Bundle
from .class_order import in_order
from .columns import NO_SKILL
from .map_colours import NOTHING, named_class_colours, number_legend
from .map_parts import RasterLayers, class_legend, limits_of, part_of, probability_part, read_layer
from .map_weights import weighing

BACKED = "#44aa99"
NOT_BACKED = ("#ddcc77", "#cc6677", "#aa4499", NOTHING, "#332288")
"""Reasons why not, in the order of their codes; from the fifth on they share a colour (Tol 2021, 'muted')."""


def surface_group(layers: RasterLayers, bundle: Bundle, surface: Surface, output: Path, factor: int) -> dict:
    """An attribute's layers: estimate, interval, presence, less and more than limits, reliability."""
    rasters, grid = bundle.surfaces.rasters, bundle.surfaces.grid
    parts: list[dict] = []
    limits: list[float] = []
    for part, label, key in (
        ("estimate", "Estimate", surface.estimate),
        ("low90", "Low end of the 90 % interval", surface.low90),
        ("high90", "High end of the 90 % interval", surface.high90),
    ):
        if not key or key not in rasters:
            continue
        cells, decimals = read_layer(rasters[key], output, grid, factor)
        if part == "estimate":
            limits = limits_of(cells)  # low, estimate and high share classes and colours: they can be compared by eye
        layers.add(key, cells, factor, decimals)
        parts.append(part_of(part, label, surface.unit, key, number_legend(surface.unit, "depth", limits), cells))
    probabilities = [("presence", "Probability of presence", surface.presence)] if surface.presence else []
    for part, word, found in (("below", "less", surface.below), ("above", "more", surface.above)):
        probabilities += [(part, f"Probability of {word} than {limit} {surface.unit}", key) for limit, key in found.items()]
    parts += [
        probability_part(layers, part, label, key, rasters[key], output, grid, factor)
        for part, label, key in probabilities if key in rasters
    ]  # fmt: skip
    if surface.reliability and surface.reliability in rasters:
        raster = rasters[surface.reliability]
        cells, _ = read_layer(raster, output, grid, factor)
        layers.add(surface.reliability, cells, factor, 0)
        colours = [BACKED if code == 1 else NOT_BACKED[min(k - 1, 4)] for k, code in enumerate(sorted(raster.legend))]
        parts.append(part_of("reliability", "Backed by pits?", "", surface.reliability, class_legend(raster, colours), cells))
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
        "cautions": list(surface.cautions),
        "weigh": weighing(layers, bundle, surface, factor),
        "parts": parts,
    }


def classes_group(layers: RasterLayers, bundle: Bundle, one: ClassSurface, output: Path, factor: int) -> dict:
    """Layers of classes noted at the pits: the most probable one, how probable it is, and each class's own probability."""
    rasters, grid = bundle.surfaces.rasters, bundle.surfaces.grid
    raster = rasters[one.most_probable]
    cells, _ = read_layer(raster, output, grid, factor)
    layers.add(one.most_probable, cells, factor, 0)
    counts = np.bincount(cells.array.ravel(), minlength=256)
    colours = named_class_colours([label for _, label in sorted(raster.legend.items())], [counts[code] for code in sorted(raster.legend)])
    order = in_order(raster.legend.values(), one.column, bundle.context.survey.convention)
    legend = sorted(class_legend(raster, colours), key=lambda row: order.index(row["label"]))
    parts = [part_of("class", "Most probable class", "", one.most_probable, legend, cells)]
    each = sorted(one.each, key=order.index)
    probabilities = [("class_probability", "Probability of the most probable class", one.probability)]
    probabilities += [("each", f"Probability of {name}", one.each[name]) for name in each]
    parts += [
        probability_part(layers, part, label, key, rasters[key], output, grid, factor)
        for part, label, key in probabilities if key in rasters
    ]  # fmt: skip
    for part, name in zip([part for part in parts if part["part"] == "each"], each):
        part["class"] = name
    return {
        "name": one.column,
        "title": one.title,
        "unit": "",
        "kind": "classes",
        "method": "indicator kriging",
        "model": "",
        "score": one.score,
        "skill": not any(note.startswith(NO_SKILL) for note in one.notes),
        "pits_used": one.pits_used,
        "notes": list(one.notes),
        "cautions": [],
        "parts": parts,
    }
