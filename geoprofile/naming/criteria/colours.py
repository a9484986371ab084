"""Value and chroma of the dark A, dry and moist, against the limits of the great groups.

Dry colours decide; most records hold moist ones only. Then the likely dry value leans and never decides.
"""

from __future__ import annotations

from ..logic import NO, OPEN, RATHER, RATHER_NOT, YES, Answer
from ..soil import Layer, Soil
from .question import no, question, yes

DRY_ABOVE_MOIST = (0.5, 2.5)
"""A dry value lies this far above the moist one; common practice, no source."""


def surface_a(soil: Soil) -> Layer | None:
    """The dark A that its colour is asked of: the uppermost."""
    found = soil.find(lambda layer: layer.symbol.dark_a != NO)
    return found[0] if found else None


def is_grayed(soil: Soil) -> bool:
    """An Ahe: a dark A with signs of eluviation."""
    return bool(soil.find(lambda layer: layer.symbol.dark_a == YES and layer.symbol.letter("e", weak=True)))


@question("dry value of the A from {from_value:g} to less than {below_value:g}")
def dry_value(soil: Soil, from_value: float, below_value: float, chroma: str = "") -> Answer:
    """``chroma``: 'above 1.5' or 'up to 1.5', as is usual for the great group; it leans, it does not decide."""
    layer = surface_a(soil)
    if layer is None:
        return Answer(OPEN, "no dark A designated", missing="dry colour of the A")
    missing = f"dry colour of {layer.name}"
    if layer.dry:
        said = f"{layer.place}: {_text(layer.dry)} dry"
        return yes(said) if from_value <= layer.dry[1] < below_value else no(said)
    if layer.moist is None:
        return Answer(OPEN, f"{layer.place}: no colour recorded", missing=missing)
    low, high = (layer.moist[1] + more for more in DRY_ABOVE_MOIST)
    said = f"{layer.place}: {_text(layer.moist)} moist, dry not recorded"
    fits = _chroma_fits(layer.moist[2], chroma)
    if high < from_value or low >= below_value or fits is False:
        return Answer(RATHER_NOT, said, missing=missing)
    if (from_value <= low and high < below_value) or fits:
        return Answer(RATHER, said, missing=missing)
    return Answer(OPEN, said, missing=missing)


def _chroma_fits(chroma: float, usual: str) -> bool | None:
    if not usual or 1.5 < chroma <= 2:
        return None
    return chroma > 1.5 if usual == "above 1.5" else chroma <= 1.5


@question("moist value of the A below {below_value:g}")
def moist_value(soil: Soil, below_value: float) -> Answer:
    layer = surface_a(soil)
    if layer is None or layer.moist is None:
        return Answer(OPEN, "no moist colour of the A recorded", missing="moist colour of the A")
    said = f"{layer.place}: {_text(layer.moist)} moist"
    return yes(said) if layer.moist[1] < below_value else no(said)


@question("signs of eluviation in the dark A (Ahe)")
def grayed_a(soil: Soil, from_value: float = 0, below_value: float = 99) -> Answer:
    """``from_value`` and ``below_value``: the dry values such an A can have; outside them signs of eluviation do not count."""
    top = surface_a(soil)
    if top is not None and top.dry and not from_value <= top.dry[1] < below_value:
        return no(f"{top.place}: {_text(top.dry)} dry, outside {from_value:g} to {below_value:g}")
    found = soil.find(lambda layer: layer.symbol.dark_a == YES and layer.symbol.letter("e", weak=True))
    if found:
        return Answer(RATHER, found[0].place, missing="gray streaks or coatings in the A, and the dry colour")
    layer = surface_a(soil)
    hides = f"; {layer.place} may hide one" if layer is not None and layer.symbol.ploughed else ""
    return Answer(RATHER_NOT, f"no Ahe designated{hides}", missing="whether the A has gray streaks (Ahe)")


@question("the A darker than the C by {by_value:g} value unit or more")
def darker_than_parent(soil: Soil, by_value: float) -> Answer:
    layer, parents = surface_a(soil), soil.find(lambda one: one.symbol.is_c)
    for state in ("moist", "dry"):
        one = getattr(layer, state) if layer else None
        other = next((getattr(parent, state) for parent in parents if getattr(parent, state)), None)
        if one and other:
            said = f"{layer.name} {_text(one)}, C {_text(other)} {state}"
            return yes(said) if other[1] - one[1] >= by_value else no(said)
    return yes("not compared: colours of A and C in one state are not recorded", "the A: darker than the C")


def _text(colour: tuple[str, float, float]) -> str:
    return f"{colour[0]} {colour[1]:g}/{colour[2]:g}"
