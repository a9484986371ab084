"""Names of Munsell soil colours, and whether a name can belong to a notation.

Editions of the charts differ (10YR 4/3 was dark brown and is brown), so a name is held
against a notation only where no chip of that name is near.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from importlib.resources import files

from .munsell import Colour

NEAR_HUE, NEAR_VALUE, NEAR_CHROMA = 5.0, 1.0, 2.0
"""A chip within these of a notation may bear its name: two pages of hue, one value, two of chroma (ours)."""


FARTHEST = 9.0
"""Index of Nickerson beyond which no chip lends its name: a unit of value and a unit of chroma (ours)."""


@cache
def chips() -> dict[str, tuple[Colour, ...]]:
    """Name -> its chips."""
    found: dict[str, list[Colour]] = {}
    lines = (files(__package__) / "tables" / "colour_names.csv").read_text(encoding="utf-8").splitlines()
    for line in lines:
        if line and not line.startswith(("#", "hue")):
            hue, value, chroma, name = line.split(",")
            found.setdefault(name, []).append(Colour(hue, float(value), float(chroma)))
    return {name: tuple(colours) for name, colours in found.items()}


@lru_cache(maxsize=4096)
def nearest_names(colour: Colour) -> tuple[str, ...]:
    """Names of the chip nearest to a colour; more than one where chips of several names are equally near (half chips).

    Near is by the index of Nickerson 1936 (chroma/5 times twice the steps of hue, six a unit of value, three a unit
    of chroma). () where no chip is within one unit of value and one of chroma, or their like.
    """
    distances = {}
    for name, known in chips().items():
        distances[name] = min(_index(chip, colour) for chip in known)
    least = min(distances.values())
    return tuple(name for name, distance in distances.items() if distance <= least + 1e-9) if least <= FARTHEST else ()


def _index(one: Colour, other: Colour) -> float:
    hue = 0.0
    if "N" not in (one.hue, other.hue):
        apart = abs(one.hue_step - other.hue_step) % 100
        hue = min(apart, 100 - apart)
    return min(one.chroma, other.chroma) / 5 * 2 * hue + 6 * abs(one.value - other.value) + 3 * abs(one.chroma - other.chroma)


def chips_instead(name: str, colour: Colour) -> str:
    """Chips that bear the name, where none of them is near the notation; '' where one is, or the name is not known."""
    known = chips().get(" ".join(name.casefold().replace("grey", "gray").split()), ())
    if not known or any(_near(chip, colour) for chip in known):
        return ""
    same_hue = [chip for chip in known if chip.hue == colour.hue] or list(known)
    return ", ".join(chip.text for chip in same_hue[:4])


def misnamed(name: str, colours: list[Colour]) -> dict[str, str]:
    """``found``, ``allowed`` and ``remedy`` where a name belongs to none of the colours; {} where it may, or is not known."""
    plain = " ".join(re.sub(r"[^a-z ]", " ", re.sub(r"\b(moist|dry|wet|m|d)\b", " ", name.casefold().replace("-", " "))).split())
    chips_of_name = [chips_instead(plain, colour) for colour in colours]
    if not chips_of_name or not all(chips_of_name):
        return {}
    return {"found": f"{plain} ({', '.join(colour.text for colour in colours)})", "allowed": f"{plain} is {chips_of_name[0]}",
            "remedy": "correct one of the two; the notation is used"}


def _near(one: Colour, other: Colour) -> bool:
    if abs(one.value - other.value) > NEAR_VALUE or abs(one.chroma - other.chroma) > NEAR_CHROMA:
        return False
    if "N" in (one.hue, other.hue):
        return True
    apart = abs(one.hue_step - other.hue_step) % 100
    return min(apart, 100 - apart) <= NEAR_HUE
