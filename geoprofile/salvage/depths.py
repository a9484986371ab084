"""Mean depth of a lift in one polygon, with a 90 % interval of that mean and what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely

from ..areal import (
    Area,
    ArealMean,
    Layers,
    Tally,
    areal_mean,
    areas_in,
    draws_over,
    land_model,
    layers_of,
    mean_of_all,
    why_no_model,
)
from ..context import Context
from ..grid import Grid
from ..kernels.bounded import mass_intervals
from ..products import Surfaces
from .volumes import t_limits, t_limits_of_a_place


@dataclass(frozen=True)
class Depth:
    """``mean_cm``, ``low90_cm``, ``high90_cm`` (NaN = none) of the covered part; ``covered``: its share of the polygon."""

    mean_cm: float
    low90_cm: float
    high90_cm: float
    covered: float
    basis: str
    areal: ArealMean | None = None
    """How the mean may vary, where it comes from a surface."""


@dataclass(frozen=True)
class MappedDepth:
    """A thickness surface as the polygons need it."""

    areas: list[Area]
    """The land of each polygon that has an estimate."""
    grid: Grid
    polygon_m2: np.ndarray
    model: object
    method: str
    why: str = ""
    """Why there is no model, where there is none."""
    drawn: np.ndarray | None = None
    """(polygons, draws) simulated means, where the model is not normal."""
    shapes: Sequence[shapely.Geometry] = ()
    layers: Layers | None = None
    cautions: tuple[str, ...] = ()
    """What nobody who uses the surface may miss."""

    @property
    def cell_m2(self) -> float:
        return self.grid.cell_m**2

    def sums_in(self, polygon: int, tally: Tally) -> np.ndarray | None:
        """(q,) what ``tally`` adds up over the cells of a polygon, by share; None where none has an estimate.

        For what depends on the polygon's own mean: its cells are read a second time.
        """
        return areas_in([self.shapes[polygon]], self.grid, self.layers, tally)[0].sums


def mapped_depth(
    surfaces: Surfaces | None, attribute: str, shapes: Sequence[shapely.Geometry], tally: Tally, seed: int, context: Context
) -> MappedDepth | None:
    """The attribute's surface in each polygon, or None where it has none.

    ``tally``: what is summed over each polygon besides (areal/area.py).
    """
    surface = next((one for one in (surfaces.surfaces if surfaces else ()) if one.attribute == attribute), None)
    if surface is None:
        return None
    layers = layers_of(surface, surfaces, context)
    areas = areas_in(shapes, surfaces.grid, layers, tally)
    model = land_model(surface, surfaces, context)
    drawn = None if model is None or model.is_normal else draws_over(model, areas, seed=seed).mean
    return MappedDepth(
        areas, surfaces.grid, shapely.area(np.asarray(shapes, object)), model, surface.method_title,
        "" if model else why_no_model(surface), drawn, shapes, layers, surface.cautions,
    )  # fmt: skip


def mean_depth_of_all(mapped: MappedDepth, seed: int) -> ArealMean | None:
    """Of all polygons together; None where the model gives no interval of it."""
    return mean_of_all(mapped.areas, mapped.grid, mapped.model, seed)


def depth_from_surface(mapped: MappedDepth, polygon: int) -> Depth:
    """Mean over the cells of a polygon that have an estimate."""
    area = mapped.areas[polygon]
    mean = areal_mean(area, mapped.model, why=mapped.why, drawn=None if mapped.drawn is None else mapped.drawn[polygon])
    covered = min(float(area.backed * mapped.cell_m2 / mapped.polygon_m2[polygon]), 1.0)
    if covered > 1 - 1e-6:
        covered = 1.0
    heads = "".join(f"; caution: {caution.split(':')[0]}" for caution in mapped.cautions)
    basis = f"surface by {mapped.method.lower()}; {mean.basis}{heads}" if covered else "the surface has no estimate here"
    return Depth(mean.mean, mean.low90, mean.high90, covered, basis, mean)


@dataclass(frozen=True)
class ChosenPits:
    """Rows of ``Attributes.values`` that say something of the lift, whose they are, and whether they lie inside."""

    values: pd.DataFrame
    whose: str
    inside: bool
    far: bool = False
    """Whether they are those of the whole survey, too few being inside or of the same stratum."""

    @property
    def known_cm(self) -> np.ndarray:
        """Thicknesses of the pits that have one value; an absent lift is 0."""
        absent = self.values["status"] == "absent"
        known = absent | (self.values["low"] == self.values["high"])
        return np.where(absent, 0.0, self.values["low"].to_numpy(float))[known.to_numpy()]


def choose_pits(inside: pd.DataFrame, stratum: pd.DataFrame, every: pd.DataFrame, least: int) -> ChosenPits:
    """The pits inside; those of the stratum, then all, where too few are inside. Unknown ones say nothing."""
    for frame, whose in ((inside, "inside"), (stratum, "of the same stratum"), (every, "of the whole survey")):
        known = frame[frame["status"] != "unknown"]
        if len(known) >= least:
            return ChosenPits(known, f"{len(known)} pits {whose}", frame is inside, frame is every)
    known = every[every["status"] != "unknown"]
    return ChosenPits(known, f"{len(known)} pits of the whole survey, too few to trust", False, True)


def depth_from_pits(pits: ChosenPits) -> Depth:
    """Mean of the pits chosen.

    Pits inside: Student's t for their mean, as if they were independent draws from the
    polygon. Pits from elsewhere: an interval as wide as for one place, for the polygon's own
    mean is not theirs; the mean of an area varies less than a place does, so it is not too
    narrow. Bounds are respected: a pit that says 'at least' lifts the low limit and leaves no
    high one.
    """
    values = pits.values
    if not len(values):
        return Depth(np.nan, np.nan, np.nan, 0.0, "no pit says anything of it")
    gone = (values["status"] == "absent").to_numpy()
    low = np.where(gone, 0.0, values["low"].to_numpy(float))
    high = np.where(gone, 0.0, values["high"].to_numpy(float))
    low = np.where(np.isnan(low), 0.0, low)  # a thickness is not below 0
    limits = t_limits if pits.inside else t_limits_of_a_place
    how = (
        "t interval of the mean, as if the pits were independent draws from the polygon" if pits.inside
        else "t interval as wide as for one place, since the polygon's own mean is not theirs"
    )  # fmt: skip
    if len(low) > 1 and (low == low[0]).all() and (high == low[0]).all() and low[0] > 0:
        how += f"; all say {low[0]:g} cm, so the interval holds no more than the rounding of a depth: the land varies more"
    low90 = _not_below_0(limits(low)[1])
    if (low == high).all():
        return Depth(float(low.mean()), low90, limits(low)[2], 1.0, f"{pits.whose}; {how}")
    high90 = np.nan if np.isnan(high).any() else limits(high)[2]
    left, right, mass = mass_intervals(low, np.where(np.isnan(high), np.inf, high))
    # a mean exists only where the distribution is known to single values
    mean = float(mass @ left) if (left == right).all() else np.nan
    bounded = int((low != high).sum())
    return Depth(
        mean, low90, high90, 1.0, f"{pits.whose}, {bounded} of them with only bounds, which are respected; {how}"
    )


def _not_below_0(value: float) -> float:
    return value if np.isnan(value) else max(value, 0.0)
