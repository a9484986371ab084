"""Values that only mean that there is no elevation.

One marker inside the program: NaN. Whatever the file used is masked on reading;
a value that looks like a marker but was not declared stops the run (T1, T2).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from ..errors import InputError

SUSPECTS = (-9999.0, -32768.0, 32767.0, -32767.0, 65535.0, -99999.0, 9999.0, 99999.0, -999.0)
"""Markers that common programs write (common practice, no source)."""

LOWEST, HIGHEST = -36_000.0, 30_000.0
"""No place on Earth lies outside, in metres or in feet: trenches reach about -11 km, summits 8.8 km (29,032 ft)."""

LISTED = 1000
"""Different absurd values that a window tells; a raster with more of them is refused all the same."""


@dataclass(frozen=True)
class Scan:
    """What a window, or all of them, hold: ``known`` cells, ``low`` and ``high`` of ordinary values other than 0, doubtful ones counted."""

    known: int = 0
    low: float = np.inf
    high: float = -np.inf
    doubtful: Counter = field(default_factory=Counter)

    def __add__(self, other: Scan) -> Scan:
        return Scan(
            self.known + other.known, min(self.low, other.low), max(self.high, other.high), self.doubtful + other.doubtful
        )


def scan(values: np.ndarray) -> Scan:
    """One window: values as the file counts them, NaN = none."""
    finite = values[~np.isnan(values)]
    if finite.size == 0:
        return Scan()
    low, high = float(finite.min()), float(finite.max())
    marks = [mark for mark in (*SUSPECTS, 0.0) if low <= mark <= high]
    doubtful = Counter({mark: number for mark in marks if (number := int(np.count_nonzero(finite == mark)))})
    if not doubtful and LOWEST <= low and high <= HIGHEST:
        return Scan(finite.size, low, high)
    absurd = (finite < LOWEST) | (finite > HIGHEST)
    listed, counts = np.unique(finite[absurd], return_counts=True)
    doubtful.update({float(v): int(n) for v, n in zip(listed[:LISTED], counts[:LISTED]) if float(v) not in doubtful})
    others = finite[~absurd & ~np.isin(finite, [*SUSPECTS, 0.0])]
    return Scan(finite.size, float(others.min(initial=np.inf)), float(others.max(initial=-np.inf)), doubtful)


def refuse_markers(scans: Iterable[Scan], confirmed: float | None, where: str) -> Scan:
    """The whole raster's scan.

    Parameters
    ----------
    confirmed : the value that the user says means no data, masked already.

    Raises
    ------
    InputError that counts the suspects when some are left, or when nothing is left.
    """
    whole = sum(scans, Scan())
    found = suspects(whole, confirmed)
    if found:
        value, count, why = found[0]
        listed = "; ".join(f"{_plain(v)} in {n:,} cells ({reason})" for v, n, reason in found[:4])
        raise InputError(
            "the elevation raster holds values that look like no data, but does not declare them", where=where,
            found=listed, remedy=f"if so, set elevation_nodata = {_plain(value)} under [terrain]; if not, repair the raster",
        )  # fmt: skip
    if whole.known == 0:
        raise InputError("the elevation raster holds no elevation at all", where=where, found="every cell is no data")
    return whole


def suspects(whole: Scan, confirmed: float | None = None) -> list[tuple[float, int, str]]:
    """(value, number of cells, why) of values that cannot be elevations, most frequent first."""
    found = []
    for value, number in sorted(whole.doubtful.items()):
        if value == 0.0:
            if confirmed is None and not _fits_the_rest(value, whole):
                found.append((value, number, "exactly 0, far from all other values"))
        elif value not in SUSPECTS:
            found.append((value, number, "no place on Earth"))
        elif not _fits_the_rest(value, whole):
            found.append((value, number, "a usual marker"))
    return sorted(found, key=lambda item: -item[1])


def _fits_the_rest(value: float, whole: Scan) -> bool:
    """Whether the value lies among the others, or no further from them than they from one another."""
    low, high = whole.low, whole.high
    if value != 0.0 and whole.doubtful[0.0]:
        low, high = min(low, 0.0), max(high, 0.0)
    if low > high:
        return value == 0.0
    return low - max(high - low, 10.0) <= value <= high + max(high - low, 10.0) and abs(value) < 32_000


def _plain(value: float) -> str:
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
