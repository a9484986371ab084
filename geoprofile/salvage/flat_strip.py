"""What a flat stripping depth does where topsoil is thinner or thicker than it.

With thickness Z of normal error around the estimate, the subsoil that comes along at
a depth d is E max(d - Z, 0) = (d - m) F + s f, with F and f the normal distribution and
density at u = (d - m) / s; what stays behind is E max(Z - d, 0).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..kernels.areal import Z90
from ..overlay import Cells
from .depths import MappedDepth


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


def flat_strip(depth_cm: float, mapped: MappedDepth, cells: Cells, polygon: int) -> FlatStrip:
    """Cell by cell from the surface; limits of the subsoil take the errors of all cells as one."""
    cell, share = cells.of(polygon)
    known = np.isfinite(mapped.estimate[cell])
    cell, share = cell[known], share[known]
    if not len(cell):
        return FlatStrip(*[np.nan] * 6)
    mean = mapped.estimate[cell]
    has_limits = mapped.low is not None and mapped.high is not None
    low, high = (mapped.low[cell], mapped.high[cell]) if has_limits else (mean, mean)
    # the upper limit is never cut at 0, so the spread is read from it
    sd = np.maximum(high - mean, 0) / Z90
    ha, m3 = cells.cell_m2 / 10_000, cells.cell_m2 / 100
    # thickness is not below 0: no more than the depth itself can be subsoil
    subsoil = np.minimum(expected_excess(depth_cm, mean, sd), depth_cm)
    left = expected_excess(-depth_cm, -mean, sd)
    return FlatStrip(
        float(share[mean < depth_cm].sum()) * ha,
        float(share[high < depth_cm].sum()) * ha if has_limits else np.nan,
        float(share @ subsoil) * m3,
        float(share @ np.maximum(depth_cm - high, 0)) * m3 if has_limits else np.nan,
        float(share @ np.maximum(depth_cm - np.maximum(low, 0), 0)) * m3 if has_limits else np.nan,
        float(share @ left) * m3,
    )


def flat_strip_of_pits(depth_cm: float, thickness_cm: np.ndarray, area_ha: float) -> FlatStrip:
    """The same from pits with known thickness, each standing for an equal part of the area; no limits."""
    thickness_cm = np.asarray(thickness_cm, float)
    if not len(thickness_cm):
        return FlatStrip(*[np.nan] * 6)
    subsoil = np.maximum(depth_cm - thickness_cm, 0).mean()
    left = np.maximum(thickness_cm - depth_cm, 0).mean()
    return FlatStrip((thickness_cm < depth_cm).mean() * area_ha, np.nan, subsoil * area_ha * 100, np.nan, np.nan,
                     left * area_ha * 100)  # fmt: skip
