"""The B horizon: illuvial clay, sodium, iron and organic matter, or mere change; and the eluvial horizon above it."""

from __future__ import annotations

from ..logic import NO, NOT_SEEN, OPEN, RATHER, RATHER_NOT, YES, Answer
from ..soil import Layer, Soil, Span
from .question import no, question, thick_enough, yes

SODIC = ("columnar", "prismatic")


@question("a Bt of {at_least_cm:g} cm or more, richer in clay than the horizon above")
def illuvial_clay(soil: Soil, at_least_cm: float, within_cm: float = 1e9) -> Answer:
    found = soil.find(lambda layer: layer.symbol.bt == YES)
    if not found:
        return _no_bt(soil, within_cm)
    if found[0].upper >= within_cm:
        return no(f"{found[0].place} begins at or below {within_cm:g} cm")
    span = soil.span(lambda layer: layer.symbol.bt)
    thick = thick_enough(span, at_least_cm, "Bt")
    if thick.degree != YES:
        return thick
    return clay_increase(soil, found)


def _no_bt(soil: Soil, within_cm: float) -> Answer:
    bare = soil.find(lambda layer: layer.symbol.bare_b and layer.upper < within_cm)
    if bare:
        return Answer(OPEN, f"{bare[0].place}: the designation does not say which B", missing=f"the letters of {bare[0].name}")
    if soil.reached_parent or soil.described_to >= within_cm:
        return no("no horizon carries t" + ("" if soil.reached_parent else f" to {within_cm:g} cm"))
    last = soil.mineral[-1] if soil.mineral else None
    if last is not None and last.symbol.b and last.symbol.bt == NO:
        return Answer(NOT_SEEN, f"no Bt designated; the pit ended in {last.place}",
                      supposes=f"no Bt below {soil.described_to:g} cm")  # fmt: skip
    if last is not None and last.symbol.master in ("BC",):
        return Answer(NOT_SEEN, f"no Bt designated; the pit ended in {last.place}", supposes=f"no Bt below {soil.described_to:g} cm")
    return Answer(OPEN, f"the pit ended at {soil.described_to:g} cm above any B" if last else "no mineral horizon described",
                  missing=f"the horizons below {soil.described_to:g} cm")  # fmt: skip


def clay_increase(soil: Soil, bts: tuple[Layer, ...]) -> Answer:
    """The three-part test against the eluvial horizon above, where both clays were measured in one material."""
    first = bts[0]
    above = [layer for layer in soil.mineral if layer.upper < first.upper and layer.symbol.eluvial == YES]
    if not above:
        return yes(first.place, f"{first.name}: illuvial clay; no eluvial horizon above to compare with")
    over = above[-1]
    if over.symbol.discontinuity != first.symbol.discontinuity:
        return yes(first.place, f"{first.name}: illuvial clay; another material than {over.name}")
    if over.clay is None or not any(layer.clay is not None for layer in bts):
        return yes(first.place, f"{first.name}: more clay than {over.name} (clay not measured)")
    best = max((layer for layer in bts if layer.clay is not None), key=lambda layer: layer.clay)
    need = clay_needed(over.clay)
    said = f"{best.name} {best.clay:g} % clay under {over.name} {over.clay:g} % (needs {need:g} %)"
    if best.clay >= need - 1e-9:
        return yes(said)
    return Answer(RATHER, f"{said}: the measured increase is too small", missing="clay skins, or the clay measured again")


def clay_needed(eluvial: float) -> float:
    """Least clay of a Bt under an eluvial horizon, %: +3 below 15, x 1.2 to 40, +8 from 40 (CSSC 1998, from memory)."""
    return round(eluvial + 3 if eluvial < 15 else 1.2 * eluvial if eluvial < 40 else eluvial + 8, 2)


@question("an eluvial horizon (Ae) of {at_least_cm:g} cm or more")
def eluvial(soil: Soil, at_least_cm: float, over_bt: bool = False) -> Answer:
    """``over_bt``: asked of a soil with Bt, where a missing Ae is doubtful and not a plain no."""
    span = soil.span(lambda layer: layer.symbol.eluvial)
    if not span.layers:
        ploughed = soil.find(lambda layer: layer.symbol.ploughed)
        if ploughed and soil.find(lambda layer: layer.symbol.bt == YES):
            return Answer(OPEN, f"no Ae designated; {ploughed[0].place} may hold what was one",
                          missing="whether an Ae was ploughed into the Ap")  # fmt: skip
        last = soil.mineral[-1] if soil.mineral else None
        if last is not None and last.symbol.dark_a == YES and not soil.reached_parent and last.thick_high > 1e6:
            return Answer(OPEN, f"the pit ended in {last.place}", missing=f"the horizons below {soil.described_to:g} cm")
        if over_bt and soil.find(lambda layer: layer.symbol.bt == YES):
            return Answer(RATHER_NOT, "a Bt is designated and no Ae above it", missing="whether an eluvial horizon lies over the Bt")
        return no("no Ae designated") if soil.mineral else Answer(OPEN, "no mineral horizon described", missing="mineral horizons")
    return thick_enough(span, at_least_cm, "Ae")


@question("no Bt under an Ae thicker than {at_most_cm:g} cm")
def no_bt_under_thick_ae(soil: Soil, at_most_cm: float) -> Answer:
    bts = soil.find(lambda layer: layer.symbol.bt == YES and layer.symbol.solonetzic != YES)
    ae = soil.span(lambda layer: layer.symbol.eluvial if bts and layer.upper < bts[0].upper else NO)
    if not bts or not ae.layers:
        return yes("no Bt under an Ae is designated")
    grayed = any(layer.symbol.letter("e", weak=True) for layer in soil.find(lambda one: one.symbol.dark_a == YES))
    said = f"{bts[0].place} under Ae, {ae.text}"
    thicker = ae.at_least(at_most_cm + 0.01)
    if thicker == YES:
        if soil.forest_floor:
            return no(said)
        return Answer(RATHER_NOT, f"{said}; no forest floor is described", missing="whether the land is wooded, the colours of the A")
    if thicker != NO:
        return Answer(OPEN, said, missing=f"the thickness of the Ae (limit {at_most_cm:g} cm)")
    seen = any(layer.moist or layer.dry for layer in soil.find(lambda one: one.symbol.dark_a == YES))
    enriched = any("ca" in layer.symbol.strong or layer.symbol.salty for layer in soil.mineral)
    if grayed or seen or enriched:
        return yes(said)
    return Answer(OPEN, f"{said}; Gray Brown Luvisols show the same horizons", missing="colours of the A, climate of the soil")


@question("a solonetzic B (Bn or Bnt)")
def solonetzic_b(soil: Soil) -> Answer:
    found = soil.find(lambda layer: layer.symbol.solonetzic == YES)
    if found:
        shapes = [layer for layer in found if layer.structure in SODIC]
        if shapes:
            return yes(f"{shapes[0].place}, {shapes[0].structure}", f"{shapes[0].name}: exchangeable Ca to Na of 10 or less")
        other = [layer for layer in found if layer.structure]
        if len(other) == len(found):
            return Answer(RATHER, f"{found[0].place} is {found[0].structure}, not columnar or prismatic",
                          missing=f"exchangeable Ca and Na of {found[0].name}")  # fmt: skip
        return yes(found[0].place, f"{found[0].name}: columnar or prismatic, exchangeable Ca to Na of 10 or less")
    bare = soil.find(lambda layer: layer.symbol.bare_b)
    if bare:
        return Answer(RATHER_NOT, f"{bare[0].place}: the designation does not say which B", missing=f"the letters of {bare[0].name}")
    if soil.reached_parent or soil.find(lambda layer: layer.symbol.b):
        return no("no B carries n")
    return Answer(RATHER_NOT, f"no B was seen to {soil.described_to:g} cm", missing=f"the horizons below {soil.described_to:g} cm")


@question("a weak solonetzic B (Bnj, Bnjt)")
def weak_solonetzic_b(soil: Soil) -> Answer:
    found = soil.find(lambda layer: layer.symbol.b and "n" in layer.symbol.weak)
    return yes(found[0].place) if found else no("no B carries nj")


@question("AB or BA between the Ae and the solonetzic B, from the breakdown of its top")
def transition_to_b(soil: Soil) -> Answer:
    found = soil.find(lambda layer: layer.symbol.master in ("AB", "BA"))
    return yes(found[0].place) if found else no("no AB or BA designated")


@question("a podzolic B ({letters}) of {at_least_cm:g} cm or more")
def podzolic_b(soil: Soil, at_least_cm: float, letters: str = "Bh, Bhf or Bf") -> Answer:
    def wanted(layer: Layer) -> int:
        one = layer.symbol
        if letters == "Bh" and one.podzolic == YES:
            return YES if "h" in one.strong and "f" not in one.strong else NO
        if letters == "Bhf" and one.podzolic == YES:
            return YES if {"h", "f"} <= one.strong else NO
        return one.podzolic

    span = soil.span(wanted, unseen=_b_may_follow(soil))
    if not span.layers and not span.unseen:
        return no(f"no {letters} designated")
    answer = thick_enough(span, at_least_cm, letters)
    if not span.layers:
        last = soil.mineral[-1] if soil.mineral else None
        if last is not None and (last.symbol.b or last.symbol.master == "BC" or last.symbol.dark_a == YES and not soil.forest_floor):
            return Answer(NOT_SEEN if last.symbol.dark_a != YES else RATHER_NOT, f"no {letters} designated; the pit ended in {last.place}",
                          supposes=f"no {letters} below {soil.described_to:g} cm",
                          missing=f"the horizons below {soil.described_to:g} cm")  # fmt: skip
        return answer
    if answer.degree != YES:
        return answer
    if letters != "Bh" and _above_ae(soil, lambda layer: layer in span.layers):
        return Answer(RATHER, f"{span.text}; an Ae lies below it, as in Luvisols with two profiles one in another",
                      missing=f"pyrophosphate Fe and Al of {span.layers[0].name}")  # fmt: skip
    return _iron_colour(span, letters)


def _iron_colour(span: Span, letters: str) -> Answer:
    first = span.layers[0]
    if "f" in first.symbol.strong and first.moist and first.moist[2] < 3 and first.moist[1] > 3:
        return Answer(RATHER, f"{first.place}, chroma {first.moist[2]:g}: less than 3",
                      missing=f"pyrophosphate Fe and Al of {first.name}")  # fmt: skip
    return yes(span.text, f"{', '.join(layer.name for layer in span.layers)}: pyrophosphate Fe and Al, organic carbon")


@question("a B of {at_least_cm:g} cm or more (Bm, Btj, Bfj, or Bf too thin to be podzolic)")
def changed_b(soil: Soil, at_least_cm: float, undisturbed: bool = False) -> Answer:
    """``undisturbed``: a B churned by frost (y) does not count. A Bt that its clay does not bear out may be a mere B."""
    bts = soil.find(lambda layer: layer.symbol.bt == YES and layer.symbol.solonetzic != YES)
    doubted = bts if bts and clay_increase(soil, bts).is_open else ()

    def wanted(layer: Layer) -> int:
        if undisturbed and "y" in layer.symbol.strong:
            return NO
        return OPEN if layer in doubted else layer.symbol.changed_b

    span = soil.span(wanted, unseen=_b_may_follow(soil))
    if not span.layers and not span.unseen:
        return no("no such B designated")
    return thick_enough(span, at_least_cm, "B")


@question("a B of {at_least_cm:g} cm or more, of any kind")
def any_b(soil: Soil, at_least_cm: float) -> Answer:
    span = soil.span(lambda layer: YES if layer.symbol.b else NO, unseen=_b_may_follow(soil))
    if not span.layers and not span.unseen:
        return no("no B designated")
    return thick_enough(span, at_least_cm, "B")


@question("a B rich in iron and gleyed (Bgf) of {at_least_cm:g} cm or more")
def gleyed_iron_b(soil: Soil, at_least_cm: float) -> Answer:
    span = soil.span(lambda layer: YES if layer.symbol.gf else NO)
    return thick_enough(span, at_least_cm, "Bgf", "Bgf: dithionite Fe") if span.layers else no("no Bgf designated")


@question("no B of {at_least_cm:g} cm or more that is free of carbonates")
def b_all_calcareous(soil: Soil, at_least_cm: float) -> Answer:
    free = soil.span(lambda layer: YES if layer.symbol.b and not _limy(layer) else NO)
    if not free.layers:
        limy = soil.find(lambda layer: layer.symbol.b)
        return yes(limy[0].place) if limy else no("no B designated")
    degree = -free.at_least(at_least_cm)
    return Answer(degree, f"B without carbonates: {free.text}", missing="" if abs(degree) > 1 else "the thickness of the B without carbonates")


def _limy(layer: Layer) -> bool:
    return layer.symbol.calcareous or bool(layer.effervescent)


@question("a Bm of {at_least_cm:g} cm or more with moist chroma {chroma:g} or more, or a Bf less than {bf_less_cm:g} cm thick, above an Ae")
def b_above_ae(soil: Soil, at_least_cm: float, chroma: float, bf_less_cm: float) -> Answer:
    brown = _above_ae(soil, lambda layer: layer.symbol.changed_b != NO)
    if not brown:
        return no("no Bm or Bf lies above an Ae")
    span = soil.span(lambda layer: YES if layer in brown else NO)
    iron = soil.span(lambda layer: YES if layer in brown and layer.symbol.podzolic == YES else NO)
    if iron.layers and iron.at_least(bf_less_cm) == YES:
        return Answer(RATHER_NOT, f"Bf is {bf_less_cm:g} cm or more: {iron.text}", missing=f"pyrophosphate Fe and Al of {brown[0].name}")
    if not iron.layers:
        thick = thick_enough(span, at_least_cm, "Bm above the Ae")
        if thick.degree != YES:
            return thick
    first = brown[0]
    if first.moist and first.moist[2] < chroma:
        return Answer(RATHER, f"{first.place} above the Ae has moist chroma {first.moist[2]:g}", missing=f"the colour of {first.name}")
    return yes(f"{first.place} above the Ae", "" if first.moist else f"{first.name}: moist chroma of {chroma:g} or more")


@question("a Bf of {at_least_cm:g} cm or more above an Ae")
def bf_above_ae(soil: Soil, at_least_cm: float) -> Answer:
    found = _above_ae(soil, lambda layer: layer.symbol.podzolic == YES)
    if not found:
        return no("no Bf lies above an Ae")
    span = soil.span(lambda layer: YES if layer in found else NO)
    thick = thick_enough(span, at_least_cm, "Bf above the Ae")
    if thick.degree != YES:
        return thick
    return Answer(RATHER, f"Bf above the Ae: {span.text}", missing=f"pyrophosphate Fe and Al of {found[0].name}")


def _above_ae(soil: Soil, wanted) -> tuple[Layer, ...]:
    eluvials = soil.find(lambda layer: layer.symbol.eluvial == YES)
    return soil.find(lambda layer: layer.symbol.b and wanted(layer) and bool(eluvials) and layer.upper < eluvials[-1].upper)


def _b_may_follow(soil: Soil) -> bool:
    """The pit ended before any C: more B may lie below."""
    return not soil.reached_parent
