"""Kriging with one factorisation: estimate and variance at points and on grids, exactly.

With covariance matrix C of the data, drift columns F (the first all ones) and
Q = C^-1, the universal kriging predictor at a place with covariances k and drift
f is (Cressie 1993, section 3.4)

    b        = (F'QF)^-1 F'Qz
    estimate = f'b + k'Q(z - Fb)
    variance = c0 - k'Qk + d'(F'QF)^-1 d,   d = f - F'Qk

Where a compact model makes most of k zero only the submatrix of Q for pits within
reach of a tile is needed; nothing is left out, so the result is that of the full
system. Memory is bounded by one tile times the pits, whatever the grid.

Nugget: by default variation over short distance. A prediction exactly at a datum
(nearer than a millimetre) returns the datum with variance 0; everywhere else the
variance contains the nugget, as an interval for what a pit there would show. With
``nugget_is_error`` it is measurement error: it is filtered out of the estimate and
the variance is that of the true value.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .covariance import Model, covariance_in_place, metric, scaled_squares, squared_distances

AT_DATUM = 1e-3
"""Nearer than this (unit of the coordinates: 1 mm) a prediction is at the datum."""

AT_ONCE = 1_000_000
"""Covariances of data with places held at once."""


class NegativeVariance(ArithmeticError):
    """A kriging variance clearly below zero: the system is not fit for use."""


class System(NamedTuple):
    """A solved kriging system; all arrays are read, never written."""

    model: Model
    points: np.ndarray
    """(n, 2), as given."""
    values: np.ndarray
    """(n,)"""
    trend: np.ndarray
    """(n, p) drift columns, the first all ones."""
    precision: np.ndarray
    """(n, n) inverse of the covariance matrix."""
    precision_trend: np.ndarray
    """(n, p) precision times trend."""
    coefficients: np.ndarray
    """(p,) generalised least squares coefficients."""
    coefficient_covariance: np.ndarray
    """(p, p)"""
    dual: np.ndarray
    """(n,) precision times residuals."""
    nugget_is_error: bool
    jitter: float
    """Added to the diagonal to make it invertible, as a share of the sill; 0 = none was needed."""
    error_variance: np.ndarray | None = None
    """(n,) of readings that are not exact, beside the nugget; None = all are exact."""

    @property
    def variance_at_zero(self) -> float:
        return self.model.partial_sill if self.nugget_is_error else self.model.sill


def solve(
    points: np.ndarray,
    values: np.ndarray,
    model: Model,
    drift: np.ndarray | None = None,
    *,
    nugget_is_error: bool = False,
    error_variance: np.ndarray | None = None,
) -> System:
    """Factorise the system of ``n`` data.

    Parameters
    ----------
    points : (n, 2) coordinates; values : (n,); drift : (n, p - 1) columns beside the constant.
    error_variance : (n,) squared unit of the values, for readings that are not exact: what limits
        say (kernels/expectation_propagation.py), or a value read between two near limits.

    Raises
    ------
    numpy.linalg.LinAlgError where two points coincide (unless the nugget is error, which
    lets them differ) or the drift columns depend on each other.
    """
    points = np.asarray(points, float)
    values = np.asarray(values, float)
    trend = with_constant(drift, len(points))
    d2 = squared_distances(points, points)
    if not nugget_is_error and (d2[np.triu_indices(len(points), 1)] < AT_DATUM**2).any():
        raise np.linalg.LinAlgError("two data lie at one place: merge them first")
    smooth = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, points, points))
    lower, jitter = _factor(smooth, model, error_variance)
    inverse = np.linalg.inv(lower)
    precision = inverse.T @ inverse
    precision_trend = precision @ trend
    information = trend.T @ precision_trend
    if np.linalg.matrix_rank(trend) < trend.shape[1]:
        raise np.linalg.LinAlgError("the drift columns depend on each other")
    coefficient_covariance = np.linalg.inv(information)
    coefficients = coefficient_covariance @ (precision_trend.T @ values)
    dual = precision @ (values - trend @ coefficients)
    return System(
        model, points, values, trend, precision, precision_trend, coefficients, coefficient_covariance, dual,
        nugget_is_error, jitter, None if error_variance is None else np.asarray(error_variance, float),
    )  # fmt: skip


def predict_points(system: System, points: np.ndarray, drift: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Estimate and variance, each (m,), at ``points`` (m, 2) with ``drift`` (m, p - 1)."""
    points = np.asarray(points, float).reshape(-1, 2)
    estimate, variance = np.empty(len(points)), np.empty(len(points))
    step = max(1, AT_ONCE // max(len(system.points), 1))
    for start in range(0, len(points), step):
        part = slice(start, start + step)
        cross = cross_covariance(system, points[part])
        trend = with_constant(None if drift is None else drift[part], cross.shape[1])
        estimate[part], variance[part] = _predict(system, cross, trend, slice(None))
    return estimate, variance


def predict_grid(
    system: System,
    x: np.ndarray,
    y: np.ndarray,
    drift: np.ndarray | None = None,
    wanted: np.ndarray | None = None,
    tile: int = 32,
) -> tuple[np.ndarray, np.ndarray]:
    """Estimate and variance, each (height, width), at cell centres.

    Parameters
    ----------
    x : (width,) and y : (height,) centres of columns and rows.
    drift : (height, width, p - 1).
    wanted : (height, width) of bool; tiles without a wanted cell are skipped (NaN).
    tile : side of a tile in cells; changes speed and memory, not results.
    """
    model = system.model
    height, width = len(y), len(x)
    estimate = np.full((height, width), np.nan)
    variance = np.full((height, width), np.nan)
    px, py = system.points[:, 0], system.points[:, 1]
    a, b, c = (part * model.scale**2 for part in metric(model))
    for top in range(0, height, tile):
        rows = slice(top, min(top + tile, height))
        ty = y[rows]
        away_y = np.maximum(np.maximum(ty.min() - py, py - ty.max()), 0.0)
        for left in range(0, width, tile):
            columns = slice(left, min(left + tile, width))
            if wanted is not None and not wanted[rows, columns].any():
                continue
            tx = x[columns]
            if model.is_compact:
                away_x = np.maximum(np.maximum(tx.min() - px, px - tx.max()), 0.0)
                near = np.flatnonzero(away_x**2 + away_y**2 < model.scale**2)
            else:
                near = slice(None)
            dx = (tx[None, :] - px[near, None]) / model.scale
            dy = (ty[None, :] - py[near, None]) / model.scale
            if model.ratio == 1.0:
                u2 = (dy * dy)[:, :, None] + (dx * dx)[:, None, :]
            else:
                u2 = (b * dy * dy)[:, :, None] + (a * dx * dx)[:, None, :]
                u2 += (c * dy)[:, :, None] * dx[:, None, :]
                np.maximum(u2, 0.0, out=u2)
            cross = covariance_in_place(model.kind, model.partial_sill, u2)
            if not system.nugget_is_error and model.nugget > 0:
                close = AT_DATUM / model.scale
                on_column, on_row = np.abs(dx) < close, np.abs(dy) < close
                for pit in np.flatnonzero(on_column.any(axis=1) & on_row.any(axis=1)):
                    cross[pit][np.ix_(on_row[pit], on_column[pit])] = model.sill
            cells = cross.shape[1] * cross.shape[2]
            trend = with_constant(None if drift is None else drift[rows, columns].reshape(cells, -1), cells)
            found = _predict(system, cross.reshape(len(cross), cells), trend, near)
            shape = (rows.stop - rows.start, columns.stop - columns.start)
            estimate[rows, columns] = found[0].reshape(shape)
            variance[rows, columns] = found[1].reshape(shape)
    return estimate, variance


def weights(system: System, points: np.ndarray, drift: np.ndarray | None = None) -> np.ndarray:
    """(n, m) weight of each datum in each prediction; columns sum to 1."""
    points = np.asarray(points, float).reshape(-1, 2)
    cross = cross_covariance(system, points)
    lack = with_constant(drift, len(points)).T - system.precision_trend.T @ cross
    return system.precision @ cross + system.precision_trend @ (system.coefficient_covariance @ lack)


def leave_one_out(system: System) -> tuple[np.ndarray, np.ndarray]:
    """Prediction of each datum from all others and its variance, the model not refitted (Dubrule 1983).

    With P = Q - QF(F'QF)^-1F'Q the error of datum i is (Pz)_i / P_ii and its
    variance 1 / P_ii, less the error of the reading itself. NaN where a datum alone
    determines a drift column.
    """
    projector = system.precision - system.precision_trend @ system.coefficient_covariance @ system.precision_trend.T
    own = np.diag(projector).copy()
    own[own < 1e-10 * np.diag(system.precision)] = np.nan
    variance = 1.0 / own
    if system.error_variance is not None:
        variance = np.maximum(variance - system.error_variance, 0.0)
    return system.values - (projector @ system.values) / own, variance


def with_constant(drift: np.ndarray | None, rows: int) -> np.ndarray:
    """(rows, p) drift columns behind a column of ones."""
    if drift is None:
        return np.ones((rows, 1))
    return np.column_stack([np.ones(rows), np.asarray(drift, float).reshape(rows, -1)])


def cross_covariance(system: System, points: np.ndarray) -> np.ndarray:
    """(n, m) covariance of the data with values at ``points`` (m, 2)."""
    model = system.model
    cross = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, system.points, points))
    if not system.nugget_is_error:
        cross[squared_distances(system.points, points) < AT_DATUM**2] = model.sill
    return cross


def _predict(system: System, cross: np.ndarray, trend: np.ndarray, near) -> tuple[np.ndarray, np.ndarray]:
    precision = system.precision if isinstance(near, slice) else system.precision[np.ix_(near, near)]
    estimate = trend @ system.coefficients + system.dual[near] @ cross
    lack = trend.T - system.precision_trend[near].T @ cross
    known = np.einsum("ij,ij->j", cross, precision @ cross)
    unsure = np.einsum("ij,ij->j", lack, system.coefficient_covariance @ lack)
    variance = system.variance_at_zero - known + unsure
    lowest = variance.min(initial=0.0)
    if lowest < -1e-6 * system.model.sill:
        raise NegativeVariance(f"kriging variance {lowest:g} at a sill of {system.model.sill:g}")
    return estimate, np.maximum(variance, 0.0)


def _factor(
    smooth: np.ndarray, model: Model, error_variance: np.ndarray | None = None
) -> tuple[np.ndarray, float]:
    """Cholesky factor of the covariance matrix; a little is added to the diagonal only where it must, and told."""
    diagonal = np.einsum("ii->i", smooth)
    exact = diagonal + model.nugget + (0.0 if error_variance is None else error_variance)
    for jitter in (0.0, 1e-10, 1e-8, 1e-6):
        diagonal[:] = exact + jitter * model.sill
        try:
            return np.linalg.cholesky(smooth), jitter
        except np.linalg.LinAlgError:
            continue
    raise np.linalg.LinAlgError("the covariance matrix is singular")
