"""What lies inside each parcel: hectares by class, shares below limits, how much of it is backed.

Cells count by the exact share of them inside the parcel. Three things are kept
apart: land with an estimate, land on the map without one, and land off the map.
"""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd

from ..context import Context
from ..kernels.areal import widest_limits
from ..overlay import Cells, cells_in
from ..products import Surfaces
from ..settings.zones import DraftSettings
from .draft import Draft
from .tables import hectares

SHARE_RULE = (
    "shares below a limit: 'by estimate' counts land whose estimate is below it (estimates are smoother than the land, so "
    "this share is biased where it is small or large); 'by probability' is the mean probability, which is not; it has no "
    "interval of its own"
)
MEAN_RULE = (
    "limits of a parcel's mean are the means of its cells' 90 % limits, as if all errors were one: never too narrow where "
    "the cells' limits are right, usually too wide"
)


def parcel_classes(parcels: gpd.GeoDataFrame, draft: Draft) -> pd.DataFrame:
    """parcel_id, class, area_ha, share_percent: the drawn classes before small ones were merged. Sums to the parcel."""
    cells = cells_in(parcels.geometry, draft.grid)
    names = {0: "without a class"} | draft.names
    flat = draft.codes.ravel()
    rows = []
    for place, parcel in enumerate(parcels["parcel_id"]):
        index, share = cells.of(place)
        area = np.bincount(flat[index], share, max(names) + 1) * cells.cell_m2
        whole = cells.polygon_m2[place]
        rows += [(parcel, names[code], area[code], whole) for code in sorted(names) if code and code in names]
        rows.append((parcel, "without a class", area[0], whole))
        rows.append((parcel, "off the map", cells.outside_m2(place), whole))
    table = pd.DataFrame(rows, columns=["parcel_id", "class", "area", "whole"])
    table = table[(table["area"] > 0.5) | table["class"].isin(list(draft.names.values()))]
    return pd.DataFrame({
        "parcel_id": table["parcel_id"].astype("str"),
        "class": table["class"].astype("str"),
        "area_ha": hectares(table["area"]),
        "share_percent": np.round(100 * table["area"] / table["whole"], 2),
    }).reset_index(drop=True)  # fmt: skip


def parcel_surfaces(
    parcels: gpd.GeoDataFrame, surfaces: Surfaces, draft: DraftSettings | None, context: Context
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Means and shares below limits, surface by surface.

    Returns
    -------
    estimates : parcel_id, attribute, unit, mean_estimate, mean_low90, mean_high90, effective_cells,
        backed_percent, not_backed_percent, off_the_map_percent.
    limits : parcel_id, attribute, limit_cm, backed_percent, below_by_estimate_ha, below_by_estimate_percent,
        below_by_probability_percent, remark; percentages are of the backed land.
    """
    cells = cells_in(parcels.geometry, surfaces.grid)
    means, limits = [], []
    for surface in surfaces.surfaces:
        estimate, low, high = (_raster(surfaces, key, context) for key in (surface.estimate, surface.low90, surface.high90))
        below = {float(limit): _raster(surfaces, key, context) for limit, key in surface.below.items()}
        wanted = set(below)
        if draft and draft.attribute == surface.attribute and draft.limits_cm:
            wanted |= set(draft.limits_cm)
        for place, parcel in enumerate(parcels["parcel_id"]):
            index, share = cells.of(place)
            z = estimate[index]
            backed = np.isfinite(z)
            part = _parts(cells, place, share, backed)
            row = {"parcel_id": parcel, "attribute": surface.attribute, "unit": surface.unit}
            means.append(row | _mean(z, low, high, index, share, backed) | part)
            if surface.unit == "cm":
                limits += [
                    {"parcel_id": parcel, "attribute": surface.attribute, "limit_cm": limit}
                    | _below(z, below.get(limit), index, share, backed, limit, cells)
                    | {"backed_percent": part["backed_percent"]}
                    for limit in sorted(wanted)
                ]
    return _typed(means), _typed(limits)


def _mean(z, low, high, index, share, backed) -> dict[str, float]:
    if not backed.any():
        return {"mean_estimate": np.nan, "mean_low90": np.nan, "mean_high90": np.nan}
    weight = share[backed]
    row = {"mean_estimate": float(weight @ z[backed] / weight.sum()), "mean_low90": np.nan, "mean_high90": np.nan}
    if low is not None and high is not None:
        row["mean_low90"], row["mean_high90"] = widest_limits(low[index][backed], high[index][backed], weight)
    return {name: round(value, 2) for name, value in row.items()}


def _below(z, probability, index, share, backed, limit, cells: Cells) -> dict[str, object]:
    total = share[backed].sum()
    under = share[backed & (np.nan_to_num(z, nan=np.inf) < limit)].sum()
    row = {
        "below_by_estimate_ha": float(hectares(under * cells.cell_m2)),
        "below_by_estimate_percent": round(100 * under / total, 2) if total else np.nan,
        "below_by_probability_percent": np.nan,
        "remark": "no interval",
    }
    if probability is not None:
        p = probability[index]
        known = np.isfinite(p)
        if known.any():
            # rasters of probability may be written as 0 to 1 or in percent
            scale = 100 if np.nanmax(probability) <= 1 else 1
            row["below_by_probability_percent"] = round(scale * float(share[known] @ p[known] / share[known].sum()), 2)
            row["remark"] = "mean probability; no interval"
    return row


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


