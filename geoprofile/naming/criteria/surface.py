"""The dark A: its thickness, and whether it is that of grassland (chernozemic) or another."""

from __future__ import annotations

from ..logic import NO, OPEN, RATHER, RATHER_NOT, SUPPOSED, YES, Answer, first_of
from ..soil import Soil
from .colours import is_grayed, surface_a
from .question import no, question, thick_enough, yes


def dark_a_span(soil: Soil):
    """Thickness of the dark A; what nobody described above or below it may belong to it."""
    first = next((layer for layer in soil.layers), None)
    hidden = first is not None and not first.described
    last = soil.mineral[-1] if soil.mineral else None
    return soil.span(lambda layer: layer.symbol.dark_a, unseen=hidden or last is None)


@question("a dark A (Ah, Ahe or Ap) of {at_least_cm:g} cm or more")
def dark_a(soil: Soil, at_least_cm: float, ploughed_cm: float = 0.0) -> Answer:
    """``ploughed_cm``: the limit where the A is an Ap, if it is another."""
    span = dark_a_span(soil)
    if not span.layers and not span.unseen:
        return no("no Ah or Ap designated")
    limit = ploughed_cm if ploughed_cm and span.layers and all(layer.symbol.ploughed for layer in span.layers) else at_least_cm
    return thick_enough(span, limit, "dark A")


@question("a dark A of {at_least_cm:g} cm or more, or an Ap of {ploughed_cm:g} cm with dry value {from_value:g} to {to_value:g}")
def dark_surface(soil: Soil, at_least_cm: float, ploughed_cm: float, from_value: float, to_value: float) -> Answer:
    virgin = soil.span(lambda layer: NO if layer.symbol.ploughed else layer.symbol.dark_a)
    if virgin.layers and virgin.at_least(at_least_cm) == YES:
        return yes(f"dark A: {virgin.text}")
    ploughed = soil.find(lambda layer: layer.symbol.ploughed)
    if not ploughed:
        return dark_a(soil, at_least_cm)
    top = ploughed[0]
    if top.dry:
        said = f"{top.place}: {top.dry[0]} {top.dry[1]:g}/{top.dry[2]:g} dry"
        return yes(said) if from_value <= top.dry[1] <= to_value else no(said)
    return Answer(OPEN, f"{top.place}: dry colour not recorded", missing=f"dry colour of {top.name}")


@question("a chernozemic A ({at_least_cm:g} cm or more, value below {dry_value:g} dry and {moist_value:g} moist, darker than the C, "
          "base rich, in a dry climate)")  # fmt: skip
def chernozemic_a(soil: Soil, at_least_cm: float, dry_value: float, moist_value: float, moist_chroma: float,
                  darker_by: float) -> Answer:  # fmt: skip
    thick = dark_a(soil, at_least_cm)
    layer = surface_a(soil)
    if thick.degree == NO:
        thick = _mixed(soil, thick, at_least_cm, moist_value, moist_chroma)
    if layer is None or thick.degree == NO:
        return thick
    colour = _colour(soil, dry_value, moist_value, moist_chroma, darker_by)
    carbon = layer.organic_carbon
    content = None if carbon is None or 1 <= carbon <= 17 else no(f"{layer.place}: organic carbon {carbon:g} % (1 to 17)")
    if colour.degree == NO:
        return colour
    return first_of(thick, content, _setting(soil, colour))


def _mixed(soil: Soil, thick: Answer, depth_cm: float, value: float, chroma: float) -> Answer:
    """A thinner A may still give ``depth_cm`` of dark surface material when mixed with what lies below it (CSSC 1998, ch. 5)."""
    span = dark_a_span(soil)
    if soil.forest_floor or span.high < depth_cm / 2:
        return thick
    parts = [(min(one.lower, depth_cm) - one.upper, one.moist) for one in soil.mineral if one.upper < depth_cm]
    said = f"{thick.says}; mixed to {depth_cm:g} cm"
    if parts and all(colour for _, colour in parts):
        whole = sum(cm for cm, _ in parts) or 1.0
        mixed = [sum(cm * colour[number] for cm, colour in parts) / whole for number in (1, 2)]
        said += f" value {mixed[0]:.2g} and chroma {mixed[1]:.2g} moist, if they mix evenly"
        if mixed[0] >= value or mixed[1] >= chroma:
            return no(said)
    return Answer(RATHER_NOT, said, missing=f"the colour of the upper {depth_cm:g} cm when mixed")


def _colour(soil: Soil, dry_value: float, moist_value: float, moist_chroma: float, darker_by: float) -> Answer:
    """YES where a colour was recorded and passes, OPEN where none was."""
    layer = surface_a(soil)
    said = []
    for state, limit in (("dry", dry_value), ("moist", moist_value)):
        colour = getattr(layer, state)
        if colour:
            text = f"{colour[0]} {colour[1]:g}/{colour[2]:g} {state}"
            if colour[1] >= limit:
                return no(f"{layer.place}: {text}, not darker than {limit:g}")
            if state == "moist" and colour[2] >= moist_chroma:
                return no(f"{layer.place}: {text}, chroma not below {moist_chroma:g}")
            said.append(text)
            parent = next((getattr(one, state) for one in soil.find(lambda one: one.symbol.is_c) if getattr(one, state)), None)
            if parent and parent[1] - colour[1] < darker_by:
                return no(f"{layer.place}: {text}, C {parent[0]} {parent[1]:g}/{parent[2]:g}: not {darker_by:g} unit darker")
    if not said:
        return Answer(OPEN, f"{layer.place}: no colour recorded", missing=f"moist and dry colour of {layer.name}")
    return yes(f"{layer.place}: {', '.join(said)}")


def _setting(soil: Soil, colour: Answer) -> Answer:
    """Base status and climate are in no pit description: carbonates below stand for the first, forest speaks against the second."""
    said = colour.says
    buried = any(layer.described and layer.symbol.buried for layer in soil.layers)
    limy = any(layer.symbol.calcareous or layer.symbol.salty or layer.effervescent for layer in soil.mineral)
    missing = "base saturation of the A and the climate of the soil (drier than humid)"
    wooded = soil.forest_floor or soil.wooded
    if buried:
        return Answer(RATHER_NOT, f"{said}; a buried A shows layers laid one on another", missing=missing)
    if wooded and not is_grayed(soil):
        return Answer(RATHER_NOT, f"{said}; under a forest floor", missing=missing)
    if colour.degree == YES and limy and not wooded:
        return Answer(SUPPOSED, f"{said}; carbonates or salts in the profile", supposes=_supposed(soil))
    if limy or (colour.degree == YES and not soil.drainage.endswith("poorly")):
        why = "carbonates or salts in the profile" if limy else "no carbonates recorded in the profile"
        return Answer(RATHER, f"{said}; {why}", missing=missing)
    return Answer(OPEN, f"{said}; no carbonates recorded in the profile", missing=missing)


def _supposed(soil: Soil) -> str:
    """What a chernozemic A still rests on: what no record holds, and a colour that this one does not."""
    layer = surface_a(soil)
    unseen = [state for state in ("moist", "dry") if getattr(layer, state) is None]
    colour = f", the {unseen[0]} colour of {layer.name} within the limits" if unseen else ""
    return f"base saturation above 80 % and a soil climate drier than humid{colour}"


@question("a mean annual soil temperature of {at_least:g} degrees C or more, and a forest-mull Ah over {ah_cm:g} cm or a dark Ap")
def mild_mull(soil: Soil, at_least: float, ah_cm: float) -> Answer:
    dark = dark_a(soil, ah_cm + 0.01)
    ploughed = soil.find(lambda layer: layer.symbol.ploughed)
    if not ploughed and dark.degree == NO:
        return no(dark.says)
    if soil.temperature is not None:
        said = f"mean annual soil temperature {soil.temperature:g} degrees C, as the survey file states"
        if soil.temperature < at_least:
            return no(said)
        return first_of(dark, yes(said)) if not ploughed else yes(said)
    missing = "mean annual soil temperature ([naming] mean_annual_soil_temperature_c)"
    if soil.forest_floor or is_grayed(soil):
        which = "a forest floor" if soil.forest_floor else "an Ahe"
        return Answer(RATHER_NOT, f"{which} speaks against a mull; temperature not stated", missing=missing)
    if ploughed:
        return Answer(OPEN, f"{ploughed[0].place}; temperature not stated", missing=missing)
    return first_of(dark, Answer(RATHER, f"{dark.says}, no forest floor; temperature not stated", missing=missing))


@question("organic layers of {at_least_cm:g} cm or more over the mineral soil")
def surface_peat(soil: Soil, at_least_cm: float) -> Answer:
    thick = sum(layer.lower - layer.upper for layer in soil.above)
    said = f"organic layers {thick:g} cm"
    return yes(said) if thick >= at_least_cm else no(said)


@question("a forest floor (L, F, H)")
def forest_floor(soil: Soil) -> Answer:
    if soil.forest_floor:
        return yes(soil.above[0].place)
    return Answer(RATHER_NOT, "no forest floor described", missing="whether the land is wooded")
