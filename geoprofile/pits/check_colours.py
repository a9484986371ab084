"""Munsell colours that cannot be, names that are not those of their notation, and colours that a letter asks for.

Sources: Munsell Soil Color Charts (1994, 2000); Newhall, Nickerson & Judd 1943 for what can be; Canadian System of Soil
Classification 1998, chapter 2, for e and h.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.colour_names import misnamed
from ..vocabulary.munsell import Colour, chip_exists, parse_colour, parse_colours, propose_colour
from .profiles import Profiles

LIGHTER, DARKER = 1.0, 1.0
"""Units of value: an Ae lighter (dry) than the B below, an Ah darker than the horizon below (the latter from memory)."""

MORE_CARBON = 0.5
"""Organic carbon, %: an Ah holds at least this much more than the C (from memory)."""

ORGANIC_FROM = 17.0
"""Organic carbon, %, from which a horizon is organic (Canadian System of Soil Classification 1998)."""


def check_colours(all_: Profiles) -> Iterator[Problem]:
    """Notations, names, then e and h."""
    yield from _notations(all_)
    yield from _names(all_)
    if all_.convention == "canadian":
        yield from _eluvial(all_)
        yield from _dark(all_)
        yield from _organic(all_)


def _notations(all_: Profiles) -> Iterator[Problem]:
    for field in ("colour_moist", "colour_dry"):
        codes, uniques = pd.factorize(all_.text(field))
        for code, text in enumerate(uniques):
            colour = parse_colour(str(text)) if text else None
            if not text or (colour is not None and chip_exists(colour) and on_a_page(colour)):
                continue
            if colour is not None and chip_exists(colour):
                severity, what, remedy = "note", "a hue between the pages of the charts", "correct it if it is a slip; it is used as written"
            else:
                near = propose_colour(str(text))
                severity, remedy = "warning", f"did you mean {near.text}?" if near else "correct it; the colour is not used"
                what = "a colour that cannot be" if colour is not None else "not a Munsell colour"
            for row in np.flatnonzero(codes == code):
                yield all_.problem(row, severity, "colour", f"{text} is {what} ({all_.name_of(row)})", field=field, found=str(text),
                                   allowed="hue value/chroma, as 10YR 4/3 or N 4/", remedy=remedy)


def on_a_page(colour: Colour) -> bool:
    """Whether the charts have a page of this hue (steps of 2.5), or the colour is neutral."""
    return colour.hue == "N" or colour.hue_step % 2.5 == 0


def _names(all_: Profiles) -> Iterator[Problem]:
    """A column of colour names against the notations beside it; a name may be that of the moist or of the dry colour."""
    names = all_.text("colour_name")
    moist, dry = all_.text("colour_moist"), all_.text("colour_dry")
    for row in np.flatnonzero(names != ""):
        colours = [colour for text in (moist[row], dry[row]) for colour, _ in parse_colours(text)]
        fault = misnamed(names[row], colours)
        if fault:
            yield all_.problem(row, "warning", "colour name", f"the name and the notation of a colour do not go together ({all_.name_of(row)})",
                               field="colour_name", **fault)


def _eluvial(all_: Profiles) -> Iterator[Problem]:
    """Ae against the first B below it: dry value at least one unit higher; by moist colours only what is plainly darker."""
    pale = all_.flags(lambda one: one.master == "A" and one.has("e") and not one.has("h", weak=True) and not one.has("p"))
    below = _first_below(all_, all_.flags(lambda one: one.known and one.master == "B"))
    for row in np.flatnonzero(pale & (below >= 0)):
        b = below[row]
        if all_.dry.known[row] and all_.dry.known[b]:
            if all_.dry.value[row] - all_.dry.value[b] < LIGHTER:
                yield _of_e(all_, row, b, "warning", "dry", "hardly lighter", f"a dry value at least {LIGHTER:g} unit higher than the B")
        elif all_.moist.known[row] and all_.moist.known[b] and all_.moist.value[row] < all_.moist.value[b]:
            yield _of_e(all_, row, b, "note", "moist", "darker", f"lighter than the B: {LIGHTER:g} unit of value when dry; only moist colours are given")


def _of_e(all_: Profiles, row: int, b: int, severity: str, state: str, how: str, allowed: str) -> Problem:
    texts = all_.text(f"colour_{state}")
    return all_.problem(row, severity, "eluvial colour", f"e is written, but {all_.span(row)} is {how} than {all_.span(b)}", field=f"colour_{state}",
                        found=f"{texts[row]} over {texts[b]} ({state})", allowed=allowed, remedy="look at the dry colours; write ej or leave e out if it is not lighter")


def _dark(all_: Profiles) -> Iterator[Problem]:
    """Ah against the mineral horizon below: darker by one unit of value in either state, or richer in organic carbon."""
    dark = all_.flags(lambda one: one.master == "A" and one.has("h") and not one.has("e", weak=True) and not one.has("p") and not one.buried)
    below = _first_below(all_, all_.mineral & all_.flags(lambda one: not (one.master == "A" and one.has("h", weak=True))))
    carbon = all_.column("organic_carbon_percent")
    for row in np.flatnonzero(dark & (below >= 0)):
        b = below[row]
        apart = {state: colours.value[b] - colours.value[row] for state, colours in (("moist", all_.moist), ("dry", all_.dry))
                 if colours.known[row] and colours.known[b]}
        richer = carbon[row] - carbon[b] >= MORE_CARBON
        if apart and max(apart.values()) < DARKER and not richer:
            state = max(apart, key=apart.get)
            texts = all_.text(f"colour_{state}")
            yield all_.problem(row, "note", "dark colour", f"h is written, but {all_.span(row)} is not darker than {all_.span(b)}", field=f"colour_{state}",
                               found=f"{texts[row]} over {texts[b]} ({state})", allowed=f"a value at least {DARKER:g} unit lower, or {MORE_CARBON:g} % more organic carbon than the C",
                               remedy="look at the colours, or give the organic carbon")


def _organic(all_: Profiles) -> Iterator[Problem]:
    carbon = all_.column("organic_carbon_percent")
    organic = all_.flags(lambda one: one.known and one.organic)
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((organic & (carbon < ORGANIC_FROM)) | (all_.mineral & (carbon >= ORGANIC_FROM)))
    for row in rows:
        kind = "organic" if organic[row] else "mineral"
        yield all_.problem(row, "warning", "organic carbon", f"{all_.span(row)} is {kind} by its letter, but not by its organic carbon", field="organic_carbon_percent",
                           found=f"{carbon[row]:g} %", allowed=f"organic horizons hold {ORGANIC_FROM:g} % or more, mineral ones less", remedy="look at the letter and at the analysis")


def _first_below(all_: Profiles, flags: np.ndarray) -> np.ndarray:
    """For each row the next flagged row below it in its pit and material; -1 where there is none."""
    count = len(flags)
    at = np.where(flags, np.arange(count), count)
    following = np.append(np.minimum.accumulate(at[::-1])[::-1][1:], count)
    inside = np.minimum(following, count - 1)
    return np.where((following < count) & (all_.pit[inside] == all_.pit) & (all_.material[inside] == all_.material), inside, -1)
