"""Every profile held against itself, its crew and the convention; faults are listed, nothing is changed.

Depths are those from the datum (see ``datum.py``). A fault that many rows share,
such as one unknown designation, is listed once with its count.
"""

from __future__ import annotations

import pandas as pd

from ..problems import Problem
from .check_acid import check_acid
from .check_crews import check_crews
from .check_depths import check_depths
from .check_designations import check_designations
from .check_ends import check_ends
from .check_values import check_values
from .profiles import Profiles


def check_profiles(pits: pd.DataFrame, horizons: pd.DataFrame, convention: str) -> list[Problem]:
    """All faults of profiles.

    Parameters
    ----------
    pits, horizons : frames with the columns of ``products.PIT_COLUMNS`` and
        ``HORIZON_COLUMNS``, as far as present; depths in cm from the datum.
    convention : canadian, usda or wrb.

    Returns
    -------
    list of Problem: depths (order, overlap, gap, inverted, zero thickness, R23),
    designations, ends of holes, colours and fractions, crews, stones and rock.
    """
    if not len(horizons):
        return []
    profiles = Profiles(pits, horizons, convention)
    checks = (check_depths, check_designations, check_ends, check_values, check_acid, check_crews)
    return [problem for check in checks for problem in check(profiles)]
