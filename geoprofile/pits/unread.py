"""What a faulty row leaves open: the horizon that stood there is not known, and nothing may be claimed of its depths.

A row without readable depths cannot be used; left out in silence, the soil below the
last readable row would read as looked at and found free of lime, rock or Bt. The row
before it keeps a mark; ``described/from_frames.py`` puts a layer that nobody described
there. A table has the column only where a row was lost.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from .completing import in_order

UNREAD = "unread_below"
"""Column: a row that could not be used follows this horizon in the source."""


def followed_by(ids: np.ndarray, used: np.ndarray, lost: np.ndarray) -> np.ndarray:
    """(n,) bool: used rows that a lost row of the same pit follows before the next used one. Rows in source order."""
    flags = np.zeros(len(ids), bool)
    last: dict[str, int] = {}
    for position in np.flatnonzero(used | lost):
        if used[position]:
            last[ids[position]] = position
        elif ids[position] in last:
            flags[last[ids[position]]] = True
    return flags


def drop_impossible(horizons: pd.DataFrame) -> pd.DataFrame:
    """Horizons without those that end above their own top; the one before each of these knows that something follows."""
    lost = (horizons["lower_cm"] <= horizons["upper_cm"]).to_numpy()
    if not lost.any():
        return horizons
    source = horizons.sort_values(["file", "sheet", "row"], kind="stable")
    wrong = lost[horizons.index.get_indexer(source.index)]
    flags = pd.Series(followed_by(source["pit_id"].to_numpy(object), ~wrong, wrong), index=source.index)
    return horizons.assign(**{UNREAD: horizons[UNREAD].astype(bool) | flags})[~lost]


def with_open_ranges(horizons: pd.DataFrame) -> pd.DataFrame:
    """``>15`` between two horizons is a range that ends where the next limit is known, not 15."""
    frame = in_order(horizons)
    same = frame["pit_id"].eq(frame["pit_id"].shift(-1))
    top = frame["upper_high_cm"].fillna(frame["upper_cm"]).astype(float)
    above = frame["open_above"].astype(bool)
    limit = frame["lower_cm"].astype(float).fillna(frame["upper_cm"].shift(-1).where(same).astype(float))
    frame["upper_high_cm"] = np.where(above, np.fmax(top, limit), frame["upper_high_cm"])
    following = np.fmax(frame["upper_high_cm"], frame["upper_cm"]).shift(-1).where(same)
    widened = frame["open_below"].astype(bool) & frame["lower_cm"].notna() & following.notna()
    frame["lower_high_cm"] = np.where(widened, np.fmax(frame["lower_cm"], following), frame["lower_high_cm"])
    return frame
