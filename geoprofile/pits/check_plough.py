"""A plough layer that is ploughed-up B or C: as pale, as bright or as limy as the horizon below it.

Common practice, no source: a moist value of 4 or more, a chroma of 3 or more, or a reaction to acid in an Ap. It is
told only where the horizon below has the same colour, or nearly the same and its carbonates or clay too, so that a
naturally pale or red topsoil is not accused.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..problems import Problem
from .check_acid import Lime
from .check_clay import measured_clay
from .profiles import Profiles

PALE, BRIGHT = 4.0, 3.0
SAME_VALUE, SAME_CHROMA, NEAR_CHROMA, SAME_HUE, SAME_CLAY = 0.5, 0.5, 1.0, 2.5, 2.0


def check_plough(all_: Profiles) -> Iterator[Problem]:
    """Each Ap that has the colour, and with it the carbonates or the clay, of the B or C directly below."""
    ploughed = all_.flags(lambda one: one.known and one.master == "A" and one.has("p") and not one.has("b"))
    subsoil = all_.flags(lambda one: one.known and one.master[:1] in ("B", "C"))
    on_subsoil = ploughed & all_.same_pit & np.append(subsoil[1:], False)
    if not on_subsoil.any():
        return
    lime, clay, moist = Lime(all_), measured_clay(all_), all_.moist
    rows = np.flatnonzero(on_subsoil)
    below = rows + 1
    with np.errstate(invalid="ignore"):
        # the letter alone (Apk) is what the surveyor says already; a colour alone is told where the subsoil has it too
        limy = lime.reacts[rows] & (lime.reacts[below] | lime.lettered[below])
        odd = (moist.value[rows] >= PALE) | (moist.chroma[rows] >= BRIGHT)
        value, chroma, hue = (np.abs(one[rows] - one[below]) for one in (moist.value, moist.chroma, moist.hue))
        near = odd & (value <= SAME_VALUE) & (chroma <= NEAR_CHROMA) & ~(hue > SAME_HUE)
        clayey = all_.flags(lambda one: one.has("t"))[below] & (np.abs(clay[rows] - clay[below]) <= SAME_CLAY)
        told = (near & ((chroma <= SAME_CHROMA) | limy | clayey)) | (limy & (all_.convention == "canadian"))
    for row, is_limy, is_near, is_clayey in zip(rows[told], limy[told], near[told], clayey[told]):
        signs = [sign for sign, there in (("colour", is_near), ("carbonates", is_limy), ("clay", is_clayey)) if there]
        yield all_.problem(row, "note", "plough layer", f"{all_.span(row)} has the {' and the '.join(signs)} of {all_.span(row + 1)} below it: is it ploughed-up subsoil?",
                           field="designation", found="; ".join(_shown(all_, lime, clay, at) for at in (row, row + 1)), allowed=f"moist value below {PALE:g}, chroma below {BRIGHT:g}, no reaction to acid",
                           remedy="say so in the remarks if it is eroded; topsoil depths and salvage rest on it")


def _shown(all_: Profiles, lime: Lime, clay: np.ndarray, row: int) -> str:
    parts = [all_.name_of(row), all_.text("colour_moist")[row], lime.said[row] and f"effervescence {lime.said[row]}", f"{clay[row]:g} % clay" if np.isfinite(clay[row]) else ""]
    return " ".join(part for part in parts if part)
