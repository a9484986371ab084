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
from ..rasters import read_window
from .model import ErrorModel, Part

LEAST_GIVEN_BACK = 0.98
"""Share of the cells looked at that must come out as on the surface; those on a stratum's line may differ."""
NO_SPREAD = 1e-12


def model_of(surface: Surface, surfaces: Surfaces, context: Context) -> ErrorModel | None:
    """:func:`error_model` with the surface's own raster."""
    estimate = surfaces.rasters[surface.estimate].read(context.output).ravel()
    return error_model(surface, surfaces, estimate, context)


def error_model(surface: Surface, surfaces: Surfaces, estimate: np.ndarray, context: Context) -> ErrorModel | None:
    """The surface's model rebuilt, or None where it has none or does not give back ``estimate`` (flat, grid order).

    Terrain that the trend follows is read from the survey's terrain rasters; kriging does not
    change when drift columns are shifted or scaled.
    """
    told, models = surface.parameters, models_told(surface)
    if not models or not all("kind" in one for one in models.values()):
        return None
    blank = blank_model(surface, surfaces, context)
    if blank is None:
        return None
    pits = surfaces.points[surfaces.points["attribute"] == surface.attribute]
    found = with_parts(blank, models, pits, told.get("power"), bool(told.get("floor", False)))
    return found if found is not None and gives_back(found.predict, estimate, surfaces) else None


def models_told(surface: Surface) -> dict[str, dict]:
    """What the surface recorded of its model by stratum ("" = no strata); empty where it has none."""
    told = surface.parameters
    return (told.get("strata", {}) if told.get("by_stratum") else {"": told}) if told else {}


def blank_model(surface: Surface, surfaces: Surfaces, context: Context) -> ErrorModel | None:
    """Strata, grid and terrain of the surface's model, without a part; None where its terrain is not there."""
    told = surface.parameters
    drift = _drift(tuple(told.get("drift", ())), surfaces.grid, context)
    if told.get("drift") and drift is None:
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
        told["kind"], told["nugget"] if told["nugget"] + told["partial_sill"] > 0 else NO_SPREAD, told["partial_sill"], told["scale_m"], told.get("azimuth", 0.0), told.get("ratio", 1.0)
    )
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


def _drift(names: tuple[str, ...], grid: Grid, context: Context) -> np.ndarray | None:
    """Standardised terrain on the surface's grid; None where a raster is not there or on another grid."""
    columns = []
    for name in names:
        path = context.output / "terrain" / f"{name}.tif"
        column = read_window(path) if path.is_file() else np.empty((0, 0))
        if column.shape != grid.shape:
            return None
        spread = np.nanstd(column)
        columns.append((column - np.nanmean(column)) / (spread if spread > 0 else 1))
    return np.stack(columns, axis=-1) if columns else None


def gives_back(predict: Callable, estimate: np.ndarray, surfaces: Surfaces, most: int = 300) -> bool:
    """Whether ``predict`` (points -> estimates) gives back the surface's own estimates (flat, grid order)."""
    finite = np.flatnonzero(np.isfinite(estimate))
    if not len(finite):
        return False
    some = finite[thinned(len(finite), most)]
    again = predict(surfaces.grid.centre_points()[some])
    # estimates may have been clipped at 0 or 100, and rasters hold 7 digits
    off = np.abs(np.clip(again, estimate[some].min(), estimate[some].max()) - estimate[some])
    return bool(np.mean(off <= 1e-3 * (1 + np.abs(estimate[some]))) > LEAST_GIVEN_BACK)
