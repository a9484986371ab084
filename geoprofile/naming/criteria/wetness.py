"""Signs of wetness: the colour test of Gleysolic soils and the mottles of gleyed subgroups."""

from __future__ import annotations

from ..logic import NO, OPEN, RATHER, RATHER_NOT, YES, Answer, first_of
from ..soil import Layer, Soil
from .question import absent_to, no, question, thick_enough, yes

CONTRASTS = ("faint", "distinct", "prominent")
BLUE = ("GY", "G", "BG", "B")


@question("grey colours or prominent mottles of reduction in {at_least_cm:g} cm or more of the upper {within_cm:g} cm")
def reduced_layer(soil: Soil, within_cm: float, at_least_cm: float) -> Answer:
    gleyed = soil.find(lambda layer: _counts(layer) and layer.symbol.gleyed)
    grey = soil.find(lambda layer: _counts(layer) and not layer.symbol.gleyed and _passes(layer) == YES and layer.mottles not in (None, "none"))
    if not gleyed and not grey:
        if not soil.mineral:
            return no("no mineral horizon")
        if soil.seen_to(within_cm):
            return no(f"no horizon other than Ah, Ap or Ae carries g to {within_cm:g} cm")
        return absent_to(soil, within_cm, "gleyed horizon (g)")
    wanted = {*gleyed, *grey}
    span = soil.span(lambda layer: YES if layer in wanted else NO, lower=within_cm,
                     unseen=not soil.seen_to(within_cm))  # fmt: skip
    thick = thick_enough(span, at_least_cm, f"gleyed layers above {within_cm:g} cm")
    if thick.degree == NO or not span.layers:
        return no(f"less than {at_least_cm:g} cm of gleyed layers above {within_cm:g} cm: {span.text}")
    proven = soil.span(lambda layer: YES if layer in wanted and _passes(layer) == YES else NO, lower=within_cm)
    if proven.at_least(at_least_cm) == YES:
        return yes(f"{proven.layers[0].place}: {_colour_text(proven.layers[0])}")
    colour = first_of(*(_colour_answer(layer) for layer in span.layers[:1]))
    below = _under_ungleyed(soil, span.layers[0]) if colour.as_designated else None
    return first_of(thick, colour, below)


def _counts(layer: Layer) -> bool:
    """The test leaves out Ah, Ap and Ae (an Ae over 20 cm thick that ends below 60 cm excepted)."""
    if layer.symbol.eluvial == YES:
        return layer.lower - layer.upper > 20 and layer.lower > 60
    return layer.symbol.dark_a == NO


def _passes(layer: Layer) -> int:
    """The colour test of one layer: YES or NO by what was recorded, OPEN where that does not suffice."""
    if layer.moist is None:
        return OPEN
    hue, _, chroma = layer.moist
    letters = hue.lstrip("0123456789.")
    if chroma <= 1 or letters in BLUE or hue == "N":
        return YES
    limit = 2 if hue in ("10YR", "7.5YR") else 3 if letters in ("Y",) else 0
    contrasts = ("distinct", "prominent") if letters == "R" or hue in ("5YR", "2.5YR") else ("prominent",)
    if limit and chroma > limit:
        return NO
    if layer.mottles == "none" or (layer.contrast is not None and layer.contrast not in contrasts):
        return NO
    if layer.contrast is None or layer.mottles in (None, "few"):
        return OPEN
    return YES


def _colour_answer(layer: Layer) -> Answer:
    seen = _colour_text(layer)
    passed = _passes(layer)
    if passed == YES:
        return yes(f"{layer.place}: {seen}")
    if passed == NO:
        return Answer(RATHER, f"{layer.place} carries g, but what was recorded does not meet the colour test: {seen}",
                      missing=f"colours and mottles of {layer.name}, looked at again")  # fmt: skip
    return yes(f"{layer.place}", f"{layer.name}: the colours of reduction ({seen})")


def _colour_text(layer: Layer) -> str:
    colour = f"{layer.moist[0]} {layer.moist[1]:g}/{layer.moist[2]:g} moist" if layer.moist else "moist colour not recorded"
    mottles = "mottles not recorded" if layer.mottles is None else "no mottles" if layer.mottles == "none" else (
        f"{layer.mottles} {layer.contrast or ''} mottles".replace("  ", " ")
    )
    return f"{colour}, {mottles}"


def _under_ungleyed(soil: Soil, first: Layer) -> Answer | None:
    """Grey below a B or C that is not grey may be the parent material's own, unless its colours were recorded."""
    over = soil.find(lambda layer: layer.upper < first.upper and layer.symbol.master[:1] in ("B", "C")
                     and not layer.symbol.gleyed)  # fmt: skip
    if not over:
        return None
    return Answer(RATHER_NOT, f"{first.place} carries g, {over[-1].name} above it does not",
                  missing=f"moist colour and mottles of {first.name}")  # fmt: skip


@question("mottles or weak gleying within {within_cm:g} cm (at least {contrast})")
def gleyed(soil: Soil, within_cm: float, contrast: str = "faint", prominent_to_cm: float = 0.0) -> Answer:
    least = CONTRASTS.index(contrast)
    doubtful = None
    for layer in soil.mineral:
        if layer.upper >= max(within_cm, prominent_to_cm):
            break
        wanted = least if layer.upper < within_cm else CONTRASTS.index("prominent")
        marked = layer.symbol.weakly_gleyed
        seen = layer.mottles not in (None, "none")
        strength = CONTRASTS.index(layer.contrast) if layer.contrast in CONTRASTS else None
        if seen and strength is not None and strength >= wanted:
            return yes(f"{layer.place}: {layer.mottles} {layer.contrast} mottles")
        if marked and not seen and layer.mottles is None and layer.upper < within_cm:
            return yes(layer.place, f"{layer.name}: mottles, whose contrast was not recorded")
        if marked and layer.upper < within_cm:
            said = "no mottles" if layer.mottles == "none" else f"{layer.mottles} {layer.contrast or ''} mottles".replace("  ", " ")
            doubtful = doubtful or Answer(RATHER, f"{layer.place} is gleyed by its symbol; recorded: {said}",
                                          missing=f"contrast of the mottles of {layer.name} (limit {CONTRASTS[wanted]})")  # fmt: skip
        elif seen and strength is None:
            doubtful = doubtful or Answer(OPEN, f"{layer.place}: {layer.mottles} mottles, contrast not recorded",
                                          missing=f"contrast of the mottles of {layer.name}")  # fmt: skip
    return doubtful or absent_to(soil, within_cm, "mottles or gleying")


@question("well to imperfect drainage")
def not_poorly_drained(soil: Soil) -> Answer:
    if "poorly" in soil.drainage:
        return Answer(RATHER_NOT, f"drainage recorded: {soil.drainage}", missing="the drainage, looked at again")
    return yes(f"drainage: {soil.drainage or 'not recorded, no sign of poor drainage designated'}")
