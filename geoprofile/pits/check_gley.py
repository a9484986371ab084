"""The letter g against colours and mottles, drainage against gleying, recorded contrast of mottles against their colours.

Sources: Canadian System of Soil Classification 1998, chapters 2 and 7 (limits of chroma partly from memory); Soil Survey
Manual 2017, chapter 3 (from memory); that a Gleysol is poorly and a gleyed soil imperfectly drained is our inference.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from ..problems import Problem
from ..vocabulary.contrast import contrasts
from ..vocabulary.munsell import parse_colours
from .profiles import Profiles

BLUER_THAN = 30.0
"""Place of 10Y on the circle of hues: bluer hues are gleyed whatever their chroma."""

RED_UP_TO, TEN_YR = 15.0, 20.0
GREY, GREY_MOTTLED, YELLOW_MOTTLED = 1.0, 2.0, 3.0
"""Canadian: greatest moist chroma without mottles; with mottles in 10YR and redder; with mottles in yellower hues."""

USDA_GREY = 2.0
NEAR_SURFACE_CM = 50.0
DRY_CLASSES = {
    "canadian": ("very rapidly", "rapidly", "well"), "usda": ("excessively", "somewhat excessively", "well"),
    "wrb": ("excessively", "somewhat excessively", "well"),
}  # fmt: skip
WET_CLASSES = ("poorly", "very poorly")
CONTRASTS = ("faint", "distinct", "prominent")
_MOTTLE = re.compile(r"mottl|redox|iron|mangan|concentration|depletion|masses|accumulation|streak", re.IGNORECASE)
_TOLD = re.compile(r"mottle|redox|iron (?:depletion|concentration)", re.IGNORECASE)
"""Mottles in the remarks of a description that has no column for them."""

_CONTRAST = re.compile(r"\b(faint|distinct|prominent)\b", re.IGNORECASE)
_NO_MOTTLE = re.compile(r"film|skin|cutan|coat|face|stain|sand grain|cast|lamell|fragment|pebble|nodule|concretion|carbonate|lime|calcium|argillan|skeletan", re.IGNORECASE)


def check_gley(all_: Profiles) -> Iterator[Problem]:
    """g, drainage and mottles."""
    mottles = all_.term_names("mottle_abundance", "mottles")
    written = all_.text("mottles")
    told = np.array([bool(_TOLD.search(text)) for text in all_.text("remarks")], bool)
    none, some = mottles == "none", ((written != "") | told) & (mottles != "none")
    yield from _letter(all_, none, some)
    yield from _drainage(all_, none, some)
    yield from _contrast(all_)


def _letter(all_: Profiles, none: np.ndarray, some: np.ndarray) -> Iterator[Problem]:
    if all_.convention == "wrb":
        return  # stagnic patterns are a matter of where oxides lie, not of chroma
    colours = all_.moist
    gleyed = all_.flags(lambda one: one.known and not one.organic and one.has("g") and not one.has("f", weak=True))
    with np.errstate(invalid="ignore"):
        if all_.convention == "usda":
            grey = colours.chroma <= USDA_GREY
        else:
            grey = (colours.chroma <= GREY) | (colours.hue > BLUER_THAN)
        strange = gleyed & colours.known & ~grey & ~some
    limit = USDA_GREY if all_.convention == "usda" else GREY
    for row in np.flatnonzero(strange):
        if any(one.chroma <= limit or one.hue_step > BLUER_THAN for one, _ in parse_colours(all_.text("matrix_moist")[row])):
            continue  # a part of the matrix is grey
        said = "and no mottles were seen" if none[row] else "and nothing is said of mottles"
        yield all_.problem(row, "warning" if none[row] else "note", "gleying", f"g is written, but the moist colour is not grey {said} ({all_.span(row)})",
                           field="colour_moist", found=all_.text("colour_moist")[row], allowed=f"chroma {limit:g} or less, or mottles",
                           remedy="describe the mottles" + (", or write gj" if all_.convention == "canadian" else ", or leave g out"))
    for row in np.flatnonzero(_bright_with_mottles(all_, gleyed & some)):
        yield all_.problem(row, "note", "gleying", f"g is written, but the matrix is bright and its mottles are faint ({all_.span(row)})", field="mottle_contrast",
                           found=f"{all_.text('colour_moist')[row]}, faint mottles", allowed="grey colours or prominent mottles", remedy="write gj, or look at the mottles")
    weak = all_.flags(lambda one: one.known and one.has("g", weak=True) and not one.has("g"))
    for row in np.flatnonzero(weak & none):
        yield all_.problem(row, "note", "gleying", f"gj is written, but no mottles were seen ({all_.span(row)})", field="mottles", found="none",
                           allowed="mottles", remedy="describe what shows the gleying, or leave gj out")


def _bright_with_mottles(all_: Profiles, rows: np.ndarray) -> np.ndarray:
    """Canadian: mottles that are only faint in a matrix brighter than the tests of gleying allow."""
    if all_.convention != "canadian":
        return np.zeros(len(rows), bool)
    faint = all_.term_names("mottle_contrast", "mottle_contrast") == "faint"
    with np.errstate(invalid="ignore"):
        limit = np.where(all_.moist.hue > TEN_YR, YELLOW_MOTTLED, GREY_MOTTLED)
        return rows & faint & (all_.moist.chroma > limit) & ~(all_.moist.hue > BLUER_THAN) & (all_.moist.hue > RED_UP_TO)


def _drainage(all_: Profiles, none: np.ndarray, some: np.ndarray) -> Iterator[Problem]:
    drainage = np.array([one.name if one else "" for one in all_.pit_terms("drainage", "drainage")], dtype=object)
    if not (drainage != "").any():
        return
    near = all_.mineral & (all_.upper < NEAR_SURFACE_CM) & all_.flags(lambda one: not one.buried)
    gleyed = near & all_.flags(lambda one: one.has("g") and not one.organic)
    dry, wet = np.isin(drainage.astype(str), DRY_CLASSES[all_.convention]), np.isin(drainage.astype(str), WET_CLASSES)
    if all_.convention != "wrb":  # there g is also the pattern of stagnant water, and may be relict
        for pit in np.flatnonzero(dry & all_.any_by_pit(gleyed)):
            rows = all_.rows_of(pit)
            first = int(rows[gleyed[rows]][0])
            yield all_.problem(first, "note", "drainage", f"the pit is noted as {drainage[pit]} drained, yet {all_.span(first)} is gleyed", field="drainage",
                               found=drainage[pit], allowed="gleying within 50 cm goes with wetter classes, unless it is relict or inherited",
                               remedy="look at the drainage class and at the colours; say so in the remarks where gleying is relict")
    with np.errstate(invalid="ignore"):
        grey = near & ((all_.moist.chroma <= USDA_GREY) | (all_.moist.hue > BLUER_THAN) | (np.isnan(all_.moist.hue) & all_.moist.known))
        deep = all_.greatest_by_pit(np.fmax(all_.upper, all_.lower), all_.mineral) >= NEAR_SURFACE_CM
    hint = grey | (near & some) | (near & all_.flags(lambda one: one.has("g", weak=True)))
    bright = near & all_.moist.known & all_.flags(lambda one: one.master[:1] in ("B", "C", "E")) & ~grey
    peaty = all_.greatest_by_pit(np.where(np.isnan(all_.lower), np.inf, all_.lower) - all_.upper, all_.flags(lambda one: one.organic)) >= 20
    for pit in np.flatnonzero(wet & deep & ~all_.any_by_pit(hint) & all_.any_by_pit(bright) & ~peaty):
        yield all_.pit_problem(pit, "note", "drainage", f"the pit is noted as {drainage[pit]} drained, yet nothing within 50 cm is grey, mottled or gleyed", field="drainage",
                               found=drainage[pit], allowed="wet soils show grey colours or mottles, except where they are young, very red or without organic matter",
                               remedy="look at the drainage class, or describe the mottles")


@lru_cache(maxsize=65536)
def mottles_in(text: str) -> tuple[tuple[frozenset, tuple], ...]:
    """(words of contrast, colours) of each phrase of a text that tells both of mottles; coatings and nodules are none."""
    found = []
    for phrase in re.split(r";|\.\s|\n", text):
        words = frozenset(word.lower() for word in _CONTRAST.findall(phrase))
        if words and _MOTTLE.search(phrase) and not _NO_MOTTLE.search(phrase):
            colours = tuple(colour for colour, state in parse_colours(phrase) if state != "dry")
            if colours:
                found.append((words, colours))
    return tuple(found)


def _contrast(all_: Profiles) -> Iterator[Problem]:
    """A recorded word of contrast that no colour of its phrase gives against any colour of the matrix."""
    matrix_of, more = all_.text("colour_moist"), all_.text("matrix_moist")
    remarks, mottles, colour, contrast = (all_.text(name) for name in ("remarks", "mottles", "mottle_colour", "mottle_contrast"))
    candidates = np.flatnonzero([bool(one) and ("/" in two or "/" in three or bool(four)) for one, two, three, four in zip(matrix_of, remarks, mottles, colour)])
    for row in candidates:
        matrices = [one for one, _ in parse_colours(more[row] or matrix_of[row])]
        said = mottles_in(mottles[row]) + mottles_in(remarks[row])
        if colour[row] and contrast[row]:
            said += ((frozenset(_CONTRAST.findall(contrast[row].lower())), tuple(one for one, _ in parse_colours(colour[row]))),)
        for words, colours in said:
            by_colour = frozenset().union(*(contrasts(matrix, one) for matrix in matrices for one in colours))
            if words and by_colour and not words & by_colour:
                shown = " and ".join(sorted(by_colour, key=CONTRASTS.index))
                yield all_.problem(row, "note", "mottle contrast", f"mottles are called {' and '.join(sorted(words, key=CONTRASTS.index))}, by their colours they are {shown} ({all_.span(row)})",
                                   field="mottle_contrast", found=f"{', '.join(one.text for one in colours)} in {' and '.join(one.text for one in matrices)}",
                                   allowed=shown, remedy="look at the colours and at the word; sharp or blurred edges may change it by one class")
