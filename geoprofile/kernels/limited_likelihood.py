"""Likelihood of a covariance model when some values are known only within limits, and its gradient.

With the measured values z_o, the limited ones x_c, drift F and C = s [(1 - share) R + share I]

    log L = log N(z_o; F_o b, C_oo) + log P(low < x_c < high | z_o)

the second term by expectation propagation. Residual likelihood takes b with a flat
prior in both terms (without bounds that is Patterson & Thompson 1971); maximum
likelihood takes the best b. At the fixed point of the propagation its factors may be
held while C moves (Rasmussen & Williams 2006, section 5.5.2), so the gradient is
that of an ordinary likelihood with the factors as readings.

Limits speak of what a pit shows, so the nugget is in C_cc too.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.linalg import lapack, solve_triangular

from .covariance import bent_slopes, bent_squares, covariance_in_place
from .expectation_propagation import Limited, propagate


class LimitedData(NamedTuple):
    """``n`` places; the first ``measured`` of them have values, the rest limits."""

    d2: np.ndarray
    """(n, n) squared distances."""
    trend: np.ndarray
    """(n, p)"""
    values: np.ndarray
    """(measured,)"""
    error_variance: np.ndarray
    """(measured,) of readings that are not quite exact, in squared units of the values; 0 = exact."""
    low: np.ndarray
    """(n - measured,)"""
    high: np.ndarray
    same: np.ndarray | None = None
    """(n, n) bool, where pairs may be correlated at all; None = everywhere."""
    nugget_weight: np.ndarray | None = None
    """(n,) share of the nugget that each value carries: 1 / m for the mean of m readings at one place; None = 1."""
    within: tuple[float, int] = (0.0, 0)
    """Sum of squares of repeated readings about the mean of their place, and its degrees of freedom: readings of one
    place differ by the nugget alone, so these speak of it directly."""
    across: np.ndarray | None = None
    """(2, n, n) from covariance.cross_products, where the reach may differ by direction."""

    @property
    def measured(self) -> int:
        return len(self.values)


class Evaluation(NamedTuple):
    log_likelihood: float
    gradient: np.ndarray
    """By log sill, nugget share and log scale; and by both numbers of the bend where there is one."""
    limited: Limited
    coefficients: np.ndarray
    """(p,) drift coefficients given all that is known."""
    log_probability: float
    """The part of the likelihood that the limits give."""


def correlation(kind: str, u2: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Correlation and its derivative by log scale at squared scaled distances; ``u2`` is kept."""
    u = np.sqrt(u2)
    if kind == "spherical":
        slope = np.where(u < 1.0, 1.5 * u * (1.0 - u2), 0.0)
    elif kind == "exponential":
        slope = u * np.exp(-u)
    elif kind == "gaussian":
        slope = 2.0 * u2 * np.exp(-u2)
    else:
        slope = u2 * np.exp(-u)
    return covariance_in_place(kind, 1.0, u2.copy()), slope


def given_measured(
    covariance: np.ndarray, trend: np.ndarray, values: np.ndarray, coefficients: np.ndarray | None = None
) -> tuple[np.ndarray, np.ndarray, float]:
    """Mean and covariance of the limited values given the measured, and the log likelihood of the measured.

    ``covariance`` (n, n), errors of readings added; the first ``len(values)`` rows are measured. Without
    ``coefficients`` (p,) the drift has a flat prior, else it is known.
    """
    count = len(values)
    rest = slice(count, None)
    cross, f_o, f_c = covariance[:count, rest], trend[:count], trend[rest]
    if count:
        lower = np.linalg.cholesky(covariance[:count, :count])
        half_cross = solve_triangular(lower, np.column_stack([cross, f_o, values]), lower=True, check_finite=False)
        log_half = float(np.log(np.diag(lower)).sum())
    else:
        half_cross, log_half = np.empty((0, len(f_c) + trend.shape[1] + 1)), 0.0
    w, g, z = half_cross[:, : len(f_c)], half_cross[:, len(f_c) : -1], half_cross[:, -1]
    matrix = covariance[rest, rest] - w.T @ w
    if coefficients is not None:
        residual = z - g @ coefficients
        mean = f_c @ coefficients + w.T @ residual
        return mean, matrix, -0.5 * (count * np.log(2 * np.pi) + float(residual @ residual)) - log_half
    information = g.T @ g
    lack = f_c - w.T @ g
    b = np.linalg.solve(information, g.T @ z)
    residual = z - g @ b
    matrix = matrix + lack @ np.linalg.solve(information, lack.T)
    freedom = count - trend.shape[1]
    log_rest = 0.5 * np.linalg.slogdet(information)[1]
    mean = f_c @ b + w.T @ residual
    return mean, matrix, -0.5 * (freedom * np.log(2 * np.pi) + float(residual @ residual)) - log_half - float(log_rest)


def evaluate(
    kind: str,
    data: LimitedData,
    sill: float,
    share: float,
    scale: float,
    *,
    residual: bool = True,
    coefficients: np.ndarray | None = None,
    start: Evaluation | None = None,
    tolerance: float = 1e-6,
    bend: tuple[float, float] | None = None,
) -> Evaluation:
    """Log likelihood at one model; with ``coefficients`` the drift is known and not fitted.

    ``bend`` : how far and which way the reach is longer (covariance.bend_of); ``scale`` is then the geometric mean of both reaches.

    Raises numpy.linalg.LinAlgError where the covariance matrix is singular.
    """
    known = coefficients is not None
    count, measured = len(data.d2), data.measured
    u2 = (data.d2 if bend is None else np.maximum(bent_squares(data.d2, data.across, bend), 0.0)) / scale**2
    smooth, slope = correlation(kind, u2)
    if data.same is not None:
        smooth *= data.same
        slope *= data.same
    covariance = (sill * (1.0 - share)) * smooth
    diagonal = np.arange(count)
    weight = np.ones(count) if data.nugget_weight is None else data.nugget_weight
    # a millionth of a millionth keeps coincident rows and a smooth model without nugget solvable
    covariance[diagonal, diagonal] += sill * (share * weight + 1e-10)
    covariance[diagonal[:measured], diagonal[:measured]] += data.error_variance
    sites = None if start is None else (start.limited.precision, start.limited.weighted)
    if residual and not known:
        mean, matrix, log_measured = given_measured(covariance, data.trend, data.values)
        limited = propagate(mean, matrix, data.low, data.high, sites, tolerance=tolerance)
        inverse, projector, b, dual = _as_readings(covariance, data, limited, None)
    else:
        b = coefficients if known else None
        if b is None:
            b = start.coefficients if start is not None else _least_squares(covariance, data)
        for _ in range(60):
            mean, matrix, log_measured = given_measured(covariance, data.trend, data.values, b)
            limited = propagate(mean, matrix, data.low, data.high, sites, tolerance=tolerance)
            inverse, projector, better, dual = _as_readings(covariance, data, limited, b if known else None)
            moved = np.abs(better - b).max() if len(b) else 0.0
            b, sites = better, (limited.precision, limited.weighted)
            if known or moved < 1e-7 * np.sqrt(sill):
                break
        projector = inverse
    gradient = np.empty(3 if bend is None else 5)
    noisy = (1.0 - share) * smooth
    noisy[diagonal, diagonal] += share * weight
    for place, change in enumerate((sill * noisy, sill * (np.diag(weight) - smooth), (sill * (1.0 - share)) * slope)):
        gradient[place] = 0.5 * (dual @ change @ dual - np.einsum("ij,ij->", projector, change))
    if bend is not None:
        # the correlation by its squared distance is its slope by log scale over -2 u2; at no distance nothing moves
        pull = np.outer(dual, dual) - projector
        pull *= (-0.25 * sill * (1.0 - share)) * np.divide(slope, u2, out=np.zeros_like(u2), where=u2 > 0) / scale**2
        gradient[3:] = [float(np.einsum("ij,ij->", pull, change)) for change in bent_slopes(data.d2, data.across, bend)]
    squares, freedom = data.within
    log_within = 0.0
    if freedom:
        nugget = sill * max(share, 1e-9)
        log_within = -0.5 * (freedom * np.log(2 * np.pi * nugget) + squares / nugget)
        gradient[:2] -= 0.5 * (freedom - squares / nugget) / np.array([1.0, max(share, 1e-9)])
    return Evaluation(log_measured + limited.log_probability + log_within, gradient, limited, b, limited.log_probability)


def _as_readings(covariance, data: LimitedData, limited: Limited, known: np.ndarray | None):
    """Inverse, projector, coefficients and dual of the system with the factors as readings."""
    measured = data.measured
    full = covariance.copy()
    rest = np.arange(measured, len(full))
    full[rest, rest] += 1.0 / limited.precision
    z = np.concatenate([data.values, limited.weighted / limited.precision])
    inverse = _inverse(full)
    weighted = inverse @ data.trend
    information = data.trend.T @ weighted
    b = np.linalg.solve(information, weighted.T @ z) if known is None else known
    projector = inverse - weighted @ np.linalg.solve(information, weighted.T)
    return inverse, projector, b, inverse @ (z - data.trend @ b)


def _inverse(matrix: np.ndarray) -> np.ndarray:
    """Of a positive definite matrix, at half the cost of the general one."""
    lower, failed = lapack.dpotrf(matrix, lower=1)
    if not failed:
        lower, failed = lapack.dpotri(lower, lower=1, overwrite_c=1)
    if failed:
        raise np.linalg.LinAlgError("the covariance matrix is singular")
    lower = np.tril(lower)
    return lower + np.tril(lower, -1).T


def _least_squares(covariance: np.ndarray, data: LimitedData) -> np.ndarray:
    """Coefficients of the measured alone."""
    block = covariance[: data.measured, : data.measured]
    trend = data.trend[: data.measured]
    solved = np.linalg.solve(block, np.column_stack([trend, data.values]))
    return np.linalg.lstsq(trend.T @ solved[:, :-1], trend.T @ solved[:, -1], rcond=None)[0]
