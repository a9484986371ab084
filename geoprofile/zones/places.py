"""Each pit in exactly one zone, stratum and parcel, by a stated rule; ties listed."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd

from ..overlay import PLACE_RULE, points_in
from ..problems import counted
from ..products import NOT_NATURAL, Attributes, Pits
from .findings import Findings


def natural_pits(pits: Pits, attributes: Attributes, findings: Findings) -> gpd.GeoDataFrame:
    """The attributes' pits without those on stripped or filled ground, which say nothing of the natural soil."""
    frame = attributes.pits.sort_values("pit_id", kind="stable").reset_index(drop=True)
    disturbed = pits.pits.loc[pits.pits["datum"].isin(NOT_NATURAL), "pit_id"]
    left_out = frame["pit_id"].isin(disturbed)
    if left_out.any():
        findings.note(
            f"{counted(int(left_out.sum()), 'pit')} on stripped or filled ground, in no table: "
            + ", ".join(frame.loc[left_out, "pit_id"])
        )
    return frame[~left_out].reset_index(drop=True)


def group_of_pits(
    pits: gpd.GeoDataFrame, polygons: gpd.GeoDataFrame, key: str, what: str, findings: Findings
) -> pd.Series:
    """pit_id -> id of its polygon, "" where it is in none. Ties become problems, one a pit."""
    places = points_in(pits.geometry.values, polygons.geometry.values)
    ids = polygons[key].to_numpy(object)
    for pit, choices in places.ties.items():
        findings.problem(
            "note", "pit on a line", f"the pit lies in or on the line of several {what}", pit_id=pits["pit_id"].iloc[pit],
            found=", ".join(ids[list(choices)]), allowed=PLACE_RULE,
            remedy=f"it was counted in {ids[choices[0]]}; move the line or the pit if that is wrong",
        )  # fmt: skip
    group = np.where(places.polygon >= 0, ids[places.polygon] if len(ids) else "", "")
    nowhere = int((places.polygon < 0).sum())
    if nowhere:
        findings.note(
            f"{counted(nowhere, 'pit')} of {len(pits)} {'lies' if nowhere == 1 else 'lie'} in none of the {what}: " + _some(pits["pit_id"][places.polygon < 0])
        )
    return pd.Series(group, index=pd.Index(pits["pit_id"], dtype="str"), dtype="str")


def _some(ids: pd.Series, most: int = 10) -> str:
    names = list(ids)
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
