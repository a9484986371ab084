"""Where a row came from, in the fields that a Problem carries."""

from __future__ import annotations

import pandas as pd


def place_of(row: pd.Series) -> dict[str, object]:
    """pit_id, file, sheet and row number of one row of a frame, as far as it has them."""

    def text(name: str) -> str:
        value = row.get(name, "")
        return "" if value is None or pd.isna(value) else str(value)

    number = row.get("row")
    return {
        "pit_id": text("pit_id"),
        "file": text("file"),
        "sheet": text("sheet"),
        "row": None if number is None or pd.isna(number) else int(number),
    }
