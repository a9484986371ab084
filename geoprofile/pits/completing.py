"""What a record must carry beyond its horizons, derived where it was not stated, and said so."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..problems import counted

SAME_CM = 0.5
"""Depths nearer than this are one depth."""


def complete(pits: pd.DataFrame, horizons: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """Order of horizons, depth observed, end of observation.

    A pit whose depth was not stated was observed to the lower depth of its last
    horizon (its upper depth where that is open). The last lower depth is only the
    end of observation unless the pit is known to go deeper (definitions.md).
    """
    pits, horizons = pits.copy(), in_order(horizons)
    for name in ("upper_cm", "lower_cm"):
        horizons[name] = horizons[name].astype(float)
    notes = []
    deepest = np.fmax(horizons["lower_cm"], horizons["upper_cm"]).groupby(horizons["pit_id"]).max()
    reached = pits["pit_id"].map(deepest).astype(float)
    unstated = pits["observed_to_cm"].isna() & reached.notna()
    pits["observed_to_cm"] = pits["observed_to_cm"].where(~unstated, reached)
    if unstated.any():
        notes.append(f"depth observed was not stated for {counted(int(unstated.sum()), 'pit')}; the lower depth of the last horizon is taken")
    last = ~horizons["pit_id"].duplicated(keep="last")
    observed = horizons["pit_id"].map(pits.set_index("pit_id")["observed_to_cm"]).astype(float)
    horizons["lower_is_end"] = (last & (horizons["lower_cm"].isna() | ~(observed > horizons["lower_cm"] + SAME_CM))) | (
        last & horizons["open_below"].astype(bool))
    return pits, horizons, notes


def in_order(horizons: pd.DataFrame) -> pd.DataFrame:
    """Horizons by pit (in source order) and upper depth; ``order`` counts from 1 at the top."""
    first = {key: number for number, key in enumerate(dict.fromkeys(horizons["pit_id"]))}
    rank = horizons["pit_id"].map(first)
    frame = horizons.assign(_rank=rank).sort_values(["_rank", "upper_cm"], kind="stable").drop(columns="_rank").reset_index(drop=True)
    frame["order"] = frame.groupby("pit_id", sort=False).cumcount() + 1
    return frame


def blanks_are_missing(frame: pd.DataFrame, columns: dict[str, tuple[str, str]]) -> pd.DataFrame:
    """Text that says nothing is missing; ids and the place in the file always stand."""
    kept = {"pit_id", "file", "sheet"}
    texts = [name for name, (kind, _) in columns.items() if kind == "text" and name in frame.columns and name not in kept]
    return frame.assign(**{name: frame[name].astype(object).where(frame[name] != "", np.nan) for name in texts})
