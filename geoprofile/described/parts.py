"""Where in a horizon a feature begins that only a part of it has: ``lower part``, ``lower half``, ``lower 5 cm``.

The words of a description bound the depth and do not fix it: something in the lower part of a horizon begins
anywhere between its top and its base. A length from the base fixes it. Common practice, no source.
"""

from __future__ import annotations

import re
from functools import lru_cache

from .profile import Horizon

SHARES = {"half": 1 / 2, "third": 2 / 3, "quarter": 3 / 4}
"""Share of the thickness that lies above the lower half, third, quarter."""

FROM_THE_TOP = ("upper", "top", "throughout", "all", "whole")
CM = {"cm": 1.0, "mm": 0.1, "m": 100.0, "in": 2.54, "inch": 2.54, "inches": 2.54}
_LOWER = re.compile(r"(?:the )?(?:lower|bottom) (?:(?P<share>half|third|quarter)|(?P<length>\d+(?:\.\d+)?) ?(?P<unit>[a-z]+))")


def begin_of(horizon: Horizon, part: str | None) -> tuple[float, float | None] | None:
    """(least, greatest) depth at which the feature begins, cm; greatest None where the base is not known; None = at the top."""
    words = " ".join((part or "").casefold().split()).removeprefix("in ").removeprefix("the ")
    if not words or words.startswith(FROM_THE_TOP):
        return None
    low, high = horizon.upper_low, horizon.lower_high
    share, length = _measure(words)
    if horizon.lower is None or high is None:
        return low, None
    if length is not None:
        base_low = horizon.lower if horizon.lower_low is None else horizon.lower_low
        return max(base_low - length, low), max(high - length, low)
    if share:
        base_low = horizon.lower if horizon.lower_low is None else horizon.lower_low
        tops = (horizon.upper_low, horizon.upper_high)
        return tuple(top + share * (base - top) for top, base in zip(tops, (base_low, high)))
    return low, high


@lru_cache(maxsize=1024)
def _measure(words: str) -> tuple[float, float | None]:
    """(share of the thickness above it, length from the base in cm): 0 and None where the words give neither."""
    found = _LOWER.fullmatch(words)
    if not found:
        return 0.0, None
    if found["share"]:
        return SHARES[found["share"]], None
    factor = CM.get(found["unit"])
    return 0.0, None if factor is None else float(found["length"]) * factor
