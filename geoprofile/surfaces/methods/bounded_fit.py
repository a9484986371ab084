"""Fitting a covariance model by likelihood when some values are known only within limits.

As model_fit.py, of which this is the general form: several starts over the range and
the nugget share, each climbed with the exact gradient inside bounds; the best is kept
and a bound that stopped it is named. With many pits the search runs on a random part
and one polish on all.
"""

from __future__ import annotations

import numpy as np

from ...kernels.covariance import EFFECTIVE, Model, squared_distances
from ...kernels.limited_likelihood import Evaluation, LimitedData, evaluate
from .contract import CannotFit
from .model_fit import FIT_AT_MOST, ModelFit

SCALES, START_SHARES = 7, (0.1, 0.5)
CLIMBED = 3
"""Starts that are climbed: the best of the scan, and its next peaks."""
SILL_SPAN = 5.0
"""The sill is sought within a factor exp(5) of that without a pattern: beyond, limits cannot be reconciled with it."""
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
    exact = low == high
    if not exact.any():
        raise CannotFit("no pit has a value, all say only bounds")
    size = float(np.hypot(*np.ptp(points, axis=0)))
    if size == 0:
        raise CannotFit("all places are the same")
    finite = np.concatenate([low[exact], low[~exact & np.isfinite(low)], high[~exact & np.isfinite(high)]])
    spread = float(low[exact].std()) or float(finite.std()) or 1.0
    centre = float(low[exact].mean())
    shape = (points - points.mean(axis=0)) / size

    def data(which: np.ndarray) -> LimitedData:
        order = which[np.argsort(~exact[which], kind="stable")]
        measured, rest = order[exact[order]], order[~exact[order]]
        same = None if strata is None else strata[order][:, None] == strata[order][None, :]
        return LimitedData(
            squared_distances(shape[order], shape[order]), trend[order], (low[measured] - centre) / spread,
            error_variance[measured] / spread**2, (low[rest] - centre) / spread, (high[rest] - centre) / spread, same,
            None if repeats is None else 1.0 / repeats[order],
            (0.0, 0) if within is None else (float(within[order].sum()) / spread**2, int((repeats[order] - 1).sum())),
        )  # fmt: skip

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
    climb = _Climb(kind, some, residual, np.log(shortest), np.log(longest))
    flat = climb.nugget_only()
    if start is None:
        best = climb.from_scan(flat)
    else:
        begin = np.log(max(start.sill, 1e-12) / spread**2), start.nugget / max(start.sill, 1e-300), np.log(start.scale / size)
        best = climb.up(np.array(begin), flat)
    gain = 2 * (best[0].log_likelihood - flat.log_likelihood)
    if fitted_to < count <= POLISH_AT_MOST and start is None:
        everything = _Climb(kind, data(np.arange(count)), residual, np.log(shortest), np.log(longest))
        everything.bounds[0] = climb.bounds[0]
        best = everything.up(best[1], None, most=8)
    found, theta = best
    freedom = some.measured - (trend.shape[1] if residual else 0)
    sill = float(np.exp(theta[0])) * spread**2
    model = Model(kind, float(theta[1]) * sill, (1 - float(theta[1])) * sill, float(np.exp(theta[2])) * size)
    at_bound = "longest" if theta[2] > np.log(longest) - 1e-3 else "shortest" if theta[2] < np.log(shortest) + 1e-3 else ""
    return ModelFit(model, found.log_likelihood - freedom * np.log(spread), gain, residual, at_bound, fitted_to)


class _Climb:
    """The likelihood as a function of log sill, nugget share and log scale, climbed inside bounds."""

    def __init__(self, kind: str, data: LimitedData, residual: bool, shortest: float, longest: float) -> None:
        self.kind, self.data, self.residual = kind, data, residual
        least_share = 1e-4 if data.within[1] else 1e-6 if kind == "gaussian" else 0.0
        self.bounds = [(-14.0, 14.0), (least_share, 1.0), (shortest, longest)]
        self.last: Evaluation | None = None

    def at(self, theta: np.ndarray) -> Evaluation | None:
        """None where the covariance matrix is singular or the limits cannot be reconciled with the model."""
        for start in (self.last, None) if self.last is not None else (None,):
            try:
                found = evaluate(
                    self.kind, self.data, float(np.exp(theta[0])), float(theta[1]), float(np.exp(theta[2])),
                    residual=self.residual, start=start,
                )  # fmt: skip
            except np.linalg.LinAlgError:
                continue
            if found.limited.settled and np.isfinite(found.log_likelihood):
                self.last = found
                return found
        return None

    def nugget_only(self) -> Evaluation:
        """The best model without any pattern; its log sill is kept as the start of all others."""
        theta, step = np.array([0.0, 1.0, self.bounds[2][0]]), 0.5
        found = self.at(theta)
        if found is None:
            raise CannotFit("the likelihood is not finite even without a pattern")
        slope = found.gradient[0]
        for _ in range(40):  # secant on the slope by log sill, which falls steadily
            moved = theta + [np.clip(step, -2, 2), 0, 0]
            new = self.at(moved)
            if new is None:
                break
            change = new.gradient[0] - slope
            step = -new.gradient[0] * (moved[0] - theta[0]) / change if abs(change) > 1e-12 else 0.0
            theta, found, slope = moved, new, new.gradient[0]
            if abs(slope) < 1e-5 * len(self.data.d2) or not -14 < theta[0] + step < 14:
                break
        self.flat_sill = float(theta[0])
        self.bounds[0] = (self.flat_sill - SILL_SPAN, self.flat_sill + SILL_SPAN)
        return found

    def from_scan(self, flat: Evaluation) -> tuple[Evaluation, np.ndarray]:
        starts = []
        scales = np.linspace(*self.bounds[2], SCALES + 1)[1:]
        for scale in scales:
            found = [(self.at(theta), theta) for theta in (np.array([self.flat_sill, share, scale]) for share in START_SHARES)]
            found = [item for item in found if item[0] is not None]
            if found:
                starts.append(max(found, key=lambda item: item[0].log_likelihood))
        if not starts:
            raise CannotFit("the likelihood is not finite for any range")
        heights = np.array([item[0].log_likelihood for item in starts])
        padded = np.concatenate([[-np.inf], heights, [-np.inf]])
        peaks = [i for i in range(len(starts)) if padded[i + 1] >= padded[i] and padded[i + 1] >= padded[i + 2]]
        order = sorted(peaks, key=lambda i: -heights[i])
        order += [i for i in np.argsort(-heights) if i not in order]
        climbed = [self.up(starts[i][1], starts[i][0]) for i in order[:CLIMBED]]
        return max(climbed, key=lambda item: item[0].log_likelihood)

    def up(self, theta: np.ndarray, last: Evaluation | None, most: int = 60) -> tuple[Evaluation, np.ndarray]:
        from scipy.optimize import minimize

        self.last = last
        theta = np.array([np.clip(value, *bound) for value, bound in zip(theta, self.bounds, strict=True)])
        best = [None, theta]

        def depth(place: np.ndarray) -> tuple[float, np.ndarray]:
            found = self.at(place)
            if found is None:
                return 1e12, np.zeros(3)
            if best[0] is None or found.log_likelihood > best[0].log_likelihood:
                best[:] = found, place.copy()
            return -found.log_likelihood, -found.gradient

        minimize(
            depth, theta, jac=True, method="L-BFGS-B", bounds=self.bounds, options={"maxiter": most, "ftol": 1e-10, "gtol": 1e-5}
        )  # fmt: skip
        if best[0] is None:
            raise CannotFit("the likelihood is not finite at the start of the search")
        return best[0], best[1]
