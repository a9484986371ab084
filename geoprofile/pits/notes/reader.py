"""The reader of field notes: pits and horizons as two tables of text cells, with what was decided on the way."""

from __future__ import annotations

import gc
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from ...errors import InputError
from ...problems import Problem
from ..depths import CM_IN
from ..readers.delimited import SEPARATORS, decode
from ..readers.raw import RawTable, table_of
from .horizon import Horizon
from .mending import mend, without_markup
from .profiles import Profile, read_profiles
from .units import units_of
from .unread_layers import depths_in, tells_what_lies_above

LONGEST_LINE = 100_000
"""A longer line is no description: a paragraph of this length has some twenty pages."""

BEGIN_SO = "begin each horizon on a line of its own with its designation and both depths, as: Bt 30-60 cm, clay loam"

LONG_TEXT, LEAST_UNDERSTOOD = 20_000, 0.02
"""Of a text longer than this (characters), this share must be understood."""


@dataclass(frozen=True, eq=False)
class Notes:
    """What a file of notes says: the text, its profiles, the two tables, and the problems of reading it."""

    text: str
    profiles: tuple[Profile, ...]
    ids: tuple[str, ...]
    pits: RawTable
    horizons: RawTable
    problems: tuple[Problem, ...]
    units: tuple[str, ...] = ()
    """Unit of each pit's depths that bear none of their own."""


class FieldNotes:
    """Descriptions in running text: a head for each pit, then one entry a horizon."""

    suffixes = (".txt", ".md", ".text")

    def recognises(self, path: Path) -> bool:
        """Whether the text holds horizons in running text, and not a table with separators."""
        try:
            text, _ = decode(Path(path))
        except InputError:
            return False
        if _is_a_table(text):
            return False
        return _longest_line(text) <= LONGEST_LINE and bool(read_profiles(mend(without_markup(text[:200_000]))))

    def read(self, path: Path, *, sheet: str | None = None, header_row: int = 1) -> RawTable:
        """The horizons (``sheet="pits"``: the heads) as a table."""
        notes = self.read_notes(path)
        return notes.pits if sheet == "pits" else notes.horizons

    def read_notes(self, path: Path, *, file: str = "", depth_unit: str | None = None) -> Notes:
        """Both tables. ``depth_unit`` is that of depths without a unit, where no other depth of the file has one.

        Raises InputError when the text holds no horizon, is no text, or says no unit of depth.
        """
        text, encoding = decode(Path(path))
        if _longest_line(text) > LONGEST_LINE:
            raise InputError("a line of the notes is too long to be a description", where=str(path), found=f"{_longest_line(text):,} characters",
                             allowed=f"{LONGEST_LINE:,}", remedy="put each horizon on a line of its own")
        if not text.strip():
            raise InputError("the file is empty", where=str(path), remedy="give a file with descriptions")
        return tables_of(text, file or Path(path).name, stem=Path(path).name.split(".")[0], depth_unit=depth_unit, encoding=encoding)


def tables_of(text: str, file: str, *, stem: str = "pit", depth_unit: str | None = None, encoding: str = "") -> Notes:
    """Read a text of notes; see :meth:`FieldNotes.read_notes`."""
    plain = without_markup(text)
    with _without_collection():
        profiles = read_profiles(mend(plain))
    if not profiles or _is_noise(profiles, text):
        raise InputError(
            "hardly anything in this text reads as a pit description" if profiles else "no horizon was recognised in these notes", where=file, found=" ".join(text.split())[:60],
            allowed="a designation and its depths at the start of a line, as: Ah 0-12 cm, 10YR 2/1 m; loam; ...",
            remedy="see: geoprofile check --show-reading; if it is a table, name the reader: reader = \"delimited\"",
        )  # fmt: skip
    lines = _Lines(text)
    ids = _ids(profiles, stem)
    units = units_of(profiles, depth_unit, file, plain)
    problems = [*_problems(profiles, ids, lines, file), *_without_horizons(profiles, lines, file, plain), *_unread(profiles, ids, lines, file, plain), *_one_depth(profiles, ids, lines, file, plain), *_unplaced(profiles, ids, lines, file, plain)]
    pits = [{**{name: cell for name, cell in one.header.cells.items()}, "pit_id": key, "remarks": _pit_remarks(one, plain)} for one, key in zip(profiles, ids)]
    for cells, profile, unit in zip(pits, profiles, units):
        if re.fullmatch(r"\d+(?:\.\d+)?", cells.get("observed_to", "")):  # the auger to ninety
            cells["observed_to"] += f" {unit}"
        tested = _acid_to(profile, unit)
        if tested and "acid_to" not in cells:
            cells["acid_to"] = f"{tested:g} cm"
    rows, places = [], []
    for profile, key, unit in zip(profiles, ids, units):
        for horizon in profile.horizons:
            rows.append(_cells(horizon, key, unit, plain))
            places.append(lines.number(horizon.entry.start))
    note = f"read as field notes ({encoding or 'text'}): {len(profiles)} pits, {len(rows)} horizons"
    return Notes(
        text, tuple(profiles), tuple(ids), _table(pits, [lines.number(one.start) for one in profiles], file),
        _table(rows, places, file, notes=(note,)), tuple(problems), tuple(units),
    )  # fmt: skip


@contextmanager
def _without_collection() -> Iterator[None]:
    """Reading makes no cycles, and looking for some among hundreds of thousands of small objects takes a quarter of its time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _is_noise(profiles: list[Profile], text: str) -> bool:
    """Whether a long text holds next to nothing that was understood: a stray letter and two numbers are no pit."""
    understood = sum(one.end - one.start for profile in profiles for horizon in profile.horizons for one in horizon.found)
    return len(text) > LONG_TEXT and understood < LEAST_UNDERSTOOD * len(text)


def _cells(horizon: Horizon, key: str, unit: str, text: str) -> dict[str, str]:
    depths = horizon.entry.depths
    cells = {"pit_id": key, "designation": horizon.entry.designation, "upper depth (cm)": "", "lower depth (cm)": ""}
    if depths:
        factor = CM_IN[depths.unit or unit]
        cells["upper depth (cm)"] = depths.upper.text(factor)
        if depths.lower:
            cells["lower depth (cm)"] = depths.lower.text(factor) + ("+" if depths.open_below else "")
    named = {f"{name} (cm)" if name == "thickness" else name: cell for name, cell in horizon.cells.items()}
    return {**cells, **named, "horizon remarks": horizon.remarks(text)}


def _acid_to(profile: Profile, unit: str) -> float | None:
    """Depth that acid was used to in the typical pedon of a series, which states effervescence where there is any.

    Common practice, no source: the description of a series is edited to be whole, so a horizon above one that
    effervesces and without a word on it did not. Of any other notes nothing is taken from silence.
    """
    if not profile.header.is_series:
        return None
    stated = [
        one.entry.depths for one in profile.horizons
        if one.cells.get("effervescence") and one.entry.depths and not one.entry.designation.lstrip("23456").startswith("R")  # rock is not soil
    ]  # fmt: skip
    limits = [depths.lower or depths.upper for depths in stated]
    return max((limit.high * CM_IN[depths.unit or unit] for limit, depths in zip(limits, stated)), default=None)


def _table(rows: list[dict[str, str]], places: list[int], file: str, **more) -> RawTable:
    frame = pd.DataFrame(rows).fillna("").astype(str)
    return table_of(list(frame.columns), frame.to_numpy(object).tolist(), places, file=file, **more)


def _ids(profiles: list[Profile], stem: str) -> list[str]:
    ids = []
    for number, profile in enumerate(profiles, start=1):
        ids.append(profile.header.cells.get("pit_id") or (stem if len(profiles) == 1 else f"{stem} {number}"))
    return ids


def _pit_remarks(profile: Profile, text: str) -> str:
    tail = "; ".join(re.sub(r"(?i)^remarks?:\s*", "", " ".join(text[start:end].split())) for start, end in profile.tail)
    return "; ".join(part for part in (profile.header.remarks(text), tail) if part)


def _problems(profiles: list[Profile], ids: list[str], lines: _Lines, file: str) -> list[Problem]:
    """What was read otherwise than written, each once with the number of horizons; pits without an id."""
    seen: dict[str, list] = {}
    for profile, key in zip(profiles, ids):
        if "pit_id" not in profile.header.cells:
            seen.setdefault(f"the pit has no id in the notes; it is called {key!r}", []).append((key, lines.number(profile.start)))
        for horizon in profile.horizons:
            row = lines.number(horizon.entry.start)
            for note in (*horizon.notes, *(horizon.entry.depths.notes if horizon.entry.depths else ())):
                seen.setdefault(note, []).append((key, row))
            if horizon.guessed_state:
                seen.setdefault("a colour without moist or dry is taken as moist", []).append((key, row))
    misnamed = [
        Problem("warning", "colour name", f"the name and the notation of a colour do not go together ({horizon.entry.designation})", pit_id=key, file=file,
                row=lines.number(horizon.entry.start), found=f"{name} ({notation})", allowed=f"{name} is {chips}", remedy="correct one of the two; the notation is used")
        for profile, key in zip(profiles, ids) for horizon in profile.horizons for name, notation, chips in horizon.misnamed
    ]  # fmt: skip
    return misnamed + [
        Problem("note", "field notes", what + (f"; {len(places)} times" if len(places) > 1 else ""), pit_id=places[0][0], file=file, row=places[0][1],
                remedy="confirm with: geoprofile check --show-reading")
        for what, places in seen.items()
    ]  # fmt: skip


def _without_horizons(profiles: list[Profile], lines: _Lines, file: str, text: str) -> list[Problem]:
    """Heads that no horizon follows, with their words; where depths stand in them, the lines with these."""
    found = []
    for profile in profiles:
        for key, start, end in profile.alone:
            depths = depths_in(text[start:end])
            what, remedy = ("a pit has no horizons in the notes and was left out", "nothing, where none was dug; else begin each horizon with its designation and depths")
            if depths:
                what, remedy = ("depths stand in the words of a pit, no horizon could be read, and the pit was left out", BEGIN_SO)
            words = " | ".join(depths) or " ".join(text[start:end].split())
            found.append(Problem("error" if depths else "warning", "field notes", what, pit_id=key, file=file, row=lines.number(start), found=words[:200], remedy=remedy))
    return found


def _unread(profiles: list[Profile], ids: list[str], lines: _Lines, file: str, text: str) -> list[Problem]:
    """Depths of layers without a designation, between horizons and in the head above a first horizon that is not at the surface."""
    found = []
    for profile, key in zip(profiles, ids):
        first = profile.horizons[0].entry.depths
        above = [] if profile.header.is_series or first is None or first.lower is None or first.upper.value <= 0 else profile.header.left
        places = [place for place in above if tells_what_lies_above(text[slice(*place)], first.upper.high)]
        for start, end in (*places, *profile.unread):
            found.append(Problem("warning", "field notes", "depths of a layer without a designation are no horizon; the words are kept in the remarks of the pit", pit_id=key, file=file,
                                 row=lines.number(start), found=" ".join(text[start:end].split())[:200], remedy=f"{BEGIN_SO}; as it stands, nothing is described at these depths"))
    return found


def _one_depth(profiles: list[Profile], ids: list[str], lines: _Lines, file: str, text: str) -> list[Problem]:
    """Horizons with one depth that may be a thickness or a limit, each with its words."""
    return [
        Problem("warning", "field notes", note, pit_id=key, file=file, row=lines.number(one.entry.start), found=" ".join(text[one.entry.start : one.entry.body].split())[:80],
                allowed=f"{one.entry.designation} 0-20 cm", remedy="write both of its depths")
        for profile, key in zip(profiles, ids) for one in profile.horizons for note in one.entry.notes
    ]  # fmt: skip


def _unplaced(profiles: list[Profile], ids: list[str], lines: _Lines, file: str, text: str) -> list[Problem]:
    """Words that look like coordinates and were not read, each with its words."""
    return [
        Problem("warning", "field notes", "these words look like coordinates and could not be read; they are kept in the remarks", pit_id=key, file=file, row=lines.number(start),
                found=" ".join(text[start:end].split())[:200], allowed="53 10 30 N, 113 2 0 W; 53.175, -113.033; 12U 345000E 5890000N", remedy="write them in one of these forms")
        for profile, key in zip(profiles, ids) for start, end in profile.header.unplaced
    ]  # fmt: skip


class _Lines:
    """Line number of a place in the text."""

    def __init__(self, text: str) -> None:
        characters = np.frombuffer(text.encode("utf-32-le"), np.uint32)
        self.starts = np.append(0, np.flatnonzero(characters == ord("\n")) + 1)

    def number(self, place: int) -> int:
        return int(np.searchsorted(self.starts, place, side="right"))


def _longest_line(text: str) -> int:
    return max(map(len, text.split("\n")), default=0)


def _is_a_table(text: str) -> bool:
    """Whether the first line with text is a row of known headings."""
    from ..columns import known_fields, parse_heading

    first = next((line for line in text[:20_000].splitlines() if line.strip()), "")
    known = {name for entry in known_fields().values() for name in (parse_heading(entry.name).base, *entry.names)}
    for separator in SEPARATORS:
        cells = first.split(separator)
        if len(cells) > 1 and sum(parse_heading(cell).base in known for cell in cells) >= 2 and not any(len(cell) > 60 for cell in cells):
            return True
    return False


READER = FieldNotes()
