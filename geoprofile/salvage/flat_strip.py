"""What one stripping depth does where topsoil is thinner or thicker than it.

With thickness Z of normal error around the estimate, and no thickness below 0, the subsoil
that comes along at a depth d is E max(d - max(Z, 0), 0); what stays behind is E max(Z - d, 0).
With F and f the normal distribution and density, E max(d - Z, 0) = (d - m) F(u) + s f(u) at
u = (d - m) / s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..kernels.areal import Z90

ROWS = 9
"""Numbers that each cell adds up to a :class:`FlatStrip`."""


@dataclass(frozen=True)
class FlatStrip:
    """What a cut of one depth does over a polygon.

    thinner_ha : expected hectares where topsoil is thinner than the depth: probability times land, added up.
    probably_thinner_ha : hectares of the places where it is more likely thinner than not.
    surely_thinner_ha : hectares of the places where it is thinner with 95 % probability.
    subsoil_m3, left_behind_m3 : expected m3 of B and C that come along, and of topsoil that stays, with limits.
    """

    thinner_ha: float
    probably_thinner_ha: float
    surely_thinner_ha: float
    subsoil_m3: float
    subsoil_low90_m3: float
    subsoil_high90_m3: float
    left_behind_m3: float
    left_behind_low90_m3: float
    left_behind_high90_m3: float


def expected_excess(depth: float, mean: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """E max(depth - Z, 0) for normal Z, in the unit of depth; sd 0 is allowed."""
    from scipy.special import ndtr

    gap = depth - np.asarray(mean, float)
    sd = np.asarray(sd, float)
    u = gap / np.where(sd > 0, sd, 1)
    normal = gap * ndtr(u) + sd * np.exp(-u * u / 2) / np.sqrt(2 * np.pi)
    return np.where(sd > 0, normal, np.maximum(gap, 0))


def probability_thinner(depth: float, mean: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """P(Z < depth) for normal Z; sd 0 is allowed."""
    from scipy.special import ndtr

    gap = depth - np.asarray(mean, float)
    return np.where(sd > 0, ndtr(gap / np.where(sd > 0, sd, 1)), (gap > 0).astype(float))


def strip_of_cells(depth_cm: float, mean: np.ndarray, low: np.ndarray | None, high: np.ndarray | None) -> np.ndarray:
    """(9, m) what each cell adds to a :class:`FlatStrip`: its share of hectares, then cm of soil.

    Without limits what needs them is NaN.
    """
    has_limits = low is not None and high is not None
    low, high = (low, high) if has_limits else (mean, mean)
    # the upper limit is never cut at 0, so the spread is read from it
    sd = np.maximum(high - mean, 0) / Z90
    rows = np.stack([
        probability_thinner(depth_cm, mean, sd),
        (mean < depth_cm).astype(float),
        (high < depth_cm).astype(float),
        # thickness is not below 0: no more than the depth itself can be subsoil
        np.maximum(expected_excess(depth_cm, mean, sd) - expected_excess(0.0, mean, sd), 0),
        np.maximum(depth_cm - high, 0),
        np.maximum(depth_cm - np.maximum(low, 0), 0),
        expected_excess(-depth_cm, -mean, sd),
        np.maximum(low - depth_cm, 0),
        np.maximum(high - depth_cm, 0),
    ])  # fmt: skip
    if not has_limits:
        rows[[0, 2, 4, 5, 7, 8]] = np.nan
    return rows


def flat_strip(sums: np.ndarray | None, cell_m2: float) -> FlatStrip:
    """From the sums (9,) of :func:`strip_of_cells` over a polygon's cells, by share; None = no cell has an estimate.

    Limits of the volumes take the errors of all cells as one. What is expected of a skewed amount can lie beyond them
    (a little subsoil, at few of many places): they reach to it.
    """
    if sums is None:
        return FlatStrip(*[np.nan] * ROWS)
    ha, m3 = cell_m2 / 10_000, cell_m2 / 100
    thinner, probably, surely, *volumes = (float(one) * unit for one, unit in zip(sums, (ha,) * 3 + (m3,) * 6, strict=True))
    return FlatStrip(thinner, probably, surely, *_reaching(*volumes[:3]), *_reaching(*volumes[3:]))


def _reaching(expected: float, low: float, high: float) -> tuple[float, float, float]:
    return expected, float(np.minimum(low, expected)), float(np.maximum(high, expected))


def flat_strip_of_pits(depth_cm: float, thickness_cm: np.ndarray, area_ha: float) -> FlatStrip:
    """The same from pits with known thickness, each standing for an equal part of the area; no limits, and no places."""
    thickness_cm = np.asarray(thickness_cm, float)
    if not len(thickness_cm) or np.isnan(depth_cm):
        return FlatStrip(*[np.nan] * ROWS)
    subsoil = np.maximum(depth_cm - thickness_cm, 0).mean() * area_ha * 100
    left = np.maximum(thickness_cm - depth_cm, 0).mean() * area_ha * 100
    thinner = (thickness_cm < depth_cm).mean() * area_ha
    return FlatStrip(float(thinner), np.nan, np.nan, float(subsoil), np.nan, np.nan, float(left), np.nan, np.nan)
