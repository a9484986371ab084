"""Means over areas, and how sure they are.

The error of a mean is that of all its cells together: its variance is the mean of
their error covariances, over all pairs of cells. Kriging variances are never
averaged for it (Journel & Huijbregts 1978, chapter V; Webster & Oliver 2007, 8.3).
"""

from __future__ import annotations

import numpy as np

from .covariance import covariance_in_place, scaled_squares
from .kriging import System, with_constant
from .simulation import lag_covariance

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


def mean_variance_of_cells(
    system: System, row: np.ndarray, column: np.ndarray, weight: np.ndarray, west: float, north: float, spacing: float,
    drift: np.ndarray | None = None,
) -> float:  # fmt: skip
    """Variance of the error of the weighted mean over cells of a grid, every pair of cells counted, however many.

    The covariances of all pairs are summed lag by lag: how often each lag occurs, weights
    multiplied, is the autocorrelation of the weights, which two Fourier transforms give.

    Parameters
    ----------
    row, column : (m,) cells, none twice; weight : (m,), any sum; drift : (m, p - 1).
    west, north : centre of the cell in row 0 and column 0, m; spacing : side of a cell, m.
    """
    total, with_data, trend = area_terms(system, row, column, weight, west, north, spacing, drift)
    lack = trend - system.precision_trend.T @ with_data
    found = total - with_data @ system.precision @ with_data + lack @ system.coefficient_covariance @ lack
    return max(float(found), 0.0)


def area_terms(
    system: System, row: np.ndarray, column: np.ndarray, weight: np.ndarray, west: float, north: float, spacing: float,
    drift: np.ndarray | None = None,
) -> tuple[float, np.ndarray, np.ndarray]:  # fmt: skip
    """Variance of the weighted mean over cells of a grid, its covariance with each datum (n,), and its trend (p,); nugget left out."""
    model = system.model
    weight = np.asarray(weight, float) / np.sum(weight)
    top, left = row.min(), column.min()
    height, width = int(row.max() - top) + 1, int(column.max() - left) + 1
    mask = np.zeros((2 * height, 2 * width))
    mask[row - top, column - left] = weight
    lags = np.fft.irfft2(np.abs(np.fft.rfft2(mask)) ** 2, s=mask.shape)
    down, across = (np.where(np.arange(2 * n) < n, np.arange(2 * n), np.arange(2 * n) - 2 * n) for n in (height, width))
    total = float(np.sum(lags * lag_covariance(model, spacing * across, -spacing * down)))
    places = np.column_stack([west + spacing * column, north - spacing * row])
    with_data, trend = np.zeros(len(system.points)), np.zeros(system.trend.shape[1])
    step = max(1, 1_000_000 // len(system.points))
    for start in range(0, len(places), step):
        part = slice(start, start + step)
        cross = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, system.points, places[part]))
        with_data += cross @ weight[part]
        trend += weight[part] @ with_constant(None if drift is None else drift[part], len(weight[part]))
    return total, with_data, trend
