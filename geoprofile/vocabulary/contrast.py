"""Contrast of a mottle against its matrix from their Munsell colours.

Classes are data (``tables/mottles.toml``): steps of hue pages, value and chroma of
Soil Survey Technical Note 2 (USDA-NRCS), as in the Field Book v. 3.0 (Schoeneberger et al. 2012).
"""

from __future__ import annotations

from functools import lru_cache

from .munsell import Colour
from .tables import table

PAGE = 2.5
"""Steps of the hue circle between two pages of the charts."""


def hue_pages(one: Colour, other: Colour) -> float:
    """Pages of hue between two colours, the short way round; 0 where one is neutral, which has no hue (ours)."""
    if "N" in (one.hue, other.hue):
        return 0.0
    apart = abs(one.hue_step - other.hue_step) % 100
    return min(apart, 100 - apart) / PAGE


@lru_cache(maxsize=65536)
def contrast(matrix: Colour, mottle: Colour) -> str:
    """faint, distinct or prominent.

    Two colours that are both dark and dull (value 3 or less and chroma 2 or less) are faint
    whatever their hues. Otherwise the first class of the table whose limits hold.

    Source: Soil Survey Technical Note 2 (from memory, not checked against the print).
    """
    rules = table("mottles")["contrast"]
    dull = rules["dull"]
    if all(colour.value <= dull["value"] and colour.chroma <= dull["chroma"] for colour in (matrix, mottle)):
        return "faint"
    pages = hue_pages(matrix, mottle)
    value, chroma = abs(matrix.value - mottle.value), abs(matrix.chroma - mottle.chroma)
    for row in rules["faint"]:
        if pages <= row["pages"]:
            if value <= row["value"] and chroma <= row["chroma"]:
                return "faint"
            break
    for row in rules["prominent"]:
        if pages <= row.get("pages", pages):
            return "prominent" if value >= row["value"] or chroma >= row["chroma"] else "distinct"
    raise AssertionError("the last class of prominent has no limit of pages")


def contrasts(matrix: Colour, mottle: Colour) -> frozenset[str]:
    """Every class that a recorded word may say of two colours.

    Three pages of hue and more with nearly equal value and chroma are distinct by the table we have, and
    prominent as we remember a later edition: both pass.
    """
    found = contrast(matrix, mottle)
    if found == "distinct" and hue_pages(matrix, mottle) >= table("mottles")["contrast"]["either_from_pages"]:
        return frozenset(("distinct", "prominent"))
    return frozenset((found,))
