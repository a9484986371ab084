"""Reaction: what splits Brunisols and Cryosols, and the alkaline Solonetz."""

from __future__ import annotations

from ..logic import OPEN, RATHER, RATHER_NOT, Answer
from ..soil import Soil
from .question import no, question, yes

WATER_ABOVE_CALCIUM_CHLORIDE = 0.5
"""pH in water lies about this far above pH in 0.01 M CaCl2; common practice, no source."""


@question("pH of {at_least:g} or more (0.01 M CaCl2) in the upper {upper_b_cm:g} cm of the B")
def base_rich_b(soil: Soil, at_least: float, upper_b_cm: float) -> Answer:
    bs = soil.find(lambda layer: layer.symbol.b)
    zone = [layer for layer in bs if layer.upper < bs[0].upper + upper_b_cm]
    measured = [layer for layer in zone if layer.ph is not None]
    limy = [layer for layer in zone if layer.symbol.calcareous or layer.effervescent]
    missing = f"pH in 0.01 M CaCl2 of {', '.join(layer.name for layer in zone) or 'the B'}"
    if measured:
        lowest = min(measured, key=lambda layer: layer.ph)
        said = f"{lowest.place}: pH {lowest.ph:g}"
        if lowest.ph >= at_least + WATER_ABOVE_CALCIUM_CHLORIDE:
            return yes(said)
        if lowest.ph < at_least:
            return no(said)
        return Answer(RATHER, f"{said}, in what solution is not recorded", missing=missing)
    if limy:
        return yes(f"{limy[0].place} is calcareous")
    below = soil.find(lambda layer: layer.symbol.calcareous or bool(layer.effervescent))
    if below:
        return Answer(RATHER, f"pH not measured; {below[0].place} is calcareous", missing=missing)
    return Answer(OPEN, "pH not measured", missing=missing)


@question("pH of {at_least:g} or more in the A")
def alkaline_a(soil: Soil, at_least: float) -> Answer:
    found = soil.find(lambda layer: layer.symbol.a)
    measured = [layer for layer in found if layer.ph is not None]
    if measured:
        top = measured[0]
        return yes(f"{top.place}: pH {top.ph:g}") if top.ph >= at_least else no(f"{top.place}: pH {top.ph:g}")
    return Answer(RATHER_NOT, "pH of the A not measured", missing="pH of the A")
