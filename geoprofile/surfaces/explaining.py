"""Why the map says what it says at a place: the pits that weigh most, and what each says.

Kriging is a weighted sum of what the pits say. The weights are found again from the saved
surface, without fitting anything; a bounded pit enters by its mean given all pits, so
that its weight is that of what it says and not of a limit. Methods without weights are
told with the nearest pits alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
import shapely

from ..areal import ErrorModel, certainty, model_of
from ..context import Context
from ..errors import InputError, TooLittleData
from ..grid import Window
from ..intervals import interval_text
from ..kernels.back_transform import backward
from ..kernels.kriging import weights
from ..layers import read_polygons
from ..overlay import points_in
from ..products import Surface, Surfaces

MOST_PITS = 10


@dataclass(frozen=True)
class PitSays:
    """One pit: what it says, as ``>60``; the value it counts as, its weight (both NaN: the method has none); distance, m."""

    pit_id: str
    says: str
    counts_as: float
    weight: float
    distance_m: float


@dataclass(frozen=True)
class Explanation:
    """``value`` and its 90 % interval in ``unit``, NaN where the map shows none; ``pits`` heaviest first."""

    attribute: str
    title: str
    unit: str
    x: float
    y: float
    value: float
    low90: float
    high90: float
    presence_percent: float
    reliability: str
    stratum: str
    method: str
    model: str
    pits: tuple[PitSays, ...]
    rest_weight: float
    """Weight of all other pits together; NaN where there are no weights."""
    rest_count: int
    hidden_value: float
    """What the model says where the map shows nothing; NaN where it shows a value."""
    notes: tuple[str, ...] = field(default=())


def explain(surfaces: Surfaces, attribute: str, x: float, y: float, context: Context, most: int = MOST_PITS) -> Explanation:
    """Why the surface of ``attribute`` has its value in the cell of (x, y), in the survey's system, m.

    Raises InputError where there is no such surface or the place lies off the grid, and
    TooLittleData where the attribute was not mapped, with the reason.
    """
    surface = _surface(surfaces, attribute)
    row, column, inside = surfaces.grid.cells_of(np.array([x]), np.array([y]))
    if not inside[0]:
        west, south, east, north = surfaces.grid.bounds
        raise InputError(
            "the place lies off the map", found=f"{x:g} E {y:g} N", allowed=f"{west:g} to {east:g} E, {south:g} to {north:g} N",
            remedy=f"give easting and northing in {context.survey.crs}",
        )  # fmt: skip
    centre = surfaces.grid.centre_points(Window(int(row[0]), int(column[0]), 1, 1))
    told = _read(surface, surfaces, int(row[0]), int(column[0]), context)
    model = model_of(surface, surfaces, context)
    pits = surfaces.points[surfaces.points["attribute"] == attribute]
    found = None if model is None else _weighed(model, pits, centre, most)
    notes = _notes(surface, model, found)
    strata = _Strata(context)
    if found is None:
        found = _nearest(pits[strata.same(pits[["x", "y"]].to_numpy(float), centre)], centre, most)
    hidden = np.nan
    if model is not None:
        raw = float(model.predict(centre)[0])
        if np.isnan(told["value"]):
            hidden = raw
        elif abs(raw - told["value"]) > 1e-3 * (1 + abs(raw)):
            notes += (f"the model says {raw:.1f} {surface.unit} here, which cannot be: the nearest possible value is shown",)
    return Explanation(
        attribute=attribute, title=surface.title, unit=surface.unit, x=x, y=y, **told, stratum=strata.name_at(centre),
        method=surface.method_title, model=surface.model, pits=found[0], rest_weight=found[1], rest_count=found[2],
        hidden_value=hidden, notes=(*notes, *getattr(surface, "cautions", ())),
    )  # fmt: skip


def _surface(surfaces: Surfaces, attribute: str) -> Surface:
    surface = next((one for one in surfaces.surfaces if one.attribute == attribute), None)
    if surface is not None:
        return surface
    refused = next((one for one in surfaces.refusals if one.attribute == attribute), None)
    mapped = ", ".join(one.attribute for one in surfaces.surfaces)
    if refused is not None:
        raise TooLittleData(f"{attribute} was not mapped: {refused.reason}", allowed=mapped, remedy=refused.remedy)
    raise InputError("there is no such surface", found=attribute, allowed=mapped or "no attribute was mapped",
                     remedy="see: geoprofile surfaces")  # fmt: skip


def _read(surface: Surface, surfaces: Surfaces, row: int, column: int, context: Context) -> dict:
    cell = Window(row, column, 1, 1)

    def at(key: str) -> float:
        return float(surfaces.rasters[key].read(context.output, cell)[0, 0]) if key else np.nan

    presence = 100 * at(surface.presence) / certainty(surfaces.rasters[surface.presence]) if surface.presence else np.nan
    reliability = ""
    if surface.reliability:
        raster = surfaces.rasters[surface.reliability]
        reliability = raster.legend.get(int(raster.read(context.output, cell)[0, 0]), "outside the survey area")
    return {"value": at(surface.estimate), "low90": at(surface.low90), "high90": at(surface.high90),
            "presence_percent": presence, "reliability": reliability}  # fmt: skip


def _weighed(model: ErrorModel, pits: pd.DataFrame, centre: np.ndarray, most: int) -> tuple[tuple[PitSays, ...], float, int] | None:
    part = model.by_part(centre)[0][0]
    drift = model.drift_at(centre)
    if part is None or (drift is not None and not np.isfinite(drift).all()):
        return None
    system = part.completed()
    weight = weights(system, centre, drift)[:, 0]
    away = np.hypot(*(system.points - centre).T)
    rows = pits.set_index("pit_id")
    order = np.argsort(-np.abs(weight), kind="stable")
    kept = order[:most]
    value = backward(system.values, model.power)
    value = np.maximum(value, 0.0) if model.floor else value
    told = tuple(
        PitSays(part.pit_ids[i], says(rows.loc[part.pit_ids[i]]), float(value[i]), float(weight[i]), float(away[i])) for i in kept
    )
    return told, float(weight[order[most:]].sum()), len(order[most:])


def _nearest(pits: pd.DataFrame, centre: np.ndarray, most: int) -> tuple[tuple[PitSays, ...], float, int]:
    away = np.hypot(pits["x"].to_numpy(float) - centre[0, 0], pits["y"].to_numpy(float) - centre[0, 1])
    order = np.argsort(away, kind="stable")[:most]
    told = tuple(PitSays(str(pits["pit_id"].iloc[i]), says(pits.iloc[i]), np.nan, np.nan, float(away[i])) for i in order)
    return told, np.nan, len(pits) - len(told)


def says(pit: pd.Series) -> str:
    """As a mapper writes it: 17, >60, <30, 15-21, absent."""
    if pit["status"] == "absent" and pit["low"] == pit["high"]:
        return "absent"
    return interval_text(pit["low"], pit["high"], pit["status"], 1)


class _Strata:
    """Names of the strata that places lie in; '' where the survey has none."""

    def __init__(self, context: Context) -> None:
        source = context.survey.strata
        self.frame, self.names = None, np.array([""])
        if source is not None:
            self.frame = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="strata")
            self.names = np.append(self.frame[source.id or "id"].astype(str).to_numpy(object), "no stratum")

    def names_of(self, points: np.ndarray) -> np.ndarray:
        if self.frame is None:
            return np.full(len(points), "", object)
        return self.names[points_in(shapely.points(points), self.frame.geometry.values).polygon]

    def name_at(self, centre: np.ndarray) -> str:
        return str(self.names_of(centre)[0])

    def same(self, points: np.ndarray, centre: np.ndarray) -> np.ndarray:
        return self.names_of(points) == self.names_of(centre)[0]


def _notes(surface: Surface, model: ErrorModel | None, found: object) -> tuple[str, ...]:
    if found is None:
        why = "this surface has no weights to show" if model is None else "the model says nothing here"
        return (f"{why} ({surface.method_title}): the nearest pits are listed instead",)
    notes = ("weights add to 1; what lies behind a nearer pit may weigh less than nothing",)
    if model.drift is not None:
        notes += ("the trend on terrain is in the weights, so distant pits on like or unlike terrain weigh too",)
    if model.power is not None:
        notes += ("weights are on the scale that was modelled, and the value is taken back from it",)
    if any(part.bounded.any() for part in model.parts.values()):
        notes += ("a pit that says only a bound counts as its mean given all pits, not as its limit",)
    return notes
