"""Where to dig next, for one of three purposes.

The story: read the land and where pits may be dug; then choose. ``gaps`` looks at distance
alone (coverage.py), ``terrain`` at what the terrain does (terrain_spread.py), ``doubt`` at
how sure a surface is, or how sure it is which side of a limit the land lies on (doubt.py).
Pits that are there always count.
"""

from __future__ import annotations

import numpy as np

from ..areal import ErrorModel, model_of
from ..context import Context
from ..errors import InputError, SettingsError, TooLittleData
from ..products import Pits, Surfaces, Terrain
from ..rasters import CLASS
from ..settings.sampling import SamplingSettings
from .chosen import Chosen
from .coverage import fill_gaps, thinned
from .doubt import MOST_LAND, MOST_SITES, Question, shrink_doubt
from .land import Land, existing_points, read_land
from .terrain_spread import TerrainOfCells, spread_over_terrain

SPREAD_OVER = ("relative_elevation", "slope", "wetness_index", "landform_element")


def choose_next_pits(
    pits: Pits, terrain: Terrain | None, surfaces: Surfaces | None, settings: SamplingSettings, context: Context
) -> Chosen:
    """Places for ``settings.number`` further pits; see :class:`Chosen`.

    ``terrain`` is needed for the purpose terrain, ``surfaces`` for doubt. Raises InputError,
    SettingsError or TooLittleData with what is missing.
    """
    land = read_land(terrain, settings, context)
    if settings.purpose == "gaps":
        chosen = fill_gaps(land.cells, existing_points(pits), settings.number, settings.seed, land.allowed)
    elif settings.purpose == "terrain":
        names = _spread_over(terrain, settings)
        chosen = spread_over_terrain(
            land.cells, _terrain_at(land.cells, names, terrain, context),
            _terrain_at(existing_points(pits), names, terrain, context), settings.number, settings.seed, land.allowed,
        )  # fmt: skip
    else:
        chosen = _where_in_doubt(land, surfaces, settings, context)
    return Chosen(chosen.points, chosen.gain, chosen.before, chosen.after, chosen.measure, chosen.unit,
                  (*land.notes, *chosen.notes))  # fmt: skip


def _spread_over(terrain: Terrain | None, settings: SamplingSettings) -> tuple[str, ...]:
    if terrain is None:
        raise InputError("there is no terrain to spread pits over", where="terrain.elevation",
                         remedy="name an elevation raster ([terrain] elevation), or choose the purpose gaps")  # fmt: skip
    if settings.use is None:
        names = tuple(name for name in SPREAD_OVER if name in terrain.rasters)
    else:
        names = settings.use
        missing = [name for name in names if name not in terrain.rasters]
        if missing:
            raise SettingsError("there is no such terrain raster to spread over", where="sampling.use", found=", ".join(missing),
                                allowed=", ".join(sorted(terrain.rasters)))  # fmt: skip
    if not any(terrain.rasters[name].kind != CLASS for name in names):
        raise SettingsError("spreading over terrain needs at least one raster of numbers", where="sampling.use",
                            found=", ".join(names), allowed=", ".join(sorted(terrain.rasters)))  # fmt: skip
    if sum(terrain.rasters[name].kind == CLASS for name in names) > 1:
        raise SettingsError("one raster of classes can be spread over, not several", where="sampling.use", found=", ".join(names))
    return names


def _terrain_at(points: np.ndarray, names: tuple[str, ...], terrain: Terrain, context: Context) -> TerrainOfCells:
    row, column, inside = terrain.grid.cells_of(points[:, 0], points[:, 1])
    numbers, classes, told = [], None, []
    for name in sorted(names, key=lambda name: terrain.rasters[name].kind == CLASS):
        values = terrain.rasters[name].cells(context.output).at(row, column)
        if terrain.rasters[name].kind == CLASS:
            classes = np.where(inside, values, 0)
        else:
            numbers.append(np.where(inside, values, np.nan))
        told.append(name)
    return TerrainOfCells(np.column_stack(numbers), classes, tuple(told))


def _where_in_doubt(land: Land, surfaces: Surfaces | None, settings: SamplingSettings, context: Context) -> Chosen:
    if not settings.attribute:
        raise SettingsError("the purpose doubt needs an attribute: whose surface is to become surer?",
                            where="sampling.attribute", allowed=_mapped(surfaces), remedy="add --attribute NAME")  # fmt: skip
    surface = next((one for one in (surfaces.surfaces if surfaces else ()) if one.attribute == settings.attribute), None)
    if surface is None:
        refused = next((one.reason for one in (surfaces.refusals if surfaces else ()) if one.attribute == settings.attribute), "")
        raise TooLittleData(
            f"there is no surface of {settings.attribute}" + (f": {refused}" if refused else ""), allowed=_mapped(surfaces),
            remedy="choose a mapped attribute, or the purpose gaps or terrain",
        )  # fmt: skip
    model = model_of(surface, surfaces, context)
    if model is None:
        raise TooLittleData(
            f"the surface of {settings.attribute} ({surface.method_title}) has no covariance model that gives it back, and without "
            "one nobody knows what a further pit would be worth",
            remedy="map it by kriging, or choose the purpose gaps or terrain",
        )  # fmt: skip
    rng = np.random.default_rng(settings.seed)
    known = model.knows(land.cells)
    if not (known & land.allowed).any():
        raise TooLittleData("no cell in which a pit may be dug is backed by the surface's model", where="sampling.access")
    cells = thinned(land.cells[known], MOST_LAND, rng)
    sites = thinned(land.cells[known & land.allowed], max(MOST_SITES, settings.number), rng)
    question = _question(surface, model, cells, settings)
    chosen = shrink_doubt(cells, sites, model.covariance, model.nugget, settings.number, question)
    share = 100 * known.mean()
    notes = (f"on {share:.0f} % of the land, where the model of {surface.title} holds: {surface.model}",)
    if len(cells) < known.sum():
        notes += (f"{len(cells)} cells drawn with the seed stand for {int(known.sum())}, places are {len(sites)} cells of them",)
    return Chosen(chosen.points, chosen.gain, chosen.before, chosen.after, chosen.measure, chosen.unit, notes)


def _question(surface, model: ErrorModel, cells: np.ndarray, settings: SamplingSettings) -> Question:
    scale = "" if model.power is None else " on the modelled scale"
    if settings.limit is None:
        unit = "" if model.power is not None else f"{surface.unit}2" if surface.unit else ""
        return Question(f"mean variance of what {surface.title} may be wrong by{scale}", unit)
    margin = model.latent(cells) - model.to_latent(settings.limit)
    return Question(
        f"share of the land expected on the other side of {settings.limit:g} {surface.unit} than the surface of "
        f"{surface.title} says", "%", 100.0, margin,
    )  # fmt: skip


def _mapped(surfaces: Surfaces | None) -> str:
    return ", ".join(one.attribute for one in (surfaces.surfaces if surfaces else ())) or "no attribute was mapped"
