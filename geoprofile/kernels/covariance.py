"""Covariance models: how alike two places are by the distance between them.

Each model has a nugget (jump at distance zero), a partial sill and a scale
``a``; with ``u = distance / a`` the correlation is

    spherical     1 - 1.5 u + 0.5 u^3 below u = 1, then exactly 0
    exponential   exp(-u)
    gaussian      exp(-u^2)
    matern        (1 + u) exp(-u), smoothness 1.5

(Webster & Oliver 2007, chapter 5). What libraries call "range" differs from one
to the next; people are shown the effective range, where the correlation has
fallen to 5 % (for the spherical model to 0).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

KINDS = ("spherical", "exponential", "gaussian", "matern")
COMPACT = ("spherical",)
"""Models whose correlation is exactly 0 beyond the scale."""

EFFECTIVE = {"spherical": 1.0, "exponential": 2.995732, "gaussian": 1.730818, "matern": 4.743865}
"""Effective range in units of the scale: the root of correlation = 0.05 (spherical: 0)."""


class Model(NamedTuple):
    """``nugget`` and ``partial_sill`` in squared units of the values, ``scale`` in the unit of the coordinates."""

    kind: str
    nugget: float
    partial_sill: float
    scale: float
    azimuth: float = 0.0
    """Direction of longest reach, degrees clockwise from north."""
    ratio: float = 1.0
    """Reach across that direction as a share of the reach along it; 1 = the same in all directions."""

    @property
    def sill(self) -> float:
        return self.nugget + self.partial_sill

    @property
    def effective_range(self) -> float:
        return EFFECTIVE[self.kind] * self.scale

    @property
    def is_compact(self) -> bool:
        return self.kind in COMPACT


def covariance_in_place(kind: str, partial_sill: float, u2: np.ndarray) -> np.ndarray:
    """Covariance without nugget for squared scaled distances ``u2``, which is overwritten.

    Few passes over memory: on a grid this is where the time goes.
    """
    if kind == "spherical":
        np.minimum(u2, 1.0, out=u2)
        out = u2 * (0.5 * partial_sill)
        out -= 1.5 * partial_sill
        np.sqrt(u2, out=u2)
        out *= u2
        out += partial_sill
        return out
    if kind == "gaussian":
        np.negative(u2, out=u2)
        np.exp(u2, out=u2)
        u2 *= partial_sill
        return u2
    np.sqrt(u2, out=u2)
    if kind == "exponential":
        np.negative(u2, out=u2)
        np.exp(u2, out=u2)
        u2 *= partial_sill
        return u2
    if kind == "matern":
        out = np.exp(-u2)
        u2 += 1.0
        out *= u2
        out *= partial_sill
        return out
    raise ValueError(f"there is no covariance model {kind!r}; models are {', '.join(KINDS)}")


def squared_distances(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """(n, m) squared distances between points (n, 2) and (m, 2), without cancellation at large coordinates."""
    dx = np.subtract.outer(a[:, 0], b[:, 0])
    dy = np.subtract.outer(a[:, 1], b[:, 1])
    dx *= dx
    dy *= dy
    dx += dy
    return dx


def metric(model: Model) -> tuple[float, float, float]:
    """(a, b, c) of the squared scaled distance a dx^2 + b dy^2 + c dx dy, x east and y north."""
    angle = np.deg2rad(model.azimuth)
    along, across = 1.0 / model.scale**2, 1.0 / (model.scale * model.ratio) ** 2
    sine, cosine = np.sin(angle), np.cos(angle)
    return (
        float(along * sine**2 + across * cosine**2), float(along * cosine**2 + across * sine**2),
        float(2 * (along - across) * sine * cosine),
    )  # fmt: skip


def stretched(points: np.ndarray, azimuth: float, ratio: float) -> np.ndarray:
    """Coordinates (n, 2) turned and stretched so that a model with this anisotropy is the same in all directions."""
    if ratio == 1.0:
        return points
    angle = np.deg2rad(azimuth)
    along = points[:, 0] * np.sin(angle) + points[:, 1] * np.cos(angle)
    across = points[:, 0] * np.cos(angle) - points[:, 1] * np.sin(angle)
    return np.column_stack([across / ratio, along])


def scaled_squares(model: Model, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """(n, m) squared distances between points (n, 2) and (m, 2) in units of the model's scale."""
    if model.ratio != 1.0:
        middle = a.mean(axis=0)  # large coordinates lose digits when turned
        a, b = stretched(a - middle, model.azimuth, model.ratio), stretched(b - middle, model.azimuth, model.ratio)
    d2 = squared_distances(a, b)
    d2 /= model.scale**2
    return d2


def covariance(model: Model, distance: np.ndarray) -> np.ndarray:
    """Covariance at distances >= 0, the nugget counted at distance 0."""
    distance = np.asarray(distance, float)
    smooth = covariance_in_place(model.kind, model.partial_sill, (distance / model.scale) ** 2)
    return smooth + np.where(distance == 0, model.nugget, 0.0)


def semivariance(model: Model, distance: np.ndarray) -> np.ndarray:
    """Half the mean squared difference at a distance: sill minus covariance, 0 at distance 0."""
    return model.sill - covariance(model, distance)
