"""Kriging from the nearest pits only, limited by count and by distance.

The full system (kriging.py) needs no such limit; it is for those who want that nothing
remote speaks for a place: the mean then follows the pits around (Webster & Oliver 2007,
section 8.5). Where fewer than ``least`` pits lie within the distance there is no value.
Such a surface has small steps where a pit comes or goes.
"""

from __future__ import annotations

import numpy as np

from .covariance import covariance_in_place, stretched
from .kriging import AT_DATUM, System, with_constant

AT_ONCE = 1_000_000
"""Numbers of the local matrices held at once."""


def predict_near(
    system: System,
    points: np.ndarray,
    drift: np.ndarray | None = None,
    *,
    most: int,
    within: float = np.inf,
    least: int = 3,
    without_own: bool = False,
) -> tuple[np.ndarray, np.ndarray]:
    """Estimate and variance, each (m,), at ``points`` (m, 2) with ``drift`` (m, p - 1); NaN where too few pits are near.

    Parameters
    ----------
    most : so many nearest pits at most. within : m; pits farther away say nothing.
    least : fewer pits than this, or than trend columns and one: no value.
    without_own : ``points`` are the data themselves, each predicted without itself.
    """
    points = np.asarray(points, float).reshape(-1, 2)
    estimate, variance = np.full(len(points), np.nan), np.full(len(points), np.nan)
    for part, _, weights, values, found in _in_parts(system, points, drift, most, within, least, without_own):
        estimate[part], variance[part] = np.einsum("mk,mk->m", weights, values), found
    return estimate, variance


def mean_weights(
    system: System, points: np.ndarray, drift: np.ndarray | None, share: np.ndarray, *, most: int, within: float = np.inf, least: int = 3
) -> np.ndarray:
    """(n,) weight of each datum in the mean over ``points`` (m, 2) by ``share`` (m,); NaN where a point has no value."""
    found, told = np.zeros(len(system.points)), 0
    for part, index, weights, _, _ in _in_parts(system, points, drift, most, within, least, False):
        found += np.bincount(index.ravel(), (weights * share[part, None]).ravel(), len(found))
        told += len(part)
    return found if told == len(points) else np.full(len(found), np.nan)


def _in_parts(system: System, points: np.ndarray, drift: np.ndarray | None, most: int, within: float, least: int, without_own: bool):
    """Points that have enough neighbours, some at a time: their places, neighbours, weights, neighbours' values, variance."""
    from scipy.spatial import cKDTree

    points = np.asarray(points, float).reshape(-1, 2)
    origin, count = system.points.mean(axis=0), len(system.points)
    ask = min(most + without_own, count)
    away, near = cKDTree(system.points - origin).query(points - origin, k=ask, distance_upper_bound=within)
    away, near = away.reshape(len(points), ask), near.reshape(len(points), ask)
    if without_own:
        own = near == np.arange(len(points))[:, None]
        own[~own.any(axis=1), -1] = True  # not among them: the farthest goes instead
        away, near = (array[~own].reshape(len(points), ask - 1) for array in (away, near))
    trend = with_constant(drift, len(points))
    enough = (near < count).sum(axis=1) >= max(least, trend.shape[1] + 1)
    which = np.flatnonzero(enough)
    step = max(1, AT_ONCE // max(ask * ask, 1))
    for start in range(0, len(which), step):
        part = which[start : start + step]
        yield part, *_local(system, points[part], trend[part], near[part], away[part])


def _local(
    system: System, points: np.ndarray, trend: np.ndarray, near: np.ndarray, away: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """All local systems at once; a place with fewer neighbours has rows of the identity in their stead.

    Neighbours (m, k), their weights and values, and the variance (m,).
    """
    model, size = system.model, near.shape[1]
    there = near < len(system.points)
    index = np.where(there, near, 0)
    places = stretched((system.points - system.points[0]), model.azimuth, model.ratio)[index]
    target = stretched(points - system.points[0], model.azimuth, model.ratio)

    def smooth(difference: np.ndarray) -> np.ndarray:
        return covariance_in_place(model.kind, model.partial_sill, (difference**2).sum(axis=-1) / model.scale**2)

    matrix = smooth(places[:, :, None, :] - places[:, None, :, :])
    both = there[:, :, None] & there[:, None, :]
    matrix *= both
    error = 0.0 if system.error_variance is None else system.error_variance[index]
    diagonal = np.arange(size)
    matrix[:, diagonal, diagonal] += np.where(there, model.nugget + error + system.jitter * model.sill, 1.0)
    cross = smooth(places - target[:, None, :])
    if not system.nugget_is_error:
        cross = np.where(away < AT_DATUM, model.sill, cross)
    cross *= there
    columns = system.trend[index] * there[:, :, None]
    values = system.values[index] * there
    solved = np.linalg.solve(matrix, np.concatenate([columns, cross[:, :, None]], axis=2))
    by_trend, by_cross = solved[:, :, :-1], solved[:, :, -1]
    information = np.einsum("mkp,mkq->mpq", columns, by_trend)
    # pits around a place may not tell the trend there: then there is no value
    told = np.linalg.cond(information) < 1e12
    information[~told] = np.eye(information.shape[1])
    lack = trend - np.einsum("mkp,mk->mp", by_trend, cross)
    share = np.linalg.solve(information, lack[:, :, None])[:, :, 0]
    weights = by_cross + np.einsum("mkp,mp->mk", by_trend, share)
    variance = system.variance_at_zero - np.einsum("mk,mk->m", cross, by_cross) + np.einsum("mp,mp->m", lack, share)
    weights[~told] = np.nan
    return index, weights, values, np.where(told, np.maximum(variance, 0.0), np.nan)
