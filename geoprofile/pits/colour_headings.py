"""Which columns hold Munsell colours, and whether their headings say moist or dry; a column of states beside them.

The words are data: ``[munsell_parts]`` of vocabulary/tables/headings.toml.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import numpy as np

from ..errors import SettingsError
from ..vocabulary.tables import table
from .columns import Column, Field, Heading, parse_heading, plain_words
from .readers.raw import RawTable

STATES = Field("colour_state", "state", "", "colour_state", (), ("horizons",))
"""Moist or dry, row by row; it becomes no column of the product, but decides in which one a colour is kept."""

UNSAID = "colour"
"""What a colour is called in messages while nothing says whether it is moist or dry."""


@cache
def _data() -> dict[str, list[str]]:
    return table("headings")["munsell_parts"]


def says_no_state(name: str, fields: dict[str, Field]) -> bool:
    """Whether the survey file names a colour of any state: ``colour = "Matrix Colour (Munsell)"``."""
    return "colour_moist" in fields and name in _data()["unsaid"]


def looks_like_a_colour(heading: str) -> bool:
    """Whether a heading speaks of a colour, and not of mottles, coats or the like: ``Colour (moist/dry)``."""
    words = set(plain_words(heading.lower()).split())
    return bool(words & set(_data()["colour_words"])) and not words & set(_data()["not_matrix"])


def state_of(text: str) -> str:
    """``moist`` or ``dry`` as a heading, or a cell of the column of states, says it; '' where neither or both are said."""
    words = set(plain_words(text.lower()).split())
    said = [state for state in ("moist", "dry") if words & set(_data()[state])]
    return said[0] if len(said) == 1 else ""


def with_states(columns: Iterable[Column], name: str = "", where: str = "") -> tuple[Column, ...]:
    """Columns of one colour with the state that their headings say, else the one that the survey file's ``name`` says.

    Raises SettingsError where the two contradict each other.
    """
    columns = tuple(columns)
    by_heading = {state for column in columns if (state := state_of(column.heading))}
    by_file = columns[0].field.name.removeprefix("colour_") if name and name not in _data()["unsaid"] else ""
    if by_file and by_heading == {"moist", "dry"} - {by_file}:
        raise SettingsError(f"the heading says {next(iter(by_heading))}", where=f"{where} {name}", found=", ".join(column.heading for column in columns),
                            remedy=f"name it colour_{next(iter(by_heading))}, or correct the heading")
    if len(by_heading) == 1:
        return tuple(replace(column, state=next(iter(by_heading)), state_by="heading") for column in columns)
    return tuple(replace(column, state=by_file, state_by="survey file" if by_file else "") for column in columns)


def in_three_columns(entry: Field, parsed: dict[str, Heading]) -> tuple[Column, ...]:
    """Hue, value and chroma of a colour whose headings differ in these words alone."""
    by_words = {parts.whole: heading for heading, parts in parsed.items()}
    for words in _data().get(entry.name, ()):
        for order in ("{words} {part}", "{part} {words}"):
            found = [by_words.get(order.format(words=words, part=part).strip()) for part in _data()["parts"]]
            if all(found):
                return tuple(Column(entry, heading) for heading in found)
    return ()


def column_of_states(raw: RawTable, columns: dict[str, tuple[Column, ...]], parsed: dict[str, Heading]) -> Column | None:
    """The column that says moist or dry of each row, where the heading of a colour does not; a ``State`` of the map is none."""
    if not any(parts[0].field.kind == "colour" and not parts[0].state for parts in columns.values()):
        return None
    for heading, parts in parsed.items():
        if parts.whole in _data()["state"] or parse_heading(heading).base in _data()["state"]:
            texts = [text for text in np.unique(raw.cells[heading].astype(str)) if text.strip()]
            if texts and sum(bool(state_of(text)) for text in texts) * 2 >= len(texts):
                return Column(STATES, heading)
    return None
