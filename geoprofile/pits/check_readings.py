"""Direct readings against the depth to which their pit was observed."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..problems import Problem
from .check_depths import SNAP_CM
from .places import place_of

BEYOND = "reading beyond the pit"


def check_readings(pits: pd.DataFrame, horizons: pd.DataFrame, readings: pd.DataFrame) -> tuple[pd.DataFrame, list[Problem]]:
    """The readings that can be, and problems.

    A depth of 150 cm cannot have been read in a hole of 60: the reading is listed and not used. One that says
    ``>150`` there is used as deeper than 60. Only depths observed that the pit states count, and horizons that
    are described deeper; an inspection of a pit may have its own hole, which may be deeper than the pit.

    Parameters
    ----------
    pits : with pit_id, file, observed_to_cm and organic_above_cm, before missing depths are completed; cm.
    horizons : pit_id, upper_cm, lower_cm. readings : READING_COLUMNS, cm from the ground, and maybe ``inspection``.
    """
    if not len(readings) or not len(pits):
        return readings, []
    of_pit = pits.drop_duplicates("pit_id").set_index("pit_id")
    deepest = np.fmax(horizons["upper_cm"].astype(float), horizons["lower_cm"].astype(float)).groupby(horizons["pit_id"]).max()
    ids = readings["pit_id"]
    observed = pd.to_numeric(ids.map(of_pit["observed_to_cm"]), errors="coerce").to_numpy(float)
    described = ids.map(deepest).to_numpy(dtype=float, na_value=np.nan)
    above = pd.to_numeric(ids.map(of_pit["organic_above_cm"]), errors="coerce").fillna(0).to_numpy(float)
    reach = np.where(observed > 0, np.fmax(observed, described), np.nan)
    own_hole = np.zeros(len(readings), bool)
    if "inspection" in readings:
        own_hole = (readings["inspection"].fillna(False).astype(bool) & (readings["file"] != ids.map(of_pit["file"]))).to_numpy(bool)
    low = readings["low"].to_numpy(dtype=float, na_value=np.nan)
    with np.errstate(invalid="ignore"):
        beyond = (low > reach + np.fmax(above, 0) + SNAP_CM) & ~own_hole
    if not beyond.any():
        return readings, []
    only_deeper = beyond & (readings["status"] == "at_least").to_numpy(bool)
    problems = [
        Problem(
            "warning" if deeper else "error", BEYOND,
            f"{row['attribute'].replace('_', ' ')}: the reading lies below the depth observed; " + (f"used as more than {end:g} cm" if deeper else "it was not used"),
            **place_of(row), field=row["attribute"], found=f"{row['text']} read, observed to {end:g} cm", allowed=f"{end:g} cm",
            remedy="correct the reading, its unit, or the depth observed",
        )
        for (_, row), deeper, end in zip(readings[beyond].iterrows(), only_deeper[beyond], reach[beyond], strict=True)
    ]  # fmt: skip
    kept = readings.assign(low=np.where(only_deeper, reach, low))
    return kept[~beyond | only_deeper], problems
