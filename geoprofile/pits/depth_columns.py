"""Depth columns to centimetres: the unit is stated once, plain numbers are read as arrays, the rest cell by cell.

A date in a depth cell is proposed as a range and never read (R5); a column
without any stated unit stops the run, a row with conflicting units is rejected (R16).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..errors import InputError
from ..problems import Problem
from ..settings.pits import PitsSettings
from .columns import Column, Mapped, units
from .depths import UNIT_WORDS, Depth, DepthRange, as_text_again, parse_depth, parse_depth_range
from .values import decimal_of, plain

FAR_TOO_DEEP_CM = 10_000
LARGEST_SENSIBLE = {"in": 80, "inch": 80, "inches": 80, "m": 10, "metres": 10, "meters": 10, "ft": 12, "feet": 12}
"""A deepest value beyond this makes the unit doubtful (common practice, no source)."""


@dataclass(frozen=True)
class Depths:
    """Centimetres as arrays; ``ok`` is False where the cell was refused (already listed)."""

    value: np.ndarray
    low: np.ndarray
    high: np.ndarray
    open: np.ndarray
    ok: np.ndarray


def row_units(mapped: Mapped, column: Column, settings: PitsSettings, ids: np.ndarray) -> np.ndarray:
    """Unit of each row's depths: ``""`` where none is said, None where the row's unit is unknown or conflicts (listed).

    Raises InputError when the heading and the survey file disagree.
    """
    stated = settings.depth_unit or ""
    heading = {"inch": "in", "inches": "in", '"': "in"}.get(column.unit, column.unit)
    if stated and heading and units()["cm"][heading] != units()["cm"][stated]:
        raise InputError(
            "the unit of depths in the heading is not the one in the survey file", where=f"{mapped.raw.file}, column {column.heading!r}",
            found=f"{column.unit} in the heading, {stated} in the survey file", remedy="correct depth_unit in [pits], or the heading",
        )
    default = heading or stated or _unit_of_the_table(mapped, column)
    out = np.full(len(ids), default, dtype=object)
    if mapped.has("depth_unit"):
        texts = mapped.text("depth_unit")
        for position, text in enumerate(texts):
            word = text.lower()
            if not word:
                continue
            if word not in units()["cm"]:
                mapped.problem(position, "error", "unit", "the unit of depth is not known", field="depth_unit", pit_id=ids[position], found=text,
                               allowed="cm, m, in, ft, mm")
                out[position] = None
            elif default and units()["cm"][word] != units()["cm"][default]:
                mapped.problem(position, "error", "unit", "the row's unit of depth is not the stated one", field="depth_unit", pit_id=ids[position],
                               found=f"{text}; stated {default}", remedy="correct one of the two")
                out[position] = None
            else:
                out[position] = word
    return out


def _unit_of_the_table(mapped: Mapped, column: Column) -> str:
    """The one unit that the other depth headings of the table state, for a heading that states none; said in a note."""
    others = {
        other.unit for columns in mapped.columns.values() for other in columns
        if other.unit in units()["cm"] and other.field.kind in ("depth", "range", "reading")
    }
    if len(others) != 1 or mapped.has("depth_unit"):
        return ""
    unit = others.pop()
    mapped.problems.append(Problem(
        "note", "unit", f"the heading says no unit of depth; read in {unit} as the other depths of the table", file=mapped.raw.file,
        sheet=mapped.raw.sheet, field=column.heading, remedy="write the unit into the heading",
    ))
    return unit


def read_depths(mapped: Mapped, column: Column, settings: PitsSettings, ids: np.ndarray, skip: np.ndarray | None = None) -> Depths:
    """One depth a cell: ``17``, ``15-21`` (a wavy boundary), ``45+`` (open), ``6 in``; blank stays missing.

    Rows of ``skip`` were refused already and are not listed again.
    """
    texts = mapped.text_in(column)
    unit = row_units(mapped, column, settings, ids)
    _need_a_unit(mapped, column, texts, unit)
    decimal, refused = decimal_of(mapped, column, texts, ids)
    for position in np.flatnonzero(refused & (ids != ""))[1:]:  # the first is listed with the column; a lost horizon is listed each
        mapped.problem(position, "error", "decimal mark", "this depth has the mark that the column does not use, and was not read",
                       field=column.field.name, pit_id=ids[position], found=texts[position], remedy="use one mark in the whole file")
    count = len(texts)
    direct = pd.to_numeric(pd.Series(np.where(texts == "", "nan", texts)).str.replace(",", "." if decimal == "," else ",", regex=False),
                           errors="coerce").to_numpy(float)
    factors = np.array([units()["cm"].get(word, np.nan) if word else np.nan for word in unit])
    value = np.round(direct * factors, 6)
    low, high = value.copy(), value.copy()
    is_open, ok = np.zeros(count, bool), np.ones(count, bool)
    ok[[word is None for word in unit]] = False
    ok &= ~refused if skip is None else ~(refused | skip)
    with np.errstate(invalid="ignore"):
        plain_number = np.abs(value) <= FAR_TOO_DEEP_CM  # beyond it may be a date stored as a number: read with care
        plain_number |= np.isfinite(direct) & (unit == "")
    no_unit = plain_number & (unit == "")
    dated = {position for position, heading in mapped.raw.dates if heading == column.heading}
    for position in np.flatnonzero(no_unit & ok):
        mapped.problem(position, "error", "unit", "the unit of this depth is not said", field=column.field.name, pit_id=ids[position],
                       found=texts[position], remedy="write the unit in its column, or in the heading")
        ok[position] = False
    for position in sorted(set(np.flatnonzero(~plain_number & (texts != "") & ok)) | dated):
        if not ok[position]:
            continue
        if position in dated:
            _propose_for_date(mapped, column, position, texts[position], ids)
            ok[position] = False
            continue
        found = parse_depth(plain(texts[position], decimal), default=unit[position] or "cm")
        if not usable(mapped, column, position, texts[position], found, unit[position], ids):
            ok[position] = False
            continue
        if found.status == "at_least":
            value[position] = low[position] = found.low
            high[position], is_open[position] = np.nan, True
        elif found.low is None or found.high is None:
            refuse(mapped, column, position, texts[position], Depth(problem="this says no depth of a boundary"), ids)
            ok[position] = False
        else:
            low[position], high[position] = found.low, found.high
            value[position] = (found.low + found.high) / 2 if found.stated is None else found.stated
    return Depths(value, low, high, is_open, ok)


def read_ranges(mapped: Mapped, column: Column, settings: PitsSettings, ids: np.ndarray) -> tuple[Depths, Depths]:
    """One range a cell: ``0-10``, ``45+``, ``6"-12"``, ``100-120/130``. Upper and lower depths."""
    texts = mapped.text_in(column)
    unit = row_units(mapped, column, settings, ids)
    _need_a_unit(mapped, column, texts, unit)
    decimal = mapped.raw.decimal
    count = len(texts)
    numbers = np.full((6, count), np.nan)
    is_open, ok = np.zeros(count, bool), np.ones(count, bool)
    ok[[word is None for word in unit]] = False
    dated = {position for position, heading in mapped.raw.dates if heading == column.heading}
    for position, text in enumerate(texts):
        if not ok[position]:
            continue
        if position in dated:
            _propose_for_date(mapped, column, position, text, ids)
            ok[position] = False
        elif text:
            found = parse_depth_range(plain(text, decimal), default=unit[position] or "cm")
            if not usable(mapped, column, position, text, found, unit[position], ids):
                ok[position] = False
                continue
            parts = (found.upper, found.upper_low, found.upper_high, found.lower, found.lower_low, found.lower_high)
            numbers[:, position] = [np.nan if part is None else part for part in parts]
            is_open[position] = found.open_below
    upper = Depths(numbers[0], numbers[1], numbers[2], np.zeros(count, bool), ok)
    return upper, Depths(numbers[3], numbers[4], numbers[5], is_open, ok)


def warn_of_unlikely_unit(mapped: Mapped, column: Column, deepest_cm: float, unit: str, ids: np.ndarray) -> None:
    """A heading that says inches over values that are surely centimetres is asked about (R16)."""
    limit = LARGEST_SENSIBLE.get(unit)
    if limit and np.isfinite(deepest_cm):
        written = deepest_cm / units()["cm"][unit]
        if written > limit:
            mapped.problem(0, "warning", "unit", "the deepest value makes the unit doubtful", field=column.field.name,
                           found=f"{written:g} {unit} is {deepest_cm:g} cm", allowed=f"rarely beyond {limit} {unit}",
                           remedy="check whether the values are centimetres")


def usable(mapped: Mapped, column: Column, position: int, text: str, found: Depth | DepthRange, unit: str, ids: np.ndarray) -> bool:
    """False, and listed, when the text was not read or its unit is not the one of its heading or row.

    A cell's own unit wins over the survey file's ``depth_unit``, with a warning.
    """
    if found.problem or found.proposal:
        refuse(mapped, column, position, text, found, ids)
        return False
    expected = UNIT_WORDS.get(unit, unit)
    if not found.unit and not expected:
        refuse(mapped, column, position, text, Depth(problem="the unit of this depth is not said"), ids)
        return False
    if found.unit and expected and found.unit != expected:
        if column.unit or mapped.has("depth_unit"):
            refuse(mapped, column, position, text, Depth(problem=f"the cell says {found.unit}, its column or row says {unit}"), ids)
            return False
        mapped.problem(position, "warning", "unit", f"the cell says {found.unit} and was read so; the survey file says {unit}",
                       field=column.field.name, pit_id=ids[position], found=text)
    return True


def refuse(mapped: Mapped, column: Column, position: int, text: str, found: Depth | DepthRange, ids: np.ndarray) -> None:
    """List a depth that was not read, with what it may have been meant for."""
    mapped.problem(
        position, "error", "depth", found.problem or "this depth is not certain, so it was not used", field=column.field.name, pit_id=ids[position],
        found=text, allowed="such as 0-10, 25 - 45 cm, 45+, 0 to 6 in",
        remedy=f"is it {found.proposal}? Then write it so" if found.proposal else "correct the cell",
    )


def _propose_for_date(mapped: Mapped, column: Column, position: int, text: str, ids: np.ndarray) -> None:
    mapped.problem(
        position, "error", "depth", "the spreadsheet holds a date here, so it was not read as a depth", field=column.field.name, pit_id=ids[position],
        found=text, remedy=as_text_again(text),
    )


def _need_a_unit(mapped: Mapped, column: Column, texts: np.ndarray, unit: np.ndarray) -> None:
    """Without any unit anywhere nothing can be read; cells that all carry their own unit are enough."""
    if mapped.has("depth_unit") or any(word for word in unit if word):
        return
    bare = [text for text in texts if text and not any(letter.isalpha() or letter in "\"'" for letter in text)]
    if bare:
        raise InputError(
            "the unit of depths is not said", where=f"{mapped.raw.file}, column {column.heading!r}", found=bare[0],
            allowed="cm, m or in", remedy='say depth_unit = "cm" in [pits], or write the unit into the heading',
        )
