"""Fitting a covariance model by likelihood when some values are known only within limits.

As model_fit.py, of which this is the general form: several starts over the range and
the nugget share, each climbed with the exact gradient inside bounds; the best is kept
and a bound that stopped it is named. With many pits the search runs on a random part
and one polish on all.
"""

from __future__ import annotations

import numpy as np

from ...kernels.covariance import EFFECTIVE, Model
from .climbing import Climb, Layout
from .model_fit import FIT_AT_MOST, ModelFit

POLISH_AT_MOST = 3000
"""With more pits than this the model of the random part stands: one step costs several n^3 operations."""


def fit_limited(
    kind: str,
    points: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    error_variance: np.ndarray,
    trend: np.ndarray,
    *,
    residual: bool = True,
    strata: np.ndarray | None = None,
    longest_m: float | None = None,
    rng: np.random.Generator | None = None,
    start: Model | None = None,
    repeats: np.ndarray | None = None,
    within: np.ndarray | None = None,
) -> ModelFit:
    """Model of highest (residual) likelihood.

    Parameters
    ----------
    points : (n, 2) m, stretched where there is anisotropy; low, high : (n,), equal where measured.
    error_variance : (n,) of measured readings; trend : (n, p), the first column ones.
    start : begin only here, as when a part of the pits is fitted after all of them.
    repeats, within : (n,) readings behind each value, and their sum of squares about it, where the nugget is
        the error of a reading; None = one reading each.
    """
    count = len(points)
    layout = Layout.of(points, low, high, error_variance, trend, strata, repeats, within)
    size, spread, data = layout.size, layout.spread, layout.data
    chosen, fitted_to = np.arange(count), count
    if count > FIT_AT_MOST:
        chosen, fitted_to = np.sort((rng or np.random.default_rng(0)).choice(count, FIT_AT_MOST, replace=False)), FIT_AT_MOST
    some = data(chosen)
    if some.measured < trend.shape[1] + 2 or np.linalg.matrix_rank(some.trend[: some.measured]) < trend.shape[1]:
        chosen, fitted_to = np.arange(count), count
        some = data(chosen)
    longest = (longest_m / size if longest_m else 1.0) / EFFECTIVE[kind]
    d2 = some.d2 + np.where(np.eye(len(some.d2), dtype=bool), np.inf, 0.0)
    shortest = min(max(float(np.median(np.sqrt(d2.min(axis=1)))) / 2, 1e-4) / EFFECTIVE[kind], longest / 2)
    climb = Climb(kind, some, residual, np.log(shortest), np.log(longest))
    flat = climb.nugget_only()
    if start is None:
        best = climb.from_scan(flat)
    else:
        begin = np.log(max(start.sill, 1e-12) / spread**2), start.nugget / max(start.sill, 1e-300), np.log(start.scale / size)
        best = climb.up(np.array(begin), flat)
    gain = 2 * (best[0].log_likelihood - flat.log_likelihood)
    if fitted_to < count <= POLISH_AT_MOST and start is None:
        everything = Climb(kind, data(np.arange(count)), residual, np.log(shortest), np.log(longest))
        everything.bounds[0] = climb.bounds[0]
        best = everything.up(best[1], None, most=8)
    found, theta = best
    freedom = some.measured - (trend.shape[1] if residual else 0)
    sill = float(np.exp(theta[0])) * spread**2
    model = Model(kind, float(theta[1]) * sill, (1 - float(theta[1])) * sill, float(np.exp(theta[2])) * size)
    at_bound = "longest" if theta[2] > np.log(longest) - 1e-3 else "shortest" if theta[2] < np.log(shortest) + 1e-3 else ""
    return ModelFit(model, found.log_likelihood - freedom * np.log(spread), gain, residual, at_bound, fitted_to)
