"""The pits of a file of notes: where each begins, its head, its horizons, and what stands behind them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from .depths import goes_on_from
from .dictation import Speech, dictated
from .entries import Entry, entry_at, entry_down_to, entry_within
from .found import Found
from .header import Header, add_to_header, read_behind, read_header
from .horizon import REMARKS, Horizon, read_horizon
from .layouts import laid_out
from .one_line import further_horizons
from .open_pits import (
    OpenPit,
    begins_again,
    goes_on,
    is_of_the_pit_above,
    may_be_another_pit,
    restarts,
    together,
    without_stray_heads,
)
from .pit_lines import bare_id, is_placed, is_published, is_section, keyed_id, section_inside, starts_pit
from .single_depths import first_from_the_surface, single_depth_at
from .small_letters import small_letters_at
from .unread_layers import is_below_a_layer, is_layer, layer_in


@dataclass
class Profile:
    """One pit as read. ``start`` and ``end`` are places in the text; ``tail`` what follows the horizons."""

    header: Header
    start: int
    end: int
    horizons: list[Horizon] = field(default_factory=list)
    tail: list[tuple[int, int]] = field(default_factory=list)
    unread: list[tuple[int, int]] = field(default_factory=list)
    """Of these, layers without a designation whose depths are no horizon's."""
    alone: list[tuple[str, int, int]] = field(default_factory=list)
    """Id and place of pits beside this one that have a head and no horizons."""


def read_profiles(text: str) -> list[Profile]:
    """All pits of a text, in its order. A text without any horizon gives none."""
    speech = dictated(text)
    text = speech.text
    all_ = _gather(text, speech)
    gathered = together(without_stray_heads(text, all_))
    profiles = []
    for_all = brackets_for_all = ""
    for number, one in enumerate(gathered):
        header = read_header(text, one.start, one.head_end, one.headings)
        if number == 0 and header.default_state and _before_first_pit(text, header, one, "colours are"):
            for_all = header.default_state
        if number == 0 and header.bracket_state and _before_first_pit(text, header, one, "colours in brackets are"):
            brackets_for_all = header.bracket_state
        for first, last in one.again:
            add_to_header(header, read_header(text, first, last))
        header.default_state = header.default_state or for_all
        header.bracket_state = header.bracket_state or brackets_for_all
        if one.pit:
            header.cells["pit_id"] = one.pit
        published = False
        for first, last in one.tail:
            published = published or is_published(text[first:last])  # of the series, and not of this pit
            read_behind(header, text, first, last, position_only=published)
        profile = Profile(header, one.start, one.ends[-1], tail=[*one.tail, *one.unread], unread=one.unread)
        for entry, end in zip(first_from_the_surface(one.entries), one.ends):
            profile.horizons.append(read_horizon(text, entry, end, header.default_state, header.is_series, header.bracket_state))
        _settle_lowest(profile, text)
        profiles.append(profile)
    if profiles:
        profiles[0].alone = [(one.key[1], one.start, one.head_end) for one in all_ if one.key and not one.entries]
    return profiles


def _gather(text: str, speech: Speech) -> list[OpenPit]:
    pits = [OpenPit(0, 0)]
    laid, headings = laid_out(text)
    over: list[tuple[int, int]] = []
    blank = False
    at = until = 0
    for line in text.splitlines(keepends=True):
        start, end = at, at + len(line.rstrip("\r\n"))
        at += len(line)
        now = pits[-1]
        if start < until:  # in a card or in a row of a table
            blank = False
            continue
        if start in headings:
            over.append((start, headings[start]))
            continue
        if not line.strip():
            blank = True
            continue
        entry = laid.get(start)
        spoken = start in speech.lines
        names_a_place = not entry and is_placed(line)  # PW-1  54 02 11 N ...
        if entry:
            until = end = entry.stop
        else:
            entry = None if names_a_place or starts_pit(line) else speech.entries.get(start) if spoken else entry_at(text, start, end)
        if not entry and not spoken and not names_a_place and not starts_pit(line) and now.closed != "published":
            entry = small_letters_at(text, start, end, now.entries[-1] if now.entries else None)
        if not entry and not spoken and now.entries and not now.closed and not names_a_place:
            entry = entry_down_to(text, start, end, now.entries[-1])
        if not entry and not spoken and not now.closed and not now.doubtful and not names_a_place and not starts_pit(line) and not is_section(line):
            entry = single_depth_at(text, start, end, now.entries[-1] if now.entries else None, blank)
        if not entry and not spoken and now.entries and not now.closed and not names_a_place and not starts_pit(line):
            within = entry_within(text, start, end)
            entry = within if within and _follows(within, now.entries[-1]) else None
        if entry and entry.stop < 0 and not spoken and now.entries and not blank and goes_on(entry, now.entries[-1], text[max(start - 40, 0) : start]):
            entry = None
        if entry and now.closed == "published" and not may_be_another_pit(entry, text):
            entry = None
        if entry and len(pits) > 1 and not now.entries and not now.key and is_of_the_pit_above(text, entry, now, pits[-2]):
            pits.pop()
            now = pits[-1]
            now.closed = ""
        if entry:
            if now.closed == "remarks" and not restarts(entry, now.entries[-1]):
                now.closed = ""  # a remark between two horizons of one pit
            if now.doubtful and now.entries and restarts(entry, now.entries[-1]):
                named = next((spot for spot, (first, last) in enumerate(now.doubtful) if bare_id(text, first, last)), 0)
                head = now.doubtful[named:]
                now.tail += now.doubtful[:named]
                now.doubtful = []
                now = OpenPit(head[0][0], head[-1][1])
                pits.append(now)
            elif now.closed and now.entries:
                now = OpenPit(start, start)
                pits.append(now)
            elif now.entries and (entry.pit != now.pit or begins_again(entry, now.entries[-1]) or (over and restarts(entry, now.entries[-1]))):
                now = OpenPit(over[0][0] if over else start, start)
                pits.append(now)
            now.headings += over
            now.pit = entry.pit
            over = []
            _settle_doubtful(now)
            _add(now, entry, text, end, spoken)
            for other in entry.beside:
                _add(now, other, text, end)
        elif now.entries and (names_a_place or starts_pit(line) or _heads_the_next(text, start, end, at, laid, now.entries[-1])):
            now.tail += now.doubtful
            now.doubtful = []
            pits.append(OpenPit(start, end, key=keyed_id(line)))
            if not spoken:
                _first_in_head(pits[-1], text, start, end)
        elif now.entries and (now.closed or is_section(line)):
            now.closed = "published" if now.closed == "published" or is_published(line) else "remarks"
            now.tail += [*now.doubtful, (start, end)]
            now.doubtful = []
        elif now.entries and blank:
            now.doubtful.append((start, end))
        elif now.doubtful:
            now.doubtful.append((start, end))
        elif now.entries and spoken:
            now.ends[-1] = end
        elif now.in_layer:
            now.unread[-1] = (now.unread[-1][0], end)
        elif now.entries and is_layer(text, start, end, now.entries[-1]):
            now.unread.append((start, end))
            now.in_layer = True
        elif now.entries:
            _add_more(now, text, start, end)
        else:
            key = keyed_id(line)
            if key and now.key and key[0] == now.key[0] and key != now.key:  # Pit 5 was refused, Pit 6 follows
                now = OpenPit(start, end)
                pits.append(now)
            now.key = now.key or key
            now.head_end = end
            if not spoken:
                _first_in_head(now, text, start, end)
        blank = False
    for one in pits:
        one.tail += one.doubtful
    return pits


def _settle_lowest(profile: Profile, text: str) -> None:
    """What the words left of the lowest horizon say of the pit: ``hit rock at 48``, ``moderately well drained``."""
    lowest = profile.horizons[-1]
    left, lowest.left = lowest.left, []
    for place in left:
        read, rest = ([], [place]) if place in lowest.named else read_behind(profile.header, text, *place)
        lowest.found += [Found("of the pit", " ".join(text[start:end].split()), start, end) for start, end in read]
        lowest.left += rest


def _before_first_pit(text: str, header: Header, one: OpenPit, what: str) -> bool:
    """Whether the sentence on colours stands above the first pit's own head: then it is for the whole file."""
    said = next(found.start for found in header.found if found.what == what)
    return any(starts_pit(line.group()) and line.start() > said for line in re.finditer(r"[^\n]+", text[: one.head_end]))


def _heads_the_next(text: str, start: int, end: int, after: int, laid: dict[int, Entry], last: Entry) -> bool:
    """Whether a line begins with an id alone (``P2 - near fence``) and depths begin again in the line below."""
    first = start + len(text[start:end]) - len(text[start:end].lstrip())
    if bare_id(text, first, end) is None:
        return False
    stop = text.find("\n", after)
    entry = laid.get(after) or entry_at(text, after, len(text) if stop < 0 else stop)
    return entry is not None and entry.depths is not None and restarts(entry, last)


def _settle_doubtful(now: OpenPit) -> None:
    """Lines behind a blank one that led to no other pit belong to the horizon above."""
    if now.doubtful and now.ends:
        now.ends[-1] = max(now.ends[-1], now.doubtful[-1][1])
    now.doubtful = []


def _add(now: OpenPit, entry: Entry, text: str, end: int, spoken: bool = False) -> None:
    now.entries.append(entry)
    now.ends.append(end)
    now.in_layer = False
    if entry.stop < 0 and not spoken:
        _add_more(now, text, entry.body, end)


def _add_more(now: OpenPit, text: str, start: int, end: int) -> None:
    """A line that goes on with the horizon; a sentence in it may begin the next one, when it starts where the last ended."""
    now.ends[-1] = end
    last = REMARKS.search(text, start, end)
    section = section_inside(text, start, end)
    if section is not None:
        now.closed = "published"
        now.tail.append((section, end))
        now.ends[-1] = end = section
    begun = [(len(now.ends) - 1, start)]
    above = next((one for one in reversed(now.entries) if one.depths), None)
    for before, entry in further_horizons(text, start, last.start() if last else end, now.entries[-1], above):
        now.ends[-1] = before
        now.entries.append(entry)
        now.ends.append(end)
        begun.append((len(now.ends) - 1, entry.body))
    for number, at in begun:  # gravel fill 30-45 cm
        layer = layer_in(text, at, now.ends[number], now.entries[number])
        if layer:
            now.unread.append((layer[1], now.ends[number]))
            now.in_layer |= number == len(now.ends) - 1
            now.ends[number] = layer[0]


def _first_in_head(now: OpenPit, text: str, start: int, end: int) -> None:
    """The head and the first horizon on one line, or in a sentence that begins otherwise.

    It begins at the surface, or where a layer without a designation ends, or its symbol has several letters
    and the next horizon goes on from it.
    """
    marks = [(start, start)] + [mark.span() for mark in re.compile(r"[.;:]\s+|,?\s+(?:(?:and )?then|over|followed by)\s+").finditer(text, start, end)]
    for before, at in marks:
        for entry in (entry_at(text, at, end) if at > start else None, entry_within(text, at, end), single_depth_at(text, at, end, None) if at > start else None):
            if not entry or not entry.known or not entry.depths or entry.depths.lower is None:
                continue
            at_surface = 0 in (entry.depths.upper.value, entry.depths.lower.value)
            if at_surface or (entry.lead is None and (is_below_a_layer(text, start, before, entry) or _is_of_a_row(text, entry, end))):
                now.head_end = before
                _add(now, entry, text, end)
                return


def _is_of_a_row(text: str, entry: Entry, end: int) -> bool:
    """Whether a horizon with a symbol of several letters has another behind it on the line that goes on from it."""
    return len(entry.designation) > 1 and next(further_horizons(text, entry.body, end, entry), None) is not None


def _follows(entry: Entry, last: Entry) -> bool:
    return entry.depths is not None and last.depths is not None and goes_on_from(entry.depths, last.depths)
