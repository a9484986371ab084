"""The mean of a surface over an area, with a 90 % interval of that mean.

Where the surface carries a covariance model the interval comes from the errors of
all cells together (kernels/areal.py). The model is rebuilt from what the surface
recorded and believed only if it gives back the surface's own estimates. Otherwise
the interval is the widest that the cells' own 90 % limits allow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from .context import Context
from .grid import Grid
from .kernels.areal import Z90, areal_mean_variance, error_covariance, thinned, widest_limits
from .kernels.covariance import Model
from .kernels.kriging import System, predict_points, solve
from .layers import read_polygons
from .overlay import points_in
from .products import Surface, Surfaces
from .rasters import read_window

BY_MODEL = "90 % interval of the mean from the errors of all cells together, by the surface's covariance model"
WIDEST = (
    "90 % interval of the mean as if the errors of all cells were one: never too narrow where the cells' limits are right, "
    "usually too wide"
)
NO_INTERVAL = "no interval: the surface has none"


@dataclass(frozen=True)
class ArealMean:
    """``mean``, ``low90``, ``high90`` in the surface's unit, NaN = none; ``basis`` in words."""

    mean: float
    low90: float
    high90: float
    basis: str


@dataclass(frozen=True)
class ErrorModel:
    """Solved systems by stratum id ("" = no strata) and the strata's polygons."""

    systems: dict[str, System]
    ids: tuple[str, ...]
    polygons: np.ndarray
    grid: Grid
    drift: np.ndarray | None = None
    """(height, width, p) terrain that the trend follows, None = a constant."""

    def stratum_of(self, points: np.ndarray) -> np.ndarray:
        """(m,) index into ``ids`` of each point (m, 2), -1 = none."""
        if not len(self.polygons):
            return np.zeros(len(points), np.intp)
        return points_in(shapely.points(points), self.polygons).polygon

    def drift_at(self, points: np.ndarray) -> np.ndarray | None:
        """(m, p) value of the cell that each point lies in."""
        if self.drift is None:
            return None
        row, column, inside = self.grid.cells_of(points[:, 0], points[:, 1])
        return np.where(inside[:, None], self.drift[row, column], np.nan)

    def predict(self, points: np.ndarray) -> np.ndarray:
        stratum, out = self.stratum_of(points), np.full(len(points), np.nan)
        for place in np.unique(stratum):
            system = self.systems.get(self.ids[place]) if place >= 0 else None
            if system is not None:
                own = np.flatnonzero(stratum == place)
                out[own] = predict_points(system, points[own], self.drift_at(points[own]))[0]
        return out

    def mean_variance(self, points: np.ndarray, weight: np.ndarray) -> float:
        """Variance of the error of the weighted mean; strata do not share errors. NaN where a point has no model."""
        weight = np.asarray(weight, float) / np.sum(weight)
        stratum, total = self.stratum_of(points), 0.0
        for place in np.unique(stratum):
            system = self.systems.get(self.ids[place]) if place >= 0 else None
            if system is None:
                return np.nan
            own = stratum == place
            total += weight[own].sum() ** 2 * areal_mean_variance(
                system, points[own], weight[own], self.drift_at(points[own])
            )
        return total

    def draws(
        self, points: np.ndarray, estimate: np.ndarray, rng: np.random.Generator, count: int
    ) -> np.ndarray | None:
        """(m, count) values that the land may have at ``points``, nugget included (Davis 1987); None without a model."""
        stratum = self.stratum_of(points)
        out = np.empty((len(points), count))
        for place in np.unique(stratum):
            system = self.systems.get(self.ids[place]) if place >= 0 else None
            if system is None:
                return None
            own = np.flatnonzero(stratum == place)
            covariance = error_covariance(system, points[own], self.drift_at(points[own]))
            nugget = 0.0 if system.nugget_is_error else system.model.nugget
            covariance[np.diag_indices(len(own))] += nugget + 1e-8 * system.model.sill
            lower = np.linalg.cholesky(covariance)
            out[own] = estimate[own, None] + lower @ rng.standard_normal((len(own), count))
        return out


def error_model(surface: Surface, surfaces: Surfaces, estimate: np.ndarray, context: Context) -> ErrorModel | None:
    """The surface's model rebuilt, or None where it has none or does not give back ``estimate`` (flat, grid order).

    Terrain that the trend follows is read from the survey's terrain rasters; kriging does not
    change when drift columns are shifted or scaled.
    """
    told = surface.parameters
    if not told or "kind" not in told:
        return None
    drift = _drift(tuple(told.get("drift", ())), surfaces.grid, context)
    if told.get("drift") and drift is None:
        return None
    pits = surfaces.points[surfaces.points["attribute"] == surface.attribute]
    if not (pits["low"] == pits["high"]).all():
        return None
    points, values = pits[["x", "y"]].to_numpy(float), pits["low"].to_numpy(float)
    ids: tuple[str, ...] = ("",)
    polygons = np.array([], object)
    models = {"": told}
    if told.get("by_stratum"):
        source = context.survey.strata
        frame = read_polygons(
            context.path(source.file), source.layer, id=source.id, crs=context.survey.crs, what="strata"
        )
        ids, polygons, models = tuple(frame["id"]), frame.geometry.values, told.get("strata", {})
    blank = ErrorModel({}, ids, polygons, surfaces.grid, drift)
    stratum, columns = blank.stratum_of(points), blank.drift_at(points)
    systems = {}
    for place, one in enumerate(ids):
        own = stratum == place
        if one in models and own.any():
            part = models[one]
            model = Model(part["kind"], part["nugget"], part["partial_sill"], part["scale_m"])
            try:
                systems[one] = solve(points[own], values[own], model, None if columns is None else columns[own],
                                     nugget_is_error=part.get("nugget_is_error", False))  # fmt: skip
            except (np.linalg.LinAlgError, ValueError, ZeroDivisionError):
                return None
    found = replace(blank, systems=systems)
    return found if systems and _gives_back(found, estimate, surfaces) else None


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


def _gives_back(model: ErrorModel, estimate: np.ndarray, surfaces: Surfaces, most: int = 300) -> bool:
    finite = np.flatnonzero(np.isfinite(estimate))
    some = finite[thinned(len(finite), most)]
    again = model.predict(surfaces.grid.centre_points()[some])
    # estimates may have been clipped at 0 or 100, and rasters hold 7 digits; cells on a stratum's line may differ
    off = np.abs(np.clip(again, estimate[some].min(), estimate[some].max()) - estimate[some])
    return bool(np.mean(off > 1e-3 * (1 + np.abs(estimate[some]))) < 0.02)


def areal_mean(
    cell: np.ndarray, share: np.ndarray, estimate: np.ndarray, low: np.ndarray | None, high: np.ndarray | None,
    centres: np.ndarray, model: ErrorModel | None, least: float | None = 0.0,
) -> ArealMean:  # fmt: skip
    """Mean over cells, each by its share, of those that have an estimate.

    Parameters
    ----------
    cell, share : (m,) indices and shares of the cells.
    estimate, low, high : flat rasters. centres : (cells, 2) of the whole grid.
    least : what the attribute cannot be below; None = no such limit.
    """
    backed = np.isfinite(estimate[cell])
    cell, weight = cell[backed], share[backed]
    if not len(cell):
        return ArealMean(np.nan, np.nan, np.nan, "no estimate")
    mean = float(weight @ estimate[cell] / weight.sum())
    if model is not None:
        some = thinned(len(cell))
        variance = model.mean_variance(centres[cell[some]], weight[some])
        if np.isfinite(variance):
            half = Z90 * float(np.sqrt(variance))
            lower = mean - half if least is None else max(mean - half, least)
            return ArealMean(mean, lower, mean + half, BY_MODEL)
    if low is None or high is None:
        return ArealMean(mean, np.nan, np.nan, NO_INTERVAL)
    return ArealMean(mean, *widest_limits(low[cell], high[cell], weight), WIDEST)


def share_below_intervals(
    cell: np.ndarray, share: np.ndarray, estimate: np.ndarray, limits: tuple[float, ...], centres: np.ndarray,
    model: ErrorModel | None, seed: int, draws: int = 500,
) -> list[tuple[float, float]]:  # fmt: skip
    """90 % interval of the share of the backed area below each limit, by simulation; NaN where there is no model."""
    none = [(np.nan, np.nan)] * len(limits)
    backed = np.isfinite(estimate[cell])
    cell, weight = cell[backed], share[backed]
    if model is None or not len(cell) or not limits:
        return none
    some = thinned(len(cell), 300)
    field = model.draws(centres[cell[some]], estimate[cell[some]], np.random.default_rng(seed), draws)
    if field is None:
        return none
    weight = weight[some] / weight[some].sum()
    return [tuple(float(value) for value in np.quantile(weight @ (field < limit), [0.05, 0.95])) for limit in limits]
