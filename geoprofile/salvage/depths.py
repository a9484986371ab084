"""Mean depth of a lift in one polygon, with a 90 % interval of that mean and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..areal import areal_mean, error_model
from ..context import Context
from ..kernels.bounded import mass_intervals
from ..overlay import Cells
from ..products import Surfaces
from .volumes import t_limits


@dataclass(frozen=True)
class Depth:
    """``mean_cm``, ``low90_cm``, ``high90_cm`` (NaN = none) of the covered part; ``covered``: its share of the polygon."""

    mean_cm: float
    low90_cm: float
    high90_cm: float
    covered: float
    basis: str


@dataclass(frozen=True)
class MappedDepth:
    """A thickness surface in memory, with all that means over areas need. Arrays are flat, in grid order."""

    estimate: np.ndarray
    low: np.ndarray | None
    high: np.ndarray | None
    centres: np.ndarray
    model: object
    method: str


def mapped_depth(surfaces: Surfaces | None, attribute: str, context: Context) -> MappedDepth | None:
    """The attribute's surface, or None where it has none."""
    surface = next((one for one in (surfaces.surfaces if surfaces else ()) if one.attribute == attribute), None)
    if surface is None:
        return None
    estimate, low, high = (
        surfaces.rasters[key].read(context.output).ravel() if key else None
        for key in (surface.estimate, surface.low90, surface.high90)
    )
    return MappedDepth(estimate, low, high, surfaces.grid.centre_points(),
                       error_model(surface, surfaces, estimate, context), surface.method_title)  # fmt: skip


def depth_from_surface(mapped: MappedDepth, cells: Cells, polygon: int) -> Depth:
    """Mean over the cells of a polygon that have an estimate."""
    cell, share = cells.of(polygon)
    mean = areal_mean(cell, share, mapped.estimate, mapped.low, mapped.high, mapped.centres, mapped.model)
    inside = share[np.isfinite(mapped.estimate[cell])].sum() * cells.cell_m2
    covered = min(float(inside / cells.polygon_m2[polygon]), 1.0)
    if covered > 1 - 1e-6:
        covered = 1.0
    basis = f"surface by {mapped.method.lower()}; {mean.basis}" if covered else "the surface has no estimate here"
    return Depth(mean.mean, mean.low90, mean.high90, covered, basis)


def depth_from_pits(inside: pd.DataFrame, stratum: pd.DataFrame, every: pd.DataFrame, least: int) -> Depth:
    """Mean of the pits inside; of those of the stratum, then of all, where too few are inside.

    Each frame holds rows of ``Attributes.values`` of one thickness attribute. Pits that say
    nothing are left out. Bounds are respected: a pit that says 'at least' lifts the low limit
    and leaves no high one.
    """
    for frame, whose in ((inside, "inside"), (stratum, "of the same stratum"), (every, "of the whole survey")):
        known = frame[frame["status"] != "unknown"]
        if len(known) >= least:
            return _of_pits(known, f"{len(known)} pits {whose}")
    known = every[every["status"] != "unknown"]
    if len(known):
        return _of_pits(known, f"{len(known)} pits of the whole survey, too few to trust")
    return Depth(np.nan, np.nan, np.nan, 0.0, "no pit says anything of it")


def _of_pits(values: pd.DataFrame, whose: str) -> Depth:
    gone = (values["status"] == "absent").to_numpy()
    low = np.where(gone, 0.0, values["low"].to_numpy(float))
    high = np.where(gone, 0.0, values["high"].to_numpy(float))
    low = np.where(np.isnan(low), 0.0, low)  # a thickness is not below 0
    independent = "classical t interval, as if the pits were independent draws from the polygon"
    if (low == high).all():
        mean, low90, high90 = t_limits(low)
        return Depth(mean, _not_below_0(low90), high90, 1.0, f"{whose}; {independent}")
    bounded = int((low != high).sum())
    low90 = t_limits(low)[1]
    high90 = np.nan if np.isnan(high).any() else t_limits(high)[2]
    left, right, mass = mass_intervals(low, np.where(np.isnan(high), np.inf, high))
    # a mean exists only where the distribution is known to single values
    mean = float(mass @ left) if (left == right).all() else np.nan
    return Depth(mean, _not_below_0(low90), high90, 1.0,
                 f"{whose}, {bounded} of them with only bounds, which are respected; {independent}")  # fmt: skip


def _not_below_0(value: float) -> float:
    return value if np.isnan(value) else max(value, 0.0)
