"""Colours of our own, told apart by people who are colour-blind.

DISTINCT was found by search: any two differ by at least 30 CIELAB units, seen
normally and under full deuteranopia, protanopia and tritanopia as simulated by
Machado, Oliveira & Fernandes (2009). RAMP falls in lightness all the way, so
that order shows even in grey.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

INK = "#22303c"
PAPER = "#ffffff"
PIT = "#e8a02c"
ROUTE = "#453690"
SALVAGE = "#a3003c"
QUIET = "#8a949c"
NOT_BACKED = "not backed by the pits"
"""Name of the zone where surfaces give no estimate."""
NOT_BACKED_GREY = "#b9bdbf"

DISTINCT = ("#2781f9", "#cc4518", "#f9bdcc", "#633654", "#bddb81", "#453690", "#9f81bd", "#bd6363")
RAMP = ((247, 236, 205), (160, 205, 176), (76, 150, 160), (42, 92, 135), (24, 38, 78))


def ramp_colours(count: int) -> list[str]:
    """``count`` colours from light to dark, evenly spaced along RAMP."""
    colours = []
    for number in range(count):
        place = (len(RAMP) - 1) * (number / (count - 1) if count > 1 else 0.4)
        left = min(int(place), len(RAMP) - 2)
        share = place - left
        mixed = (round(a + (b - a) * share) for a, b in zip(RAMP[left], RAMP[left + 1], strict=True))
        colours.append("#" + "".join(f"{value:02x}" for value in mixed))
    return colours


def category_colours(names: Sequence[str]) -> dict[str, str]:
    """A colour a name: the ramp where names are classes in order (they hold numbers) or too many, else DISTINCT.

    Land that the pits do not back is grey: it is no class among the others.
    """
    classes = [name for name in names if name != NOT_BACKED]
    ordered = bool(classes) and all(re.search(r"\d", name) for name in classes)
    colours = ramp_colours(len(classes)) if ordered or len(classes) > len(DISTINCT) else DISTINCT
    chosen = dict(zip(classes, colours, strict=False))
    return {name: chosen.get(name, NOT_BACKED_GREY) for name in names}


def channels(colour: str) -> tuple[int, int, int]:
    """Red, green, blue 0..255 of ``#rrggbb``."""
    return tuple(int(colour[start : start + 2], 16) for start in (1, 3, 5))
