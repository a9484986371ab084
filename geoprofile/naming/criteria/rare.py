"""Features that one letter shows and most soils lack: frozen layers, slickensides, pans, buried and cemented layers."""

from __future__ import annotations

from ..logic import NO, OPEN, RATHER, RATHER_NOT, YES, Answer
from ..soil import Layer, Soil
from .question import absent_to, no, question, thick_enough, yes

CLAYEY = ("clay", "heavy clay", "silty clay", "sandy clay")
"""Texture classes that can reach the 60 % clay of vertic material."""


@question("a frozen layer (z) that begins within {within_cm:g} cm")
def frozen_layer(soil: Soil, within_cm: float) -> Answer:
    frozen = [layer for layer in soil.layers if layer.described and "z" in layer.symbol.strong]
    if frozen:
        first = frozen[0]
        if first.upper <= within_cm:
            return yes(first.place, "the frozen layer is taken for permafrost")
        return no(f"{first.place} begins deeper")
    if soil.temperature is not None and soil.temperature > 0:
        return no(f"mean annual soil temperature {soil.temperature:g} degrees C, as the survey file states")
    if soil.stopped_by == "frost" and soil.described_to <= within_cm:
        return Answer(RATHER, "frost stopped the pit", missing="whether the frost is permanent")
    return absent_to(soil, within_cm, "frozen layer")


@question("layers churned by frost (y)")
def cryoturbated(soil: Soil) -> Answer:
    churned = [layer for layer in soil.layers if layer.described and "y" in layer.symbol.strong]
    return yes(churned[0].place) if churned else no("no horizon carries y")


@question("slickensides (ss) that begin within {within_cm:g} cm")
def slickensides(soil: Soil, within_cm: float) -> Answer:
    found = [layer for layer in soil.mineral if "ss" in layer.symbol.strong]
    if found:
        return yes(found[0].place) if found[0].upper <= within_cm else no(f"{found[0].place} begins deeper")
    if soil.mineral and all(_too_sandy(layer) for layer in soil.mineral):
        return no("no horizon is clay enough for slickensides: " + ", ".join(_texture(layer) for layer in soil.mineral[-2:]))
    return absent_to(soil, within_cm, "slickensides (ss)")


def _too_sandy(layer: Layer) -> bool:
    if layer.clay is not None:
        return layer.clay < 60
    return layer.texture is not None and layer.texture not in CLAYEY


def _texture(layer: Layer) -> str:
    return f"{layer.name} {layer.texture if layer.clay is None else f'{layer.clay:g} % clay'}"


@question("a vertic B (v)")
def vertic_b(soil: Soil) -> Answer:
    strong = soil.find(lambda layer: layer.symbol.b and "v" in layer.symbol.strong)
    if strong:
        return yes(strong[0].place, f"{strong[0].name}: churning by swelling clay")
    weak = soil.find(lambda layer: "v" in layer.symbol.weak)
    if weak:
        return no(f"{weak[0].place} is only weakly vertic")
    if soil.find(lambda layer: "ss" in layer.symbol.strong):
        return Answer(RATHER_NOT, "slickensides are designated, a vertic horizon (v) is not",
                      missing="whether a horizon was churned by swelling clay (v)")  # fmt: skip
    return no("no horizon carries v")


@question("a fragipan (x)")
def fragipan(soil: Soil) -> Answer:
    found = soil.find(lambda layer: "x" in layer.symbol.strong)
    return yes(found[0].place) if found else no("no horizon carries x")


@question("a cemented podzolic B of {at_least_cm:g} cm or more (ortstein)")
def ortstein(soil: Soil, at_least_cm: float) -> Answer:
    span = soil.span(_cemented_podzolic)
    if not span.layers:
        return no("no podzolic B carries c")
    answer = thick_enough(span, at_least_cm, "cemented podzolic B")
    if answer.degree != YES:
        return answer
    if _soft_podzolic_below(soil, span.layers[-1]):
        return Answer(RATHER_NOT, f"{span.text}; podzolic B without cement lies below it, as below a placic layer",
                      missing="whether the cement is a thin vitreous layer or fills the horizon")  # fmt: skip
    return Answer(RATHER, span.text, missing="whether the cement is strong and fills the horizon (ortstein) or thin and vitreous (placic)")


@question("a thin cemented layer (placic), less than {thinner_than_cm:g} cm")
def placic(soil: Soil, thinner_than_cm: float) -> Answer:
    span = soil.span(_cemented_podzolic)
    if not span.layers:
        return no("no podzolic B carries c")
    if span.high < thinner_than_cm:
        return yes(span.text)
    if _soft_podzolic_below(soil, span.layers[-1]):
        return Answer(RATHER, f"{span.text}; it may hold a series of thin layers, podzolic B without cement lies below it",
                      missing="whether the cement is a thin vitreous layer or fills the horizon")  # fmt: skip
    return Answer(RATHER_NOT, f"{span.text}: thick for a placic layer",
                  missing="whether the cement is strong and fills the horizon (ortstein) or thin and vitreous (placic)")  # fmt: skip


def _cemented_podzolic(layer: Layer) -> int:
    return YES if layer.symbol.podzolic == YES and "c" in layer.symbol.strong else NO


def _soft_podzolic_below(soil: Soil, cemented: Layer) -> bool:
    return bool(soil.find(lambda layer: layer.upper >= cemented.lower and layer.symbol.podzolic == YES
                          and "c" not in layer.symbol.strong))  # fmt: skip


@question("a cemented layer (c) that is no podzolic B (duric)")
def duric(soil: Soil) -> Answer:
    found = soil.find(
        lambda layer: "c" in layer.symbol.strong and layer.symbol.master[:1] in "BC" and layer.symbol.podzolic != YES
    )
    return yes(found[0].place) if found else no("no horizon below the podzolic B carries c")


@question("buried dark layers, or organic matter that rises again with depth")
def cumulic(soil: Soil) -> Answer:
    buried = [layer for layer in soil.layers if layer.described and layer.symbol.buried and layer.symbol.a]
    if buried:
        return yes(buried[0].place)
    carbon = [(layer.organic_carbon, layer) for layer in soil.mineral if layer.organic_carbon is not None]
    for (above, _), (below, layer) in zip(carbon, carbon[1:]):
        if below > above * 1.1:
            return yes(f"organic carbon rises with depth: {above:g} to {below:g} % in {layer.place}")
    values = [(layer.moist[1], layer) for layer in soil.find(lambda one: one.symbol.is_c) if layer.moist]
    for (above, _), (below, layer) in zip(values, values[1:]):
        if above - below >= 1:
            return Answer(OPEN, f"{layer.place} is darker than the layer above it ({below:g} under {above:g})",
                          missing="organic carbon of the layers")  # fmt: skip
    return no("no buried A is designated")
