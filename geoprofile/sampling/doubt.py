"""Where a further pit makes a surface surest, exactly and before it is dug.

How sure kriging is depends on where pits lie, not on what they show. With V the
covariance of what the surface may be wrong by at all cells, a pit in cell j takes
V_ij^2 / (V_jj + nugget) off the variance of cell i. What is made small is

* the mean variance of the land (van Groenigen & Stein 1998, Journal of Environmental
  Quality 27:1078-1086); or
* near a limit, the land expected to lie on the other side of it than the surface says.
  A cell with standardised distance a from the limit is on the wrong side with probability
  min(p, 1 - p). After pits that leave the variance s^2 of s0^2, expected over what they
  may show, that is 2 T(a, s / sqrt(s0^2 - s^2)) with Owen's T (Owen 1956, Annals of
  Mathematical Statistics 27:1075-1090).

Pits are added one by one, each the best next one, and then moved one at a time while that
helps. The nugget is in what a pit shows, not in what is asked: a place on the map means
the land around a pit, not the pit itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .chosen import Chosen
from .coverage import refuse_too_many

MOST_LAND = 2_500
"""Cells that stand for the land: their covariances are all held at once."""
MOST_SITES = 1_500
MOVES = 3
"""Rounds of moving pits one at a time; more than MOST_MOVED pits are not moved."""
MOST_MOVED = 20


@dataclass(frozen=True)
class Question:
    """What is to become surer. ``measure``, ``unit``: words. ``factor``: from mean per cell to the unit.

    ``margin``: (m,) estimate minus limit at the land's cells, None = no limit.
    """

    measure: str
    unit: str
    factor: float = 1.0
    margin: np.ndarray | None = None


def shrink_doubt(
    land: np.ndarray,
    sites: np.ndarray,
    covariance: Callable[[np.ndarray], np.ndarray],
    nugget: Callable[[np.ndarray], np.ndarray],
    number: int,
    question: Question,
) -> Chosen:
    """Places for ``number`` further pits.

    Parameters
    ----------
    land : (m, 2) cells that stand for the land; sites : (k, 2) cells in which a pit may be dug.
    covariance : of the errors at points (a, 2) -> (a, a), the nugget left out.
    nugget : at points (a, 2) -> (a,).
    """
    refuse_too_many(number, len(sites))
    points = np.vstack([land, sites])
    state = _State(covariance(points), nugget(sites), len(land), question)
    chosen: list[int] = []
    for _ in range(number):
        chosen.append(state.best_next(chosen))
    if number <= MOST_MOVED:
        chosen = _moved(state, chosen)
    order, gains, before, after = _by_gain(state, chosen)
    return Chosen(sites[order], gains * question.factor, before * question.factor, after * question.factor,
                  question.measure, question.unit)  # fmt: skip


class _State:
    """The errors' covariance between land and sites, and what it becomes with pits."""

    def __init__(self, covariance: np.ndarray, nugget: np.ndarray, land: int, question: Question) -> None:
        self.variance = np.maximum(np.diag(covariance)[:land], 0.0)
        self.between = covariance[:land, land:]
        self.own = covariance[land:, land:]
        self.nugget = np.maximum(nugget, 1e-9 * max(float(np.diag(covariance).max()), 1e-300))
        self.margin = question.margin
        if self.margin is not None:
            self.away = np.abs(self.margin) / np.sqrt(np.maximum(self.variance, 1e-12))

    def with_pits(self, chosen: list[int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Variance of the land (m,), covariance of land and sites (m, k), variance of the sites (k,), given pits at ``chosen``."""
        if not chosen:
            return self.variance, self.between, np.diag(self.own)
        pits = np.array(chosen)
        lower = np.linalg.cholesky(self.own[np.ix_(pits, pits)] + np.diag(self.nugget[pits]))
        to_land = np.linalg.solve(lower, self.between[:, pits].T)
        to_sites = np.linalg.solve(lower, self.own[pits])
        variance = np.maximum(self.variance - np.einsum("ij,ij->j", to_land, to_land), 0.0)
        own = np.maximum(np.diag(self.own) - np.einsum("ij,ij->j", to_sites, to_sites), 0.0)
        return variance, self.between - to_land.T @ to_sites, own

    def measure(self, variance: np.ndarray) -> np.ndarray:
        """Mean over the land, of variances (m,) or (m, k): (,) or (k,)."""
        if self.margin is None:
            return variance.mean(axis=0)
        first = self.variance if variance.ndim == 1 else self.variance[:, None]
        away = self.away if variance.ndim == 1 else self.away[:, None]
        return wrong_side(away, first, variance).mean(axis=0)

    def best_next(self, chosen: list[int]) -> int:
        variance, between, own = self.with_pits(chosen)
        then = np.empty(len(own))
        for start in range(0, len(own), 200):
            part = slice(start, start + 200)
            taken = between[:, part] ** 2 / (own[part] + self.nugget[part])
            then[part] = self.measure(np.maximum(variance[:, None] - taken, 0.0))
        then[np.array(chosen, int)] = np.inf
        return int(np.argmin(then))

    def value(self, chosen: list[int]) -> float:
        return float(self.measure(self.with_pits(chosen)[0]))


def wrong_side(away: np.ndarray, before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """Probability that a value lies on the other side of a limit than its estimate, expected before pits are dug.

    ``away`` : distance of the present estimate from the limit, in present standard errors;
    ``before``, ``after`` : the variance now and with the pits.
    """
    from scipy.special import owens_t

    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.sqrt(after / np.maximum(before - after, 0.0))
    return 2 * owens_t(away, np.where(before > after, ratio, np.inf))


def _moved(state: _State, chosen: list[int]) -> list[int]:
    now = state.value(chosen)
    for _ in range(MOVES):
        before = now
        for place in range(len(chosen)):
            rest = chosen[:place] + chosen[place + 1 :]
            other = [*rest, state.best_next(rest)]
            value = state.value(other)
            if value < now * (1 - 1e-9):
                chosen, now = other, value
        if now >= before * (1 - 1e-6):
            break
    return chosen


def _by_gain(state: _State, chosen: list[int]) -> tuple[list[int], np.ndarray, float, float]:
    left, order, gains = list(chosen), [], []
    before = now = state.value([])
    while left:
        then = [state.value([*order, one]) for one in left] if len(left) <= MOST_MOVED else [state.value([*order, left[0]])]
        best = int(np.argmin(then))
        gains.append(now - then[best])
        now = then[best]
        order.append(left.pop(best))
    return order, np.array(gains), before, now
