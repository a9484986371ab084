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
from .depths import Depths, goes_on_from
from .entries import Entry, behind_words, entry_at
from .phrases import find_phrases
from .pit_lines import is_section, starts_pit
from .spelled import names_at, number_words, spelled_at
from .spoken_depths import SENTENCE, depths_before, depths_behind, lead_words

_PARAGRAPH = re.compile(r"[^\n]*\S[^\n]*(?:\n[^\n]*\S[^\n]*)*")
_NAME = re.compile(r"(?<![\w.'\u2019/-])(?=[\^\dIVX]{0,3}[A-Z]|(?:capital|(?<!ty[ \n-])(?:[Tt]wo|[Tt]hree))\s+[A-Za-z]\b)")
_SPELLED = re.compile(r"\b[ABCEFHLOR](?: |\n(?=[A-Z][ ,]+[a-z]))[A-Z]\b|\b[Cc]apital[ \n][A-Za-z]\b|\b[ABCEFHLOR][ \n](?:lower|small|little)\b")
_TOLD = r"\bfrom [\d /.]{1,9}\s+to\s+[\d /.]{1,9}\s+(?:inch(?:es)?|cm|centimet(?:re|er)s?)?\s*(?:is|comes|lies|follows|we have|there is)\s+(?:the|an?)\b"
"""``From 4 1/2 to 8 inches is the AB``: a letter in prose, whose lines break anywhere."""
_IN_COLUMNS = re.compile(r"(?m)^[^\n]*\S(?:\t|[ ]{2,}|[ ]*\|[ ]*)\S[^\n]*$")
"""A line of a table: nobody speaks in columns, though ``C`` at the end of a row and ``B`` below it look like two letters said."""
_DEPTHS_NEAR = re.compile(r"[^.]{0,160}?(?:\d|\b(?:to|from)\b)", re.DOTALL)
_LONG = 80
"""A paragraph is taken as spoken from this many characters on, where it has two turns of speech."""
_WRAPPED = 0.6
"""A line that goes on in the next is at least this part of the widest."""
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
    if not _may_be_spoken(text):
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
            if start == first and last and last.lower and last.lower.value > 0 and _begins_anew(lined, start, end):
                last = None
            for entry in _horizons_of(lined, start, end, last):
                entries[entry.start] = entry
                last = entry.depths
    letters = list(lined)
    for start in entries:
        if start and start not in lines:
            letters[start - 1] = "\n"
    return Speech("".join(letters), entries, lines | set(entries))


def _may_be_spoken(text: str) -> bool:
    """A quick look for what speech has: most notes have none of it."""
    small = text.casefold()
    words = (*table("notes")["dictation"]["spoken"], *(f" to {word}" for word in number_words().split("|")), "capital ")
    return any(word in small for word in words) or _SPELLED.search(text) is not None or ("from " in small and re.search(_TOLD, small) is not None)


def _is_spoken(paragraph: str) -> bool:
    """Letters said one by one before depths, or a longer paragraph with depths in words or turns of speech."""
    if len(_IN_COLUMNS.findall(paragraph)) > 1:
        return False
    for name in _NAME.finditer(paragraph) if _SPELLED.search(paragraph) else ():
        found = spelled_at(paragraph, name.start())
        if found and _DEPTHS_NEAR.match(paragraph, found[-1][1][1]):
            return True
    return len(paragraph) > _LONG and len(_turns().findall(paragraph)) >= 2


def _with_lines_begun(paragraph: str) -> str:
    """Wrapped lines are joined, and one is begun at each sentence that begins or closes a pit; as long as before."""
    text = list(paragraph)
    widest = max(len(line) for line in paragraph.split("\n"))
    before = 0
    for mark in re.finditer(r"\n", paragraph):
        line, behind = paragraph[before : mark.start()].rstrip(), _line_at(paragraph, mark.end())
        before = mark.end()
        wrapped = len(line) >= _WRAPPED * widest or behind[:1].islower() or (re.search(r"\b[A-Z]$", line) and re.match(r"[A-Z][ ,]+[a-z]", behind))
        if wrapped and not line.endswith((".", "!", "?", ":", ";")) and not starts_pit(behind):
            text[mark.start()] = " "
    joined = "".join(text)
    for mark in re.finditer(r"(?<=[.!?])[ \n](?=\S)", joined):
        behind = _line_at(joined, mark.end())
        if starts_pit(behind) or is_section(behind):
            text[mark.start()] = "\n"
    return "".join(text)


def _line_at(text: str, at: int) -> str:
    return text[at : at + _LONGEST_START].split("\n", 1)[0]


def _begins_anew(text: str, start: int, end: int) -> bool:
    """Whether a paragraph tells of another pit though it names none: its first horizon lies at the surface."""
    first = next(iter(_horizons_of(text, start, end, None)), None)
    return first is not None and first.depths is not None and first.depths.lower is not None and 0 in (first.depths.upper.value, first.depths.lower.value)


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
            entry = entry if entry and entry.known and entry.depths and not spelled_at(text, entry.designation_at[0]) else None
        if entry is None or (entry.start > start and text[entry.start - 1] not in " \t"):
            continue
        found.append(entry)
        last = entry.depths
        at = max(entry.body, entry.designation_at[1])
    return found


def _entry(text: str, at: int, since: int, end: int, last: Depths | None) -> Entry | None:
    """The horizon whose designation stands at ``at``; nothing before ``since`` belongs to it."""
    names = names_at(text, at, end)
    found = [entry for name in names if (entry := _with_depths(text, *name, since, end, last))]
    return next((entry for entry in found if last and goes_on_from(entry.depths, last)), found[0] if found else None)


def _with_depths(text: str, designation: str, place: tuple[int, int], spelled: bool, since: int, end: int, last: Depths | None) -> Entry | None:
    notes = (f"{' '.join(text[slice(*place)].split())} read as {designation}",) if spelled else ()
    before = depths_before(text, place[0], since, last)
    if before:
        depths = replace(before, notes=(*before.notes, *notes))
        return Entry(_lead_start(text, depths.start, since), designation, place, depths, behind_words(text, place[1], end), True)
    stop = SENTENCE.search(text, place[1], min(end, place[1] + _FARTHEST))
    found = depths_behind(text, place[1], stop.start() if stop else min(end, place[1] + _FARTHEST), last)
    if found is None:
        return None
    depths, between = found
    depths = replace(depths, notes=(*depths.notes, *notes))
    start = _lead_start(text, place[0], since)
    sentence = start if between else _sentence_start(text, start, since)
    return Entry(sentence, designation, place, depths, depths.end, True, lead=between if between or sentence == start else (sentence, place[0]))


def _lead_start(text: str, at: int, since: int) -> int:
    """Where the words begin that lead to a horizon (``then it goes into the``) and say nothing of the one above."""
    start = at
    for word in reversed(list(re.finditer(r"[\w'\u2019]+", text[max(since, at - 80) : at]))):
        place = max(since, at - 80) + word.start()
        between = text[place + len(word.group()) : start]
        if re.search(r"[.;!?)\n]", between) or word.group().casefold().replace("\u2019", "'") not in lead_words():
            break
        start = place
    return start


def _sentence_start(text: str, at: int, since: int) -> int:
    """Where a short sentence begins that leads to a horizon with words of its own (``There's a litter layer, L F H``); ``at`` where none does."""
    ends = list(re.finditer(r"[.;!?\n]\s+|^", text[max(since, at - 60) : at]))
    start = max(since, at - 60) + ends[-1].end() if ends and (ends[-1].group() or since >= at - 60) else at
    words = re.findall(r"[\w'\u2019]+", text[start:at])
    leads = bool(words) and words[0].casefold().replace("\u2019", "'") in lead_words() and not re.search(r"\d", text[start:at]) and "," not in text[start:at].rstrip(" ,")
    return start if leads and not find_phrases(text[start:at])[0] else at  # With a gradual wavy boundary, under that ... is of the horizon above


@cache
def _turns() -> re.Pattern:
    words = "|".join(map(re.escape, table("notes")["dictation"]["spoken"]))
    return re.compile(rf"(?i){_TOLD}|\b(?:{words})\b|\b(?:{number_words()})\b[\w -]{{0,30}}?\bto\b (?:\w+ )?(?:{number_words()})\b")
