"""Sand, silt and clay: their sum, and the class they give against the one found by hand.

Limits of classes: see vocabulary/texture.py. The published rule of the sum is that of the national data dictionary of Canada.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from ..problems import Problem
from ..vocabulary.terms import find_term
from ..vocabulary.texture import SUM_TOLERANCE, clay_limits, texture_class
from .profiles import Profiles, rounding

FRACTIONS = ("sand_percent", "silt_percent", "clay_percent")
EXACT = 0.55
"""A sum may miss 100 by this without a word: the rounding of three numbers with one decimal, or half a unit, %."""

BY_HAND = 1.0
"""Clay alone may miss its class by this, %: both are estimates (ours)."""


def check_texture(all_: Profiles) -> Iterator[Problem]:
    """Sums, then classes."""
    parts = np.array([all_.column(name) for name in FRACTIONS])
    if not np.isfinite(parts).any():
        return
    total = parts.sum(axis=0)
    yield from _sums(all_, parts, total)
    written = all_.text("texture")
    named = np.array([plain_class(text, all_.convention) for text in written], dtype=object)
    if (named != "").any():
        yield from _classes(all_, parts, total, written, named)
        yield from _clay_alone(all_, parts, total, written, named)


def _sums(all_: Profiles, parts: np.ndarray, total: np.ndarray) -> Iterator[Problem]:
    known = np.isfinite(total)
    with np.errstate(invalid="ignore"):
        off = known & (np.abs(total - 100.0) > SUM_TOLERANCE + 1e-9)
        some = np.nansum(parts, axis=0)
        too_much = ~known & (some > 100.0 + SUM_TOLERANCE + 1e-9)
        rounded = np.flatnonzero(known & ~off & (np.abs(total - 100.0) > EXACT))
    for row in np.flatnonzero(off | too_much):
        yield all_.problem(row, "warning", "fractions", f"sand, silt and clay of {all_.name_of(row)} sum to {some[row]:g} %", field="clay_percent",
                           found=" + ".join(f"{part[row]:g}" for part in parts if np.isfinite(part[row])), allowed=f"100 within {SUM_TOLERANCE:g}",
                           remedy="correct the fractions; no texture is derived from them")
    if len(rounded):
        row = rounded[0]
        many = f"{len(rounded)} horizons" if len(rounded) > 1 else "one horizon"
        yield all_.problem(row, "note", "fractions", f"sand, silt and clay of {many} sum to {100 - SUM_TOLERANCE:g} to {100 + SUM_TOLERANCE:g} %, not to 100", field="clay_percent",
                           found=f"first: {all_.span(row)}, {total[row]:g} %; pits {all_.some_pits(rounded)}", allowed="100; rounding of three numbers may miss it by 1",
                           remedy="nothing to do if it is rounding: classes are derived from them as shares of their sum")


def _classes(all_: Profiles, parts: np.ndarray, total: np.ndarray, written: np.ndarray, named: np.ndarray) -> Iterator[Problem]:
    """The hand's class against that of the fractions, and whether their rounding would allow it."""
    asked = np.flatnonzero(np.isfinite(total) & (named != ""))
    if not len(asked):
        return
    sand, silt, clay = parts[:, asked]
    derived = texture_class(sand, silt, clay, all_.convention)
    half = max(rounding(part) for part in parts)
    agrees = (derived == named[asked]) | (derived == "")
    near = np.zeros(len(asked), bool)
    for more, less in ((0, 1), (1, 0), (0, 2), (2, 0), (1, 2), (2, 1)):
        moved = [part.copy() for part in (sand, silt, clay)]
        moved[more] = moved[more] + half
        moved[less] = np.maximum(moved[less] - half, 0.0)
        near |= texture_class(*moved, all_.convention) == named[asked]
    for at in np.flatnonzero(~agrees):
        row = asked[at]
        yield all_.problem(row, "note", "texture", f"texture of {all_.name_of(row)} is {written[row]} by hand, {derived[at]} by its fractions{', within whose rounding both are' if near[at] else ''}", field="texture",
                           found=f"{sand[at]:g}/{silt[at]:g}/{clay[at]:g}", remedy="both are kept; look if one is misplaced")


def _clay_alone(all_: Profiles, parts: np.ndarray, total: np.ndarray, written: np.ndarray, named: np.ndarray) -> Iterator[Problem]:
    """Clay without the other fractions against the clay that the class can hold."""
    clay = parts[2]
    limits = clay_limits(all_.convention)
    low, high = np.array([limits.get(name, (np.nan, np.nan)) for name in named], dtype=float).T
    with np.errstate(invalid="ignore"):
        off = np.flatnonzero(np.isnan(total) & ((clay < low - BY_HAND) | (clay > high + BY_HAND)))
    for row in off:
        yield all_.problem(row, "note", "texture", f"{all_.name_of(row)} is {written[row]}, but {clay[row]:g} % clay is not of that class", field="texture",
                           found=f"{clay[row]:g} %", allowed=f"{low[row]:g} to {high[row]:g} %", remedy="both are kept; look if one is misplaced")


@lru_cache(maxsize=4096)
def plain_class(text: str, convention: str) -> str:
    """Code of the texture class without the size of its sand; '' where it is none."""
    term = find_term("texture", text, convention) if text else None
    if term is None:
        return ""
    name = term.name
    for size in ("very fine ", "fine ", "coarse "):
        name = name.replace(size, "")
    bare = find_term("texture", name, convention)
    return bare.code if bare else ""
