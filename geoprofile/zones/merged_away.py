"""Classes that drawing left no zone of: told in the table of zones, so that their land is not missed in silence."""

from __future__ import annotations

from collections.abc import Collection

import pandas as pd

from .draft import Draft
from .drawing import LandKept
from .tables import hectares


def classes_merged_away(draft: Draft, drawn: Collection[int], kept: LandKept) -> pd.DataFrame:
    """zone_id, name, from, area_by_cells_ha of the classes that have cells and are not among the codes ``drawn``."""
    gone = [code for code, area_m2 in sorted(kept.by_cells_m2.items()) if area_m2 > 0.5 and code not in drawn]
    return pd.DataFrame({
        "zone_id": pd.Series([str(code) for code in gone], dtype="str"),
        "name": pd.Series([draft.names[code] for code in gone], dtype="str"),
        "from": pd.Series([draft.drawn_from] * len(gone), dtype="str"),
        "area_by_cells_ha": hectares([kept.by_cells_m2[code] for code in gone]),
    })  # fmt: skip


def with_merged_away(table: pd.DataFrame, gone: pd.DataFrame) -> pd.DataFrame:
    """The table of zones with a row of 0 ha, no part and no pit for each class that is gone, behind the others."""
    if not len(gone):
        return table
    empty = {"area_ha": 0.0, "area_percent": 0.0, "parts": 0, "pits": 0, "pits_left_out": 0}
    rows = gone.assign(**{name: value for name, value in empty.items() if name in table})
    for name in ("pit_ids", "left_out"):
        rows[name] = pd.Series([""] * len(rows), dtype="str")
    return pd.concat([table, rows.reindex(columns=table.columns).astype(table.dtypes.to_dict())], ignore_index=True)
