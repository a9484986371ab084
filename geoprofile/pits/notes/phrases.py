"""Phrases found in a piece of text: the patterns of ``notes.toml`` over the letters of its items."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from functools import cache, lru_cache

from ...vocabulary.tables import table
from .lexicon import UNIT_KINDS, Item, items, lexicon

TAKEN = "\u0000"
AFTER_A_CLAUSE = ("matrix", "texture", "structure", "consistence")
"""Phrases that hold only at the start of a clause: a colour, texture or structure behind other words is that of something else."""

OF_THE_SOIL = ("texture", "structure", "consistence", "effervescence", "calcareous", "reaction", "boundary")
"""Phrases behind which, without any mark, another of the soil itself may stand."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """Items that belong together. ``what`` names the phrase; places are counted from the start of the piece of text."""

    what: str
    items: tuple[Item, ...]
    start: int
    end: int


@lru_cache(maxsize=20_000)
def find_phrases(text: str) -> tuple[tuple[Phrase, ...], tuple[tuple[int, int], ...]]:
    """Phrases in the order of the text, and the places of what no phrase took."""
    row = items(text)
    letters = [item.char for item in row]
    there = frozenset().union(*(item.values for item in row))
    found: list[tuple[int, int, str]] = []
    ends: dict[int, str] = {}

    def look(of: Collection[str], only_behind: Collection[str] = ()) -> None:
        line = "".join(letters)
        for what, needs, patterns in _grammar():
            if needs.isdisjoint(there) or (of and what not in of):
                continue
            for pattern in patterns:
                for match in pattern.finditer(line):
                    start, end = match.span()
                    if start == end or TAKEN in match.group() or not _fits(what, row, letters, start, end):
                        continue
                    if (what == "matrix" and ends.get(start) == "feature") or (only_behind and ends.get(start) not in only_behind):
                        continue  # sand lenses 10YR 6/3
                    found.append((start, end, what))
                    ends[end] = what
                    letters[start:end] = TAKEN * (end - start)
                line = "".join(letters)

    look(())
    count = -1
    while count < len(found) and any(letter != TAKEN for letter in letters):  # strong effervescence massive silt loam
        count = len(found)
        look(AFTER_A_CLAUSE, OF_THE_SOIL)
    found.sort()
    phrases = tuple(Phrase(what, row[start:end], row[start].start, row[end - 1].end) for start, end, what in found)
    return phrases, _left(row, letters)


def _fits(what: str, row: tuple[Item, ...], letters: list[str], start: int, end: int) -> bool:
    if what not in AFTER_A_CLAUSE or start == 0 or any("structure" in item.values for item in row[start:end]):
        return True
    before = row[start - 1].values
    if what == "texture" and ({"rock", "bedrock"} & set(row[start].values) or letters[start - 1] == TAKEN):
        return True
    if what in ("texture", "consistence") and _behind_plain_words(row, letters, start):
        return True
    if what in ("structure", "matrix") and "and" in before and (start == 1 or letters[start - 2] == TAKEN or "comma" in row[start - 2].values):
        return True  # gravelly sand, and that one's single grain; and is a brown (10YR 4/3) clay
    if what == "matrix" and row[start].values.get("filler") == "of" and str(row[start + 1].values.get("filler", "")).startswith("colo"):
        return True  # a mesic peat of colour 7.5YR 2/2
    if what == "matrix" and "and" in before and "percent_of" in row[start].values:
        return True  # 65 percent ... (Bt) and 35 percent ...
    return letters[start - 1] == TAKEN or bool({"comma", "semi", "close", "open", "state", "dash", "colon", "filler", "mottled", "stop", "correction"} & set(before)) or (what == "structure" and bool({"texture", "colour", "letter"} & set(before)))


def _behind_plain_words(row: tuple[Item, ...], letters: list[str], start: int) -> bool:
    """Whether only words such as ``dense`` or ``light`` stand between a texture and the beginning of its clause."""
    for item, letter in zip(reversed(row[:start]), reversed(letters[:start])):
        if letter == TAKEN or {"comma", "semi"} & set(item.values):
            return True
        if "preposition" in item.values or not set(item.values) <= {"word", "mixture", "mottled", "name", "modifier", "place", "portion"}:
            return False
    return True


def _left(row: tuple[Item, ...], letters: list[str]) -> tuple[tuple[int, int], ...]:
    """Runs of items that nothing took, without the marks and joins at their ends."""
    runs, run = [], []
    for item, letter in [*zip(row, letters), (None, TAKEN)]:
        if letter != TAKEN:
            run.append(item)
            continue
        while run and _says_nothing(run[0]):
            run.pop(0)
        while run and _says_nothing(run[-1]) and not ("close" in run[-1].values and any("open" in one.values for one in run)):
            run.pop()
        if run:
            runs.append((run[0].start, run[-1].end))
        run = []
    return tuple(runs)


def _says_nothing(item: Item) -> bool:
    return bool({"comma", "semi", "colon", "stop", "dash", "mark", "open", "close", "and"} & set(item.values)) and item.values.get("mark") != "+"  # HCl ++


@cache
def _grammar() -> tuple[tuple[str, frozenset[str], tuple[re.Pattern, ...]], ...]:
    data = table("notes")
    known = lexicon()
    classes = {kind: f"[{known.letters_of(kind)}]" for kind in known.kinds}
    classes["unit"] = "(?:" + "|".join(classes[kind] for kind in UNIT_KINDS) + ")"
    classes["taken"] = TAKEN
    classes["end"] = f"(?:$|{classes['comma']}|{classes['semi']}|{classes['stop']}|{classes['close']})"
    pieces = dict(data["unit"])

    def compiled(pattern: str) -> re.Pattern:
        for _ in range(4):
            pattern = re.sub(r"\{([a-z_]+)\}", lambda name: f"(?:{pieces[name[1]]})" if name[1] in pieces else name[0], pattern)
        return re.compile(re.sub(r"\{([a-z_]+)\}", lambda name: classes[name[1]], pattern))

    return tuple((entry["what"], frozenset(entry["needs"]), tuple(compiled(pattern) for pattern in entry["of"])) for entry in data["phrase"])
