"""What lies inside each parcel: hectares by class, shares below limits, how much of it is backed.

Cells count by the exact share of them inside the parcel. Three things are kept
apart: land with an estimate, land on the map without one, and land off the map.
"""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd

from ..areal import areal_mean, draws_over, land_model, why_no_model
from ..areal.means import backed_cells, share_limits
from ..context import Context
from ..overlay import Cells, Land, cells_in
from ..products import Surfaces
from ..settings.zones import DraftSettings
from .draft import Draft
from .tables import hectares

SHARE_RULE = (
    "shares below a limit are of the land with an estimate: 'by estimate' counts land whose estimate is below it (estimates "
    "are smoother than the land, so this share is biased where it is small or large); 'by probability' is the mean "
    "probability, which is not; low90 and high90 are a 90 % interval of the share from 500 simulations of the land given the "
    "pits, bounded ones drawn anew in each, given only where the surface has a covariance model"
)
MEAN_RULE = (
    "a parcel's mean_low90 and mean_high90 are a 90 % interval of the mean of its land with an estimate; the column interval "
    "says how it was made. It holds if the surface's model does"
)


def parcel_classes(parcels: gpd.GeoDataFrame, draft: Draft) -> pd.DataFrame:
    """parcel_id, class, area_ha, share_percent: the drawn classes before small ones were merged. Sums to the parcel."""
    names = {0: "without a class"} | draft.names
    rows = []
    for parcel, shape in zip(parcels["parcel_id"], parcels.geometry):
        land, area = Land(shape, draft.grid), np.zeros(256)
        for window in land.windows():
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
    limits : parcel_id, attribute, limit_cm, backed_percent, below_by_estimate_ha, below_by_estimate_percent,
        below_by_probability_percent, low90_percent, high90_percent, interval (words); percentages are of the backed land.
    """
    cells = cells_in(parcels.geometry, surfaces.grid)
    means, shares = [], []
    for surface in surfaces.surfaces:
        estimate, low, high = (
            _raster(surfaces, key, context) for key in (surface.estimate, surface.low90, surface.high90)
        )
        below = {float(limit): 1 - _raster(surfaces, key, context) for limit, key in surface.above.items()}
        below |= {float(limit): _raster(surfaces, key, context) for limit, key in surface.below.items()}
        model = land_model(surface, surfaces, estimate, context)
        why = "" if model else why_no_model(surface)
        limits = ()
        if surface.unit == "cm":
            drawn = draft.limits_cm if draft and draft.attribute == surface.attribute else None
            limits = tuple(sorted({*below, *(drawn or ())}))
        simulated = None
        if model is not None and (limits or not model.is_normal):
            areas = [backed_cells(*cells.of(place), estimate) for place in range(len(parcels))]
            simulated = draws_over(model, areas, limits, seed=seed)
        for place, parcel in enumerate(parcels["parcel_id"]):
            cell, share = cells.of(place)
            backed = np.isfinite(estimate[cell])
            part = _parts(cells, place, share, backed)
            name = {"parcel_id": parcel, "attribute": surface.attribute}
            drawn_mean = None if simulated is None or model.is_normal else simulated.mean[place]
            mean = areal_mean(cell, share, estimate, low, high, model, drawn=drawn_mean, why=why)
            numbers = {"mean_estimate": mean.mean, "mean_low90": mean.low90, "mean_high90": mean.high90}
            means.append(name | {"unit": surface.unit} | {key: round(value, 2) for key, value in numbers.items()}
                         | {"interval": mean.basis} | part)  # fmt: skip
            intervals = [(np.nan, np.nan)] * len(limits) if simulated is None else share_limits(simulated, place)
            for limit, interval in zip(limits, intervals):
                shares.append(name | {"limit_cm": limit, "backed_percent": part["backed_percent"]}
                              | _below(estimate[cell], below.get(limit), cell, share, limit, cells.cell_m2)
                              | _interval(interval))  # fmt: skip
        context.progress.check()
    return _typed(means), _typed(shares)


def _below(z, probability, cell, share, limit, cell_m2) -> dict[str, float]:
    backed = np.isfinite(z)
    total = share[backed].sum()
    under = share[backed & (np.nan_to_num(z, nan=np.inf) < limit)].sum()
    row = {
        "below_by_estimate_ha": float(hectares(under * cell_m2)),
        "below_by_estimate_percent": round(100 * under / total, 2) if total else np.nan,
        "below_by_probability_percent": np.nan,
    }
    if probability is not None:
        p = probability[cell]
        known = np.isfinite(p) & backed
        if known.any():
            row["below_by_probability_percent"] = round(100 * float(share[known] @ p[known] / share[known].sum()), 2)
    return row


def _interval(limits: tuple[float, float]) -> dict[str, object]:
    known = np.isfinite(limits[0])
    return {
        "low90_percent": round(100 * limits[0], 1),
        "high90_percent": round(100 * limits[1], 1),
        "interval": "90 % interval by simulation" if known else "no interval: the surface has no covariance model to draw from",
    }


def _parts(cells: Cells, place: int, share: np.ndarray, backed: np.ndarray) -> dict[str, float]:
    whole = cells.polygon_m2[place] / cells.cell_m2
    shares = {
        "backed_percent": share[backed].sum() / whole,
        "not_backed_percent": share[~backed].sum() / whole,
        "off_the_map_percent": cells.outside_m2(place) / cells.polygon_m2[place],
    }
    return {"effective_cells": round(float(share[backed].sum()), 4)} | {
        name: round(100 * float(value), 2) for name, value in shares.items()
    }


def _raster(surfaces: Surfaces, key: str, context: Context) -> np.ndarray | None:
    return surfaces.rasters[key].read(context.output).ravel() if key else None


def _typed(rows: list[dict]) -> pd.DataFrame:
    table = pd.DataFrame(rows)
    for name in table.columns:
        if table[name].dtype == object:
            table[name] = table[name].astype("str")
    return table
