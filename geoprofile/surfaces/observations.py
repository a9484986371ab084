"""From attributes to observations: one per place, each pit that is left out counted by cause.

Rules, in this order:

1. A pit on stripped or filled ground never feeds a map of the natural soil.
2. A pit whose place is not known, or known no better than the cell is wide, serves statistics only; so does one
   whose place is known no better than the distance over which values are alike (:func:`roughly_placed`).
3. ``unknown`` has no value. An absent feature has thickness 0 but no depth. A bound
   that says nothing (at least 0) counts as unknown.
4. A value between two limits is used at its middle when the limits are no farther
   apart than ``between_up_to``; else it is a bound.
5. Visits to one place give one observation: the latest described (``visits =
   "latest"``), or their mean (``"all"``, or dates that do not tell).
6. Pits that cannot be told apart are one place: see one_place.py.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ..products import AttributeDefinition, Attributes, Pits
from .one_place import SAME_POINT_M, SAME_SHARE, merged_places, merged_sentence, one_visit

NOT_NATURAL = ("stripped ground", "filled ground")
LEFT_OUT = {
    "not natural": "on stripped or filled ground",
    "no place": "place not known",
    "place too rough": "place known no better than the {cell:g} m cell",
    "place beyond reach": "place known no better than the distance over which values are alike",
    "outside": "outside the survey area",
    "no stratum": "in no stratum",
    "no terrain": "without terrain there",
    "unknown": "not described",
    "says nothing": "ended too soon to say anything",
    "no depth": "where it is absent and has no depth",
    "earlier visit": "earlier visits to a place",
}


@dataclass(frozen=True)
class Places:
    """What is used of one attribute: ``frame`` with one row a place, and what was left out.

    Columns: pit_id, x, y, low, high (infinite where there is no limit), status, accuracy_m (0 = not said), and
    presence (1, 0, or NaN where not known) of every located pit in ``presence``.
    """

    frame: pd.DataFrame
    presence: pd.DataFrame
    left_out: Counter
    notes: tuple[str, ...]

    @property
    def bounded(self) -> pd.DataFrame:
        return self.frame[self.frame["low"] != self.frame["high"]]

    def without(self, which: np.ndarray, cause: str) -> Places:
        """The places that are not ``which`` (n,) bool, the others counted under ``cause``, one of LEFT_OUT."""
        left_out = self.left_out + Counter({cause: int(which.sum())})
        return replace(self, frame=self.frame[~which].reset_index(drop=True), left_out=left_out)


def located_pits(pits: Pits, attributes: Attributes, cell_m: float) -> pd.DataFrame:
    """pit_id, place_id, x, y, date, same_m (nearer than that two pits are one place, rule 6) and cause ('' where the pit may
    feed a map), one row a pit of ``attributes``."""
    frame = attributes.pits[["pit_id", "place_id", "position_accuracy_m"]].copy()
    geometry = attributes.pits.geometry
    frame["x"] = geometry.x.to_numpy(float)
    frame["y"] = geometry.y.to_numpy(float)
    known = pits.pits.drop_duplicates("pit_id").set_index("pit_id")
    for name in ("datum", "date"):
        frame[name] = frame["pit_id"].map(known[name]) if name in known else pd.NA
    frame["place_id"] = frame["place_id"].where(frame["place_id"].notna(), frame["pit_id"])
    accuracy = frame["position_accuracy_m"].astype("Float64").fillna(0.0).to_numpy(float)
    frame["accuracy_m"] = accuracy
    frame["same_m"] = np.maximum(accuracy, max(SAME_POINT_M, SAME_SHARE * cell_m))
    here = np.isfinite(frame["x"]) & np.isfinite(frame["y"])
    frame["cause"] = np.select(
        [frame["datum"].isin(NOT_NATURAL), ~here, (frame["position_accuracy_m"] > cell_m).fillna(False)],
        ["not natural", "no place", "place too rough"],
        "",
    )
    return frame


def places_of(
    definition: AttributeDefinition,
    located: pd.DataFrame,
    values: pd.DataFrame,
    *,
    between_up_to: float,
    visits: str = "latest",
    probes: pd.DataFrame | None = None,
) -> Places:
    """Observations of one attribute by the rules above.

    Parameters
    ----------
    located : from :func:`located_pits`, with causes added by strata, area and terrain.
    values : rows of VALUE_COLUMNS of this attribute.
    between_up_to : widest gap between two limits used at its middle, in the attribute's unit.
    visits : latest or all.
    probes : rows of READING_COLUMNS of this attribute; where a pit's value is the mean of several, their
        number and their squares about it are kept: they tell how exact one reading is.
    """
    table = located.merge(values.drop(columns="attribute"), on="pit_id", how="inner", validate="one_to_one")
    low = table["low"].to_numpy(float)
    high = table["high"].to_numpy(float)
    status = table["status"].to_numpy(str)
    nothing = (status == "at_least") & ~(low > 0)
    table["cause"] = np.select(
        [table["cause"] != "", status == "unknown", nothing, (status == "absent") & np.isnan(low)],
        [table["cause"], "unknown", "says nothing", "no depth"],
        "",
    )
    width = high - low
    halved = (table["cause"] == "").to_numpy() & (status == "between") & (width <= between_up_to)
    middle = (low + high) / 2
    table["low"] = np.where(halved, middle, np.where(np.isnan(low), -np.inf, low))
    table["high"] = np.where(halved, middle, np.where(np.isnan(high), np.inf, high))
    table["repeats"], table["within"] = _probes_behind(table, probes)
    notes = []
    if halved.any():
        notes.append(
            f"{_pits(int(halved.sum()))} known between two limits no more than {between_up_to:g} {definition.unit} apart: "
            "used at the middle"
        )
    usable = table[table["cause"] == ""]
    one, earlier = one_visit(usable, visits)
    left_out = Counter(table.loc[table["cause"] != "", "cause"])
    if earlier:
        left_out["earlier visit"] += earlier
    merged, groups = merged_places(one)
    if groups:
        notes.append(merged_sentence(groups))
    seen = table[table["cause"].isin(["", "no depth"]) & table["presence"].isin(["present", "absent"])]
    presence = seen.assign(low=(seen["presence"] == "present").astype(float))
    presence = merged_places(one_visit(presence.assign(high=presence["low"]), visits)[0])[0]
    columns = ["pit_id", "x", "y", "low", "high", "status"]
    frame = merged[[*columns, "repeats", "within", "accuracy_m"]].reset_index(drop=True)
    return Places(frame, presence[columns].reset_index(drop=True), left_out, tuple(notes))


def roughly_placed(places: Places, codes: np.ndarray, reach_m: dict[int, float | None]) -> np.ndarray:
    """(n,) bool, where a place is known no better than the reach of its stratum's model, by ``codes`` (n,): such a pit blurs
    the model and is blurred by it."""
    reach = np.array([reach_m.get(int(code)) or np.inf for code in codes], float)
    return places.frame["accuracy_m"].to_numpy(float) > reach


def left_out_sentence(left_out: Counter, cell_m: float) -> str:
    """``left out: 12 not described, 3 place not known``; empty where nothing was."""
    parts = [f"{left_out[cause]} {text.format(cell=cell_m)}" for cause, text in LEFT_OUT.items() if left_out[cause]]
    return "left out: " + ", ".join(parts) if parts else ""


def _probes_behind(table: pd.DataFrame, probes: pd.DataFrame | None) -> tuple[np.ndarray, np.ndarray]:
    """Readings whose mean each value is, and their sum of squares about it."""
    repeats, within = np.ones(len(table)), np.zeros(len(table))
    if probes is None or probes.empty:
        return repeats, within
    exact = probes[probes["low"] == probes["high"]]
    groups = exact.groupby("pit_id")["low"]
    summary = pd.DataFrame({"count": groups.size(), "mean": groups.mean(), "squares": groups.var(ddof=0) * groups.size()})
    own = summary.reindex(table["pit_id"])
    is_mean = (table["low"] == table["high"]).to_numpy() & (np.abs(own["mean"].to_numpy() - table["low"].to_numpy()) < 1e-6)
    is_mean &= own["count"].to_numpy() > 1
    return np.where(is_mean, own["count"].to_numpy(), repeats), np.where(is_mean, own["squares"].to_numpy(), within)


def _pits(count: int) -> str:
    return "1 pit is" if count == 1 else f"{count} pits are"
