"""One horizon of the notes: its cells, the place of every phrase, and what was left for the remarks."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from ..columns import Field, known_fields, parse_heading
from .cells import REMARKS as KEPT_WORDS
from .cells import read_cell
from .code_runs import by_place, placed_codes
from .codes import blanked, code_clauses
from .colours_apart import colours_apart
from .corrections import has_corrections, note_open_corrections, take_back
from .entries import Entry
from .filling import has_parts, settle_colours, settle_loose, take, with_state
from .found import Found, Horizon
from .matrix import MatrixColour
from .meaning import Said, meaning
from .phrases import find_phrases
from .second_part import as_clauses, leads_to_parts
from .segments import segments
from .tokens import mend_hues

_BRACKETED = re.compile(r"[(\[][ ]*(?P<notation>(?:\d+(?:\.\d+)?[ ]?(?:YR|RP|GY|BG|PB|[RYGBP])|N)[ ]?\d(?:\.\d)?/\d?(?:\.\d)?)[ ]*[)\]]")
_FIELD = re.compile(r"(?:^[ ):.-]{0,4}|(?<=[,;|\t])[ ]?|(?<=  ))(?P<code>[A-Za-z]{1,2}(?:[ ][A-Za-z])?)(?=[ ]?(?:$|[,;|\t])|  )")
_NUMBER = re.compile(r"[<>~]?\s?\d+(?:\.\d+)?(?:\s?(?:-|to)\s?\d+(?:\.\d+)?)?[ ]?(?:%|percent|dS/m|mS/cm|mmhos?/cm|g/cm3|Mg/m3|cm|mm)?(?=[ ]*,)")
REMARKS = re.compile(r"(?:^|[.;,])\s*(?P<label>Remarks?):\s*", re.IGNORECASE)


def read_horizon(text: str, entry: Entry, end: int, default_state: str, series_ranges: bool, bracket_state: str = "") -> Horizon:
    """The horizon whose head is ``entry`` and whose description runs to ``end``.

    Parameters
    ----------
    default_state : moist or dry, of colours that do not say it; '' where the notes do not either (read as moist).
    bracket_state : moist or dry, of a notation that stands in brackets; '' where the notes do not say it.
    series_ranges : thicknesses in brackets are those of a soil series, not of this pit: they stay remarks.
    """
    horizon = Horizon(entry, end)
    depth_end = entry.depths.end if entry.depths else entry.designation_at[1]
    behind = entry.lead if entry.lead and entry.lead[0] >= entry.designation_at[1] else None
    if entry.lead and not behind and text[slice(*entry.lead)].strip(" ,:"):
        horizon.left.append(entry.lead)
    horizon.found.append(Found("designation", entry.designation, *entry.designation_at))
    offset = entry.stop if entry.stop >= 0 else max(entry.body, depth_end)
    body = text[offset:end]
    colours: list[tuple[MatrixColour, int, int]] = []
    corrected = has_corrections(text, entry.start, end)
    read_cells(horizon, text, colours, series_ranges)
    mended, slips = mend_hues(body)
    horizon.notes += [f"scanner damage in the hue of a colour: {slip} read as {better}" for slip, better in slips]
    if bracket_state:
        for one in _BRACKETED.finditer(mended):
            place = (offset + one.start(), offset + one.end())
            colours.append((MatrixColour(" ".join(one["notation"].split()), bracket_state), *place))
            horizon.found.append(Found("colour", f"{one['notation']} {bracket_state}", *place))
        mended = _BRACKETED.sub(lambda one: " " * len(one.group()), mended)
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
            if not piece[last:].strip(" ,.;"):
                continue
            piece = " " * last + piece[last:]
        skip = label_before_terms(piece)
        if skip:
            horizon.found.append(Found("label", piece[:skip].strip(), at, at + skip))
            piece, at = piece[skip:], at + skip
        if has_parts(entry):
            leads = leads_to_parts(piece, entry.designation)
            horizon.left += [(at + first, at + last) for first, last in leads]
            piece = as_clauses(piece, leads)
        piece = colours_apart(piece)
        placed = _placed(piece, horizon, bool(colours))
        coded = (*placed, *(one for one in code_clauses(piece) if not any(first <= one[0] < last for first, last, _ in placed)))
        said_here = [(first, last, what, said) for first, last, words in coded for what, *_, said in _said(words)]
        piece = blanked(piece, coded)
        said_here += [(first, last, what, said) for what, first, last, said in _said(piece)]
        for first, last, what, said in sorted(said_here, key=lambda one: one[0]):  # in the order of the text: what stands first is of the soil
            if what == "state":
                colours[:] = with_state(colours, said.cells["state"], at)
                horizon.found.append(Found("colours of this clause", said.cells["state"], at + first, at + last))
                continue
            if _is_out_of_place(what, text[at + first : at + last], horizon):
                horizon.left.append((at + first, at + last))
                continue
            if corrected:
                take_back(horizon, what, at + first, text, colours)
            take(horizon, what, at + first, at + last, said, text, colours, series_ranges)
        horizon.left += [(at + first, at + last) for first, last in find_phrases(piece)[1]]
    if corrected:
        note_open_corrections(horizon, text)
    settle_loose(horizon, text)
    settle_colours(horizon, colours, default_state)
    return horizon


def _placed(piece: str, horizon: Horizon, colours: bool) -> tuple[tuple[int, int, str], ...]:
    """(start, end, words) of the fields of one code that mean something by their place alone."""
    found = []
    for clause in _FIELD.finditer(piece):
        if " ".join(clause["code"].casefold().split()) in placed_codes():
            before = blanked(piece, tuple(found))[: clause.start()]
            coded = code_clauses(before)
            said = [one for _, _, words in (*found, *coded) for one in _said(words)] + list(_said(blanked(before, coded)))
            colour = ("colour",) if colours or any(one.colours for *_, one in said) else ()
            words = by_place(clause["code"], {*horizon.cells, *colour, *(name for *_, one in said for name in one.cells)})
            found += [(*clause.span("code"), words)] if words else []
    return tuple(found)


def _is_out_of_place(what: str, written: str, horizon: Horizon) -> bool:
    """A code that means something else where it stands: ``L`` behind a structure is loose and no loam, ``GS`` before texture and structure is sand as well as a boundary."""
    if what == "texture":
        return len(written) == 1 and "structure kind" in horizon.cells
    mineral = horizon.entry.designation.lstrip("23456IVX")[:1] not in "LFHO"
    return what == "boundary" and mineral and written.casefold() in ("gs", "cs") and not {"texture", "structure kind", "consistence", "effervescence"} & set(horizon.cells)


def read_cells(horizon: Horizon, text: str, colours: list[tuple[MatrixColour, int, int]], series_ranges: bool) -> None:
    """Fill a horizon that is laid out from what stands at its labels."""
    horizon.found += [Found("label", "", first, last) for first, last in horizon.entry.labels]
    for cell in horizon.entry.cells:
        if cell.label.field == "pit_id":
            horizon.found.append(Found("pit id", horizon.entry.pit, *cell.spans[0]))
            continue
        said = read_cell(cell, text)
        if said.nothing:
            horizon.found.append(Found(cell.label.text, "nothing", *cell.spans[0]))
        for name, value, places in said.fields:
            known = name in horizon.cells
            if not known:
                horizon.cells[name] = value
            horizon.found += [] if known else [Found(name, value, *place) for place in places]
            horizon.left += places if known else ()
        for what, places, words in said.phrases:
            if cell.label.field in KEPT_WORDS and (any(name in horizon.cells for name in words.cells) or (words.colours and colours)):
                continue
            if what == "state before":
                horizon.found.append(Found("label", "", *places[0]))
                continue
            before = len(horizon.left), len(horizon.kept)
            take(horizon, what, *places[0], words, text, colours, series_ranges)
            more = horizon.left if len(horizon.left) > before[0] else horizon.kept if len(horizon.kept) > before[1] else None
            if more is not None:
                more += places[1:]
            if more is not horizon.left:
                horizon.found += [Found(f"{what}, further", "with the line above", *place) for place in places[1:]]
        horizon.left += said.left
        if cell.label.text:
            horizon.named |= {place: cell.label.text for place in (*horizon.left, *horizon.kept) if any(first <= place[0] < last for first, last in cell.spans)}
    parts = [horizon.cells.pop(f"second structure {part}", "") for part in ("grade", "size", "kind")]
    if parts[-1] and "structure kind" in horizon.cells and "structure more" not in horizon.cells:
        horizon.cells["structure more"] = " ".join(["parting to", *filter(None, parts)])



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
    number = _NUMBER.match(value) if entry.kind == "number" else None  # pH: 6.5, few roots, clay
    length = number.end() if number else len(piece[found.end() :].rstrip())
    return entry.name.replace("_", " "), number.group() if number else value, found.start("label"), found.end() + length


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
