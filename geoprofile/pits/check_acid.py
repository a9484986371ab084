"""Carbonates of the record against each other: letters, reaction to acid, pH, and what silence was taken for.

Sources: Canadian System of Soil Classification 1998, chapter 2 (k is any effervescence, ca is secondary enrichment);
in the USDA and WRB conventions k is secondary carbonate only, and calcareous parent material is a plain C.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np

from ..problems import Problem
from .profiles import Profiles, rounding

LIMY = {"canadian": ("k", "ca"), "usda": ("k", "kk"), "wrb": ("k",)}
ACID_PH = 5.0
"""Below this pH there is no carbonate (published rule of the national data dictionary of Canada, for pH in CaCl2; pH in water reads higher)."""


class Lime:
    """What each horizon says of carbonates. Rows (n,) in order of depth."""

    def __init__(self, all_: Profiles) -> None:
        self.all = all_
        self.said = all_.text("effervescence")
        self.term = all_.term_names("effervescence", "effervescence")
        self.reacts = (self.term != "") & (self.term != "none")
        """A reaction to acid is written. A word that no table knows says nothing."""
        self.quiet = self.term == "none"
        letters = LIMY[all_.convention]
        self.lettered = all_.flags(lambda one: any(one.has(letter, weak=True) for letter in letters))
        self.soil = all_.mineral & all_.flags(lambda one: one.known)

    @cached_property
    def caco3(self) -> np.ndarray:
        return self.all.column("caco3_percent")

    @cached_property
    def limy(self) -> np.ndarray:
        """Carbonates are there: by reaction, by letter or by measurement."""
        with np.errstate(invalid="ignore"):
            return self.reacts | (self.lettered & ~self.quiet) | (self.caco3 > 0)


def check_acid(all_: Profiles) -> Iterator[Problem]:
    """Letters against reaction, reaction against pH, silence. Lime over lime-free soil is found with the attributes, whose depths it splits."""
    lime = Lime(all_)
    yield from _letters(all_, lime)
    yield from _acidity(all_, lime)
    yield from _silence(all_, lime)


def _letters(all_: Profiles, lime: Lime) -> Iterator[Problem]:
    quiet_k = np.flatnonzero(lime.lettered & lime.quiet & lime.soil)
    if all_.convention == "canadian":
        for row in np.flatnonzero(lime.reacts & ~lime.lettered & lime.soil):
            yield all_.problem(row, "warning", "carbonates", f"a reaction to acid is written, but neither k nor ca ({all_.span(row)})",
                               field="effervescence", found=lime.said[row], allowed="the Canadian k is any effervescence",
                               remedy="write k, or look at the acid test")
        for row in quiet_k:
            yield all_.problem(row, "warning", "carbonates", f"k or ca is written, but no reaction to acid ({all_.span(row)})",
                               field="effervescence", found=lime.said[row], allowed="the Canadian k is any effervescence",
                               remedy="leave k out, or look at the acid test; cold dolomite reacts late")
        return
    for row in quiet_k:
        yield all_.problem(row, "note", "carbonates", f"secondary carbonates are written, but the soil does not react to acid ({all_.span(row)})",
                           field="effervescence", found=lime.said[row], allowed="k is secondary carbonate; the soil between its masses may be free of it",
                           remedy="test the masses themselves with acid; leave k out if they do not react")


def _acidity(all_: Profiles, lime: Lime) -> Iterator[Problem]:
    high, said = ph_at_most(all_)
    with np.errstate(invalid="ignore"):
        acid = high < ACID_PH
    for row in np.flatnonzero(acid & lime.limy & lime.soil):
        shown = lime.said[row] or ("" if not lime.caco3[row] > 0 else f"{lime.caco3[row]:g} % CaCO3") or all_.name_of(row)
        yield all_.problem(row, "warning", "acidity against carbonates", f"so acid a soil holds no carbonates ({all_.span(row)})",
                           field="ph", found=f"{said[row]}; {shown}", allowed=f"pH {ACID_PH:g} or more where there are carbonates",
                           remedy="look at the pH and at the acid test: one of them belongs to another sample")


def ph_at_most(all_: Profiles) -> tuple[np.ndarray, np.ndarray]:
    """Greatest pH that the record allows, by row, NaN where it says none; and the words it rests on.

    A measured pH stands within its rounding; a class of reaction (strongly acid) within its limits.
    """
    return _ph(all_, highest=True)


def ph_at_least(all_: Profiles) -> tuple[np.ndarray, np.ndarray]:
    """The least pH that the record allows, likewise."""
    return _ph(all_, highest=False)


def _ph(all_: Profiles, highest: bool) -> tuple[np.ndarray, np.ndarray]:
    measured = all_.column("ph")
    classes = all_.terms("reaction", "reaction")
    limits = np.array([(one.high if highest else one.low) if one else np.nan for one in classes], dtype=float)
    half = rounding(measured) if np.isfinite(measured).any() else 0.0
    value = np.where(np.isfinite(measured), measured + (half if highest else -half), limits)
    said = np.array([f"pH {one:g}" if np.isfinite(one) else (term.name if term else "") for one, term in zip(measured, classes)], dtype=object)
    return value, said


def _silence(all_: Profiles, lime: Lime) -> Iterator[Problem]:
    """Horizons without a word on acid, within the depth that acid was used to, are read as not reacting: say so once."""
    tested = all_.pit_numbers("acid_to_cm")[all_.pit]
    with np.errstate(invalid="ignore"):
        silent = (lime.said == "") & ~lime.lettered & lime.soil & (all_.upper < tested)
    rows = np.flatnonzero(silent)
    if len(rows):
        what = f"{_count(len(rows), 'horizon')} of {_count(len(np.unique(all_.pit[rows])), 'pit')} without a word on acid"
        yield all_.problem(rows[0], "note", "silence on acid", f"{what}, above the depth that acid was used to: read as no reaction", field="acid_to_cm",
                           found=f"first: {all_.span(rows[0])}; pits {all_.some_pits(rows)}", allowed="a series states effervescence where there is any; a field pit may not",
                           remedy="if acid was not used on each horizon, say the depth it was used to, or 0")


def _count(number: int, what: str) -> str:
    return f"one {what}" if number == 1 else f"{number} {what}s"
