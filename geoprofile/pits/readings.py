"""Direct readings: one statement of one attribute for a place, without a horizon.

``17``, ``>126`` (not met to 126), ``15-21``, ``None`` (looked for and absent), ``14/16/15`` (three probes).
"""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from ..settings.pits import PitsSettings
from .columns import Column, Mapped
from .depth_columns import row_units, usable
from .depths import Depth, as_text_again, parse_depth
from .values import plain

_PROBES = re.compile(r"(\s*\d[\d.]*(?:\s*[/;|]\s*\d[\d.]*)+)\s*([a-z\"]*)\s*", re.IGNORECASE)


def read_readings(mapped: Mapped, settings: PitsSettings, ids: np.ndarray) -> pd.DataFrame:
    """All direct readings of a table, long: READING_COLUMNS, one row a place, attribute and probe."""
    rows: list[dict] = []
    for name, columns in mapped.columns.items():
        if columns[0].field.kind != "reading":
            continue
        for column in columns:
            _read_column(mapped, name, column, settings, ids, rows)
    frame = pd.DataFrame(rows, columns=["pit_id", "attribute", "low", "high", "status", "presence", "probe", "text", "file", "sheet", "row"])
    return frame.sort_values(["row", "attribute", "probe"], kind="stable", ignore_index=True) if rows else frame


def _read_column(mapped: Mapped, name: str, column: Column, settings: PitsSettings, ids: np.ndarray, rows: list[dict]) -> None:
    texts = mapped.text_in(column)
    unit = row_units(mapped, column, settings, ids)
    is_depth = name.startswith("depth_to")
    several = len(mapped.columns[name]) > 1
    dated = {position for position, heading in mapped.raw.dates if heading == column.heading}
    for position in np.flatnonzero(texts != ""):
        if unit[position] is None or ids[position] == "":
            continue
        text = plain(texts[position], mapped.raw.decimal)
        if position in dated:
            mapped.problem(position, "error", "reading", "the spreadsheet holds a date here, so it was not read", field=name, pit_id=ids[position],
                           found=texts[position], remedy=as_text_again(texts[position]))
            continue
        probes = None if several else _PROBES.fullmatch(text)
        parts = [f"{part.strip()} {probes[2]}".strip() for part in re.split(r"[/;|]", probes[1])] if probes else [text]
        for probe, part in enumerate(parts, start=1):
            found = parse_depth(part, default=unit[position] or "cm")
            if found.low is not None and found.low < 0:
                found = Depth(problem="a reading is counted from the ground downward and is not negative")
            says_depth = found.low is not None or found.high is not None or bool(found.problem)
            if says_depth and not usable(mapped, column, position, texts[position], found, unit[position], ids):
                continue
            low, high, status, presence = interval_of(found, is_depth)
            rows.append({
                "pit_id": ids[position], "attribute": name, "low": low, "high": high, "status": status, "presence": presence,
                "probe": column.probe if several else probe, "text": part.strip(), "file": mapped.raw.file, "sheet": mapped.raw.sheet,
                "row": int(mapped.raw.rows[position]),
            })


def interval_of(found: Depth, is_depth: bool) -> tuple[float, float, str, str]:
    """(low, high, status, presence) of a reading in cm, NaN for no limit."""
    if found.status == "absent" or (found.low == found.high == 0 and not is_depth):
        return (np.nan, np.nan, "absent", "absent") if is_depth else (0.0, 0.0, "absent", "absent")
    if found.low == found.high == 0:
        return 0.0, 0.0, "at_surface", "present"
    low = np.nan if found.low is None else found.low
    high = np.nan if found.high is None else found.high
    presence = "present" if found.status == "at_least" and not is_depth else found.presence
    return low, high, found.status, presence
