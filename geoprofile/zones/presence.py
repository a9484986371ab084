"""In how many pits of a group a feature is there, and what that says of the share of its land.

A pit that has not gone deep enough says neither yes nor no and is not in the share.
"""

from __future__ import annotations

import pandas as pd

from ..products import Attributes
from .shares import exact_limits
from .tables import Grouping

PRESENCE_RULE = (
    "presence: share of the pits that saw the feature or saw that it is not there; pits that ended above it or do not describe it "
    "are counted apart; low90 and high90 are a 90 % interval (Clopper & Pearson 1934) that holds for pits placed at random"
)
TOLD = ("present", "absent", "not_seen", "not_described")


def presence_shares(grouping: Grouping, attributes: Attributes) -> pd.DataFrame:
    """One row a group and attribute that can be absent; NaN share where no pit decides."""
    rows = []
    for definition in attributes.definitions:
        if not definition.can_be_absent:
            continue
        values = attributes.values[attributes.values["attribute"] == definition.name].set_index("pit_id")
        group = grouping.of_pit.reindex(values.index)
        for one in grouping.groups[grouping.key]:
            counts = values.loc[(group == one).to_numpy(), "presence"].value_counts()
            row = {grouping.key: one, "attribute": definition.name, "title": definition.title}
            row |= {name: int(counts.get(name, 0)) for name in TOLD}
            deciding = row["present"] + row["absent"]
            low, high = exact_limits(row["present"], deciding) if deciding else (float("nan"), float("nan"))
            row["present_percent"] = round(100 * row["present"] / deciding, 1) if deciding else float("nan")
            rows.append(row | {"low90_percent": round(100 * low, 1), "high90_percent": round(100 * high, 1)})
    table = pd.DataFrame(rows)
    return table.astype({name: "str" for name in (grouping.key, "attribute", "title")}) if rows else table
