"""A surface's covariance model rebuilt from the saved product.

The model is rebuilt from what the surface recorded (Surface.parameters, the readings in
Surfaces.points) and believed only if it gives back the surface's own estimates. Nothing
is fitted again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd

from ..context import Context
from ..grid import Grid
from ..kernels.areal import thinned
from ..kernels.back_transform import forward
from ..kernels.covariance import Model
from ..kernels.kriging import solve
from ..layers import read_polygons
from ..products import Surface, Surfaces
from .cells import centres_of, read_cells_at, terrain_columns
from .model import ErrorModel, Part

MOST_LOOKED_AT, MOST_COMPARED = 4_000, 300
LEAST_GIVEN_BACK = 0.98
"""Share of the cells looked at that must come out as on the surface; those on a stratum's line may differ."""
NO_SPREAD = 1e-12


def model_of(surface: Surface, surfaces: Surfaces, context: Context) -> ErrorModel | None:
    """:func:`error_model` checked against cells of the surface's own raster, in memory that does not grow with the grid."""
    found, grid = _unchecked(surface, surfaces, context), surfaces.grid
    if found is None:
        return None
    cell = thinned(grid.height * grid.width, MOST_LOOKED_AT)
    values = read_cells_at(context.output / surfaces.rasters[surface.estimate].path, grid, *np.divmod(cell, grid.width))
    return found if gives_back_cells(found.predict, cell, values, grid) else None


def error_model(surface: Surface, surfaces: Surfaces, estimate: np.ndarray, context: Context) -> ErrorModel | None:
    """The surface's model rebuilt, or None where it has none or does not give back ``estimate`` (flat, grid order).

    Terrain that the trend follows is read from the survey's terrain rasters; kriging does not
    change when drift columns are shifted or scaled.
    """
    found = _unchecked(surface, surfaces, context)
    return found if found is not None and gives_back(found.predict, estimate, surfaces) else None


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


def gives_back(predict: Callable, estimate: np.ndarray, surfaces: Surfaces) -> bool:
    """Whether ``predict`` (points -> estimates) gives back the surface's own estimates (flat, grid order)."""
    finite = np.flatnonzero(np.isfinite(estimate))
    some = finite[thinned(len(finite), MOST_COMPARED)] if len(finite) else finite
    return gives_back_cells(predict, some, estimate[some], surfaces.grid)


def gives_back_cells(predict: Callable, cell: np.ndarray, values: np.ndarray, grid: Grid) -> bool:
    """The same for cells (m,) and their estimates (m,); those without one say nothing."""
    known = np.flatnonzero(np.isfinite(values))
    if not len(known):
        return False
    known = known[thinned(len(known), MOST_COMPARED)]
    own, again = values[known], predict(centres_of(grid, cell[known]))
    # estimates may have been clipped at 0 or 100, and rasters hold 7 digits
    off = np.abs(np.clip(again, own.min(), own.max()) - own)
    return bool(np.mean(off <= 1e-3 * (1 + np.abs(own))) > LEAST_GIVEN_BACK)
