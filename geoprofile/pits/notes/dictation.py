"""A pit told in running speech: where its horizons begin, though no line and no mark says so.

In a paragraph that was spoken, letters are said one by one (``B T``), numbers are
words, and a horizon follows on the last within a sentence. One begins only where a
designation and its depths stand in one sentence and the depths go on from those
above. Wrapped lines are joined and a line is begun at each horizon, pit and closing
sentence, so that the text is as long as before and every place stands.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import cache

from ...vocabulary.tables import table
from .depths import Depths, depths_at, goes_on_from
from .entries import HEAD, Entry, behind_words, designation_in, entry_at, is_designation
from .pit_lines import is_section, starts_pit
from .spelled import spelled_at
from .tokens import tokens

_PARAGRAPH = re.compile(r"[^\n]*\S[^\n]*(?:\n[^\n]*\S[^\n]*)*")
_SENTENCE = re.compile(r"[.!?](?=\s|$)")
_NAME = re.compile(r"(?<![\w.'\u2019/-])(?=[\^\dIVX]{0,3}[A-Z]|(?:capital|[Tt]wo|[Tt]hree)\s+[A-Za-z]\b)")
_DEPTHS_NEAR = re.compile(r"[^.]{0,160}?(?:\d|\b(?:to|from)\b)", re.DOTALL)
_LONG = 80
"""A paragraph is taken as spoken from this many characters on, where it has two turns of speech."""
_LONGEST_START = 200
"""Characters of a sentence that are looked at to see what it begins."""
_FARTHEST = 160
"""Characters between a designation and its depths at most."""


@dataclass
class Speech:
    """``text`` as it is read, as long as before; ``entries``: start of a line -> its horizon; ``lines``: starts of all lines that were spoken."""

    text: str
    entries: dict[int, Entry] = field(default_factory=dict)
    lines: set[int] = field(default_factory=set)


def dictated(text: str) -> Speech:
    """The spoken paragraphs of a text, with a line begun at each horizon."""
    if not _looks_spoken().search(text) and not _turns().search(text):
        return Speech(text)
    spoken = [one.span() for one in _PARAGRAPH.finditer(text) if _is_spoken(one.group())]
    pieces, at = [], 0
    for start, end in spoken:
        pieces += [text[at:start], _with_lines_begun(text[start:end])]
        at = end
    lined = "".join([*pieces, text[at:]])
    entries: dict[int, Entry] = {}
    lines: set[int] = set()
    last: Depths | None = None
    for first, stop in spoken:
        at = first
        for line in lined[first:stop].splitlines(keepends=True):
            start, end = at, at + len(line.rstrip("\n"))
            at += len(line)
            lines.add(start)
            if starts_pit(line):
                last = None
            elif is_section(line):
                continue
            for entry in _horizons_of(lined, start, end, last):
                entries[entry.start] = entry
                last = entry.depths
    letters = list(lined)
    for start in entries:
        if start and start not in lines:
            letters[start - 1] = "\n"
    return Speech("".join(letters), entries, lines | set(entries))


def _is_spoken(paragraph: str) -> bool:
    """Letters said one by one before depths, or a longer paragraph with depths in words or turns of speech."""
    for name in _NAME.finditer(paragraph):
        found = spelled_at(paragraph, name.start())
        if found and _DEPTHS_NEAR.match(paragraph, found[-1][1][1]):
            return True
    return len(paragraph) > _LONG and len(_turns().findall(paragraph)) >= 2


def _with_lines_begun(paragraph: str) -> str:
    """Wrapped lines are joined, and one is begun at each sentence that begins or closes a pit; as long as before."""
    text = list(paragraph)
    for mark in re.finditer(r"\n", paragraph):
        behind = _line_at(paragraph, mark.end())
        ended = re.search(r"[.!?:;]\s*$", paragraph[max(mark.start() - 20, 0) : mark.start()])
        if not ended and not starts_pit(behind) and entry_at(paragraph, mark.end(), mark.end() + len(behind)) is None:
            text[mark.start()] = " "
    joined = "".join(text)
    for mark in re.finditer(r"(?<=[.!?])[ \n](?=\S)", joined):
        behind = _line_at(joined, mark.end())
        if starts_pit(behind) or is_section(behind):
            text[mark.start()] = "\n"
        elif text[mark.start()] == "\n" and entry_at(joined, mark.end(), mark.end() + len(behind)) is None:
            text[mark.start()] = " "
    return "".join(text)


def _line_at(text: str, at: int) -> str:
    return text[at : at + _LONGEST_START].split("\n", 1)[0]


def _horizons_of(text: str, start: int, end: int, last: Depths | None) -> list[Entry]:
    """The horizons of a line one after the other, each behind a blank or at the beginning of the line."""
    found: list[Entry] = []
    at = start
    for name in _NAME.finditer(text, start, end):
        if name.start() < at:
            continue
        entry = _entry(text, name.start(), at, end, last)
        if entry is None and name.start() == at == start:
            entry = entry_at(text, start, end)
            entry = entry if entry and entry.known and entry.depths else None
        if entry is None or (entry.start > start and text[entry.start - 1] not in " \t"):
            continue
        found.append(entry)
        last = entry.depths
        at = max(entry.body, entry.designation_at[1])
    return found


def _entry(text: str, at: int, since: int, end: int, last: Depths | None) -> Entry | None:
    """The horizon whose designation stands at ``at``; nothing before ``since`` belongs to it."""
    names = _names_at(text, at, end)
    found = [entry for name in names if (entry := _with_depths(text, *name, since, end, last))]
    return next((entry for entry in found if last and goes_on_from(entry.depths, last)), found[0] if found else None)


def _with_depths(text: str, designation: str, place: tuple[int, int], spelled: bool, since: int, end: int, last: Depths | None) -> Entry | None:
    notes = (f"{' '.join(text[slice(*place)].split())} read as {designation}",) if spelled else ()
    before = _depths_before(text, place[0], since, last)
    if before:
        depths = replace(before, notes=(*before.notes, *notes))
        return Entry(_lead_start(text, depths.start, since), designation, place, depths, behind_words(text, place[1], end), True)
    stop = _SENTENCE.search(text, place[1], min(end, place[1] + _FARTHEST))
    found = _depths_behind(text, place[1], stop.start() if stop else min(end, place[1] + _FARTHEST), last)
    if found is None:
        return None
    depths, between = found
    depths = replace(depths, notes=(*depths.notes, *notes))
    start = _lead_start(text, place[0], since)
    sentence = start if between else _sentence_start(text, start, since)
    return Entry(sentence, designation, place, depths, depths.end, True, lead=between if between or sentence == start else (sentence, place[0]))


def _names_at(text: str, at: int, end: int) -> list[tuple[str, tuple[int, int], bool]]:
    """(designation, its place, whether it was spelled) of what may stand at a place."""
    spelled = [(*found, True) for found in spelled_at(text, at) if found[1][1] <= end]
    if spelled:
        return spelled
    plain = designation_in(text, at, min(end, at + 40))
    if plain is None or not is_designation(plain[0]):
        return []
    last = plain[1][1]
    if plain[0] == "I":
        return []
    if plain[0] == "A" and re.match(r"\s+[a-z]", text[last:]) and behind_words(text, last + 1, end) == last + 1 and not re.match(r"\s+(?:from|about)\b", text[last:]):
        return []  # A bit of clay
    return [(*plain, False)]


def _depths_behind(text: str, at: int, end: int, last: Depths | None) -> tuple[Depths, tuple[int, int] | None] | None:
    """The depths behind a designation that go on from the last; and the place of words between the two."""
    spot = at
    while spot < end and text[spot] in " ,:":
        spot += 1
    spot = behind_words(text, spot, end)
    thick = _thick().match(text, spot, end)
    first = thick.end() if thick else spot
    cut_off = _cut_off_depths(text, first, end)
    if cut_off and _plausible(cut_off, last, directly=True):
        return cut_off, None
    row = tokens(text[first:end], first)
    for number in range(len(row)):
        if number and row[number].kind != "number" and row[number].key != "from":
            if row[number].text[:1].isupper() and _names_at(text, row[number].start, end):
                return None  # the depths are those of the next
            continue
        found = depths_at(row, number)
        if found is None or not _plausible(found[0], last, directly=number == 0):
            continue
        depths = found[0]
        if depths.lower is None and not depths.open_plainly:
            if not _starts_there().search(text, at, depths.start):
                continue
            depths = replace(depths, open_below=True, open_plainly=True)
        return depths, (at, depths.start) if number or thick else None
    return None


def _cut_off_depths(text: str, at: int, end: int) -> Depths | None:
    """``fifty-eight to, well, I got the auger to ninety``: the end of the observation instead of the lower depth."""
    tools = "|".join(table("notes")["dictation"]["tools"])
    found = re.compile(rf"(?i)(?:from\s+)?(?P<upper>[\w. -]+?)\s+(?:down\s+)?to\s*(?:[,.\u2010-\u2015-]+\s*)+(?:[a-z']+,?\s+){{0,8}}?(?:{tools})\s+(?:down\s+)?to\s+(?:about\s+)?").match(text, at, end)
    upper = depths_at(tokens(f"{found['upper']} to 999", found.start("upper")), 0) if found else None
    lower = depths_at(tokens(text[found.end() : end], found.end()), 0) if found else None
    if upper is None or lower is None or lower[0].lower is not None:
        return None
    notes = ("the lower depth is the end of the observation",)
    return Depths(upper[0].upper, lower[0].upper, lower[0].unit, True, found.start("upper"), lower[0].end, notes, True)


def _depths_before(text: str, at: int, since: int, last: Depths | None) -> Depths | None:
    """``from nineteen to fifty-two we've got a B T``: depths right before a designation, with words of a lead between."""
    start = max(since, at - HEAD)
    sentence = list(_SENTENCE.finditer(text, start, at))
    start = sentence[-1].end() if sentence else start
    row = tokens(text[start:at], start)
    for number, token in enumerate(row):
        if token.kind != "number" and token.key not in ("from", "surface"):
            continue
        found = depths_at(row, number)
        if found and found[0].lower is not None and _plausible(found[0], last, directly=False):
            behind = row[found[1] :]
            if all(one.key == "," or one.text.casefold() in _leads() for one in behind):
                return found[0]
    return None


def _plausible(depths: Depths, last: Depths | None, directly: bool) -> bool:
    """Whether depths go on from the last, or begin at the surface; right behind a designation they may leave a gap."""
    if depths.lower is None and not depths.open_plainly:
        return directly and last is not None and goes_on_from(depths, last)  # the C starts at thirty
    if last is None or last.lower is None:
        return last is None and depths.lower is not None and (directly or 0 in (depths.upper.value, depths.lower.value))
    return goes_on_from(depths, last) or (directly and depths.upper.low >= last.lower.high and (depths.lower is None or depths.lower.high > depths.upper.low))


def _lead_start(text: str, at: int, since: int) -> int:
    """Where the words begin that lead to a horizon (``then it goes into the``) and say nothing of the one above."""
    start = at
    for word in reversed(list(re.finditer(r"[\w'\u2019]+", text[max(since, at - 80) : at]))):
        place = max(since, at - 80) + word.start()
        between = text[place + len(word.group()) : start]
        if re.search(r"[.;!?)\n]", between) or word.group().casefold().replace("\u2019", "'") not in _leads():
            break
        start = place
    return start


def _sentence_start(text: str, at: int, since: int) -> int:
    """Where a short sentence begins that leads to a horizon with words of its own (``There's a litter layer, L F H``); ``at`` where none does."""
    ends = list(re.finditer(r"[.;!?\n]\s+|^", text[max(since, at - 60) : at]))
    start = max(since, at - 60) + ends[-1].end() if ends and (ends[-1].group() or since >= at - 60) else at
    words = re.findall(r"[\w'\u2019]+", text[start:at])
    return start if words and words[0].casefold().replace("\u2019", "'") in _leads() and not re.search(r"\d", text[start:at]) and "," not in text[start:at].rstrip(" ,") else at


@cache
def _leads() -> frozenset[str]:
    return frozenset(table("notes")["dictation"]["leads"])


@cache
def _numbers() -> str:
    data = table("notes")["numbers"]
    return "|".join(sorted((*data["words"], *data["tens"]), key=len, reverse=True))


@cache
def _starts_there() -> re.Pattern:
    return re.compile(r"(?i)\b(?:starts?|starting|begins?|beginning|from)\b")


@cache
def _thick() -> re.Pattern:
    """``six centimetres thick, so``: before the depths themselves."""
    return re.compile(rf"(?i)(?:(?:is|about|only|just|some|it's)\s+)*(?:\d+(?:\.\d+)?|(?:{_numbers()})(?:[ -](?:{_numbers()}))?)\s*(?:cm|centimet(?:re|er)s?|inch(?:es)?|in)?\s+thick[,\s]+(?:(?:so|and|that's|that is|which is|meaning|from)\s+)*")


@cache
def _looks_spoken() -> re.Pattern:
    words = "|".join(map(re.escape, table("notes")["dictation"]["spoken"]))
    return re.compile(rf"(?<![\w.])[ABCEFHLOR] [A-Z](?![\w'])|[Cc]apital [A-Za-z]\b|(?i:\b(?:{words})\b)")


@cache
def _turns() -> re.Pattern:
    words = "|".join(map(re.escape, table("notes")["dictation"]["spoken"]))
    return re.compile(rf"(?i)\b(?:{words})\b|\b(?:{_numbers()})\b[\w -]{{0,30}}?\bto\b (?:\w+ )?(?:{_numbers()})\b")
