"""Cards: a horizon written as one labelled field a line, or several on one line (``Horizon: Ap``, ``Depth: 0-22 cm``, ``Texture: loam``)."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cache

from ..columns import parse_heading
from .depths import depths_at
from .entries import designation_in, entry_at
from .fields import HEADS, Cell, Label, label_of, listed, names_of_horizons, names_of_pits
from .pit_lines import is_section, starts_pit
from .tokens import tokens

DEPTHS = ("depth", "upper_depth", "lower_depth")

_UNKNOWN = re.compile(r"[ \t]*(?P<label>[A-Z][\w/-]*(?: [\w/-]+){0,3})[ \t]*(?:\([^)\n]{1,20}\))?[ \t]*[:=](?=[ \t]+\S)")


@dataclass
class Card:
    """One horizon's values at their labels. ``labels`` are the places of the labels."""

    start: int
    stop: int
    cells: list[Cell] = field(default_factory=list)
    labels: list[tuple[int, int]] = field(default_factory=list)

    def has(self, name: str) -> bool:
        return any(cell.label.field == name for cell in self.cells)

    def is_over_at(self, names: set[str]) -> bool:
        """Whether labels of these fields begin the next card: a second designation, or what this card began with."""
        return ("designation" in names and self.has("designation")) or self.cells[0].label.field in names & set(HEADS)


def read_cards(text: str, inside: list[tuple[int, int]]) -> Iterator[Card]:
    """Every card of a text. ``inside``: places of tables, in order, where none is looked for."""
    done = 0
    for found in _begin().finditer(text):
        at = found.start()
        spot = bisect_right(inside, (at, len(text))) - 1
        if at < done or (spot >= 0 and at < inside[spot][1]):
            continue
        for card in _cards_from(text, at):
            done = card.stop
            yield card


def _cards_from(text: str, at: int) -> Iterator[Card]:
    """The cards of a run of labelled lines that begins at ``at``."""
    card: Card | None = None
    blank = False
    while at < len(text):
        end = text.find("\n", at)
        end = len(text) if end < 0 else end
        if not text[at:end].strip():
            blank, at = True, end + 1
            continue
        row = _labelled(text, at, end)
        names = {cell.label.field for _, cell in row}
        if card and names & set(HEADS) and card.is_over_at(names):
            yield card
            card = None
        if card is None and not names & set(HEADS):
            return
        if card is None:
            card = Card(at, end)
        elif blank and not (row and all(cell.label.field and cell.label.field != "remarks" and not card.has(cell.label.field) for _, cell in row)):
            break
        elif not row:
            if starts_pit(text[at:end]) or is_section(text[at:end]) or entry_at(text, at, end) or _is_of_the_pit(text, at, end):
                break
            _go_on(card, text, at, end)
        for place, cell in row:
            card.cells.append(cell)
            card.labels.append(place)
        card.stop, blank, at = end, False, end + 1
    if card:
        yield card


def _labelled(text: str, at: int, end: int) -> list[tuple[tuple[int, int], Cell]]:
    """(place of the label, cell) of each label of a line; none where the line begins otherwise, or speaks of the pit."""
    marks = list(_colons().finditer(text, at, end))
    before = _pit_before().fullmatch(text, at, marks[0].start()) if marks and label_of(marks[0]["label"]).field in HEADS else None
    if before:  # PIT: OX-3   HORIZON: E
        return [(before.span("label"), Cell(Label("pit", "pit_id"), (before.span("pit_id"),))), *_labelled(text, marks[0].start(), end)]
    if not marks or text[at : marks[0].start()].strip(" \t*\u2022>|-"):
        bare = _bare(text, at, end)
        if bare:
            return bare
        first = _without_colon().match(text, at, end)
        if not first and not _is_of_the_pit(text, at, end):
            first = _UNKNOWN.match(text, at, end)
        if not first:
            return []
        marks = [first, *(mark for mark in marks if mark.start() >= first.end())]
    ends = [mark.start() for mark in marks[1:]] + [end]
    row = []
    for mark, stop in zip(marks, ends):
        value = text[mark.end() : stop]
        first = mark.end() + len(value) - len(value.lstrip(" \t"))
        last = first + len(value.strip(" \t").rstrip(" \t\r,;|*"))
        label = label_of(text[mark.start("label") : mark.end()].strip(" \t:="))
        if label.field in DEPTHS and depths_at(tokens(text[first:last], first), 0) is None:  # From: Ann
            label = replace(label, field="boundary" if "boundary" in label.text.casefold() else "")
        row.append(((mark.start("label"), mark.end()), Cell(label, ((first, last),))))
    return row


def _bare(text: str, at: int, end: int) -> list[tuple[tuple[int, int], Cell]]:
    """A designation that has its line to itself, right above ``Depth: ...``, or one with its depths above any label."""
    found = _alone().match(text, at)
    if found and designation_in(text, found.start("name"), found.end("name")):
        return [((found.start("name"), found.start("name")), Cell(label_of("horizon"), (found.span("name"),)))]
    entry = entry_at(text, at, end) if _headed().match(text, at) else None
    if entry is None or entry.depths is None or text[entry.depths.end : end].strip(" \t\r:;,.)]*-") or text[entry.body : entry.depths.start].strip():
        return []
    name, depths = entry.designation_at, (entry.depths.start, entry.depths.end)
    between = (name[1], depths[0]) if name[1] < depths[0] else (depths[0], depths[0])  # Ap horizon: 0-20 cm
    return [((name[0], name[0]), Cell(label_of("horizon"), (name,))), (between, Cell(label_of("depth"), (depths,)))]


def _go_on(card: Card, text: str, at: int, end: int) -> None:
    """A line without a label goes on with the field above it where it is set in or begins small; any other is free text."""
    words = text[at:end]
    span = (at + len(words) - len(words.lstrip()), at + len(words.rstrip()))
    last = card.cells[-1]
    if last.label.field in HEADS or not (words[0].isspace() or words[0].islower() or not last.label.text):
        card.cells.append(Cell(label_of(""), (span,)))
    else:
        card.cells[-1] = replace(last, spans=(*last.spans, span))


def _is_of_the_pit(text: str, at: int, end: int) -> bool:
    label = re.compile(r"[ \t]*([A-Za-z][A-Za-z _/-]{1,30}?)[ \t]*[:=]").match(text, at, end)
    return bool(label) and parse_heading(label[1]).base in names_of_pits()


@cache
def _begin() -> re.Pattern:
    first = listed("designation", "depth", "upper_depth")
    return re.compile(
        rf"(?im)^(?:{_pit_before().pattern}(?:{listed('designation')})\b[ \t]*[:=][ \t]*\S|[ \t*\u2022>-]*(?:{first})\b\.?[ \t]*(?:(?:\([^)\n]{{1,12}}\)|cm|in)[ \t]*)?(?:[:=][ \t]*\S|(?<=[ \t])(?:\d[^\n]{{0,24}}|[^\s:]{{1,12}})[ \t]*$)"
        rf"|[ \t*]*(?-i:[A-Z0-9^][\w/'&-]{{0,9}})[ \t*]*\n[ \t*]*(?:{listed('depth')})\b)|{_headed().pattern}"
    )


@cache
def _pit_before() -> re.Pattern:
    """The id of the pit with its label, before the labels of a horizon on the same line."""
    return re.compile(r"[ \t*\u2022>|-]*(?P<label>(?i:pit|profile|pedon|plot|site|hole)(?:[ \t]*(?i:no\.?|number|id|name|#))?[ \t]*[:=#])[ \t]*(?P<pit_id>[^\s:;,|](?:[^\n:;,|]{0,38}[^\s:;,|])?)[ \t;,|]+")


@cache
def _headed() -> re.Pattern:
    """A short line with a number above a line that begins with the label of a field."""
    return re.compile(rf"(?<![^\n])(?-i:[^\n:|]{{0,16}}[A-Z])[^\n]{{0,50}}\n[ \t*\u2022>-]*(?i:{_fields()})\.?(?:[ \t]*\([^)\n]{{1,12}}\))?\*{{0,2}}[ \t]*[:=]")


@cache
def _fields() -> str:
    """Labels of what a horizon is like."""
    return listed(*(sorted(set(names_of_horizons().values()) - {*HEADS, "remarks"})))


@cache
def _alone() -> re.Pattern:
    return re.compile(rf"[ \t*]*(?P<name>[A-Z0-9^][\w/'&-]{{0,9}})[ \t*]*\r?\n[ \t*]*(?i:{listed('depth')})\b")


@cache
def _colons() -> re.Pattern:
    return re.compile(rf"(?i)(?<![^\s;,|*\u2022>.-])(?P<label>{listed()})\.?\*{{0,2}}[ \t]*(?:(?:\([^)\n]{{1,12}}\)|%|percent|cm|in)[ \t]*)?[:=]\*{{0,2}}")


@cache
def _without_colon() -> re.Pattern:
    """``Horizon Ap``, ``Depth 0-22``, ``Texture loam``: the label first, with a capital, and no colon."""
    limits = listed(*DEPTHS)
    return re.compile(rf"[ \t*\u2022>-]*(?=[A-Z])(?P<label>(?i:(?:{limits})(?=[ \t]*\(?(?:cm|in)?\)?[ \t]+\d)|(?!(?:{limits})[ \t])(?:{listed()})))\.?(?:[ \t]*\([^)\n]{{1,12}}\))?[ \t]+(?=\S)(?![^\n:=]{{0,40}}[:=])")
