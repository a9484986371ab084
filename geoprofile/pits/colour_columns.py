"""Munsell colours of a table, moist and dry told apart: the cell says the state, else the column of states, else the heading.

A colour of unknown state is read as moist, and that is said once. What contradicts itself is kept with the remarks and
not used: a dry colour taken for a moist one is one to three units of value too light (Soil Survey Manual 2017, chapter 3).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np

from ..problems import counted
from ..vocabulary.colour_names import misnamed
from ..vocabulary.munsell import CLOSE, COLOUR, Colour, parse_colours, without_notation
from .colour_headings import STATES, state_of
from .columns import Column, Mapped

FIELDS = ("colour_moist", "colour_dry")
OTHER = {"moist": "dry", "dry": "moist"}
_MORE = re.compile(r"(?<![\d.])(?<!\d/)(\d(?:[.,]\d)?\s*/\s*\d(?:[.,]\d)?)(?![\d./])")
_OF_A_PART = re.compile(r"mottl|redox|concretion|nodul|coat|film|skin|cutan|stain|crush|rubb|knead|\bped|streak|tongue|vein", re.IGNORECASE)
"""Words of a second colour that is not the matrix in its other state."""
_RANGE = re.compile(r"\d\s*[-\u2013\u2014]\s*\d|\bto\b", re.IGNORECASE)
_ALIKE = re.compile(r"\b(?:and|or)\b|[&+]", re.IGNORECASE)


def read_colours(mapped: Mapped, ids: np.ndarray) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """colour_moist and colour_dry of every row, and what was written where neither could be settled (for the remarks).

    ``ids``: (n,) pit ids, for problems. No columns where the table has no colours. Text that is no colour at all stays in
    its column as written; the checks of descriptions list it.
    """
    held = [name for name in FIELDS if mapped.has(name)]
    kept = np.full(len(ids), "", dtype=object)
    if not held:
        return {}, kept
    rows = _states_of_rows(mapped, ids)
    out = {name: np.full(len(ids), "", dtype=object) for name in FIELDS}
    for name in held:
        own, more = _read_one(mapped, name, rows, ids, kept, guess=len(held) == 1)
        out[name] = own if not (out[name] != "").any() else _joined(mapped, name, own, out[name], ids)
        other = f"colour_{OTHER[name.removeprefix('colour_')]}"
        out[other] = _joined(mapped, name, out[other], more, ids)
    return out, kept


def _read_one(mapped: Mapped, name: str, rows: np.ndarray, ids: np.ndarray, kept: np.ndarray, guess: bool) -> tuple[np.ndarray, np.ndarray]:
    """Colours of one field in the state of its name, and those in the other state."""
    column, state = mapped.columns[name][0], name.removeprefix("colour_")
    texts = mapped.text(name)
    own, other = texts.copy(), np.full(len(texts), "", dtype=object)
    unsaid, overruled = [], []
    ready: dict[tuple[str, str], Settled] = {}
    for position in map(int, np.flatnonzero(texts != "")):
        written = texts[position], rows[position]
        if written not in ready:
            ready[written] = settle(*written, column)
        one = ready[written]
        if one.fault:
            kept[position] = "; ".join(filter(None, (kept[position], f"colour as written: {texts[position]}" + (f", {rows[position]}" if rows[position] else ""))))
            mapped.problem(position, one.severity, "colour state", one.fault + ("; the first is used" if one.colours else "; kept with the remarks and not used as a colour"),
                           field=name, pit_id=ids[position], found=texts[position], allowed="one colour, or a moist and a dry one: 10YR 4/2 m / 10YR 6/2 d", remedy=one.remedy)  # fmt: skip
            own[position] = ""
        if one.colours:
            own[position], other[position] = one.colours.get(state, ""), one.colours.get(OTHER[state], "")
            wrong = misnamed(without_notation(texts[position]), [colour for colour, _ in parse_colours(texts[position])])
            if wrong:
                mapped.problem(position, "warning", "colour name", "the name and the notation of a colour do not go together", field=name, pit_id=ids[position], **wrong)
            if one.guessed:
                unsaid.append(position)
            elif column.state_by == "survey file" and state not in one.colours:
                overruled.append(position)
    of = int((texts != "").sum())
    if unsaid and guess:
        _say_unsaid(mapped, name, unsaid, of)
    if overruled:
        mapped.problem(overruled[0], "note", "colour state", f"{_some(len(overruled), of)} {OTHER[state]} and {'was' if len(overruled) == 1 else 'were'} read so, though the survey file "
                       f"names the column {name}", field=name, found=f"first {texts[overruled[0]]}", remedy='write colour instead of ' + name + ": then every cell says its own state")  # fmt: skip
    return own, other


@dataclass(frozen=True)
class Settled:
    """What a cell says: state -> colour; ``fault`` where not all of it is used; ``guessed``: the state is nobody's word."""

    colours: dict[str, str] = field(default_factory=dict)
    fault: str = ""
    severity: str = "warning"
    remedy: str = "write m or d behind each colour, and other colours into columns of their own"
    guessed: bool = False


def settle(text: str, row_state: str, column: Column) -> Settled:
    """The moist and the dry colour of a cell; nothing where it holds no colour. ``row_state``: the word of the column of states."""
    colours = parse_colours(text)
    if not colours:
        return Settled()
    by_heading = column.state if column.state_by == "heading" else ""
    row_state = "" if by_heading else row_state
    both = parse_colours(_with_hues(text))
    if len(both) == 2 and (found := _moist_and_dry(text, both, row_state or column.state or "moist")):
        return Settled(found)
    if len(colours) > 1 or (len(both) > 1 and not _RANGE.search(text)):
        return Settled(fault=f"{len(both)} colours stand in one cell, and not one moist and one dry")
    colour, state = colours[0]
    if state == "unclear":
        return Settled(fault="the cell can be read as moist and as dry", severity="error", remedy="write moist or dry behind the colour")
    firm = row_state or by_heading
    if state and firm and state != firm:
        return Settled(fault=f"the cell says {state}, {'the column of states' if row_state else 'its heading'} {firm}", severity="error",
                       remedy="correct one of the two" + ("" if row_state else "; where each cell says its own state, take moist or dry out of the heading"))  # fmt: skip
    known = state or row_state or column.state
    return Settled({known or "moist": colour.text}, "a range of colours stands in the cell" if len(both) > 1 else "", guessed=not known)


def _moist_and_dry(text: str, colours: tuple[tuple[Colour, str], ...], usual: str) -> dict[str, str]:
    """A colour in each state. {} for any other pair.

    One that says no state has the usual one beside one that says the other, where nothing makes the two a range and the
    dry one is lighter, as it is in the soil.
    """
    (first, one), (second, other) = colours
    if not (one or other) or _OF_A_PART.search(text):
        return {}
    found = {one or usual: first, other or usual: second}
    guessed = not (one and other)
    if set(found) != {"moist", "dry"} or (guessed and (_RANGE.search(text) or _ALIKE.search(text) or found["dry"].value <= found["moist"].value)):
        return {}
    return {state: colour.text for state, colour in found.items()}


def _with_hues(text: str) -> str:
    """``10YR 4/2 m, 5/2 d`` -> ``10YR 4/2 m, 10YR 5/2 d``: the hue is said once."""
    text = CLOSE.sub(" / ", text)
    matches = [match for match in COLOUR.finditer(text) if match["hue"]]
    if len(matches) != 1:
        return text
    hue, end = f"{matches[0]['hue']}{matches[0]['letters']}", matches[0].end()
    return text[:end] + _MORE.sub(rf"{hue} \1", text[end:])


def _states_of_rows(mapped: Mapped, ids: np.ndarray) -> np.ndarray:
    """moist, dry or '' of each row by the column of states; a word it does not know is listed once a word."""
    texts = mapped.text(STATES.name)
    found = {text: state_of(text) for text in set(texts) if text}
    for text in (text for text, state in found.items() if not state):
        at = np.flatnonzero(texts == text)
        mapped.problem(int(at[0]), "warning", "colour state", f"this says neither moist nor dry ({len(at)} rows); it was not used", field=STATES.name,
                       pit_id=ids[at[0]] if len(at) == 1 else "", found=text, allowed="moist or dry", remedy="write moist or dry")
    return np.array([found.get(text, "") for text in texts], dtype=object)


def _joined(mapped: Mapped, name: str, first: np.ndarray, second: np.ndarray, ids: np.ndarray) -> np.ndarray:
    """The colour of a column of its own, else the one that another column's cell gives beside its own; two are listed."""
    for position in np.flatnonzero((first != "") & (second != "") & (first != second)):
        mapped.problem(int(position), "warning", "two values", "two columns give a colour of the same state; that of its own column is used", field=name,
                       pit_id=ids[position], found=f"{first[position]} and {second[position]}", remedy="take one of them out")
    return np.where(first == "", second, first)


def _say_unsaid(mapped: Mapped, name: str, unsaid: list[int], of: int) -> None:
    headings = [column.heading for column in mapped.columns[name]]
    theirs = f'"{headings[0]}"' if len(headings) == 1 else "[" + ", ".join(f'"{heading}"' for heading in headings) + "]"
    mapped.problem(unsaid[0], "note", "colour state", f"{_some(len(unsaid), of)} neither moist nor dry, in the cell or in the heading, and {'was' if len(unsaid) == 1 else 'were'} read as moist",
                   field=name, found=f"first {mapped.text(name)[unsaid[0]]}", allowed="moist or dry",
                   remedy=f"if they are dry, write colour_dry = {theirs} in [pits.columns.horizons] (colour_moist if they are moist); m or d behind a colour decides for its cell")  # fmt: skip


def _some(number: int, of: int) -> str:
    """``3 of 12 colours say``, ``1 of 12 colours says``, ``12 colours say``."""
    says = "says" if number == 1 else "say"
    return f"{number} of {of} colours {says}" if number < of else f"{counted(number, 'colour')} {says}"
