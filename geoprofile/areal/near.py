"""Surfaces to which only the nearest pits speak: the exact variance of the mean of an area all the same.

Each place has weights of its own, yet its estimate stays a weighted sum of the pits, and so is the mean of an area. With
the mean's weights w, the covariances c of the mean with the pits and K of the pits with each other, its error has the
variance  v - 2 w'c + w'K w  whatever the weights are (Webster & Oliver 2007, section 8.2), v the variance of the mean itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..context import Context
from ..kernels.areal import area_terms
from ..kernels.covariance import covariance_in_place, scaled_squares
from ..kernels.kriging import System
from ..kernels.neighbours import mean_weights, predict_near
from ..products import Surface, Surfaces
from .area import square_lattice
from .model import ErrorModel
from .rebuilt import KnownCells, blank_model, gives_back, models_told, with_parts

NEAR_PITS = "near_pits"


@dataclass(frozen=True)
class NearModel:
    """``whole``: the systems that the near pits are taken from; ``most``, ``within``, ``least``: which are asked."""

    whole: ErrorModel
    most: int
    within: float
    least: int

    is_normal = True
    mean_is_drawn = False

    @property
    def _asked(self) -> dict:
        return {"most": self.most, "within": self.within, "least": self.least}

    def knows(self, points: np.ndarray) -> np.ndarray:
        return self.whole.knows(points)

    def predict(self, points: np.ndarray) -> np.ndarray:
        """(m,) estimates, before impossible ones are clipped."""
        out = np.full(len(points), np.nan)
        for part, own in self.whole.by_part(points):
            if part is not None:
                out[own] = predict_near(part.system, points[own], self.whole.drift_at(points[own]), **self._asked)[0]
        return out

    def mean_variance_of_cells(self, cell: np.ndarray, weight: np.ndarray, side: int = 1) -> float:
        """Variance of the error of the weighted mean over cells of the grid, none twice; NaN where a cell has no value.

        With ``side`` above 1 each is the middle cell of a square of cells (area.py) that it stands for.
        """
        weight, total = np.asarray(weight, float) / np.sum(weight), 0.0
        grid = self.whole.grid
        row, column = np.divmod(cell, grid.width)
        x, y = grid.centres()
        points = np.column_stack([x[column], y[row]])
        for part, own in self.whole.by_part(points):
            if part is None:
                return np.nan
            share, drift = weight[own].sum(), self.whole.drift_at(points[own])
            among = mean_weights(part.system, points[own], drift, weight[own] / share, **self._asked)
            own_variance, with_pits, _ = area_terms(part.system, row[own] // side, column[own] // side, weight[own],
                                                    *square_lattice(grid, side), drift)
            total += share**2 * (own_variance - 2 * among @ with_pits + among @ shown_covariance(part.system) @ among)
        return max(float(total), 0.0)


def shown_covariance(system: System) -> np.ndarray:
    """(n, n) covariance of what the pits show, nugget and errors of readings included."""
    model = system.model
    matrix = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, system.points, system.points))
    error = 0.0 if system.error_variance is None else system.error_variance
    matrix[np.diag_indices(len(matrix))] += model.nugget + error
    return matrix


def near_model(surface: Surface, surfaces: Surfaces, known: KnownCells, context: Context) -> NearModel | None:
    """The model rebuilt; None where the surface is not of this kind, was modelled on another scale, or is not given back."""
    models = {name: one.get(NEAR_PITS) for name, one in models_told(surface).items()}
    if not models or not all(models.values()):
        return None
    first = next(iter(models.values()))
    systems = {name: one["model"] for name, one in models.items()}
    if any("power" in one or one.get("floor") for one in systems.values()):
        return None
    blank = blank_model(surface, surfaces, context)
    pits = surfaces.points[surfaces.points["attribute"] == surface.attribute]
    whole = None if blank is None else with_parts(blank, systems, pits)
    if whole is None:
        return None
    found = NearModel(whole, first["most"], np.inf if first["within_m"] is None else first["within_m"], first["least"])
    return found if gives_back(found.predict, known) else None
