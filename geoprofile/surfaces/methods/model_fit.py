"""Fitting a covariance model by likelihood: a scan over ranges, then refinement at the best ones.

The likelihood of a spherical model has several maxima (Mardia & Watkins 1989), so a
single start is not enough. Coordinates are centred and divided by the layout's size,
values by their standard deviation: a shift of all northings changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...kernels.covariance import EFFECTIVE, Model, squared_distances
from ...kernels.likelihood import log_likelihood, rotate
from .contract import CannotFit

STRUCTURE = 5.99
"""Twice the gain in log likelihood that a range must bring over pure nugget: 95 % of chi-square, 2 degrees of freedom."""

FIT_AT_MOST = 400
"""With more data the model is fitted to a random part of this size: one scale costs about 9 n^3 operations."""

SHARES = np.concatenate([[0.0], np.geomspace(1e-3, 0.1, 7), np.linspace(0.15, 1.0, 18)])


@dataclass(frozen=True)
class ModelFit:
    """The fitted model and what the search saw. ``gain`` is twice the log likelihood above pure nugget."""

    model: Model
    log_likelihood: float
    gain: float
    residual: bool
    at_bound: str
    fitted_to: int

    @property
    def has_structure(self) -> bool:
        return self.gain >= STRUCTURE


def fit_model(
    kind: str,
    points: np.ndarray,
    values: np.ndarray,
    trend: np.ndarray,
    *,
    residual: bool = True,
    strata: np.ndarray | None = None,
    longest_m: float | None = None,
    rng: np.random.Generator | None = None,
) -> ModelFit:
    """Model of highest (residual) likelihood.

    Parameters
    ----------
    points : (n, 2) m; values : (n,); trend : (n, p), the first column ones.
    strata : (n,) codes: places of different strata are not correlated.
    longest_m : greatest effective range looked at, m; default the diagonal of the points' bounding box.

    Raises
    ------
    CannotFit where values are constant, too few, or the likelihood is not finite.
    """
    count = len(values)
    fitted_to = count
    if count > FIT_AT_MOST:
        chosen = np.sort((rng or np.random.default_rng(0)).choice(count, FIT_AT_MOST, replace=False))
        points, values, trend, fitted_to = points[chosen], values[chosen], trend[chosen], FIT_AT_MOST
        strata = None if strata is None else strata[chosen]
    if fitted_to < trend.shape[1] + 3:
        raise CannotFit(f"{fitted_to} pits are too few to fit a model with {trend.shape[1]} trend columns")
    size = float(np.hypot(*np.ptp(points, axis=0)))
    spread = float(values.std())
    if size == 0 or spread == 0:
        raise CannotFit("all places or all values are the same")
    shape = (points - points.mean(axis=0)) / size
    standard = (values - values.mean()) / spread
    d2 = squared_distances(shape, shape)
    same = None if strata is None else strata[:, None] == strata[None, :]

    def at(log_scale: float) -> tuple[float, float, float]:
        """Best log likelihood, nugget share and total sill at one scale."""
        return _best_share(rotate(kind, d2, float(np.exp(log_scale)), trend, standard, same), residual, kind)

    longest = (longest_m / size if longest_m else 1.0) / EFFECTIVE[kind]
    apart = np.sqrt(np.where(np.eye(fitted_to, dtype=bool), np.inf, d2).min(axis=1))
    shortest = min(max(float(np.median(apart)) / 2, 1e-4) / EFFECTIVE[kind], longest / 2)
    scan = np.linspace(np.log(shortest), np.log(longest), 13)
    found = [at(value) for value in scan]
    heights = np.array([item[0] for item in found])
    if not np.isfinite(heights).any():
        raise CannotFit("the likelihood is not finite for any range")
    heights = np.where(np.isfinite(heights), heights, -np.inf)
    best = max(_refined(at, scan, heights, found), key=lambda item: item[1][0])
    log_scale, (height, share, sill) = best
    nugget_only = float(log_likelihood(rotate(kind, d2, longest, trend, standard, same), [1.0], residual=residual)[0][0])
    at_bound = "longest" if log_scale > scan[-1] - 1e-3 else "shortest" if log_scale < scan[0] + 1e-3 else ""
    # back from standardised values: the density of z is that of z / spread divided by spread
    freedom = fitted_to - trend.shape[1] if residual else fitted_to
    model = Model(kind, share * sill * spread**2, (1 - share) * sill * spread**2, float(np.exp(log_scale)) * size)
    return ModelFit(
        model, height - freedom * np.log(spread), 2 * (height - nugget_only), residual, at_bound, fitted_to
    )


def _best_share(data, residual: bool, kind: str) -> tuple[float, float, float]:
    """Highest likelihood over the nugget share: a scan of all shares, then two finer scans around the best."""
    shares = SHARES if kind != "gaussian" else np.maximum(SHARES, 1e-6)  # a gaussian matrix without nugget is singular
    for _ in range(3):
        heights, sills = log_likelihood(data, shares, residual=residual)
        heights = np.where(np.isfinite(heights), heights, -np.inf)
        top = int(np.argmax(heights))
        best = float(heights[top]), float(shares[top]), float(sills[top])
        shares = np.linspace(shares[max(top - 1, 0)], shares[min(top + 1, len(shares) - 1)], 17)
    return best


def _refined(at, scan: np.ndarray, heights: np.ndarray, found: list):
    """The scan's own best, and the refined best near its two highest peaks.

    The likelihood of a compact model is ragged, so each peak is scanned once more before the last climb.
    """
    from scipy.optimize import minimize_scalar

    top = int(np.argmax(heights))
    yield scan[top], found[top]
    padded = np.concatenate([[-np.inf], heights, [-np.inf]])
    peaks = [i for i in range(len(scan)) if padded[i + 1] >= padded[i] and padded[i + 1] >= padded[i + 2]]
    for peak in sorted(peaks, key=lambda i: -heights[i])[:2]:
        if heights[peak] < heights[top] - 5:
            continue
        low, high = scan[max(peak - 1, 0)], scan[min(peak + 1, len(scan) - 1)]
        finer = np.linspace(low, high, 7)
        again = [at(value) for value in finer[1:-1]]
        best = int(np.argmax([item[0] for item in again])) + 1
        yield finer[best], again[best - 1]
        last = minimize_scalar(
            lambda value: -at(value)[0], bounds=(finer[best - 1], finer[best + 1]), method="bounded",
            options={"xatol": 0.004, "maxiter": 12},
        )  # fmt: skip
        yield last.x, at(last.x)
