"""What a flat stripping depth does where topsoil is thinner or thicker than it.

With thickness Z of normal error around the estimate, the subsoil that comes along at
a depth d is E max(d - Z, 0) = (d - m) F + s f, with F and f the normal distribution and
density at u = (d - m) / s; what stays behind is E max(Z - d, 0).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..kernels.areal import Z90


@dataclass(frozen=True)
class FlatStrip:
    """Hectares where topsoil is probably thinner (more likely than not) and surely thinner (95 %) than the depth;
    m3 of B and C that would come along, with limits; m3 of topsoil left behind."""

    thinner_ha: float
    surely_thinner_ha: float
    subsoil_m3: float
    subsoil_low90_m3: float
    subsoil_high90_m3: float
    left_behind_m3: float


def expected_excess(depth: float, mean: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """E max(depth - Z, 0) for normal Z, in the unit of depth; sd 0 is allowed."""
    from scipy.special import ndtr

    gap = depth - np.asarray(mean, float)
    sd = np.asarray(sd, float)
    u = gap / np.where(sd > 0, sd, 1)
    normal = gap * ndtr(u) + sd * np.exp(-u * u / 2) / np.sqrt(2 * np.pi)
    return np.where(sd > 0, normal, np.maximum(gap, 0))


def strip_of_cells(depth_cm: float, mean: np.ndarray, low: np.ndarray | None, high: np.ndarray | None) -> np.ndarray:
    """(6, m) what each cell adds to a :class:`FlatStrip`: 1 where thinner, 1 where surely thinner, then cm of soil.

    Without limits what needs them is NaN.
    """
    has_limits = low is not None and high is not None
    low, high = (low, high) if has_limits else (mean, mean)
    # the upper limit is never cut at 0, so the spread is read from it
    sd = np.maximum(high - mean, 0) / Z90
    unknown = np.full(len(mean), np.nan)
    return np.stack([
        (mean < depth_cm).astype(float),
        (high < depth_cm).astype(float) if has_limits else unknown,
        # thickness is not below 0: no more than the depth itself can be subsoil
        np.minimum(expected_excess(depth_cm, mean, sd), depth_cm),
        np.maximum(depth_cm - high, 0) if has_limits else unknown,
        np.maximum(depth_cm - np.maximum(low, 0), 0) if has_limits else unknown,
        expected_excess(-depth_cm, -mean, sd),
    ])  # fmt: skip


def flat_strip(sums: np.ndarray | None, cell_m2: float) -> FlatStrip:
    """From the sums (6,) of :func:`strip_of_cells` over a polygon's cells, by share; None = no cell has an estimate.

    Limits of the subsoil take the errors of all cells as one.
    """
    if sums is None:
        return FlatStrip(*[np.nan] * 6)
    ha, m3 = cell_m2 / 10_000, cell_m2 / 100
    return FlatStrip(*(float(one) * unit for one, unit in zip(sums, (ha, ha, m3, m3, m3, m3), strict=True)))


def flat_strip_of_pits(depth_cm: float, thickness_cm: np.ndarray, area_ha: float) -> FlatStrip:
    """The same from pits with known thickness, each standing for an equal part of the area; no limits."""
    thickness_cm = np.asarray(thickness_cm, float)
    if not len(thickness_cm):
        return FlatStrip(*[np.nan] * 6)
    subsoil = np.maximum(depth_cm - thickness_cm, 0).mean()
    left = np.maximum(thickness_cm - depth_cm, 0).mean()
    return FlatStrip((thickness_cm < depth_cm).mean() * area_ha, np.nan, subsoil * area_ha * 100, np.nan, np.nan,
                     left * area_ha * 100)  # fmt: skip
