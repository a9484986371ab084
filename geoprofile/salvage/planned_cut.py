"""The cut that is planned: one depth a polygon, rounded to what a machine can do and no thinner than the least lift.

Everything here is of that one depth, so that depth, area and volumes of a row agree: cut = depth x covered area, of which
the subsoil comes along by mistake; what the cut does not reach of the topsoil stays behind.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..settings.salvage import SalvageSettings
from .depths import MappedDepth
from .flat_strip import ROWS, FlatStrip, flat_strip, flat_strip_of_pits, strip_of_cells
from .volumes import bank_volume_m3, rounded_depth


@dataclass(frozen=True)
class PlannedCut:
    """``depth_cm``, ``cut_m3`` in place, what the cut does (``strip``), and the subsoil that only the least lift brings, m3."""

    depth_cm: float
    cut_m3: float
    strip: FlatStrip
    padded_m3: float


def is_planned(settings: SalvageSettings) -> bool:
    return settings.round_to_cm is not None or settings.minimum_lift_cm is not None


def strip_depths(mean_cm: float, settings: SalvageSettings) -> tuple[float, float]:
    """The depth of the cut, and what it would be without a least lift. Where nothing lies nothing is cut.

    The least lift is rounded up to a whole step: a thinner one was not wanted.
    """
    step = settings.round_to_cm
    plain = rounded_depth(mean_cm, step, settings.rounding) if step else float(mean_cm)
    least = settings.minimum_lift_cm or 0.0
    if np.isnan(mean_cm) or mean_cm <= 0:
        return plain, plain
    return max(plain, rounded_depth(least, step, "up") if step else least), plain


def planned_cut(
    mean_cm: float, covered_ha: float, mapped: MappedDepth | None, place: int, thickness_cm: np.ndarray, settings: SalvageSettings
) -> PlannedCut:
    """``thickness_cm``: of the pits that speak for the polygon where there is no surface. NaN where the mean is not known."""
    depth, plain = strip_depths(mean_cm, settings)
    if np.isnan(depth):
        return PlannedCut(np.nan, np.nan, FlatStrip(*[np.nan] * ROWS), np.nan)
    if mapped:
        sums = mapped.sums_in(place, lambda *cells: np.vstack([strip_of_cells(one, *cells) for one in (depth, plain)]))
        parts = (None, None) if sums is None else (sums[:ROWS], sums[ROWS:])
        of_cut, of_plain = (flat_strip(part, mapped.cell_m2) for part in parts)
    else:
        of_cut, of_plain = (flat_strip_of_pits(one, thickness_cm, covered_ha) for one in (depth, plain))
    return PlannedCut(depth, bank_volume_m3(depth, covered_ha), of_cut, max(of_cut.subsoil_m3 - of_plain.subsoil_m3, 0.0))


def planned_columns(cut: PlannedCut, settings: SalvageSettings) -> dict[str, float]:
    volumes = {"planned_cut_m3": cut.cut_m3} | {
        f"planned_{name}": getattr(cut.strip, name)
        for what in ("subsoil", "left_behind")
        for name in (f"{what}_m3", f"{what}_low90_m3", f"{what}_high90_m3")
    }
    if settings.minimum_lift_cm is not None:
        volumes["padded_with_subsoil_m3"] = cut.padded_m3
    return {"strip_depth_cm": round(cut.depth_cm, 2)} | {name: round(value, 1) for name, value in volumes.items()}
