"""Depths of all files brought to their datum, and the pits told which it is."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..problems import Problem, counted
from .datum import to_datum
from .joining import at

GROUNDS = ("mineral surface", "organic surface", "stripped ground", "filled ground")
COUNTED_FROM_THE_SAME_ZERO = ("observed_to_cm", "acid_to_cm", "ec_to_cm", "mottles_to_cm")


def settle_datum(pits: pd.DataFrame, horizons: pd.DataFrame, setting: str, convention: str
                 ) -> tuple[pd.DataFrame, pd.DataFrame, list[Problem], list[str]]:
    """Pits with datum, datum_shift_cm, organic_above_cm; horizons with depths from the datum; problems; notes.

    The way organic layers are counted is found file by file. Stripped and filled
    ground are taken from the pits table. Depths stated for the pit move with its horizons.
    """
    problems: list[Problem] = []
    notes: list[str] = []
    parts, found = [], []
    for file, part in horizons.groupby("file", sort=False):
        datums = to_datum(part, convention, setting)
        problems += datums.problems
        notes.append(f"{file}: {datums.reason}")
        lines = datums.shift_lines()
        if lines:
            notes.append(f"{file}: depths moved to the datum in {counted(len(lines), 'pit')}: {', '.join(lines)}")
        parts.append(datums.horizons)
        found.append(datums.pits)
    if not parts:
        return pits.assign(datum=pits["datum"].where(pits["datum"].isin(GROUNDS), "mineral surface"), datum_shift_cm=0.0), horizons, problems, notes
    moved = pd.concat(parts)
    told = pd.concat(found).drop_duplicates("pit_id").set_index("pit_id")
    pits = pits.copy()
    for _, row in pits[(pits["datum"] != "") & ~pits["datum"].str.lower().isin(GROUNDS)].iterrows():
        problems.append(at(row, "warning", "datum", "the datum is not known; the one that the horizons show is used", pit_id=row["pit_id"],
                           found=row["datum"], allowed=", ".join(GROUNDS)))
    stated = pits["datum"].str.lower()
    shown = pits["pit_id"].map(told["datum"]).fillna("mineral surface")
    pits["datum"] = np.where(stated.isin(("stripped ground", "filled ground")), stated, shown)
    shift = pits["pit_id"].map(told["datum_shift_cm"]).fillna(0.0)
    pits["datum_shift_cm"] = shift
    pits["organic_above_cm"] = pits["organic_above_cm"].fillna(pits["pit_id"].map(told["organic_above_cm"]))
    for name in COUNTED_FROM_THE_SAME_ZERO:
        # 0 is a statement (not tested), not a depth
        pits[name] = pits[name].where(~(pits[name] > 0), pits[name] + shift)
    return pits, moved[moved["upper_cm"].notna()], problems, notes
