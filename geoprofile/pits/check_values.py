"""Numbers of single horizons that cannot be: percentages, pH, conductivity."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..problems import Problem
from .profiles import Profiles

PERCENTAGES = ("sand_percent", "silt_percent", "clay_percent", "coarse_fragments_percent", "caco3_percent", "organic_carbon_percent")
PH = (2.0, 10.5)
"""pH outside of this is not soil (published Canadian limits 2 to 10; half a unit more for alkali soils, ours)."""


def check_values(all_: Profiles) -> Iterator[Problem]:
    """Every number that lies outside of what can be."""
    for field, low, high in [*((name, 0.0, 100.0) for name in PERCENTAGES), ("ph", *PH), *((name, 0.0, np.inf) for name in ("ec_ds_m", "sar"))]:
        values = all_.column(field)
        with np.errstate(invalid="ignore"):
            off = (values < low) | (values > high)
        for row in np.flatnonzero(off):
            yield all_.problem(row, "warning", "impossible value", f"{field.replace('_', ' ')} of {all_.name_of(row)} cannot be", field=field,
                               found=f"{values[row]:g}", allowed=f"{low:g} or more" if np.isinf(high) else f"{low:g} to {high:g}", remedy="correct it")
