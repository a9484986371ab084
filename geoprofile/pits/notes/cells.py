"""What stands at the labels of a horizon that is laid out, read as the field of each label says."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from ...vocabulary.conventions import CONVENTIONS
from ...vocabulary.tables import table
from ...vocabulary.terms import find_term
from ..columns import known_fields
from .code_runs import grades
from .codes import blanked, code_clauses
from .colours_apart import colours_apart
from .fields import SECOND, Cell
from .meaning import Said, meaning
from .phrases import find_phrases
from .segments import segments
from .texture_codes import glued_code

Place = tuple[int, int]
OF_THEIR_OWN = ("boundary", "effervescence")
"""What has a heading of its own wherever fields have headings."""
REMARKS = ("remarks", "horizon_remarks")
"""Fields whose words are kept; what they say by its own name fills a cell that nothing else does."""
_PAIR = re.compile(r"[A-Za-z]{1,2}[ ]?[,/][ ]?[A-Za-z]{1,2}")
_STATE = re.compile(r"[\s(]*(moist|dry)[\s):=-]+(?=\S)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a cell says. ``phrases``: what, its places, and what is said; ``fields``: heading, value, its places; ``left``: the rest."""

    phrases: tuple[tuple[str, tuple[Place, ...], Said], ...] = ()
    fields: tuple[tuple[str, str, tuple[Place, ...]], ...] = ()
    left: tuple[Place, ...] = ()
    nothing: bool = False
    """Whether the cell only says that there is nothing to say."""


def read_cell(cell: Cell, text: str) -> Reading:
    """Read one cell of ``text``; places are in the text."""
    value, at = _value(cell, text)
    rules = table("notes")["laid_out"]
    name = cell.label.field
    if value.casefold() in rules["nothing"]:
        return Reading(nothing=True)
    if cell.label.text and (not name or name in rules["kept"]):
        return Reading(_named_in(value, at) if name in REMARKS else (), left=cell.spans)
    entry = known_fields().get(name)
    part = _part(name, value)
    if part:
        return Reading(fields=((name.replace("_", " "), part, cell.spans),))
    if name and name not in rules["holds"]:
        if entry and entry.kind in ("number", "term", "text", "terms"):
            unit = f" {cell.label.unit}" if cell.label.unit and re.fullmatch(r"[\d.]+", value) else ""
            return Reading(fields=((name.replace("_", " "), value + unit, cell.spans),))
        return Reading(left=cell.spans)
    if name == "reaction" and re.fullmatch(r"\d{1,2}(?:\.\d+)?", value):
        return Reading(fields=(("ph", value, cell.spans),))
    if name == "boundary" and _PAIR.fullmatch(value):  # A,S
        value = re.sub("[,/]", " ", value)
    phrases, left = _phrases(value, name)
    if name == "reaction" and not phrases and _phrases(value, "effervescence")[0]:  # of the acid, not of the soil
        name = "effervescence"
        phrases, left = _phrases(value, name)
    if cell.label.state:
        phrases = tuple((what, first, last, _with_state(said, cell.label.state)) for what, first, last, said in phrases)
    if name == "coarse_fragments" and not phrases and re.fullmatch(r"\d{1,2}(?:\.\d+)?\s*%?", value):
        return Reading(fields=(("coarse fragments", value.rstrip("% "), cell.spans),))
    if name == "texture" and not phrases and (glued := glued_code(value, under_texture=True)):
        return Reading(fields=(("texture", glued, cell.spans),))
    if not phrases and (found := _term(name, value)):
        return Reading(fields=((name.replace("_", " "), found, cell.spans),))
    litter = name == "texture" and not set(re.findall(r"[a-z]+", value.casefold())).isdisjoint(rules["no_texture"])
    if not phrases and not litter and name in ("texture", "roots", "consistence"):
        return Reading(fields=((name.replace("_", " "), value, cell.spans),))
    return Reading(
        tuple((what, _places(at, first, last), said) for what, first, last, said in phrases),
        left=tuple(place for first, last in left for place in _places(at, first, last)),
    )


@lru_cache(maxsize=20_000)
def _phrases(value: str, name: str) -> tuple[tuple[tuple[str, int, int, Said], ...], tuple[Place, ...]]:
    """(phrases, places of the rest) of a value, read behind the word that its label stands for."""
    rules = table("notes")["laid_out"]
    before = rules["before"].get(name, "")
    allowed = rules["holds"].get(name, ["*"])
    found, left = [], []
    if name == "structure":  # strong prismatic; parting to blocky
        value = value.replace(";", ",")
    for start, stop in segments(value):
        piece = value[start:stop]
        state = _STATE.match(piece) if name.startswith("colour") else None
        if state:  # (dry) 10YR 6/3
            found.append(("state before", start + state.start(1), start + state.end(1), Said()))
            piece = " " * state.end() + piece[state.end() :]
        piece = colours_apart(piece)
        # GS under texture is a sand, under boundary gradual and smooth: no code says what its heading does not
        degree = _degree(piece) if name == "effervescence" else ""
        coded = ((0, len(piece), degree),) if degree else tuple(one for one in code_clauses(piece) if all(_may(phrase.what, allowed) for phrase in find_phrases(one[2])[0]))
        for first, last, words in coded:
            for phrase in find_phrases(words)[0]:
                found.append((phrase.what, start + first, start + last, meaning(phrase, words)))
        piece = blanked(piece, coded)
        bare = piece.strip(" ,.")
        lead = f"{before}: " if before and bare and not any(word in piece.casefold() for word in (before, before.rstrip("s"))) else ""
        offset = start - len(lead)
        phrases, rest = find_phrases(lead + piece)
        for phrase in phrases:
            if _may(phrase.what, allowed):
                said = meaning(phrase, lead + piece)
                found.append((phrase.what, max(offset + phrase.start, start), offset + phrase.end, _with_state(said, state[1].casefold()) if state else said))
            else:
                rest = (*rest, (phrase.start, phrase.end))
        left += [(max(offset + first, start), offset + last) for first, last in rest if offset + last > start]
    return tuple(sorted((one for one in found if one[1] < one[2]), key=lambda one: one[1])), tuple(sorted(left))


def _named_in(value: str, at: list[tuple[int, int, int]]) -> tuple[tuple[str, tuple[Place, ...], Said], ...]:
    """What remarks say by its own name: ``clear, wavy boundary``, ``colour 5YR 2/1``; the words stay remarks too."""
    found = []
    for start, stop in segments(value):
        piece = value[start:stop]
        for phrase in find_phrases(piece)[0]:
            said = {kind for item in phrase.items for kind in item.values}
            colour = phrase.what == "matrix" and any(str(item.values.get("filler", "")).startswith("colo") for item in phrase.items)
            if colour or (phrase.what == "boundary" and {"boundary", "distinctness"} <= said):
                found.append((phrase.what, _places(at, start + phrase.start, start + phrase.end), meaning(phrase, piece)))
    return tuple(found)


def _part(name: str, value: str) -> str:
    """A code under the heading of one part of structure or boundary (``ABK`` under ``Structure kind``), in words; '' for anything else."""
    codes = table("notes")["codes"]
    of = {"structure_grade": grades(), "structure_size": codes["size"], "structure_kind": codes["kind"],
          "boundary_distinctness": codes["distinctness"], "boundary_form": codes["form"]}.get(name.removeprefix(SECOND), {})  # fmt: skip
    return of.get(" ".join(value.casefold().split()), value if name.startswith(SECOND) else "")


def _degree(piece: str) -> str:
    """``mod``, ``M`` or ``SL`` under the heading of the reaction, in words; '' for anything else."""
    codes = table("notes")["codes"]
    bare = " ".join(piece.casefold().replace(".", " ").split())
    word = codes["degree"].get(bare) or codes["under_heading"]["effervescence"].get(bare) or codes["by_place"]["effervescence"].get(bare)
    return f"{word} effervescence" if word else ""


def _may(what: str, allowed: list[str]) -> bool:
    return what in allowed or ("*" in allowed and what not in OF_THEIR_OWN)


def _with_state(said: Said, state: str) -> Said:
    return replace(said, colours=tuple(replace(colour, state=colour.state or state) for colour in said.colours))


@lru_cache(maxsize=20_000)
def _term(name: str, value: str) -> str:
    """A code or a word that a table of terms has, by its name (``VE`` under ``Fizz``); '' where conventions disagree on it."""
    kind = known_fields()[name].term if name in known_fields() else ""
    if not kind:
        return ""
    named = {term.name for convention in CONVENTIONS if (term := find_term(kind, value, convention))}
    return named.pop() if len(named) == 1 else ""


def _value(cell: Cell, text: str) -> tuple[str, list[tuple[int, int, int]]]:
    """(text of the cell in one line, [start in it, start and end in the whole text])."""
    value, at = "", []
    for first, last in cell.spans:
        value += " " if value else ""
        at.append((len(value), first, last))
        value += text[first:last]
    return value, at


def _places(at: list[tuple[int, int, int]], first: int, last: int) -> tuple[Place, ...]:
    """Places in the whole text of a stretch of a cell's value, one for each line that it runs over."""
    found = []
    for start, place, end in at:
        low, high = max(first, start), min(last, start + end - place)
        if low < high:
            found.append((place + low - start, place + high - start))
    return tuple(found)
