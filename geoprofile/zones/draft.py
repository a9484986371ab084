"""What zones are drawn from, as one class a cell: class limits on a surface, landform elements, clusters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..areal import certainty
from ..context import Context
from ..grid import Grid
from ..products import Attributes, Surfaces, Terrain
from ..settings.zones import DraftSettings, ZonesSettings
from .classes import ClassCells, CutSurface
from .clusters import terrain_clusters
from .findings import Findings

NOT_BACKED = "not backed by the pits"
MORE_LIKELY_ABSENT = "more likely absent than present"


@dataclass(frozen=True)
class Draft:
    """Class codes on a grid, read where they are asked for.

    ``cells``: gives the codes of a window, 0 = not mapped. ``names``: code -> name.
    ``kept_apart``: codes that never take part in merging (they would claim what is not known).
    """

    grid: Grid
    cells: ClassCells
    names: dict[int, str]
    drawn_from: str
    kept_apart: frozenset[int] = frozenset()


def draft_classes(
    draft: DraftSettings,
    attributes: Attributes,
    terrain: Terrain | None,
    surfaces: Surfaces | None,
    settings: ZonesSettings,
    context: Context,
    findings: Findings,
) -> Draft | None:
    """One class a cell, or None where there is nothing to draw from; then the findings say why."""
    if draft.from_ == "surface":
        return _from_surface(draft, attributes, surfaces, context, findings)
    if terrain is None:
        findings.refuse("there is no terrain to draw them from", "name an elevation raster: [terrain] elevation")
        return None
    if draft.from_ == "landform_elements":
        return _from_landform_elements(terrain, context, findings)
    found = terrain_clusters(terrain, draft, settings.seed, context, findings)
    return found and Draft(terrain.grid, *found, "terrain clusters")


def class_names(limits: tuple[float, ...], unit: str) -> list[str]:
    """``less than 10 cm``, ``10 to 25 cm``, ``100 cm and more``."""
    unit = "%" if unit == "percent" else unit
    text = [f"{limit:g}" for limit in limits]
    middle = [f"{low} to {high} {unit}" for low, high in zip(text, text[1:])]
    return [name.strip() for name in (f"less than {text[0]} {unit}", *middle, f"{text[-1]} {unit} and more")]


def _from_surface(draft, attributes, surfaces, context, findings) -> Draft | None:
    name = draft.attribute
    if surfaces is None:
        findings.refuse(
            f"no surfaces were mapped, so that of {name} is not there",
            "name an elevation raster or [grid] cell_m, or draw zones from terrain; the tables do not need a surface",
        )
        return None
    surface = next((one for one in surfaces.surfaces if one.attribute == name), None)
    if surface is None:
        refusal = next((one for one in surfaces.refusals if one.attribute == name), None)
        reason = refusal.reason if refusal else "it was not among the attributes asked for"
        findings.refuse(
            f"{name} has no surface: {reason}",
            (refusal and refusal.remedy) or "choose another attribute, or draw zones from terrain",
        )
        return None
    if (surface.unit == "cm") != (draft.limits_cm is not None):
        key = "limits_cm" if surface.unit == "cm" else "limits"
        findings.refuse(f"the limits of {name} must be given in {surface.unit}", f"use {key} = [...] in [zones] draft")
        return None
    limits = draft.limits_cm or draft.limits
    names = dict(enumerate(class_names(limits, surface.unit), start=1))
    definition = next((one for one in attributes.definitions if one.name == name), None)
    kept_apart, presence, unlikely, not_backed, half = set(), None, 0, 0, 0.5
    if surface.presence and not (definition and definition.kind == "thickness"):
        presence, unlikely = surfaces.rasters[surface.presence].cells(context.output), len(names) + 1
        names[unlikely], half = MORE_LIKELY_ABSENT, certainty(surfaces.rasters[surface.presence]) / 2
        findings.note(
            f"{name}: classes tell the depth where the feature is present; where it is more likely absent, "
            "the land is a zone of its own"
        )
    if draft.not_backed == "zone":
        not_backed = len(names) + 1
        names[not_backed] = NOT_BACKED
        kept_apart.add(not_backed)
        findings.note(
            f"land whose estimate is masked is a zone of its own, {NOT_BACKED!r}, and is never merged into a class"
        )
    else:
        findings.note("land whose estimate is masked is left out of the zones")
    findings.note(f"a value equal to a class limit belongs to the class above it ({names[2]} begins at {limits[0]:g})")
    # the reliability raster says which cells belong to the survey though they have no estimate; without a survey area
    # and without one, a cell with no estimate cannot be told from one outside
    cells = CutSurface(
        surfaces.rasters[surface.estimate].cells(context.output), limits, presence, unlikely,
        surfaces.rasters[surface.reliability].cells(context.output) if surface.reliability else None,
        context.survey.area_source is not None, not_backed, half,
    )  # fmt: skip
    return Draft(surfaces.grid, cells, names, f"surface of {name}", frozenset(kept_apart))


def _from_landform_elements(terrain, context, findings) -> Draft | None:
    raster = terrain.rasters.get("landform_element")
    if raster is None:
        findings.refuse("terrain has no landform elements", 'add "landform_element" to [terrain] derive')
        return None
    cells, counts = raster.cells(context.output), np.zeros(256, np.int64)
    for window in terrain.grid.windows(1024):
        counts += np.bincount(cells.read(window).ravel(), minlength=256)
    names = {code: raster.legend.get(code, f"class {code}") for code in (np.flatnonzero(counts[1:]) + 1).tolist()}
    return Draft(terrain.grid, cells, names, "landform elements")
