"""What lies inside each parcel: hectares by class, shares below limits, how much of it is backed.

Cells count by the exact share of them inside the parcel. Three things are kept
apart: land with an estimate, land on the map without one, and land off the map.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..areal import Area, areal_mean, areas_in, certainty, draws_over, land_model, layers_of, why_no_model
from ..areal.draws import DRAWS
from ..areal.means import share_of_draws
from ..context import Context
from ..memory import give_back
from ..overlay import Land
from ..products import Surface, Surfaces
from ..settings.zones import DraftSettings
from .draft import Draft
from .tables import hectares

SHARE_RULE = (
    "land below a limit is of the land with an estimate, backed_ha: expected_below_ha is its mean share by simulation, or where "
    "that is missing by probability, times backed_ha, with a 90 % interval in hectares beside it; take these. 'By simulation' "
    f"is the mean of {DRAWS} simulations of the land given the pits, bounded ones drawn anew in each; low90 and high90 are the "
    "90 % interval of the same simulations and belong to that mean; both are given only where the surface has a covariance model. "
    "'By probability' is the mean probability, which is not biased, given for limits whose probability was mapped. 'By estimate' "
    "counts land whose estimate is below the limit; estimates smooth extremes away, so it is too small for rare land, too large "
    "for common land, and may lie outside the interval"
)
MEAN_RULE = (
    "a parcel's mean_low90 and mean_high90 are a 90 % interval of the mean of its land with an estimate; the column interval "
    "says how it was made. It holds if the surface's model does"
)
WINDOW = 512
"""Side of the windows in which the classes of a parcel are looked at, cells."""


def parcel_classes(parcels: gpd.GeoDataFrame, draft: Draft) -> pd.DataFrame:
    """parcel_id, class, area_ha, share_percent: the drawn classes before small ones were merged. Sums to the parcel."""
    names = {0: "without a class"} | draft.names
    rows = []
    for parcel, shape in zip(parcels["parcel_id"], parcels.geometry):
        land, area = Land(shape, draft.grid), np.zeros(256)
        for window in land.windows(WINDOW):
            share = land.shares(window).ravel()
            area += np.bincount(draft.cells.read(window).ravel(), share, 256) * draft.grid.cell_m**2
        whole = shape.area
        rows += [(parcel, names[code], area[code], whole) for code in sorted(names) if code and code in names]
        rows.append((parcel, "without a class", area[0], whole))
        rows.append((parcel, "off the map", max(whole - area.sum(), 0.0), whole))
    table = pd.DataFrame(rows, columns=["parcel_id", "class", "area", "whole"])
    table = table[(table["area"] > 0.5) | table["class"].isin(list(draft.names.values()))]
    return pd.DataFrame({
        "parcel_id": table["parcel_id"].astype("str"),
        "class": table["class"].astype("str"),
        "area_ha": hectares(table["area"]),
        "share_percent": np.round(100 * table["area"] / table["whole"], 2),
    }).reset_index(drop=True)  # fmt: skip


def parcel_surfaces(
    parcels: gpd.GeoDataFrame, surfaces: Surfaces, draft: DraftSettings | None, seed: int, context: Context
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Means and shares below limits, surface by surface.

    Returns
    -------
    estimates : parcel_id, attribute, unit, mean_estimate, mean_low90, mean_high90, interval (words), effective_cells,
        backed_percent, not_backed_percent, off_the_map_percent.
    limits : parcel_id, attribute, limit_cm, expected_below_ha, low90_ha, high90_ha, backed_ha, backed_percent,
        below_by_simulation_percent, low90_percent, high90_percent, interval (words), below_by_probability_percent,
        below_by_estimate_percent, below_by_estimate_ha; percentages below a limit are of the backed land.
    """
    shapes, grid = parcels.geometry.values, surfaces.grid
    whole = shapely.area(shapes) / grid.cell_m**2
    means, shares = [], []
    for surface in surfaces.surfaces:
        limits = _limits(surface, draft)
        above, below = ({float(limit): key for limit, key in keys.items()} for keys in (surface.above, surface.below))
        keys = above | below
        certain = {limit: certainty(surfaces.rasters[key]) for limit, key in keys.items()}
        tally = Shares(limits, keys, frozenset(set(above) - set(below)), certain)
        layers = layers_of(surface, surfaces, context, tuple(tally.keys.values()))
        areas = areas_in(shapes, grid, layers, tally)
        model = land_model(surface, surfaces, context)
        why = "" if model else why_no_model(surface)
        simulated = None
        if model is not None and (limits or not model.is_normal):
            simulated = draws_over(model, areas, limits, seed=seed)
        for place, (parcel, area) in enumerate(zip(parcels["parcel_id"], areas, strict=True)):
            part = _parts(area, float(whole[place]))
            name = {"parcel_id": parcel, "attribute": surface.attribute}
            drawn_mean = None if simulated is None or model.is_normal else simulated.mean[place]
            mean = areal_mean(area, model, drawn=drawn_mean, why=why)
            numbers = {"mean_estimate": mean.mean, "mean_low90": mean.low90, "mean_high90": mean.high90}
            means.append(name | {"unit": surface.unit} | {key: round(value, 2) for key, value in numbers.items()}
                         | {"interval": mean.basis} | part)  # fmt: skip
            drawn = [(np.nan,) * 3] * len(limits) if simulated is None else share_of_draws(simulated, place)
            for limit, of_draws in zip(limits, drawn):
                below = tally.below(area, limit, grid.cell_m**2)
                shares.append(name | {"limit_cm": limit} | _expected(area.backed * grid.cell_m**2, below["below_by_probability_percent"], *of_draws)
                              | {"backed_percent": part["backed_percent"]} | _simulated(*of_draws) | below)  # fmt: skip
        give_back()
        context.progress.check()
    return _typed(means), _typed(shares)


def _limits(surface: Surface, draft: DraftSettings | None) -> tuple[float, ...]:
    """What a surface of depths is asked to be below: its own limits and those that zones are drawn by."""
    if surface.unit != "cm":
        return ()
    drawn = draft.limits_cm if draft and draft.attribute == surface.attribute else None
    return tuple(sorted({*map(float, surface.above), *map(float, surface.below), *(drawn or ())}))


@dataclass(frozen=True)
class Shares:
    """What is summed over a parcel's cells for each limit: below it by estimate; its probability, and where that is known.

    ``keys``: raster of probability by limit; of those ``above``, it is the probability to be above.
    ``certain``: what the raster of a limit holds where it is certain; 1 where nothing is said.
    """

    limits: tuple[float, ...]
    keys: dict[float, str]
    above: frozenset[float]
    certain: dict[float, float] = field(default_factory=dict)

    def __call__(self, estimate: np.ndarray, low: np.ndarray | None, high: np.ndarray | None, *probability: np.ndarray) -> np.ndarray:
        of_limit = dict(zip(self.keys, probability, strict=True))
        rows = []
        for limit in self.limits:
            chance = of_limit.get(limit, np.full(len(estimate), np.nan)) / self.certain.get(limit, 1.0)
            chance = 1 - chance if limit in self.above else chance
            known = np.isfinite(chance)
            rows += [(estimate < limit).astype(float), np.where(known, chance, 0.0), known.astype(float)]
        return np.array(rows).reshape(len(rows), len(estimate))

    def below(self, area: Area, limit: float, cell_m2: float) -> dict[str, float]:
        """Hectares and shares below a limit, of the land with an estimate."""
        at = 3 * self.limits.index(limit)
        under, chance, known = (0.0, 0.0, 0.0) if area.sums is None else area.sums[at : at + 3]
        return {
            "below_by_probability_percent": round(100 * float(chance / known), 2) if known else np.nan,
            "below_by_estimate_percent": round(100 * under / area.backed, 2) if len(area) else np.nan,
            "below_by_estimate_ha": float(hectares(under * cell_m2)),
        }


def _expected(backed_m2: float, by_probability_percent: float, mean: float, low90: float, high90: float) -> dict[str, float]:
    """Hectares that are to be expected below a limit, with their interval: of all numbers here the ones to plan with."""
    share = mean if np.isfinite(mean) else by_probability_percent / 100
    of = {"expected_below_ha": share, "low90_ha": low90, "high90_ha": high90, "backed_ha": 1.0}
    return {name: round(float(one) * backed_m2 / 10_000, 2 if backed_m2 >= 10_000 else 4) for name, one in of.items()}


def _simulated(mean: float, low90: float, high90: float) -> dict[str, object]:
    known = np.isfinite(mean)
    return {
        "below_by_simulation_percent": round(100 * mean, 1),
        "low90_percent": round(100 * low90, 1),
        "high90_percent": round(100 * high90, 1),
        "interval": "90 % interval of the share by simulation" if known else "no interval: the surface has no covariance model to draw from",
    }


def _parts(area: Area, whole: float) -> dict[str, float]:
    """Shares of a parcel of ``whole`` cells."""
    shares = {
        "backed_percent": area.backed / whole,
        "not_backed_percent": (area.on_map - area.backed) / whole,
        "off_the_map_percent": max(whole - area.on_map, 0.0) / whole,
    }
    return {"effective_cells": round(area.backed, 4)} | {name: round(100 * float(value), 2) for name, value in shares.items()}


def _typed(rows: list[dict]) -> pd.DataFrame:
    table = pd.DataFrame(rows)
    for name in table.columns:
        if table[name].dtype == object:
            table[name] = table[name].astype("str")
    return table
