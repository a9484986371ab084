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


def bent_squares(d2: np.ndarray, across: np.ndarray, bend: tuple[float, float]) -> np.ndarray:
    """(n, m) squared distances when the reach is longer one way; :func:`bend_of` says what ``bend`` is.

    ``across`` (2, n, m) from :func:`cross_products`. Plain distances where ``bend`` is (0, 0), and smooth there: an azimuth and
    a ratio are not, because without a ratio there is no azimuth.
    """
    strength = float(np.hypot(*bend))
    share = 2.0 if strength < 1e-8 else np.sinh(2 * strength) / strength
    return d2 * np.cosh(2 * strength) - share * (bend[0] * across[0] + bend[1] * across[1])


def bent_slopes(d2: np.ndarray, across: np.ndarray, bend: tuple[float, float]) -> np.ndarray:
    """(2, n, m) derivatives of :func:`bent_squares` by both numbers of ``bend``."""
    strength = float(np.hypot(*bend))
    if strength < 1e-8:
        return -2.0 * across
    sinh, cosh = np.sinh(2 * strength), np.cosh(2 * strength)
    along = bend[0] * across[0] + bend[1] * across[1]
    common = 2 * sinh / strength * d2 - (2 * strength * cosh - sinh) / strength**3 * along
    return np.stack([bend[k] * common - sinh / strength * across[k] for k in (0, 1)])


def cross_products(points: np.ndarray) -> np.ndarray:
    """(2, n, n) of differences east dx and north dy: dy^2 - dx^2, and 2 dx dy."""
    dx = np.subtract.outer(points[:, 0], points[:, 0])
    dy = np.subtract.outer(points[:, 1], points[:, 1])
    return np.stack([dy * dy - dx * dx, 2 * dx * dy])


def bend_of(azimuth: float, ratio: float) -> tuple[float, float]:
    """Strength times cosine and sine of twice the azimuth; the strength is half of -log ratio, as scales go with its square root."""
    strength, angle = -0.5 * np.log(ratio), np.deg2rad(2 * azimuth)
    return float(strength * np.cos(angle)), float(strength * np.sin(angle))


def direction_of(bend: tuple[float, float]) -> tuple[float, float]:
    """Azimuth of longest reach, 0 to 180 degrees, and the ratio of reach across it; inverse of :func:`bend_of`."""
    return float(np.rad2deg(np.arctan2(bend[1], bend[0])) / 2 % 180.0), float(np.exp(-2 * np.hypot(*bend)))


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
