"""Direct readings: what was measured in the field itself, with one or several probes at a place.

A reading outranks the horizons for its attribute and is compared with them.
Several probes give their mean; their spread is the local variation and stays
in the flags.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..intervals import Interval, absent_depth, absent_thickness, at_least, at_most, at_surface, between, measured
from ..problems import Problem
from ..products import READING_COLUMNS, AttributeDefinition, typed

EVIDENCE = "direct reading"


def group_readings(readings: pd.DataFrame) -> dict[tuple[str, str], list[dict]]:
    """(pit_id, attribute) -> its readings in the order of the probes."""
    frame = typed(readings, READING_COLUMNS)
    frame = frame.sort_values(["pit_id", "attribute", "probe"], kind="stable")
    groups: dict[tuple[str, str], list[dict]] = {}
    for row in frame.to_dict("records"):
        groups.setdefault((row["pit_id"], row["attribute"]), []).append(row)
    return groups


def reading_of(rows: Sequence[dict], definition: AttributeDefinition) -> Interval | None:
    """What the probes at one place say together; None where no probe says anything.

    Means respect bounds: 17, 20 and more than 30 are at least 22.3, never 22.3.
    Probes that did not find the feature do not enter a mean of depths; they are
    counted in the flags.
    """
    said = [one for one in (_interval(row, definition) for row in rows) if one is not None]
    if not said:
        return None
    flags = ()
    found = [one for one in said if one.status != "absent" or definition.kind == "thickness"]
    if len(found) < len(said) and found:
        flags = (f"absent at {len(said) - len(found)} of {len(said)} probes",)
    if not found:
        return absent_depth().because(_evidence(len(said)))
    if len(found) == 1:
        return found[0].because(_evidence(len(said)), *flags)
    lows = [one.low for one in found]
    highs = [one.high for one in found]
    low = float(np.mean([value or 0.0 for value in lows]))  # no depth or thickness is below 0
    if any(value is None for value in highs):
        presence = "present" if any(one.presence == "present" for one in found) else found[0].presence
        got = at_least(low, presence)
    else:
        got = _together(low, float(np.mean(highs)), found, definition)
    exact = [one.low for one in found if one.low is not None and one.low == one.high]
    return got.because(_evidence(len(said), exact), *flags, f"probes {', '.join(one.text(1) for one in found)}")


def _together(low: float, high: float, found: list[Interval], definition: AttributeDefinition) -> Interval:
    if all(one.status == "absent" for one in found):
        return absent_thickness()
    if low == high:
        return at_surface() if low == 0 and definition.kind == "depth" else measured(low)
    return between(low, high)


def _evidence(probes: int, exact: Sequence[float] = ()) -> str:
    if probes == 1:
        return EVIDENCE
    spread = f", sd {np.std(exact, ddof=1):.1f}" if len(exact) > 1 else ""
    return f"{EVIDENCE}, mean of {probes} probes{spread}"


def _interval(row: dict, definition: AttributeDefinition) -> Interval | None:
    low, high = (None if pd.isna(row[key]) else float(row[key]) for key in ("low", "high"))
    status = row["status"] if isinstance(row["status"], str) else ""
    presence = row["presence"] if isinstance(row["presence"], str) and row["presence"] else "present"
    match status:
        case "absent":
            return absent_thickness() if definition.kind == "thickness" else absent_depth()
        case "at_surface":
            return at_surface()
        case "at_least" if low is not None:
            return at_least(low, presence)
        case "at_most" if high is not None:
            return at_most(high, presence)
        case "between" if high is not None:
            return between(low or 0.0, high, presence)
        case "measured" if low is not None:
            if low == 0:
                return at_surface() if definition.kind == "depth" else absent_thickness()
            return measured(low, presence)
    return None


def disagreement(
    reading: Interval, derived: Interval, definition: AttributeDefinition, rows: Sequence[dict], tolerance: float
) -> Problem | None:
    """A problem where a reading and the horizons of one pit differ by more than the tolerance, cm."""
    if derived.status == "unknown" or derived.presence in ("not_described",) or reading.status == "unknown":
        return None
    absent = {one.status == "absent" and definition.kind == "depth" for one in (reading, derived)}
    if absent == {True}:
        return None
    if absent == {False}:
        gap = max((reading.low or 0.0) - _high(derived), (derived.low or 0.0) - _high(reading))
        if gap <= tolerance:
            return None
    first = rows[0]
    return Problem(
        severity="warning",
        check="direct reading",
        what=f"{definition.title.lower()}: the direct reading and the horizons disagree; the reading is used",
        pit_id=str(first["pit_id"]),
        file=first["file"] if isinstance(first["file"], str) else "",
        sheet=first["sheet"] if isinstance(first["sheet"], str) else "",
        row=None if pd.isna(first["row"]) else int(first["row"]),
        field=definition.name,
        found=f"{reading.text()} read, {derived.text()} from the horizons",
        allowed=f"a difference of {tolerance:g} cm ([attributes] readings_tolerance_cm)",
        remedy="look at the notes of this pit: depth, datum, or the horizon that was meant",
    )


def _high(one: Interval) -> float:
    return float("inf") if one.high is None else one.high
