"""One-line inspections beside the pits: places of their own, or further readings of a pit."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..problems import Problem
from ..settings.pits import PitsSettings
from .joining import at, drop_blank_ids
from .repeated_ids import settle_repeated_ids

SAME_PIT_M = 30.0
"""An inspection that carries a pit's id but stands farther off is another place (common practice, no source)."""


def add_inspections(pits: pd.DataFrame, readings: pd.DataFrame, inspections: pd.DataFrame, settings: PitsSettings,
                    problems: list[Problem]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Pits with the inspections behind them, and all readings.

    An inspection under a pit's id gives its readings to the pit, unless it stands
    more than ``SAME_PIT_M`` away: then it becomes a place of its own, and is listed.
    """
    own = readings["inspection"].fillna(False).astype(bool) if "inspection" in readings else pd.Series(False, index=readings.index)
    lines = drop_blank_ids(inspections, "inspections", problems)
    no_horizons = pd.DataFrame({"pit_id": [], "upper_cm": [], "lower_cm": [], "designation": []}, dtype=object)
    lines, _, said = settle_repeated_ids(lines, no_horizons, readings[own], settings, problems)
    others = readings[~own]
    places = dict(zip(pits["pit_id"], pits["geometry"], strict=True))
    kept, renamed = np.ones(len(lines), bool), {}
    for position, (key, shape) in enumerate(zip(lines["pit_id"], lines["geometry"], strict=True)):
        if key not in places:
            continue
        if shape is not None and places[key] is not None and places[key].distance(shape) > SAME_PIT_M:
            renamed[key] = f"{key} (inspection)"
            problems.append(at(lines.iloc[position], "warning", "repeated id",
                               f"an inspection {places[key].distance(shape):.0f} m from the pit of the same id; it is called {renamed[key]!r}",
                               pit_id=key, found=key, remedy="give it an id of its own"))
        else:
            kept[position] = False
    lines = lines.assign(pit_id=[renamed.get(key, key) for key in lines["pit_id"]])
    said = said.assign(pit_id=[renamed.get(key, key) for key in said["pit_id"]])
    frames = [frame for frame in (pits, lines[kept]) if len(frame)]
    tables = [frame for frame in (others, said) if len(frame)]
    return (pd.concat(frames, ignore_index=True) if frames else lines,
            pd.concat(tables, ignore_index=True) if tables else said)
