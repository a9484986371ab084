"""A surface's covariance model rebuilt from the saved product.

The model is rebuilt from what the surface recorded (Surface.parameters, the readings in
Surfaces.points) and believed only if it gives back the surface's own estimates. Nothing
is fitted again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ..context import Context
from ..grid import Grid, Window
from ..kernels.areal import thinned
from ..kernels.back_transform import forward
from ..kernels.covariance import Model
from ..kernels.kriging import solve
from ..layers import read_polygons
from ..products import Surface, Surfaces
from .cells import STRIP_CELLS, centres_of, terrain_columns
from .model import ErrorModel, Part

MOST_COMPARED = 300
LEAST_GIVEN_BACK = 0.98
"""Share of the cells looked at that must come out as on the surface; those on a stratum's line may differ."""
NO_SPREAD = 1e-12


@dataclass(frozen=True)
class KnownCells:
    """``cell`` (m,), a few cells of a surface that have an estimate, and their ``value`` (m,)."""

    cell: np.ndarray
    value: np.ndarray
    grid: Grid


def known_cells(surface: Surface, surfaces: Surfaces, context: Context) -> KnownCells:
    """Evenly spread over those of the surface's raster that have an estimate, looked for strip by strip."""
    raster, grid = surfaces.rasters[surface.estimate].cells(context.output), surfaces.grid
    height, cells, values = max(1, STRIP_CELLS // grid.width), [], []
    for top in range(0, grid.height, height):
        strip = raster.read(Window(top, 0, min(height, grid.height - top), grid.width)).ravel()
        known = _spread_of(strip)
        cells.append(top * grid.width + known)
        values.append(strip[known])
    return _fewer(np.concatenate(cells), np.concatenate(values), grid)


def known_of(estimate: np.ndarray, grid: Grid) -> KnownCells:
    """The same of a raster in memory, flat and in the grid's order."""
    known = _spread_of(estimate)
    return _fewer(known, estimate[known], grid)


def _spread_of(estimate: np.ndarray) -> np.ndarray:
    finite = np.flatnonzero(np.isfinite(estimate))
    return finite[thinned(len(finite), MOST_COMPARED)]


def _fewer(cell: np.ndarray, value: np.ndarray, grid: Grid) -> KnownCells:
    some = thinned(len(cell), MOST_COMPARED)
    return KnownCells(cell[some], value[some], grid)


def model_of(surface: Surface, surfaces: Surfaces, context: Context) -> ErrorModel | None:
    """:func:`error_model` checked against cells of the surface's own raster."""
    return error_model(surface, surfaces, known_cells(surface, surfaces, context), context) if surface.parameters else None


def error_model(surface: Surface, surfaces: Surfaces, known: KnownCells, context: Context) -> ErrorModel | None:
    """The surface's model rebuilt, or None where it has none or does not give back what is ``known``.

    Terrain that the trend follows is read from the survey's terrain rasters; kriging does not
    change when drift columns are shifted or scaled.
    """
    found = _unchecked(surface, surfaces, context)
    return found if found is not None and gives_back(found.predict, known) else None


def _unchecked(surface: Surface, surfaces: Surfaces, context: Context) -> ErrorModel | None:
    told, models = surface.parameters, models_told(surface)
    if not models or not all("kind" in one for one in models.values()):
        return None
    blank = blank_model(surface, surfaces, context)
    if blank is None:
        return None
    pits = surfaces.points[surfaces.points["attribute"] == surface.attribute]
    return with_parts(blank, models, pits, told.get("power"), bool(told.get("floor", False)))


def models_told(surface: Surface) -> dict[str, dict]:
    """What the surface recorded of its model by stratum ("" = no strata); empty where it has none."""
    told = surface.parameters
    return (told.get("strata", {}) if told.get("by_stratum") else {"": told}) if told else {}


def blank_model(surface: Surface, surfaces: Surfaces, context: Context) -> ErrorModel | None:
    """Strata, grid and terrain of the surface's model, without a part; None where its terrain is not there."""
    told = surface.parameters
    drift = None
    if told.get("drift"):
        pits = surfaces.points[surfaces.points["attribute"] == surface.attribute]
        paths = tuple(context.output / "terrain" / f"{name}.tif" for name in told["drift"])
        drift = terrain_columns(paths, surfaces.grid, pits[["x", "y"]].to_numpy(float))
        if drift is None:
            return None
    ids, polygons = _strata(context) if told.get("by_stratum") else (("",), np.array([], object))
    return ErrorModel({}, ids, polygons, surfaces.grid, drift)


def with_parts(
    blank: ErrorModel, models: dict[str, dict], pits: pd.DataFrame, power: float | None = None, floor: bool = False
) -> ErrorModel | None:
    """The model with the system of each stratum solved for ``pits``; None where one cannot be, or there is none."""
    stratum = blank.stratum_of(pits[["x", "y"]].to_numpy(float))
    parts = {}
    for name in dict.fromkeys(blank.ids):
        own = np.isin(stratum, [place for place, one in enumerate(blank.ids) if one == name])
        if name in models and own.any():
            part = _part(pits[own], models[name], power, floor, blank)
            if part is None:
                return None
            parts[name] = part
    return replace(blank, parts=parts, power=power, floor=floor) if parts else None


def _part(pits: pd.DataFrame, told: dict, power: float | None, floor: bool, model: ErrorModel) -> Part | None:
    """The system of one stratum as it was solved; None where that is not known or cannot be."""
    points = pits[["x", "y"]].to_numpy(float)
    low, high = pits["low"].to_numpy(float), pits["high"].to_numpy(float)
    low, high = np.where(np.isnan(low), -np.inf, low), np.where(np.isnan(high), np.inf, high)
    if floor:
        low = np.where((pits["status"] == "absent").to_numpy() & (high == 0), -np.inf, low)
    low, high = forward(low, power), forward(high, power)
    reading = pits["reading"].to_numpy(float) if "reading" in pits else np.full(len(pits), np.nan)
    if np.isnan(reading).any():  # a method that takes values as they are
        if not (low == high).all():
            return None
        reading, error = low, np.zeros(len(low))
    else:
        error = np.nan_to_num(pits["reading_variance"].to_numpy(float))
    with np.errstate(invalid="ignore"):
        narrow = np.isclose(error, (high - low) ** 2 / 12, rtol=1e-6, atol=0) & np.isfinite(high - low)
    bounded = (low != high) & ~narrow
    # where no pit varies, as where none has it, a trace of nugget keeps the system solvable
    kriging = Model(
        told["kind"], told["nugget"] if told["nugget"] + told["partial_sill"] > 0 else NO_SPREAD, told["partial_sill"],
        told["scale_m"], told.get("azimuth", 0.0), told.get("ratio", 1.0),
    )  # fmt: skip
    try:
        system = solve(points, reading, kriging, model.drift_at(points), nugget_is_error=told.get("nugget_is_error", False),
                       error_variance=error if error.any() else None)  # fmt: skip
    except (np.linalg.LinAlgError, ValueError, ZeroDivisionError):
        return None
    return Part(system, low, high, bounded, tuple(pits["pit_id"].astype(str)))


def _strata(context: Context) -> tuple[tuple[str, ...], np.ndarray]:
    """Name and shape of each stratum polygon; those that share a name are one stratum."""
    source = context.survey.strata
    frame = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="strata")
    names = frame["id"] if source.id is None else frame[source.id]
    return tuple(names.astype(str)), frame.geometry.values


def gives_back(predict: Callable, known: KnownCells) -> bool:
    """Whether ``predict`` (points -> estimates) gives back what is known; where nothing is, it does not."""
    if not len(known.cell):
        return False
    own, again = known.value, predict(centres_of(known.grid, known.cell))
    # estimates may have been clipped at 0 or 100, and rasters hold 7 digits
    off = np.abs(np.clip(again, own.min(), own.max()) - own)
    return bool(np.mean(off <= 1e-3 * (1 + np.abs(own))) > LEAST_GIVEN_BACK)
