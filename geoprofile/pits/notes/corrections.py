"""What a speaker takes back: ``silt loam, no wait, make that silty clay loam``. The last word stands, the first goes to the remarks."""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table
from .found import Horizon
from .matrix import MatrixColour

_CELLS = {
    "texture": ("texture",), "structure": ("structure grade", "structure size", "structure kind", "structure more"), "boundary": ("boundary distinctness", "boundary form"),
    "effervescence": ("effervescence", "effervescence part"), "calcareous": ("effervescence", "effervescence part"), "consistence": ("consistence", "loose"),
}  # fmt: skip
"""Phrases that can be taken back, and the cells they fill."""


def has_corrections(text: str, start: int, end: int) -> bool:
    """Whether a stretch of text holds words of correction."""
    return _correction().search(text, start, end) is not None


def take_back(horizon: Horizon, what: str, start: int, text: str, colours: list[tuple[MatrixColour, int, int]]) -> None:
    """Empty the cells of what was said before, where words of correction stand right before the phrase at ``start``."""
    if what not in _CELLS and what != "matrix":
        return
    words = _right_before().search(text, max(horizon.entry.designation_at[1], start - 60), start)
    if not words:
        return
    if what == "matrix":
        last = max((one[1] for one in colours if one[2] <= words.start()), default=-1)
        taken = [(first, end) for _, first, end in colours if first == last][:1]
        colours[:] = [one for one in colours if one[1] != last]
    else:
        cells = _CELLS[what]
        before = [one for one in horizon.found if one.end <= words.start() and _CELLS.get(one.what) == cells]
        taken = [(one.start, one.end) for one in before[-1:]]
        if taken:
            horizon.found.remove(before[-1])
            for heading in cells:
                horizon.cells.pop(heading, None)
    for first, end in taken:
        horizon.left.append((first, end))
        horizon.notes.append(f"{' '.join(text[first:end].split())} was corrected by the speaker")
        horizon.settled.append(words.span())


def note_open_corrections(horizon: Horizon, text: str) -> None:
    """Say that a correction was left in the remarks, where nothing was taken back by it."""
    for first, end in horizon.left:
        words = _correction().search(text, first, end)
        if words and not any(start <= words.start() < stop for start, stop in horizon.settled):
            horizon.notes.append(f"a correction was not followed: {' '.join(text[first:end].split())[:60]}")


@cache
def _correction() -> re.Pattern:
    words = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in sorted(table("notes")["dictation"]["corrections"], key=len, reverse=True))
    return re.compile(rf"(?i)\b(?:{words})\b")


@cache
def _right_before() -> re.Pattern:
    """The words of a correction up to the place that is asked for."""
    fillers = "|".join(("no", "um", "uh", "it's", "it is", "that's", "that is", "a", "the", "to", "should be", "say", "I'd say", "rather", "well"))
    return re.compile(rf"(?i)(?:\bno[\s,]+)?{_correction().pattern.removeprefix('(?i)')}(?:[\s,.;:\u2010-\u2015-]+(?:{_correction().pattern.removeprefix('(?i)')}|(?:{fillers})\b))*[\s,.;:(\u2010-\u2015-]*\Z")
