"""One horizon of the notes: its cells, the place of every phrase, and what was left for the remarks."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache

from ...vocabulary.colour_names import chips_instead
from ...vocabulary.munsell import parse_colour
from ..columns import Field, known_fields, parse_heading
from .codes import blanked, code_clauses
from .entries import Entry
from .meaning import MatrixColour, Said, meaning
from .parts import settle_parts
from .phrases import find_phrases
from .segments import segments
from .tokens import mend_hues

REMARKS = re.compile(r"(?:^|[.;,])\s*(?P<label>Remarks?):\s*", re.IGNORECASE)
ONCE = ("texture", "structure kind", "boundary distinctness", "boundary form", "effervescence", "consistence", "mottles", "ph", "thickness")
"""What a horizon has one of: the first stands, a second goes to the remarks."""


OWN_FACES = ("uncrushed", "interior", "broken face", "broken faces", "unrubbed", "interiors of peds", "interior of peds", "ped interiors", "in ped interiors", "pressed")
"""Faces whose colour is that of the soil itself."""


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase that was understood: what it is, what was read, where it stands in the whole text."""

    what: str
    read: str
    start: int
    end: int


@dataclass
class Horizon:
    """``cells``: heading -> text, as in a table; ``left``: places of what no phrase took; ``notes``: what was read otherwise."""

    entry: Entry
    end: int
    cells: dict[str, str] = field(default_factory=dict)
    found: list[Found] = field(default_factory=list)
    left: list[tuple[int, int]] = field(default_factory=list)
    kept: list[tuple[int, int]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    misnamed: list[tuple[str, str, str]] = field(default_factory=list)
    """(name, notation, chips that bear the name) of colours whose name and notation do not go together."""
    guessed_state: bool = False
    """Whether a colour says neither moist nor dry, and the head of the pit does not either."""

    def remarks(self, text: str) -> str:
        """What has no cell of its own, in the words of the notes and in their order."""
        places = sorted({*self.left, *self.kept})
        return "; ".join(" ".join(text[start:end].split()) for start, end in places)


def read_horizon(text: str, entry: Entry, end: int, default_state: str, series_ranges: bool) -> Horizon:
    """The horizon whose head is ``entry`` and whose description runs to ``end``.

    Parameters
    ----------
    default_state : moist or dry, of colours that do not say it; '' where the notes do not either (read as moist).
    series_ranges : thicknesses in brackets are those of a soil series, not of this pit: they stay remarks.
    """
    horizon = Horizon(entry, end)
    depth_end = entry.depths.end if entry.depths else entry.designation_at[1]
    behind = entry.lead if entry.lead and entry.lead[0] >= entry.designation_at[1] else None
    if entry.lead and not behind and text[slice(*entry.lead)].strip(" ,:"):
        horizon.left.append(entry.lead)
    horizon.found.append(Found("designation", entry.designation, *entry.designation_at))
    body = text[max(entry.body, depth_end) : end]
    offset = max(entry.body, depth_end)
    colours: list[tuple[MatrixColour, int, int]] = []
    mended, slips = mend_hues(body)
    horizon.notes += [f"scanner damage in the hue of a colour: {slip} read as {better}" for slip, better in slips]
    said_last = REMARKS.search(mended)
    if said_last:  # Remarks: and all behind it is kept as it stands
        kept = mended[said_last.end() :].rstrip().removesuffix(".")
        horizon.left += [(offset + said_last.end(), offset + said_last.end() + len(kept))] if kept else []
        horizon.found.append(Found("remarks", "kept as they stand", offset + said_last.start("label"), offset + said_last.end("label")))
        mended = mended[: said_last.start()]
    pieces = [(offset + start, mended[start:stop]) for start, stop in segments(mended)]
    if behind:  # Cr? soft shale 40-55
        pieces.insert(0, (behind[0], text[slice(*behind)]))
    for at, piece in pieces:
        label = labelled(piece)
        if label:
            name, value, first, last = label
            horizon.found.append(Found(name, value, at + first, at + last))
            horizon.cells.setdefault(name, value)
            continue
        skip = label_before_terms(piece)
        if skip:
            horizon.found.append(Found("label", piece[:skip].strip(), at, at + skip))
            piece, at = piece[skip:], at + skip
        coded = code_clauses(piece)
        for first, last, words in coded:
            for what, *_, said in _said(words):
                _take(horizon, what, at + first, at + last, said, text, colours, series_ranges)
        piece = blanked(piece, coded)
        for what, first, last, said in _said(piece):
            if what == "state":
                colours[:] = _with_state(colours, said.cells["state"], at)
                horizon.found.append(Found("colours of this clause", said.cells["state"], at + first, at + last))
                continue
            _take(horizon, what, at + first, at + last, said, text, colours, series_ranges)
        horizon.left += [(at + first, at + last) for first, last in find_phrases(piece)[1]]
    _settle_loose(horizon, text)
    _settle_colours(horizon, colours, default_state)
    return horizon


@lru_cache(maxsize=20_000)
def labelled(piece: str) -> tuple[str, str, int, int] | None:
    """(heading, value, start, end) of ``Bulk density: 1.2``: a number or text under the heading of a column.

    Of a term (``Texture: gritty stuff``) only what no phrase reads, so that it is kept as written under its heading.
    """
    found = _label().match(piece)
    if not found:
        return None
    entry = _labels()[parse_heading(found["label"]).base]
    value = piece[found.end() :].strip(" .,")
    if not value:
        return None
    if entry.kind in ("term", "terms", "colour"):
        phrases, left = find_phrases(piece[found.end() :])
        alone = entry.kind == "colour" and not left and len(phrases) == 1 and [set(item.values) for item in phrases[0].items] == [{"colour"}]
        if alone and any(word in found["label"].casefold() for word in ("moist", "dry")):
            return entry.name.replace("_", " "), str(phrases[0].items[0].values["colour"]), found.start("label"), len(piece.rstrip())
        headings = {name.replace("_", " ") for name in (entry.name, *(part for part, _ in entry.parts))}
        said = phrases and not left and any(headings & set(meaning(phrase, piece[found.end() :]).cells) for phrase in phrases)
        if entry.kind == "colour" or said:
            return None
    return entry.name.replace("_", " "), value, found.start("label"), found.end() + len(piece[found.end() :].rstrip())


@lru_cache(maxsize=20_000)
def label_before_terms(piece: str) -> int:
    """Length of a heading before terms that phrases read: ``Texture: silt loam``; 0 where there is none."""
    found = _label().match(piece)
    return found.end() if found else 0


@cache
def _labels() -> dict[str, Field]:
    fields = [one for one in known_fields().values() if "horizons" in one.tables and "pits" not in one.tables and one.kind != "depth"]
    names: dict[str, Field] = {}
    for entry in fields:
        if entry.name not in ("depth", "designation", "order", "horizon_remarks", "depth_unit", "roots"):
            for word in (entry.name.replace("_", " "), *entry.names):
                names.setdefault(parse_heading(word).base, entry)
    names["roots"] = known_fields()["roots"]
    return names


@cache
def _label() -> re.Pattern:
    listed = "|".join(re.escape(word).replace(r"\ ", r"[\s_]+") for word in sorted(_labels(), key=len, reverse=True) if len(word) > 1)
    return re.compile(rf"(?i)[\s,.:\u2010-\u2015-]*(?P<label>{listed})\s*[:=]\s*(?=\S)")


@lru_cache(maxsize=20_000)
def _said(piece: str) -> tuple[tuple[str, int, int, Said], ...]:
    return tuple((phrase.what, phrase.start, phrase.end, meaning(phrase, piece)) for phrase in find_phrases(piece)[0])


def _take(horizon: Horizon, what: str, start: int, end: int, said: Said, text: str, colours: list, series_ranges: bool) -> None:
    """Fill the cells that a phrase says; what they cannot hold goes to the remarks."""
    cells = dict(said.cells)
    place = (start, end)
    if what == "thickness" and series_ranges:
        horizon.left.append(place)
        return
    parts = _has_parts(horizon.entry)
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


def _with_state(colours: list[tuple[MatrixColour, int, int]], state: str, since: int) -> list[tuple[MatrixColour, int, int]]:
    """``brown (10YR 4/3) silty clay, moist``: the state behind is that of the colours before it."""
    return [(replace(colour, state=colour.state or state) if start >= since else colour, start, end) for colour, start, end in colours]


def _has_parts(entry: Entry) -> bool:
    """Whether the horizon is of two kinds of soil side by side (``E/Bt``, ``E and Bt``), whose colours and textures both stand."""
    return "/" in entry.designation or " and " in entry.designation or "&" in entry.designation


def _full(colours: list[tuple[MatrixColour, int, int]], more: tuple[MatrixColour, ...]) -> bool:
    """Whether every state that ``more`` names already has its colour."""
    return {colour.state for colour in more} <= {colour.state for colour, *_ in colours}


def _settle_loose(horizon: Horizon, text: str) -> None:
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


def _settle_colours(horizon: Horizon, colours: list[tuple[MatrixColour, int, int]], default_state: str) -> None:
    """Moist and dry colour; where a matrix has several, the first or largest stands and all are kept with their shares."""
    by_state: dict[str, list[MatrixColour]] = {"moist": [], "dry": []}
    places: dict[tuple[int, int], list[str]] = {}
    closed: dict[str, tuple[int, int]] = {}
    unsaid = _unsaid_state(colours, default_state)
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
        if other or (not _has_parts(horizon.entry) and closed.get(state, (start, end)) != (start, end) and by_state[state]):
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
