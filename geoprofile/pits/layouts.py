"""The layouts people use, brought to one: pits, horizons and readings.

Two tables or sheets; one long table with coordinates on every row or only on a
pit's first; one wide row a pit with ready depths or numbered horizon columns;
one-line inspections with several probes a place; points in a file of their own.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from ..context import Context
from ..errors import InputError
from ..problems import Problem
from ..products import HORIZON_COLUMNS, READING_COLUMNS, typed
from ..registry import plugins
from ..settings.pits import PitsSettings
from . import values
from .colour_headings import UNSAID
from .columns import Column, Mapped, known_fields, parse_heading
from .footers import without_footer
from .headings import map_columns
from .horizons import read_horizons
from .opening import EmptyForm, choose_reader, open_table
from .pit_rows import read_places, visits_by_date
from .readers.raw import Fault, RawTable
from .readings import read_readings
from .shown_ids import ids_as_shown

_BEFORE = re.compile(r"(?:h|hz|hor|horizon|layer)[ _]*(\d+)[ _:.\-]+(.+)", re.IGNORECASE)
_BEHIND = re.compile(r"(.+?)(?:[ _]+(?:h|hz|hor|horizon|layer))?[ _]*(\d+)((?:[ _]*[\(\[][^\)\]]*[\)\]])?)")


@dataclass
class Laid:
    """What the tables say, before ids are joined. Frames have the columns of the products, and geometry as shapes."""

    pits: pd.DataFrame | None = None
    horizons: pd.DataFrame | None = None
    readings: pd.DataFrame | None = None
    points: pd.DataFrame | None = None
    inspections: pd.DataFrame | None = None
    notes: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def lay_out(settings: PitsSettings, context: Context, area=None) -> Laid:
    """Open every table that the survey file names and read what it says. ``area`` is the survey area as a shape, or None."""
    settings = notes_apart(settings, context)
    if not (settings.pits or settings.horizons or settings.inspections or settings.notes):
        raise InputError("the survey file names no descriptions", where="[pits]",
                         remedy='add horizons = { file = "..." }, pits = { file = "..." }, notes = { file = "..." } or inspections = { file = "..." }')
    laid = Laid()
    settings, opened = _open_tables(laid, settings, context)
    readings: list[pd.DataFrame] = []
    horizons: list[pd.DataFrame] = []
    convention = context.survey.convention

    if settings.points:
        given = dict(settings.columns.points)
        if settings.points.id:
            given.setdefault("pit_id", settings.points.id)
        points = _map(laid, settings, open_table(settings.points, settings, context, "points"), "points", given)
        _need_id(points, "points")
        laid.points, notes = read_places(points, settings, context, stated_crs=settings.points.crs or settings.crs, one_row_a_pit=True, area=area,
                                         accuracy_m=settings.points.accuracy_m)
        _done(laid, points, notes)

    if settings.pits:
        pits = _map(laid, settings, opened["pits"], "pits", settings.columns.pits)
        _need_id(pits, "pits")
        numbered = unfold(pits) if settings.horizons is None else None
        long = None
        if settings.horizons is None and numbered is None:
            given = {**settings.columns.pits, **settings.columns.horizons}
            long = map_columns(pits.raw, "horizons", given, also=("pits",), missing=settings.missing, missing_for=settings.missing_for, stated_units=settings.units)
            if not (long.has("depth") or (long.has("upper_depth") and (long.has("lower_depth") or long.has("designation")))):
                long = None
        if long is not None:
            _long_table(laid, long, settings, context, area, horizons, readings)
        else:
            laid.pits, notes = read_places(pits, settings, context, stated_crs=settings.crs, one_row_a_pit=True, area=area)
            readings.append(read_readings(pits, settings, pits.text("pit_id")))
            if numbered is not None:
                raw, used = numbered
                unfolded = _mapped(raw, "horizons", settings.columns.horizons, settings)
                horizons.append(read_horizons(unfolded, settings, convention))
                pits.unmapped = tuple(heading for heading in pits.unmapped if heading not in used)
                _done(laid, unfolded, ())
            _done(laid, pits, notes)

    if settings.horizons:
        also = () if settings.pits else ("pits",)
        table = _map(laid, settings, opened["horizons"], "horizons", settings.columns.horizons, also)
        _need_id(table, "horizons")
        if settings.pits:
            horizons.append(read_horizons(table, settings, convention))
            _list_blank_ids(table)
            _done(laid, table, ())
        else:
            _long_table(laid, table, settings, context, area, horizons, readings)

    if settings.inspections:
        lines = _map(laid, settings, opened["inspections"], "inspections", settings.columns.inspections)
        _need_id(lines, "inspections")
        laid.inspections, notes = read_places(lines, settings, context, stated_crs=settings.crs, one_row_a_pit=True, area=area, kind="inspection")
        readings.append(read_readings(lines, settings, lines.text("pit_id")).assign(inspection=True))
        _done(laid, lines, notes)

    if settings.notes:
        _notes(laid, settings, context, area, horizons, readings)

    none = typed(pd.DataFrame(), HORIZON_COLUMNS).assign(position=0, open_below=False, open_above=False, unread_below=False)
    filled = [frame for frame in horizons if len(frame)]
    laid.horizons = pd.concat(filled, ignore_index=True) if filled else none
    filled = [frame for frame in readings if len(frame)]
    laid.readings = pd.concat(filled, ignore_index=True) if filled else pd.DataFrame(columns=[*READING_COLUMNS, "inspection"])
    return laid


def notes_apart(settings: PitsSettings, context: Context) -> PitsSettings:
    """Notes given under ``horizons`` or ``pits`` are notes all the same."""
    for name in ("horizons", "pits"):
        source = getattr(settings, name)
        if source and settings.notes is None and hasattr(choose_reader(source, settings, context, name)[1], "read_notes"):
            settings = settings.model_copy(update={"notes": source, name: None})
    return settings


def _notes(laid: Laid, settings: PitsSettings, context: Context, area, horizons: list, readings: list) -> None:
    """Field notes: their pits and horizons, read as any two tables; depths stand in cm."""
    path, reader = choose_reader(settings.notes, settings, context, "notes")
    if not hasattr(reader, "read_notes"):
        reader = plugins("geoprofile.readers").get("field_notes")
    notes = reader.read_notes(path, file=settings.notes.file, depth_unit=settings.depth_unit)
    in_cm = settings.model_copy(update={"depth_unit": None})
    laid.notes.extend(f"{settings.notes.file}: {note}" for note in notes.horizons.notes)
    laid.problems.extend(notes.problems)
    heads = _mapped(notes.pits, "pits", {}, in_cm)
    pits, said = read_places(heads, in_cm, context, stated_crs=settings.crs, one_row_a_pit=True, area=area)
    laid.pits = pits if laid.pits is None else pd.concat([laid.pits, pits], ignore_index=True)
    readings.append(read_readings(heads, in_cm, heads.text("pit_id")))
    laid.problems.extend(heads.problems)
    laid.notes.extend(said)
    rows = _mapped(notes.horizons, "horizons", {}, in_cm)
    horizons.append(read_horizons(rows, in_cm, context.survey.convention))
    laid.problems.extend(rows.problems)


def unfold(mapped: Mapped) -> tuple[RawTable, set[str]] | None:
    """Numbered horizon columns (``H1 designation``, ``H1 upper`` ... or ``upper 1``) as one row a horizon.

    Returns the long table and the headings used, or None when there are no such columns.
    """
    known = {name for entry in known_fields().values() if "horizons" in entry.tables and "pits" not in entry.tables
             for name in (parse_heading(entry.name).base, *entry.names)}
    groups: dict[int, dict[str, str]] = {}
    for heading in mapped.unmapped:
        before, behind = _BEFORE.fullmatch(heading), _BEHIND.fullmatch(heading)
        if before:
            number, rest = int(before[1]), before[2]
        elif behind:
            number, rest = int(behind[2]), behind[1] + behind[3]
        else:
            continue
        if parse_heading(rest).base in known or parse_heading(rest).whole in known:
            groups.setdefault(number, {})[rest] = heading
    whole = {number: parts for number, parts in groups.items() if len(parts) >= 2}
    if not whole:
        return None
    key = mapped.columns["pit_id"][0].heading
    raw, frames, rows, positions = mapped.raw, [], [], []
    for number in sorted(whole):
        part = raw.cells[[key, *whole[number].values()]].copy()
        part.columns = [key, *whole[number]]
        filled = (part.drop(columns=key).map(str.strip) != "").any(axis=1).to_numpy()
        frames.append(part[filled])
        rows.append(raw.rows[filled])
        positions.append(np.flatnonzero(filled))
    order = np.argsort(np.concatenate(positions), kind="stable")
    place = np.concatenate(positions)
    group = np.repeat(sorted(whole), [len(part) for part in positions])
    new = {(int(place[old]), int(group[old])): index for index, old in enumerate(order)}
    headings = {heading: (number, rest) for number, parts in whole.items() for rest, heading in parts.items()}
    moved = {
        (new[(position, headings[heading][0])], headings[heading][1])
        for position, heading in raw.dates if heading in headings and (position, headings[heading][0]) in new
    }
    faults = tuple(
        Fault(new[(fault.position, headings[fault.heading][0])], headings[fault.heading][1], fault.what, fault.found, fault.remedy)
        for fault in raw.faults if fault.heading in headings and (fault.position, headings[fault.heading][0]) in new
    )
    cells = pd.concat(frames, ignore_index=True).fillna("").iloc[order].reset_index(drop=True)
    long = replace(raw, cells=cells, rows=np.concatenate(rows)[order], geometry=None, dates=frozenset(moved), shown={}, faults=faults, notes=(), letters={})
    return long, set(headings)


def _long_table(laid: Laid, table: Mapped, settings: PitsSettings, context: Context, area, horizons: list, readings: list) -> None:
    """One table for all: pits are drawn from their rows."""
    found = read_horizons(table, settings, context.survey.convention)
    laid.pits, notes = read_places(table, settings, context, stated_crs=settings.crs, one_row_a_pit=False, area=area)
    ids = table.text("pit_id")
    if table.has("date") and laid.pits["pit_id"].duplicated().any():
        dates = values.dates(table, table.columns["date"][0], settings.date_order, ids)
        found["visit"] = visits_by_date(pd.Series(ids), pd.Series(dates))[found["position"]]
    horizons.append(found)
    said = read_readings(table, settings, ids)
    # a reading written on every row of a pit is one reading
    readings.append(said.drop_duplicates(["pit_id", "attribute", "probe", "text"]))
    _list_blank_ids(table)
    _done(laid, table, notes)


def _list_blank_ids(table: Mapped) -> None:
    for position in np.flatnonzero(table.text("pit_id") == ""):
        table.problem(int(position), "error", "id", "a row of the horizons table has no pit id and was not used",
                      remedy="write the id on every row; cells are not filled down unless they are merged")


def _open_tables(laid: Laid, settings: PitsSettings, context: Context) -> tuple[PitsSettings, dict[str, RawTable]]:
    """The tables by their role; sheets of a form that nobody has written on are left out of the settings and noted."""
    opened: dict[str, RawTable] = {}
    blank: dict[str, EmptyForm] = {}
    for role in ("pits", "horizons", "inspections"):
        if source := getattr(settings, role):
            try:
                opened[role] = open_table(source, settings, context, role)
            except EmptyForm as error:
                blank[role] = error
    if blank and not opened and not settings.notes:
        raise next(iter(blank.values()))
    laid.notes.extend(f"{getattr(settings, role).file}: the form of {role} has no rows yet" for role in blank)
    return settings.model_copy(update=dict.fromkeys(blank)), opened


def _map(laid: Laid, settings: PitsSettings, raw: RawTable, role: str, given, also=()) -> Mapped:
    laid.notes.extend(raw.notes)
    return without_footer(_mapped(raw, role, given, settings, also), role)


def _mapped(raw: RawTable, role: str, given, settings: PitsSettings, also=()) -> Mapped:
    mapped = map_columns(raw, role, given, also=also, missing=settings.missing, missing_for=settings.missing_for, stated_units=settings.units)
    ids_as_shown(mapped)
    return mapped


def _need_id(mapped: Mapped, role: str) -> None:
    if not mapped.has("pit_id"):
        raise InputError(f"no column of the {role} table is known to hold the pit id", where=f"{mapped.raw.file}, {mapped.raw.sheet}".rstrip(", "),
                         found=", ".join(mapped.raw.cells.columns), remedy=f'name it: pit_id = "..." in [pits.columns.{role}]; if the headings stand lower, say header_row')


def _done(laid: Laid, mapped: Mapped, notes: tuple[str, ...]) -> None:
    """Take over problems and notes of a table that has been read."""
    laid.problems.extend(mapped.problems)
    laid.notes.extend(notes)
    used = [f"{column.heading!r} as {_called(column, name)}" for name, columns in mapped.columns.items() for column in columns if column.heading.lower() != name]
    if used:
        laid.notes.append(f"{mapped.raw.file}: read {', '.join(used)}")
    if mapped.unmapped:
        laid.notes.append(f"{mapped.raw.file}: columns not used: {', '.join(mapped.unmapped)}")


def _called(column: Column, name: str) -> str:
    """The field that a column is read as; a colour of neither state goes to the one that each cell says."""
    return UNSAID if column.field.kind == "colour" and not column.state else name
