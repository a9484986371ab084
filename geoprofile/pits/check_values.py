"""Numbers of single horizons that cannot be: percentages, pH, conductivity. They are listed and not used."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..problems import Problem, counted
from .profiles import Profiles

PERCENTAGES = ("sand_percent", "silt_percent", "clay_percent", "coarse_fragments_percent", "caco3_percent", "organic_carbon_percent")
PH = (2.0, 10.5)
"""pH outside of this is not soil (published Canadian limits 2 to 10; half a unit more for alkali soils, ours)."""

EC_DS_M = (0.0, 250.0)
"""A saturated brine of common salt conducts about 250 dS/m at 25 degrees (from memory); no extract of soil conducts more."""

SEA_DS_M = 50.0
"""Sea water, dS/m at 25 degrees, rounded down (from memory): a table that is mostly saltier is in another unit."""

LIMITS = (*((name, 0.0, 100.0) for name in PERCENTAGES), ("ph", *PH), ("ec_ds_m", *EC_DS_M), ("sar", 0.0, np.inf))
EACH = 12
"""More values of one property than this are one fault of the column and told once."""


def check_values(all_: Profiles) -> Iterator[Problem]:
    """Every number that lies outside of what can be, and conductivities that look like another unit."""
    for field, low, high in LIMITS:
        rows = np.flatnonzero(_beyond(all_.column(field), low, high))
        values = all_.column(field)
        what = {"ph": "pH", "ec_ds_m": "EC (dS/m)", "sar": "SAR"}.get(field, field.replace("_", " "))
        fields = {
            "field": field,
            "allowed": f"{low:g} or more" if np.isinf(high) else f"{low:g} to {high:g}",
            "remedy": "correct it" + ("; if the column is in µS/cm write that into its heading, as ec (uS/cm)" if field == "ec_ds_m" else ""),
        }
        if len(rows) > EACH:
            yield all_.problem(rows[0], "error", "impossible value", f"{what} of {counted(len(rows), 'horizon')} cannot be and was not used",
                               found=f"{values[rows[0]]:g}; pits {all_.some_pits(rows)}", **fields)
            continue
        for row in rows:
            yield all_.problem(row, "error", "impossible value", f"{what} of {all_.name_of(row)} cannot be and was not used", found=f"{values[row]:g}", **fields)
    yield from _saltier_than_the_sea(all_)


def without_impossible(horizons: pd.DataFrame) -> pd.DataFrame:
    """The horizons without the numbers that ``check_values`` lists as impossible."""
    found = {}
    for field, low, high in LIMITS:
        if field in horizons:
            off = _beyond(pd.to_numeric(horizons[field], errors="coerce").to_numpy(dtype=float, na_value=np.nan), low, high)
            if off.any():
                found[field] = horizons[field].mask(off)
    return horizons.assign(**found) if found else horizons


def _beyond(values: np.ndarray, low: float, high: float) -> np.ndarray:
    with np.errstate(invalid="ignore"):
        return (values < low) | (values > high)


def _saltier_than_the_sea(all_: Profiles) -> Iterator[Problem]:
    values = all_.column("ec_ds_m")
    known = np.isfinite(values)
    with np.errstate(invalid="ignore"):
        salty = np.flatnonzero((values > SEA_DS_M) & (values <= EC_DS_M[1]))
        most = known.any() and (values > SEA_DS_M).sum() > known.sum() / 2
    if most and len(salty):
        yield all_.problem(
            salty[0], "warning", "unit", f"most conductivities are above that of sea water, {SEA_DS_M:g} dS/m: are they µS/cm or mS/m?", field="ec_ds_m",
            found=f"{np.median(values[known]):g} dS/m (median of {known.sum()})", remedy="write the unit of the laboratory into the heading, as ec (uS/cm) or ec (mS/m)",
        )  # fmt: skip
