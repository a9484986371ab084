"""Organic soils: how much organic material, of what kind, and what interrupts it. Depths from the organic surface."""

from __future__ import annotations

from dataclasses import dataclass

from ..logic import NOT_SEEN, OPEN, RATHER, RATHER_NOT, Answer
from ..soil import INFINITE, Soil
from .question import no, question, yes

KINDS = {"fibric": "f", "mesic": "m", "humic": "h"}
LETTERS = {"f": "fibric", "m": "mesic", "h": "humic"}


@dataclass(frozen=True, slots=True)
class Piece:
    """A layer from the organic surface. ``kind`` is fibric, mesic, humic, folic, limnic, water or mineral."""

    kind: str
    name: str
    upper: float
    lower: float


def column(soil: Soil) -> tuple[Piece, ...]:
    """All layers, from the organic surface."""
    shift = 0.0 if soil.organic else max((-layer.upper for layer in soil.above), default=0.0)
    layers = soil.layers if soil.organic else (*soil.above, *soil.layers)
    return tuple(Piece(_kind(layer), layer.place, layer.upper + shift, layer.lower + shift) for layer in layers if layer.described)


def _kind(layer) -> str:
    one = layer.symbol
    if one.master == "W":
        return "water"
    if not one.organic:
        return "mineral"
    if set(one.master) & set("LFH"):
        return "folic"
    if "co" in one.strong:
        return "limnic"
    return next((LETTERS[letter] for letter in ("f", "m", "h") if letter in one.strong), "unknown kind")


def surface_organic(soil: Soil) -> tuple[float, float, list[Piece]]:
    """(least, greatest) thickness of the organic layers that begin at the surface, cm, and the layers."""
    run: list[Piece] = []
    for piece in column(soil):
        if piece.kind == "mineral":
            break
        run.append(piece)
    whole = column(soil)
    thick = run[-1].lower - run[0].upper if run else 0.0
    open_below = bool(run) and len(run) == len(whole) and not soil.ends_at_boundary
    return thick, INFINITE if open_below else thick, run


@question("organic material to {mesic_cm:g} cm or more ({fibric_cm:g} cm where fibric; forest litter {folic_cm:g} cm)")
def organic_soil(soil: Soil, mesic_cm: float, fibric_cm: float, folic_cm: float) -> Answer:
    low, high, run = surface_organic(soil)
    if not run:
        return no("no organic layers described")
    by_kind = {kind: sum(p.lower - p.upper for p in run if p.kind == kind) for kind in {p.kind for p in run}}
    main = max(by_kind, key=by_kind.get)
    limit = fibric_cm if main == "fibric" else folic_cm if main == "folic" else mesic_cm
    said = f"organic layers {low:g} cm{' or more' if high > low else ''}, mostly {main} (limit {limit:g} cm)"
    if low >= limit:
        return yes(said)
    if high < limit:
        return no(said)
    return Answer(OPEN, f"{said}; the pit ended in them", missing=f"what lies below {low:g} cm of organic layers")


@question("upland forest litter (folic) as the main organic material")
def folic(soil: Soil) -> Answer:
    _, _, run = surface_organic(soil)
    litter = sum(p.lower - p.upper for p in run if p.kind == "folic")
    whole = sum(p.lower - p.upper for p in run)
    said = f"folic {litter:g} of {whole:g} cm"
    return yes(said) if whole and litter > whole / 2 else no(said)


@question("{kind} material dominant in the middle tier ({upper_cm:g} to {lower_cm:g} cm)")
def dominant(soil: Soil, kind: str, upper_cm: float, lower_cm: float) -> Answer:
    amounts, unseen = _tier(soil, upper_cm, lower_cm)
    own = amounts.get(kind, 0.0)
    other = max((amount for name, amount in amounts.items() if name != kind), default=0.0)
    said = ", ".join(f"{name} {amount:g} cm" for name, amount in amounts.items()) or "nothing described in the middle tier"
    missing = f"the organic material from {lower_cm - unseen:g} to {lower_cm:g} cm"
    if unseen <= 0:
        return yes(said) if own > other else no(said) if own < other else Answer(OPEN, said, missing="the amounts of both kinds")
    if own > other + unseen:
        return yes(said)
    if own + unseen < other:
        return no(said)
    lean = RATHER if own > other else RATHER_NOT if own < other else OPEN
    return Answer(lean, f"{said}; {unseen:g} cm of the tier not seen", missing=missing)


@question("more than {more_than_cm:g} cm of {kind} material in the middle tier ({upper_cm:g} to {lower_cm:g} cm)")
def subdominant(soil: Soil, kind: str, more_than_cm: float, upper_cm: float, lower_cm: float) -> Answer:
    amounts, unseen = _tier(soil, upper_cm, lower_cm)
    own = amounts.get(kind, 0.0)
    said = f"{kind} {own:g} cm in the middle tier"
    if own > more_than_cm:
        return yes(said)
    if own + unseen <= more_than_cm:
        return no(said)
    return Answer(NOT_SEEN, said, supposes=f"no more than {more_than_cm:g} cm of {kind} material from {lower_cm - unseen:g} to {lower_cm:g} cm")


@question("a {kind} layer of {at_least_cm:g} cm or more between {upper_cm:g} and {lower_cm:g} cm")
def interrupting(soil: Soil, kind: str, at_least_cm: float, upper_cm: float, lower_cm: float) -> Answer:
    whole = column(soil)
    pieces = [p for p in whole if p.kind == kind and p.lower > upper_cm and p.upper < lower_cm]
    last = whole[-1] if whole else None
    reach = last.lower if last else 0.0
    for piece in pieces:
        thick = piece.lower - piece.upper
        if thick >= at_least_cm:
            return yes(piece.name)
        if piece is last and not soil.ends_at_boundary:
            return Answer(RATHER, f"{piece.name}: the pit ended in it", missing=f"the thickness of the {kind} layer")
    if reach >= lower_cm or (last is not None and last.kind == "mineral" and kind != "mineral"):
        return no(f"no such {kind} layer")
    return Answer(NOT_SEEN, f"no such {kind} layer to {reach:g} cm", supposes=f"no {kind} layer between {reach:g} and {lower_cm:g} cm")


def _tier(soil: Soil, upper: float, lower: float) -> tuple[dict[str, float], float]:
    """cm of each organic kind within a tier, and cm of it that were not seen (what a mineral layer takes is seen)."""
    amounts: dict[str, float] = {}
    seen = 0.0
    pieces = column(soil)
    for piece in pieces:
        part = min(piece.lower, lower) - max(piece.upper, upper)
        if part <= 0:
            continue
        seen += part
        if piece.kind != "mineral":
            amounts[piece.kind] = amounts.get(piece.kind, 0.0) + part
    if pieces and pieces[-1].kind == "mineral":
        return amounts, 0.0  # mineral soil ends the organic material; what lies below it is not its own
    return amounts, max(lower - upper - seen, 0.0)


