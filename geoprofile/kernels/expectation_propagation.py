"""Normal values of which some are known only within limits: what all limits say together.

Expectation propagation (Minka 2001; Rasmussen & Williams 2006, section 3.6). Each
limited value i gets a normal factor exp(-tau x^2 / 2 + nu x) such that mean and
variance of the whole agree with those of the whole in which factor i is the true one
(1 within the limits, 0 outside). All factors are renewed together, sweep by sweep.
With limits as factors the problem is concave and the fixed point is found in about
ten sweeps; the answer does not depend on a seed.

The factors read as readings: a value nu / tau with error variance 1 / tau. Kriging
with these beside the measured values is the whole of what follows.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.linalg import solve_triangular

from .truncated_normal import moments

LEAST_PRECISION = 1e-8
"""Of a factor, as a share of the prior precision: less says nothing."""


class Limited(NamedTuple):
    """What the limits say; all arrays (k,) or (k, k)."""

    log_probability: float
    """Of all values lying within their limits."""
    mean: np.ndarray
    variance: np.ndarray
    precision: np.ndarray
    """tau of the factors."""
    weighted: np.ndarray
    """nu of the factors: value times precision."""
    cavity_mean: np.ndarray
    """Mean of value i from everything but its own limits."""
    cavity_variance: np.ndarray
    sweeps: int
    settled: bool


def propagate(
    mean: np.ndarray,
    covariance: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    start: tuple[np.ndarray, np.ndarray] | None = None,
    *,
    tolerance: float = 1e-7,
    most_sweeps: int = 100,
) -> Limited:
    """Limits ``low`` < x < ``high`` (k,), infinite where there is none, on x ~ N(mean, covariance).

    ``start`` : tau and nu of an earlier, similar problem; the fixed point is the same.
    ``tolerance`` : change of means and deviations in a sweep, as a share of the prior deviations.
    """
    count = len(mean)
    if count == 0:
        none = np.empty(0)
        return Limited(0.0, none, none, none, none, none, none, 0, True)
    own = np.diag(covariance)
    deviation = np.sqrt(own)
    # everything in units of the prior deviations: depths in cm or mm are one problem
    prior = covariance / np.outer(deviation, deviation)
    a, b = (low - mean) / deviation, (high - mean) / deviation
    if start is None:
        tau, nu = np.zeros(count), np.zeros(count)
    else:
        tau = start[0] * own
        nu = (start[1] - start[0] * mean) * deviation
    middle, spread, half_log = _posterior(prior, tau, nu)
    settled, sweep, step = False, 0, 1.0
    while True:
        rest = 1.0 / (1.0 / spread - tau)  # cavity variance
        rest = np.where((rest > 0) & np.isfinite(rest), rest, 1.0)
        at = rest * (middle / spread - nu)
        log_mass, new_middle, new_spread = moments(at, np.sqrt(rest), a, b)
        new_spread = np.maximum(new_spread, 1e-12 * rest)
        if settled or sweep == most_sweeps:
            break
        new_tau = np.maximum(1.0 / new_spread - 1.0 / rest, LEAST_PRECISION)
        new_nu = new_middle * (new_tau + 1.0 / rest) - at / rest
        if sweep == 30:
            step = 0.5
        tau, nu = tau + step * (new_tau - tau), nu + step * (new_nu - nu)
        before = middle, spread
        middle, spread, half_log = _posterior(prior, tau, nu)
        sweep += 1
        settled = max(np.abs(middle - before[0]).max(), np.abs(np.sqrt(spread) - np.sqrt(before[1])).max()) < tolerance
    # each factor is scaled so that it keeps the mass of the limits it stands for
    factor = 0.5 * (np.log1p(tau * rest) + at * at / rest - (at / rest + nu) ** 2 / (1.0 / rest + tau))
    log_probability = float(np.sum(log_mass + factor) + half_log + 0.5 * nu @ middle)
    precision = tau / own
    return Limited(
        log_probability, mean + middle * deviation, spread * own, precision, nu / deviation + precision * mean,
        mean + at * deviation, rest * own, sweep, bool(settled),
    )  # fmt: skip


def _posterior(prior: np.ndarray, tau: np.ndarray, nu: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Mean, variance and -log|I + T S| / 2 of N(0, prior) times the factors."""
    root = np.sqrt(tau)
    rooted = root[:, None] * prior
    inner = rooted * root
    inner[np.diag_indices(len(tau))] += 1.0
    lower = np.linalg.cholesky(inner)
    solved = solve_triangular(lower, rooted, lower=True, check_finite=False)
    spread = np.maximum(np.diag(prior) - np.einsum("ij,ij->j", solved, solved), 1e-14)
    middle = prior @ nu - solved.T @ (solved @ nu)
    return middle, spread, -float(np.log(np.diag(lower)).sum())


def posterior_covariance(covariance: np.ndarray, precision: np.ndarray) -> np.ndarray:
    """(k, k) covariance of the limited values given all that is known: S - S (S + 1 / tau)^-1 S."""
    root = np.sqrt(precision)
    rooted = root[:, None] * covariance
    inner = rooted * root
    inner[np.diag_indices(len(root))] += 1.0
    return covariance - rooted.T @ np.linalg.solve(inner, rooted)
