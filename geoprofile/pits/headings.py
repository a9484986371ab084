"""Which heading is which field: as the survey file says, else by the trade's own words; a near miss is proposed and never applied."""

from __future__ import annotations

import re
from dataclasses import replace
from difflib import get_close_matches

from ..errors import SettingsError
from ..problems import Problem
from .colour_headings import (
    STATES,
    UNSAID,
    column_of_states,
    in_three_columns,
    looks_like_a_colour,
    says_no_state,
    state_of,
    with_states,
)
from .columns import SEVERAL, Column, Field, Heading, Mapped, known_fields, parse_heading, plain_words, units
from .readers.raw import RawTable, clean_heading


def map_columns(raw: RawTable, role: str, given: dict[str, str | tuple[str, ...]], *, also: tuple[str, ...] = (),
                missing: tuple[str, ...] = ("",), missing_for: dict[str, tuple[str, ...]] | None = None,
                stated_units: dict[str, str] | None = None) -> Mapped:
    """Recognise the columns of a table.

    Parameters
    ----------
    role : points, pits, horizons or inspections; ``also`` names further roles whose fields may stand in it.
    stated_units : our name = unit, for columns whose heading does not say it.
    given : our name = their heading (or several headings: probes), from the survey file; applied first.

    Raises SettingsError when the survey file names a heading that is not there, or a field that nearly is one of ours.
    """
    headings = list(raw.cells.columns)
    roles = {role, *also}
    fields = {name: entry for name, entry in known_fields().items() if roles & set(entry.tables)}
    columns: dict[str, tuple[Column, ...]] = {}
    taken: set[str] = set()
    for name, theirs in given.items():
        entry = _field_named(name, fields, role)
        if entry.name in columns:
            raise SettingsError("two names of one field", where=f"[pits.columns.{role}]", found=f"{name}, beside another for {entry.name}", remedy="keep one of the two lines")
        wanted = (theirs,) if isinstance(theirs, str) else tuple(theirs)
        if len(wanted) > 1 and entry.kind not in SEVERAL and not (entry.kind == "colour" and len(wanted) == 3):
            raise SettingsError("this field is read from one column only", where=f"[pits.columns.{role}] {name}", found=", ".join(wanted),
                                allowed="several columns for an id, for direct readings (probes) and for text such as remarks; three for a colour: hue, value, chroma",
                                remedy="name one heading")
        found = [_heading_named(wish, headings, name, role, raw.file) for wish in wanted]
        columns[entry.name] = tuple(
            Column(entry, heading, parse_heading(heading).unit, probe) for probe, heading in enumerate(found, start=1)
        )
        if entry.kind == "colour":
            columns[entry.name] = with_states(columns[entry.name], name, f"[pits.columns.{role}]")
        taken.update(found)

    parsed = {heading: parse_heading(heading) for heading in headings if heading not in taken}
    problems: list[Problem] = []
    for name, entry in fields.items():
        if name in columns:
            continue
        match = _recognised(entry, parsed)
        if match:
            columns[name] = with_states(match) if entry.kind == "colour" else match
            for column in match:
                parsed.pop(column.heading)
    if STATES.name not in columns and (states := column_of_states(raw, columns, parsed)):
        columns[STATES.name] = (states,)
        parsed.pop(states.heading)
    _propose(parsed, fields, columns, role, raw, problems)
    for name, unit in (stated_units or {}).items():
        _state_unit(columns, name, unit)
    return Mapped(raw, columns, tuple(parsed), problems, missing, missing_for or {})


def _state_unit(columns: dict[str, tuple[Column, ...]], name: str, unit: str) -> None:
    """Give a column the unit that the survey file states. SettingsError where the unit is unknown or the heading says another."""
    found = next((key for key, parts in columns.items() if name in (key, parts[0].field.column)), None)
    if found is None:
        return  # the column may stand in another table
    entry = columns[found][0].field
    known = units().get(entry.unit, {})
    if unit.lower() not in known and not (entry.kind == "slope" and unit.lower() in units()["degrees"]):
        raise SettingsError("the unit is not known", where=f"[pits.units] {name}", found=unit, allowed=", ".join(known) or "this field has no unit")
    for column in columns[found]:
        if column.unit and known.get(column.unit) != known.get(unit.lower()):
            raise SettingsError("the heading says another unit", where=f"[pits.units] {name}", found=unit, allowed=column.unit)
    columns[found] = tuple(replace(column, unit=unit.lower()) for column in columns[found])


def _recognised(entry: Field, parsed: dict[str, Heading]) -> tuple[Column, ...]:
    """The first of the field's names that the table has; for a reading also its numbered probes."""
    for name in (plain_words(entry.name), plain_words(entry.column), *entry.names):
        for heading, parts in parsed.items():
            if parts.base == name and (not parts.unit or _fits(entry, parts.unit)):
                return (Column(entry, heading, parts.unit),)
            if parts.whole == name != parts.base:
                return (Column(entry, heading),)
    if entry.kind == "colour":
        return in_three_columns(entry, parsed)
    if entry.kind == "reading":
        for name in (plain_words(entry.name), *entry.names):
            probes = []
            for heading, parts in parsed.items():
                number = re.fullmatch(re.escape(name) + r" (?:probe )?(\d+)", parts.base)
                if number:
                    probes.append(Column(entry, heading, parts.unit, int(number[1])))
            if probes:
                return tuple(sorted(probes, key=lambda column: column.probe))
    return ()


def _fits(entry: Field, unit: str) -> bool:
    """A heading whose unit cannot be the field's is another thing: 'clay films (cm)' is not clay."""
    if entry.kind in ("range", "depth", "reading"):
        return unit in units()["cm"] or unit == "%"  # '%' for readings of a share; refused later with a reason
    if entry.kind == "slope":
        return unit in units()["%"] or unit in units()["degrees"]
    if entry.kind == "angle":
        return unit in units()["degrees"]
    return not entry.unit or unit in units().get(entry.unit, {})


def _field_named(name: str, fields: dict[str, Field], role: str) -> Field:
    if name in fields:
        return fields[name]
    if name == STATES.name and role == "horizons":
        return STATES
    if says_no_state(name, fields):
        return fields["colour_moist"]
    for entry in fields.values():
        if name in (entry.column, *(part for part, _ in entry.parts)):
            return entry
    near = get_close_matches(name, fields, 1, 0.8)
    if near or not re.fullmatch("[a-z][a-z0-9_]*", name):
        raise SettingsError(
            "there is no such field", where=f"[pits.columns.{role}] {name}", found=name,
            allowed=", ".join(sorted(fields)), remedy=f"did you mean {near[0]!r}?" if near else "use lower case and _",
        )
    # anything else keeps the name the survey file gives it: a measured property of horizons, a text of pits
    return Field(name=name, kind="number" if role == "horizons" else "text", unit="", column=name, names=(), tables=(role,))


def _heading_named(wish: str, headings: list[str], name: str, role: str, file: str) -> str:
    clean = clean_heading(wish)
    if clean in headings:
        return clean
    same = [heading for heading in headings if heading.lower() == clean.lower()]
    near = same or get_close_matches(clean, headings, 1, 0.6)
    raise SettingsError(
        "the table has no such heading", where=f"[pits.columns.{role}] {name}, {file}", found=wish,
        allowed=", ".join(headings), remedy=f"did you mean {near[0]!r}?" if near else "write the heading as it stands in the file",
    )


def _propose(parsed, fields, columns, role, raw, problems) -> None:
    names = {name: entry for entry in fields.values() if entry.name not in columns for name in (plain_words(entry.name), *entry.names)}
    for heading, parts in parsed.items():
        near = get_close_matches(parts.base, [name for name in names if len(name) > 3], 1, 0.88)
        if near and _differs_in_a_symbol(parts.base, near[0]):
            near = []
        near = near or _with_more_words(heading, names)
        if near:
            entry = names[near[0]]
            ours = UNSAID if entry.kind == "colour" and not state_of(heading) else entry.name
            problems.append(Problem(
                "warning", "heading", f"the heading {heading!r} is not known; it looks like {ours}, and was not used",
                file=raw.file, sheet=raw.sheet, field=heading, found=heading,
                remedy=f'if it is, add {ours} = "{heading}" to [pits.columns.{role}]',
            ))


def _with_more_words(heading: str, names: dict[str, Field]) -> list[str]:
    """The longest name of two words or more that stands in the heading: ``matrix colour`` in ``Matrix Colour (Munsell)``."""
    whole = parse_heading(heading).whole
    held = [name for name in names if " " in name and min(map(len, name.split())) > 2 and f" {name} " in f" {whole} "]
    held = [name for name in held if names[name].kind != "colour" or state_of(name) in ("", state_of(heading))]
    if not held and looks_like_a_colour(heading):
        held = [name for name in names if name == f"colour {state_of(heading) or 'moist'}"]
    return sorted(held, key=lambda name: (-len(name.split()), state_of(name) != state_of(heading)))[:1]


def _differs_in_a_symbol(one: str, other: str) -> bool:
    """'depth to ba' is not a slip for 'depth to bt': short last words are symbols, not spellings."""
    last = one.split()[-1:] + other.split()[-1:]
    return last[0] != last[-1] and min(map(len, last)) <= 3
