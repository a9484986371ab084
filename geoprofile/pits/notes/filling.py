"""What a phrase says goes into the cells of its horizon, or to the remarks where they cannot hold it."""

from __future__ import annotations

import re
from dataclasses import replace

from ...vocabulary.colour_names import chips_instead
from ...vocabulary.munsell import parse_colour
from .entries import Entry
from .found import Found, Horizon
from .matrix import MatrixColour
from .meaning import Said
from .parts import settle_parts

ONCE = ("texture", "structure kind", "boundary distinctness", "boundary form", "effervescence", "consistence", "mottles", "ph", "thickness")
"""What a horizon has one of: the first stands, a second goes to the remarks."""

OWN_FACES = ("uncrushed", "interior", "broken face", "broken faces", "unrubbed", "interiors of peds", "interior of peds", "ped interiors", "in ped interiors", "pressed")
"""Faces whose colour is that of the soil itself."""


def take(horizon: Horizon, what: str, start: int, end: int, said: Said, text: str, colours: list, series_ranges: bool) -> None:
    """Fill the cells that a phrase says; what they cannot hold goes to the remarks."""
    cells = dict(said.cells)
    place = (start, end)
    if what == "thickness" and series_ranges:
        horizon.left.append(place)
        return
    parts = has_parts(horizon.entry)
    if what in ("effervescence", "calcareous"):
        settle_parts(horizon, cells)
    if what == "matrix":
        if not parts and horizon.cells.get("texture", "") and any(colour for colour, *_ in colours) and _full(colours, said.colours):
            horizon.left.append(place)
            return
        colours += [(colour, start, end) for colour in said.colours]
        if said.keep:
            horizon.kept.append(place)
        return
    if what == "roots" and "roots" in horizon.cells:
        cells = {"roots": f"{horizon.cells['roots']}, {said.cells['roots']}"}
    elif what == "fragments" and cells and "coarse fragments" in horizon.cells:
        cells["coarse fragments"] = f"{float(horizon.cells['coarse fragments']) + float(cells['coarse fragments']):g}"
    elif what == "effervescence" and horizon.cells.get("effervescence", "").endswith("calcareous"):
        horizon.left += [(one.start, one.end) for one in horizon.found if one.what == "calcareous"]  # how it fizzes says more
        horizon.found = [one for one in horizon.found if one.what != "calcareous"]
    elif parts and what == "texture" and "texture" in horizon.cells:
        cells = {"texture": f"{horizon.cells['texture']} + {cells['texture']}"}
    elif any(heading in horizon.cells for heading in cells if heading in ONCE):
        fills = {heading: value for heading, value in cells.items() if heading not in horizon.cells}
        if what != "structure" and what != "boundary" and fills and len(fills) < len(cells):
            cells = fills
            horizon.kept.append(place)
        else:
            horizon.left.append(place)
            return
    if "loose" in cells or "other consistence" in cells:
        cells.pop("other consistence", None)
        if not cells:
            horizon.found.append(Found(what, text[start:end], start, end))
            horizon.kept.append(place)
            return
    horizon.cells.update(cells)
    horizon.notes += said.notes
    horizon.found.append(Found(what, (" " if what in ("structure", "boundary") else ", ").join(cells.values()) or text[start:end], start, end))
    if said.keep:
        horizon.kept.append(place)


def with_state(colours: list[tuple[MatrixColour, int, int]], state: str, since: int) -> list[tuple[MatrixColour, int, int]]:
    """``brown (10YR 4/3) silty clay, moist``: the state behind is that of the colours before it."""
    return [(replace(colour, state=colour.state or state) if start >= since else colour, start, end) for colour, start, end in colours]


def _is_rock(entry: Entry) -> bool:
    return re.match(r"(?:\d|[IVX]+)?(?:R|Cr|CR)\d?(?![a-z])", entry.designation) is not None


def has_parts(entry: Entry) -> bool:
    """Whether the horizon is of two kinds of soil side by side (``E/Bt``, ``E and Bt``), whose colours and textures both stand."""
    return "/" in entry.designation or " and " in entry.designation or "&" in entry.designation


def _full(colours: list[tuple[MatrixColour, int, int]], more: tuple[MatrixColour, ...]) -> bool:
    """Whether every state that ``more`` names already has its colour."""
    return {colour.state for colour in more} <= {colour.state for colour, *_ in colours}


def settle_loose(horizon: Horizon, text: str) -> None:
    """``loose`` alone, or ``loose, loose`` (dry, then moist), is also the moist consistence (Soil Survey Manual 2017)."""
    if horizon.cells.pop("loose", None):
        horizon.cells.setdefault("consistence", "loose")


def _unsaid_state(colours: list[tuple[MatrixColour, int, int]], default_state: str) -> str:
    """The state of colours that do not say it: the default, unless just that state is said of another of the horizon, and only that.

    ``pale brown (10YR 6/3) loam, brown (10YR 5/3) moist`` gives a dry and a moist colour, whatever the head says.
    """
    usual = default_state or "moist"
    own = [colour for colour, *_ in colours if not colour.other_face or colour.other_face in OWN_FACES]
    said = {colour.state for colour in own if colour.state}
    first_unsaid = bool(own) and not own[0].state
    return {"moist": "dry", "dry": "moist"}[usual] if said == {usual} and first_unsaid else usual


def settle_colours(horizon: Horizon, colours: list[tuple[MatrixColour, int, int]], default_state: str) -> None:
    """Moist and dry colour; where a matrix has several, the first or largest stands and all are kept with their shares."""
    by_state: dict[str, list[MatrixColour]] = {"moist": [], "dry": []}
    places: dict[tuple[int, int], list[str]] = {}
    closed: dict[str, tuple[int, int]] = {}
    unsaid = _unsaid_state(colours, default_state)
    if default_state == "dry" and _is_rock(horizon.entry) and any(not colour.state for colour, *_ in colours):
        horizon.notes.append("a colour of rock without moist or dry is taken as dry, as the head says of soil")
    if default_state and unsaid != default_state:
        horizon.notes.append(f"a colour without moist or dry is taken as {unsaid}, for another of the horizon says {default_state}")
    any_own = any(not colour.other_face or colour.other_face in OWN_FACES for colour, *_ in colours)
    for colour, start, end in colours:
        state = colour.state or unsaid
        notation = parse_colour(colour.text) if colour.name else None
        instead = chips_instead(colour.name, notation) if notation else ""
        if instead:
            horizon.misnamed.append((colour.name, colour.text, instead))
        horizon.guessed_state |= not (colour.state or default_state)
        other = any_own and colour.other_face and colour.other_face not in OWN_FACES
        # a second matrix of a state, in another phrase, is that of a part: it stays with the remarks
        if not any_own:
            horizon.kept.append((start, end))
        if other or (not has_parts(horizon.entry) and closed.get(state, (start, end)) != (start, end) and by_state[state]):
            horizon.kept.append((start, end))
            continue
        closed[state] = (start, end)
        by_state[state].append(colour)
        places.setdefault((start, end), []).append(f"{colour.text} {state}")
    shares = [colour.share for colour in by_state[unsaid]]
    for state, found in by_state.items():
        if not found:
            continue
        main = max(found, key=lambda colour: colour.share or 0) if all(colour.share for colour in found) else found[0]
        horizon.cells[f"colour {state}"] = main.text
        if len(found) > 1:
            if len(shares) == len(found) and not any(colour.share for colour in found):
                found = [replace(colour, share=share) for colour, share in zip(found, shares)]
            horizon.cells[f"matrix {state}"] = " + ".join(f"{colour.share:g}% {colour.text}" if colour.share else colour.text for colour in found)
    horizon.found += [Found("colour", ", ".join(texts), *place) for place, texts in places.items()]
