"""Every profile held against itself, its crew and the convention; faults are listed, nothing is changed.

Depths are those from the datum (see ``datum.py``). A fault that many rows share,
such as one unknown designation, is listed once with its count. Which checks there
are, what each looks at and its source is data: ``vocabulary/tables/checks.toml``.
"""

from __future__ import annotations

from collections.abc import Collection

import pandas as pd

from ..problems import Problem
from .check_acid import check_acid
from .check_boundaries import check_boundaries
from .check_clay import check_clay
from .check_colours import check_colours
from .check_crews import check_crews
from .check_depth_unit import check_depth_unit
from .check_depths import check_depths
from .check_designations import check_designations
from .check_ends import check_ends
from .check_gley import check_gley
from .check_lime_gain import check_lime_gain
from .check_plough import check_plough
from .check_recorded import check_recorded
from .check_salts import check_salts
from .check_texture import check_texture
from .check_values import check_values, without_impossible
from .profiles import Profiles

CHECKS = (
    check_depths, check_depth_unit, check_designations, check_ends, check_boundaries, check_colours, check_texture, check_clay,
    check_acid, check_lime_gain, check_salts, check_gley, check_plough, check_recorded, check_crews,
)  # fmt: skip


def check_profiles(pits: pd.DataFrame, horizons: pd.DataFrame, convention: str, off: Collection[str] = ()) -> list[Problem]:
    """All faults of profiles.

    Parameters
    ----------
    pits, horizons : frames with the columns of ``products.PIT_COLUMNS`` and
        ``HORIZON_COLUMNS``, as far as present; depths in cm from the datum.
    convention : canadian, usda or wrb.
    off : names of checks that the survey switched off.

    Returns
    -------
    list of Problem, check by check; the names are those of ``vocabulary.checks.check_names``.
    """
    if not len(horizons):
        return []
    profiles = Profiles(pits, horizons, convention)
    found = list(check_values(profiles))
    if found:  # a number that cannot be proves nothing of the rest
        profiles = Profiles(pits, without_impossible(horizons), convention)
    return [problem for problem in found + [problem for check in CHECKS for problem in check(profiles)] if problem.check not in off]
