"""The likelihood of a covariance model as a hill: its data laid out once, climbed inside bounds by the exact gradient."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...kernels.covariance import cross_products, squared_distances
from ...kernels.limited_likelihood import Evaluation, LimitedData, evaluate
from .contract import CannotFit

SCALES, START_SHARES = 7, (0.1, 0.5)
CLIMBED = 3
"""Starts that are climbed: the best of the scan, and its next peaks."""
SILL_SPAN = 5.0
"""The sill is sought within a factor exp(5) of that without a pattern: beyond, limits cannot be reconciled with it."""


@dataclass(frozen=True)
class Layout:
    """Pits as the likelihood takes them: places centred and divided by their extent ``size``, values by their ``spread``.

    ``low``, ``high`` (n,) equal where measured; ``error_variance`` (n,); ``trend`` (n, p), the first column ones;
    ``repeats``, ``within`` (n,) readings behind each value and their sum of squares about it, None = one each.
    """

    shape: np.ndarray
    low: np.ndarray
    high: np.ndarray
    error_variance: np.ndarray
    trend: np.ndarray
    strata: np.ndarray | None
    repeats: np.ndarray | None
    within: np.ndarray | None
    size: float
    spread: float
    centre: float

    @classmethod
    def of(cls, points, low, high, error_variance, trend, strata=None, repeats=None, within=None) -> Layout:
        exact = low == high
        if not exact.any():
            raise CannotFit("no pit has a value, all say only bounds")
        size = float(np.hypot(*np.ptp(points, axis=0)))
        if size == 0:
            raise CannotFit("all places are the same")
        finite = np.concatenate([low[exact], low[~exact & np.isfinite(low)], high[~exact & np.isfinite(high)]])
        spread = float(low[exact].std()) or float(finite.std()) or 1.0
        shape = (points - points.mean(axis=0)) / size
        return cls(shape, low, high, error_variance, trend, strata, repeats, within, size, spread, float(low[exact].mean()))

    def data(self, which: np.ndarray, by_direction: bool = False) -> LimitedData:
        """The pits ``which`` in the order the likelihood wants: measured first."""
        exact = self.low == self.high
        order = which[np.argsort(~exact[which], kind="stable")]
        measured, rest = order[exact[order]], order[~exact[order]]
        same = None if self.strata is None else self.strata[order][:, None] == self.strata[order][None, :]
        low, high = (self.low - self.centre) / self.spread, (self.high - self.centre) / self.spread
        return LimitedData(
            squared_distances(self.shape[order], self.shape[order]), self.trend[order], low[measured],
            self.error_variance[measured] / self.spread**2, low[rest], high[rest], same,
            None if self.repeats is None else 1.0 / self.repeats[order],
            (0.0, 0) if self.within is None
            else (float(self.within[order].sum()) / self.spread**2, int((self.repeats[order] - 1).sum())),
            cross_products(self.shape[order]) if by_direction else None,
        )  # fmt: skip


class Climb:
    """The likelihood as a function of log sill, nugget share and log scale, climbed inside bounds.

    A place of five numbers has both of a bend besides (kernels/covariance.py): the reach differs by direction.
    """

    def __init__(self, kind: str, data: LimitedData, residual: bool, shortest: float, longest: float, bend: float = 0.0) -> None:
        self.kind, self.data, self.residual = kind, data, residual
        least_share = 1e-4 if data.within[1] else 1e-6 if kind == "gaussian" else 0.0
        self.bounds = [(-14.0, 14.0), (least_share, 1.0), (shortest, longest), *[(-bend, bend)] * (2 if bend else 0)]
        self.last: Evaluation | None = None

    def at(self, theta: np.ndarray) -> Evaluation | None:
        """None where the covariance matrix is singular or the limits cannot be reconciled with the model."""
        for start in (self.last, None) if self.last is not None else (None,):
            try:
                found = evaluate(
                    self.kind, self.data, float(np.exp(theta[0])), float(theta[1]), float(np.exp(theta[2])),
                    residual=self.residual, start=start, bend=tuple(theta[3:]) if len(theta) > 3 else None,
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
                return 1e12, np.zeros(len(theta))
            if best[0] is None or found.log_likelihood > best[0].log_likelihood:
                best[:] = found, place.copy()
            return -found.log_likelihood, -found.gradient

        minimize(
            depth, theta, jac=True, method="L-BFGS-B", bounds=self.bounds, options={"maxiter": most, "ftol": 1e-10, "gtol": 1e-5}
        )  # fmt: skip
        if best[0] is None:
            raise CannotFit("the likelihood is not finite at the start of the search")
        return best[0], best[1]
