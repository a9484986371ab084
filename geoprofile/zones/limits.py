"""How many pits of a group lie below a limit, and what that says of the share of its land.

Needs no surface and uses every bound: a pit dug to 60 cm that met no carbonates is
not below 25; one dug to 20 does not say.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..products import Attributes, Surfaces
from ..settings.zones import ZonesSettings
from .shares import exact_limits
from .tables import Grouping

BELOW_RULE = (
    "pits below a limit: below, not below (an absent feature has no depth and is not below; an absent thickness is 0) and "
    "undecided (their bounds allow both); share_least and share_most count the undecided as not below and as below; low90 and "
    "high90 are a 90 % interval (Clopper & Pearson 1934) that allows for both and holds for pits placed at random"
)


def asked_limits(settings: ZonesSettings, surfaces: Surfaces | None) -> dict[str, tuple[float, ...]]:
    """Limits in cm by attribute: those asked for, else those of the draft and of the surfaces' settings."""
    if settings.less_than_cm:
        return {name: tuple(sorted(limits)) for name, limits in settings.less_than_cm.items()}
    found: dict[str, set[float]] = {}
    if settings.draft and settings.draft.limits_cm:
        found[settings.draft.attribute] = set(settings.draft.limits_cm)
    recorded = surfaces.record.settings.get("surfaces", {}) if surfaces else {}
    for name, own in (recorded.get("for") or {}).items():
        if own.get("less_than_cm"):
            found.setdefault(name, set()).update(own["less_than_cm"])
    return {name: tuple(sorted(limits)) for name, limits in sorted(found.items())}


def pits_below(grouping: Grouping, attributes: Attributes, limits: dict[str, tuple[float, ...]]) -> pd.DataFrame:
    """One row a group, attribute and limit; empty where no limits are asked for."""
    rows = []
    known = {one.name: one for one in attributes.definitions if one.unit == "cm"}
    for name in limits:
        if name not in known:
            continue
        values = attributes.values[attributes.values["attribute"] == name].set_index("pit_id")
        group = grouping.of_pit.reindex(values.index)
        for one in grouping.groups[grouping.key]:
            own = values[(group == one).to_numpy()]
            for limit in limits[name]:
                rows.append({grouping.key: one, "attribute": name, "limit_cm": float(limit)}
                            | count_below(own, limit, known[name].kind))  # fmt: skip
    table = pd.DataFrame(rows)
    return table.astype({name: "str" for name in (grouping.key, "attribute")}) if rows else table


def count_below(values: pd.DataFrame, limit: float, kind: str) -> dict[str, object]:
    """Counts and shares for rows of ``Attributes.values`` of one attribute."""
    status = values["status"].to_numpy(object)
    absent, unknown = status == "absent", status == "unknown"
    low, high = values["low"].to_numpy(float), values["high"].to_numpy(float)
    low, high = np.where(np.isnan(low), 0.0, low), np.where(np.isnan(high), np.inf, high)
    if kind == "thickness":
        low, high = np.where(absent, 0.0, low), np.where(absent, 0.0, high)
    else:
        low = np.where(absent, np.inf, low)
    says = ~unknown
    # 'at most 25' may be 25 itself, which is not below 25: undecided
    below, not_below = int((says & (high < limit)).sum()), int((says & (low >= limit)).sum())
    pits = int(says.sum())
    undecided = pits - below - not_below
    row = {"pits": pits, "below": below, "not_below": not_below, "undecided": undecided, "unknown": int(unknown.sum()),
           "share_least_percent": np.nan, "share_most_percent": np.nan, "low90_percent": np.nan, "high90_percent": np.nan}  # fmt: skip
    if pits:
        row |= {
            "share_least_percent": round(100 * below / pits, 1),
            "share_most_percent": round(100 * (below + undecided) / pits, 1),
            "low90_percent": round(100 * exact_limits(below, pits)[0], 1),
            "high90_percent": round(100 * exact_limits(below + undecided, pits)[1], 1),
        }
    return row
