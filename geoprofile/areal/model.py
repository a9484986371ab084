"""A surface's covariance model, and what it says of errors at many places together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ..grid import Grid
from ..kernels.areal import areal_mean_variance, error_covariance, mean_variance_of_cells
from ..kernels.back_transform import forward, read_back
from ..kernels.covariance import covariance_in_place, scaled_squares
from ..kernels.kriging import System, predict_points, solve
from ..kernels.limited_likelihood import given_measured
from ..overlay import points_in
from .area import square_lattice
from .cells import TerrainColumns


@dataclass(frozen=True)
class Part:
    """One stratum's system and what its pits say, on the modelled scale.

    ``low``, ``high`` (n,): limits, infinite where there is none; ``bounded`` (n,): only limits
    are known, and the system's value is what they are worth.
    """

    system: System
    low: np.ndarray
    high: np.ndarray
    bounded: np.ndarray
    pit_ids: tuple[str, ...]

    @property
    def exact_error(self) -> np.ndarray:
        """(n,) error variance of readings that are values, 0 for bounded pits."""
        error = self.system.error_variance
        return np.zeros(len(self.low)) if error is None else np.where(self.bounded, 0.0, error)

    def bounded_given_values(self) -> tuple[np.ndarray, np.ndarray]:
        """Mean (k,) and covariance (k, k) of what bounded pits would show, given the others and before their own limits."""
        order, measured = np.argsort(self.bounded, kind="stable"), int((~self.bounded).sum())
        model, points = self.system.model, self.system.points[order]
        matrix = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, points, points))
        # limits speak of what a pit shows, the nugget included
        matrix[np.diag_indices(len(matrix))] += model.nugget + 1e-10 * model.sill + self.exact_error[order]
        return given_measured(matrix, self.system.trend[order], self.system.values[order][:measured])[:2]

    def completed(self) -> System:
        """The system with each bounded pit at its mean given all pits: the same estimates, and the weight of each pit
        is that of what it says."""
        if not self.bounded.any():
            return self.system
        system, values = self.system, self.system.values.copy()
        mean, own = self.bounded_given_values()
        error = system.error_variance[self.bounded]
        values[self.bounded] = mean + own @ np.linalg.solve(own + np.diag(error), system.values[self.bounded] - mean)
        return self.with_values(values)

    def with_values(self, values: np.ndarray) -> System:
        """The system as if every pit, bounded ones too, had shown its value (n,)."""
        system, error = self.system, self.exact_error
        return solve(
            system.points, values, system.model, system.trend[:, 1:] if system.trend.shape[1] > 1 else None,
            nugget_is_error=system.nugget_is_error, error_variance=error if error.any() else None,
        )  # fmt: skip


@dataclass(frozen=True)
class ErrorModel:
    """Solved systems by stratum id ("" = no strata) and the strata's polygons."""

    parts: dict[str, Part]
    ids: tuple[str, ...]
    polygons: np.ndarray
    grid: Grid
    drift: TerrainColumns | None = None
    """Terrain that the trend follows, None = a constant."""
    power: float | None = None
    """Power of the modelled scale (kernels/back_transform.py), None = the attribute's own."""
    floor: bool = False
    """Whether what lies below 0 means that the feature is absent."""

    mean_is_drawn = False

    @property
    def is_normal(self) -> bool:
        """Whether values and errors are normal on the attribute's own scale."""
        return self.power is None and not self.floor

    def stratum_of(self, points: np.ndarray) -> np.ndarray:
        """(m,) index into ``ids`` of each point (m, 2), -1 = none."""
        if not len(self.polygons):
            return np.zeros(len(points), np.intp)
        return points_in(shapely.points(points), self.polygons).polygon

    def by_part(self, points: np.ndarray) -> list[tuple[Part | None, np.ndarray]]:
        """Each stratum's part (None = it has no model) with the indices of its points (m, 2)."""
        stratum = self.stratum_of(points)
        return [
            (self.parts.get(self.ids[place]) if place >= 0 else None, np.flatnonzero(stratum == place))
            for place in np.unique(stratum)
        ]

    def drift_at(self, points: np.ndarray) -> np.ndarray | None:
        """(m, p) value of the cell that each point lies in."""
        return None if self.drift is None else self.drift.at(points)

    def knows(self, points: np.ndarray) -> np.ndarray:
        """(m,) whether the model says anything there."""
        known = np.zeros(len(points), bool)
        for part, own in self.by_part(points):
            known[own] = part is not None
        return known if self.drift is None else known & np.isfinite(self.drift_at(points)).all(axis=1)

    def predict(self, points: np.ndarray) -> np.ndarray:
        """(m,) estimates in the attribute's unit, before impossible ones are clipped."""
        out = np.full(len(points), np.nan)
        for part, own in self.by_part(points):
            if part is not None:
                mean, variance = predict_points(part.system, points[own], self.drift_at(points[own]))
                out[own] = read_back(mean, variance, self.power, self.floor)[0]
        return out

    def latent(self, points: np.ndarray) -> np.ndarray:
        """(m,) estimates on the modelled scale, the nugget filtered out."""
        out = np.full(len(points), np.nan)
        for part, own in self.by_part(points):
            if part is not None:
                smooth = part.system._replace(nugget_is_error=True)
                out[own] = predict_points(smooth, points[own], self.drift_at(points[own]))[0]
        return out

    def to_latent(self, value: float) -> float:
        """A value of the attribute on the modelled scale."""
        return float(forward(np.array(value, float), self.power))

    def covariance(self, points: np.ndarray) -> np.ndarray:
        """(m, m) covariance of errors on the modelled scale, nugget left out; strata do not share errors, NaN without a model."""
        out = np.zeros((len(points), len(points)))
        for part, own in self.by_part(points):
            block = np.nan if part is None else error_covariance(part.system, points[own], self.drift_at(points[own]))
            out[np.ix_(own, own)] = block
        return out

    def nugget(self, points: np.ndarray) -> np.ndarray:
        """(m,) variance of what a pit shows around the land it stands for, on the modelled scale."""
        out = np.full(len(points), np.nan)
        for part, own in self.by_part(points):
            out[own] = np.nan if part is None else part.system.model.nugget
        return out

    def mean_variance(self, points: np.ndarray, weight: np.ndarray) -> float:
        """Variance of the error of the weighted mean; strata do not share errors. NaN where a point has no model."""
        weight, total = np.asarray(weight, float) / np.sum(weight), 0.0
        for part, own in self.by_part(points):
            if part is None:
                return np.nan
            total += weight[own].sum() ** 2 * areal_mean_variance(
                part.system, points[own], weight[own], self.drift_at(points[own])
            )
        return total

    def mean_variance_of_cells(self, cell: np.ndarray, weight: np.ndarray, side: int = 1) -> float:
        """The same over cells of the grid, none twice, every pair counted however many there are.

        With ``side`` above 1 each is the middle cell of a square of cells (area.py) that it stands for.
        """
        weight, total = np.asarray(weight, float) / np.sum(weight), 0.0
        row, column = np.divmod(cell, self.grid.width)
        x, y = self.grid.centres()
        points = np.column_stack([x[column], y[row]])
        squares = square_lattice(self.grid, side)
        for part, own in self.by_part(points):
            if part is None:
                return np.nan
            share = weight[own].sum()
            total += share**2 * mean_variance_of_cells(
                part.system, row[own] // side, column[own] // side, weight[own], *squares, self.drift_at(points[own])
            )
        return total
