"""Each pit in exactly one zone, stratum and parcel, by a stated rule; ties listed."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..overlay import PLACE_RULE, points_in
from ..problems import counted
from ..products import NOT_NATURAL, Attributes, Pits
from .findings import Findings

ON_DISTURBED_GROUND = "on stripped or filled ground"
OUTSIDE = "outside the survey area"


@dataclass(frozen=True)
class CountedPits:
    """``counted``: pits of the survey, known not to lie outside its area; ``left_out``: the others, with the column ``why``."""

    counted: gpd.GeoDataFrame
    left_out: gpd.GeoDataFrame


def pits_of_survey(
    own_pits: gpd.GeoDataFrame, attributes: Attributes, area: shapely.Geometry | None, findings: Findings
) -> CountedPits:
    """The natural pits without those outside the area, and all pits that are not counted, each with the reason.

    A pit whose place is not known stays: nothing says that it lies outside.
    """
    everything = attributes.pits.sort_values("pit_id", kind="stable").reset_index(drop=True)
    disturbed = everything[~everything["pit_id"].isin(own_pits["pit_id"])].assign(why=ON_DISTURBED_GROUND)
    outside = np.zeros(len(own_pits), bool)
    if area is not None:
        outside = _is_placed(own_pits) & ~shapely.intersects(own_pits.geometry.values, area)
    beyond = own_pits[outside].assign(why=OUTSIDE)
    if len(beyond):
        findings.note(
            f"{counted(len(beyond), 'pit')} {OUTSIDE}, not counted for the whole survey, its soils and its landform elements: "
            + _some(beyond["pit_id"])
        )
    left_out = pd.concat([disturbed, beyond]).sort_values("pit_id", kind="stable").reset_index(drop=True)
    return CountedPits(own_pits[~outside].reset_index(drop=True), left_out.astype({"why": "str"}))


def left_out_in(left_out: gpd.GeoDataFrame, polygons: gpd.GeoDataFrame, key: str) -> pd.DataFrame:
    """pit_id, group, why of those pits left out that lie in one of the polygons."""
    place = points_in(left_out.geometry.values, polygons.geometry.values).polygon
    inside = place >= 0
    group = polygons[key].to_numpy(object)[place[inside]]
    return pd.DataFrame({"pit_id": left_out["pit_id"][inside], "group": group, "why": left_out["why"][inside]}).astype("str")


def _is_placed(pits: gpd.GeoDataFrame) -> np.ndarray:
    return ~(pits.geometry.isna() | pits.geometry.is_empty).to_numpy()


def natural_pits(pits: Pits, attributes: Attributes, findings: Findings) -> gpd.GeoDataFrame:
    """The attributes' pits without those on stripped or filled ground, which say nothing of the natural soil."""
    frame = attributes.pits.sort_values("pit_id", kind="stable").reset_index(drop=True)
    disturbed = pits.pits.loc[pits.pits["datum"].isin(NOT_NATURAL), "pit_id"]
    left_out = frame["pit_id"].isin(disturbed)
    if left_out.any():
        findings.note(
            f"{counted(int(left_out.sum()), 'pit')} {ON_DISTURBED_GROUND}, counted in no table: "
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
