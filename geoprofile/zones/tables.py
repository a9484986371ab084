"""Tables by group: which pits, what they say of each attribute, how many hectares.

Two tables a grouping: one row a group (``zones``), and one row a group and
attribute (``zone_attributes``; attributes that are not in cm go to
``zone_attributes_other_units`` with their unit in a column).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..products import Attributes
from .summary import COUNTS, NUMBERS, summarise


@dataclass(frozen=True)
class Grouping:
    """A way to group pits.

    ``key`` names the id column (``zone_id``), ``singular`` and ``plural`` the tables.
    ``groups`` has the column ``key`` and what else is told of a group; ``of_pit``
    maps pit_id -> the group's id ("" = in none). ``left_out``: pit_id, group and why of
    pits that are not counted; None = not told.
    """

    key: str
    singular: str
    plural: str
    groups: pd.DataFrame
    of_pit: pd.Series
    left_out: pd.DataFrame | None = None


def group_tables(grouping: Grouping, attributes: Attributes) -> dict[str, pd.DataFrame]:
    """The tables of one grouping, empty groups included."""
    ids = grouping.groups[grouping.key].tolist()
    members = {one: [] for one in ids}
    for pit, one in grouping.of_pit.items():
        if one in members:
            members[one].append(pit)
    head = grouping.groups.reset_index(drop=True)
    head = head.assign(
        pits=[len(members[one]) for one in ids],
        pit_ids=pd.Series(["; ".join(members[one]) for one in ids], dtype="str"),
    )
    if grouping.left_out is not None:
        own = [grouping.left_out[(grouping.left_out["group"] == one).to_numpy()] for one in ids]
        head["pits_left_out"] = pd.Series([len(one) for one in own], dtype="int64")
        head["left_out"] = pd.Series([reasons_told(one) for one in own], dtype="str")
    tables = {grouping.plural: head}
    long = _long(grouping, members, attributes)
    if long is None:
        return tables
    in_cm = long["unit"] == "cm"
    if in_cm.any():
        cm = long[in_cm].drop(columns="unit").rename(columns={name: f"{name}_cm" for name in NUMBERS})
        tables[f"{grouping.singular}_attributes"] = cm.reset_index(drop=True)
    if (~in_cm).any():
        tables[f"{grouping.singular}_attributes_other_units"] = long[~in_cm].reset_index(drop=True)
    return tables


def reasons_told(left_out: pd.DataFrame) -> str:
    """``on stripped or filled ground: TK-009; outside the survey area: TK-023``"""
    return "; ".join(f"{why}: {', '.join(part['pit_id'])}" for why, part in left_out.groupby("why", sort=True))


def _long(grouping: Grouping, members: dict[str, list[str]], attributes: Attributes) -> pd.DataFrame | None:
    rows = []
    by_attribute = {
        name: frame.set_index("pit_id") for name, frame in attributes.values.groupby("attribute", sort=False)
    }
    named = grouping.groups.set_index(grouping.key)["name"] if "name" in grouping.groups else None
    for one, pits in members.items():
        for definition in attributes.definitions:
            values = by_attribute.get(definition.name)
            if values is None:
                continue
            row = {grouping.key: one}
            if named is not None:
                row["name"] = named[one]
            row |= {"attribute": definition.name, "title": definition.title, "unit": definition.unit}
            rows.append(row | summarise(values.reindex(_known(values, pits)), definition))
    if not rows:
        return None
    table = pd.DataFrame(rows)
    table[list(NUMBERS)] = table[list(NUMBERS)].astype(float).round(3)
    return table.astype({name: "Int64" for name in ("pits", *COUNTS)} | {name: float for name in NUMBERS})


def _known(values: pd.DataFrame, pits: list[str]) -> list[str]:
    return [pit for pit in pits if pit in values.index]


def hectares(area_m2: np.ndarray) -> np.ndarray:
    """m2 to ha, rounded to the square metre."""
    return np.round(np.asarray(area_m2, float) / 10_000, 4)
