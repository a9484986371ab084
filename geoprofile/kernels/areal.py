"""Means over areas, and how sure they are.

The error of a mean is that of all its cells together: its variance is the mean of
their error covariances, over all pairs of cells. Kriging variances are never
averaged for it (Journel & Huijbregts 1978, chapter V; Webster & Oliver 2007, 8.3).
"""

from __future__ import annotations

import numpy as np

from .covariance import covariance_in_place, scaled_squares
from .kriging import System, with_constant

Z90 = 1.6448536269514722
"""Standard normal quantile of 0.95: half-width of a 90 % interval in standard deviations."""
MOST_CELLS = 600
"""More cells than this are thinned to so many: every pair counts, so the work grows with the square."""


def thinned(cells: int, most: int = MOST_CELLS) -> np.ndarray:
    """Indices of at most ``most`` of ``cells`` cells, evenly spread along their order."""
    if cells <= most:
        return np.arange(cells)
    return np.unique(np.floor((np.arange(most) + 0.5) * cells / most).astype(np.intp))


def error_covariance(system: System, points: np.ndarray, drift: np.ndarray | None = None) -> np.ndarray:
    """(m, m) covariance of the kriging errors at ``points`` (m, 2), the nugget left out.

    The nugget belongs to single points: over an area of many it averages away.
    """
    points = np.asarray(points, float)
    model = system.model
    own = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, points, points))
    cross = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, system.points, points))
    lack = with_constant(drift, len(points)).T - system.precision_trend.T @ cross
    return own - cross.T @ (system.precision @ cross) + lack.T @ system.coefficient_covariance @ lack


def areal_mean_variance(
    system: System, points: np.ndarray, weight: np.ndarray, drift: np.ndarray | None = None
) -> float:
    """Variance of the error of the weighted mean over ``points`` (m, 2), squared unit of the values."""
    weight = np.asarray(weight, float) / np.sum(weight)
    return max(float(weight @ error_covariance(system, points, drift) @ weight), 0.0)


def widest_limits(low: np.ndarray, high: np.ndarray, weight: np.ndarray) -> tuple[float, float]:
    """90 % limits of a mean from the 90 % limits of its cells, as if all their errors were one.

    The standard deviation of a mean is at most the mean of the standard deviations,
    reached when the errors are fully correlated. The limits are therefore never too narrow
    where those of the cells are right; they are usually too wide.
    """
    weight = np.asarray(weight, float) / np.sum(weight)
    return float(weight @ low), float(weight @ high)
