"""Values that only mean that there is no elevation.

One marker inside the program: NaN. Whatever the file used is masked on reading;
a value that looks like a marker but was not declared stops the run (T1, T2).
"""

from __future__ import annotations

import numpy as np

from ..errors import InputError

SUSPECTS = (-9999.0, -32768.0, 32767.0, -32767.0, 65535.0, -99999.0, 9999.0, 99999.0, -999.0)
"""Markers that common programs write (common practice, no source)."""

LOWEST, HIGHEST = -36_000.0, 30_000.0
"""No place on Earth lies outside, in metres or in feet: trenches reach about -11 km, summits 8.8 km (29,032 ft)."""


def masked(values: np.ndarray, confirmed: float | None, where: str) -> np.ndarray:
    """``values`` with NaN where there is no elevation.

    Parameters
    ----------
    values : (rows, columns) float64, declared no data already NaN.
    confirmed : the value that the user says means no data.

    Raises
    ------
    InputError that counts the suspects when some are left, or when nothing is left.
    """
    values = np.where(np.isfinite(values), values, np.nan)
    if confirmed is not None:
        # a marker may have been rounded to the file's type: 3.4e38 is never exact
        values = np.where(np.isclose(values, confirmed, rtol=1e-6, atol=0.0), np.nan, values)
    found = suspects(values, confirmed)
    if found:
        value, count, why = found[0]
        listed = "; ".join(f"{_plain(v)} in {n:,} cells ({reason})" for v, n, reason in found[:4])
        raise InputError(
            "the elevation raster holds values that look like no data, but does not declare them", where=where,
            found=listed, remedy=f"if so, set elevation_nodata = {_plain(value)} under [terrain]; if not, repair the raster",
        )  # fmt: skip
    if np.isnan(values).all():
        raise InputError("the elevation raster holds no elevation at all", where=where, found="every cell is no data")
    return values


def suspects(values: np.ndarray, confirmed: float | None = None) -> list[tuple[float, int, str]]:
    """(value, number of cells, why) of values that cannot be elevations, most frequent first."""
    finite = values[~np.isnan(values)]
    if finite.size == 0:
        return []
    found = []
    absurd = finite[(finite < LOWEST) | (finite > HIGHEST)]
    marked = finite[np.isin(finite, SUSPECTS)]
    for value in np.unique(np.concatenate([absurd, marked])):
        value = float(value)
        if value in SUSPECTS and _fits_the_rest(value, finite):
            continue
        found.append((value, int(np.count_nonzero(finite == value)), "a usual marker" if value in SUSPECTS else "no place on Earth"))
    zeros = int(np.count_nonzero(finite == 0.0))
    if zeros and confirmed is None and not _fits_the_rest(0.0, finite):
        found.append((0.0, zeros, "exactly 0, far from all other values"))
    return sorted(found, key=lambda item: -item[1])


def _fits_the_rest(value: float, finite: np.ndarray) -> bool:
    """Whether the value lies among the others, or no further from them than they from one another."""
    others = finite[finite != value]
    others = others[(others >= LOWEST) & (others <= HIGHEST) & ~np.isin(others, SUSPECTS)]
    if others.size == 0:
        return value == 0.0
    low, high = float(others.min()), float(others.max())
    return low - max(high - low, 10.0) <= value <= high + max(high - low, 10.0) and abs(value) < 32_000


def _plain(value: float) -> str:
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
