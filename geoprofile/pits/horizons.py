"""The horizons of a table: depths, designations, colours, terms and numbers, all columns at a time."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..errors import InputError
from ..settings.pits import PitsSettings
from ..vocabulary.designations import parse_designation
from ..vocabulary.parts import part_of
from . import values
from .colour_columns import read_colours
from .columns import Column, Mapped
from .depth_columns import Depths, read_depths, read_ranges, row_units, warn_of_unlikely_unit
from .unread import UNREAD, followed_by

_DONE = {"pit_id", "depth", "upper_depth", "lower_depth", "depth_unit", "designation", "remarks", "order"}


def read_horizons(mapped: Mapped, settings: PitsSettings, convention: str) -> pd.DataFrame:
    """One row a horizon, in source order, depths as written; rows without usable depths are listed and left out.

    Columns: those of HORIZON_COLUMNS, further measured properties of the survey file,
    and ``position`` (row of the table).
    """
    ids = mapped.text("pit_id")
    depth, keep = _depths(mapped, settings, ids)
    frame = pd.DataFrame({"pit_id": ids, "position": np.arange(len(ids)), **depth})
    written = mapped.text("designation")
    parsed = values.by_text(written, lambda text: parse_designation(text, convention).text if text else "")
    frame["designation"], frame["designation_as_written"] = parsed, written
    for name, columns in mapped.columns.items():
        # what belongs to the whole pit is read with the pits, also where it stands on every row
        if name not in _DONE and columns[0].field.kind != "colour" and "pits" not in columns[0].field.tables:
            for column, found in read_column(mapped, columns[0], convention, settings, ids).items():
                frame[column] = _merged(frame, column, found)
    colours, kept_colours = read_colours(mapped, ids)
    frame = frame.assign(**colours)
    for term in ("effervescence", "mottles"):
        parts = values.by_text(mapped.text(term), part_of)
        if (parts != "").any():
            frame[f"{term}_part"] = _merged(frame, f"{term}_part", parts)
    if "remarks" not in frame.columns or not (frame["remarks"] != "").any():
        frame["remarks"] = mapped.text("remarks")
    kept = [values.modifiers_as_written(mapped, mapped.columns["texture"][0], convention)] if mapped.has("texture") else []
    for more in (*kept, kept_colours):
        frame["remarks"] = ["; ".join(part for part in pair if part) for pair in zip(frame["remarks"], more)]
    if mapped.has("order"):
        frame["order"] = values.numbers(mapped, mapped.columns["order"][0], ids)
    _list_faulty_cells(mapped, ids)
    frame["file"], frame["sheet"], frame["row"] = mapped.raw.file, mapped.raw.sheet, mapped.raw.rows
    used = keep & (ids != "") & ~mapped.raw.shifted_rows
    says = np.any([mapped.text(name) != "" for name in ("designation", "depth", "upper_depth", "lower_depth") if mapped.has(name)], axis=0)
    frame[UNREAD] = followed_by(ids, used, ~used & (ids != "") & says)
    return frame[used].reset_index(drop=True)


def read_column(mapped: Mapped, column: Column, convention: str, settings: PitsSettings, ids: np.ndarray) -> dict[str, np.ndarray]:
    """The values of one column by its field's kind: product column -> array."""
    field = column.field
    match field.kind:
        case "number":
            return {field.column: values.numbers(mapped, column, ids)}
        case "slope":
            return {field.column: values.slopes(mapped, column, ids)}
        case "depth":
            return {field.column: _sure(mapped, column, read_depths(mapped, column, settings, ids), ids)}
        case "term":
            return {field.column: values.term_codes(mapped, column, field.term, convention, ids)}
        case "terms":
            return values.several_terms(mapped, column, convention, ids)
        case "date":
            return {field.column: values.dates(mapped, column, settings.date_order, ids)}
        case "range":
            found = read_depths(mapped, column, settings, ids)
            return {f"{field.name}_low_cm": found.low, f"{field.name}_high_cm": found.high}
        case "text":
            return {field.column: mapped.text(field.name)}
        case _:
            return {}


def _sure(mapped: Mapped, column: Column, found: Depths, ids: np.ndarray) -> np.ndarray:
    """The depth; of how far a pit was observed or tested, ``40-60``, only the lesser is sure: nothing is known to be absent below it."""
    if not column.field.name.endswith("_to"):
        return found.value
    with np.errstate(invalid="ignore"):
        ranges = np.flatnonzero(found.ok & (found.low < found.high))
    if len(ranges):
        first = int(ranges[0])
        mapped.problem(first, "note", "depth observed", "a range is taken as its lesser depth: only to there it is sure", field=column.field.name, pit_id=ids[first],
                       found=mapped.text_in(column)[first] + (f" and {len(ranges) - 1} more" if len(ranges) > 1 else ""), remedy="write one depth")
    return np.where(np.isfinite(found.low), found.low, found.value)


def _merged(frame: pd.DataFrame, name: str, new: np.ndarray) -> np.ndarray:
    """A column that two headings give (``structure`` and ``structure grade``): the first that says something."""
    if name not in frame.columns:
        return new
    old = frame[name].to_numpy()
    blank = (old == "") if old.dtype == object else np.isnan(old.astype(float))
    return np.where(blank, new, old)


def _depths(mapped: Mapped, settings: PitsSettings, ids: np.ndarray) -> tuple[dict[str, np.ndarray], np.ndarray]:
    if mapped.has("depth") and not (mapped.has("upper_depth") or mapped.has("lower_depth")):
        column = mapped.columns["depth"][0]
        upper, lower = read_ranges(mapped, column, settings, ids)
        where = "depth"
    elif not mapped.has("upper_depth"):
        raise InputError("no column of the horizons table is known to hold the upper depth", where=f"{mapped.raw.file}, {mapped.raw.sheet}".rstrip(", "),
                         found=", ".join(mapped.raw.cells.columns), remedy='name them: upper_depth = "...", lower_depth = "..." in [pits.columns.horizons]')
    else:
        count = len(ids)
        blank = np.full(count, np.nan)
        nothing = Depths(blank, blank, blank, np.zeros(count, bool), np.ones(count, bool))
        upper = read_depths(mapped, mapped.columns["upper_depth"][0], settings, ids)
        lower = read_depths(mapped, mapped.columns["lower_depth"][0], settings, ids, ~upper.ok) if mapped.has("lower_depth") else nothing
        column = mapped.columns["lower_depth" if mapped.has("lower_depth") else "upper_depth"][0]
        where = "upper_depth"
    unit = row_units(mapped, column, settings, ids) if not mapped.has("depth_unit") else np.full(len(ids), "")
    if len(unit):
        deepest = np.nanmax(lower.value, initial=-np.inf)
        warn_of_unlikely_unit(mapped, column, deepest, str(unit[0]), ids)
    good = upper.ok & lower.ok
    missing = good & np.isnan(upper.value)
    for position in np.flatnonzero(missing & (ids != "")):
        mapped.problem(position, "error", "depth", "the horizon has no upper depth and was not used", field=where, pit_id=ids[position],
                       found=mapped.text("designation")[position] or "blank", remedy="write its upper depth")
    # 45+ in the column of lower depths: seen to 45, deeper not known
    out = {
        "upper_cm": upper.value, "lower_cm": lower.value, "upper_low_cm": upper.low, "upper_high_cm": upper.high,
        "lower_low_cm": np.where(np.isnan(lower.low), lower.value, lower.low), "lower_high_cm": lower.high,
        "open_below": lower.open | np.isnan(lower.value), "open_above": upper.open,
    }
    return out, good & ~missing


def _list_faulty_cells(mapped: Mapped, ids: np.ndarray) -> None:
    list_faulty_cells(mapped, ids, {column.heading for columns in mapped.columns.values() for column in columns})


def list_faulty_cells(mapped: Mapped, ids: np.ndarray, headings: set[str]) -> None:
    """Cells that hold no readable value (formula without result, spreadsheet error), each by its address (R11)."""
    for fault in mapped.raw.faults:
        if fault.heading == "" or fault.heading in headings:
            mapped.problem(fault.position, "error", "cell", fault.what, field=fault.heading, pit_id=ids[fault.position], found=fault.found,
                           remedy=fault.remedy)
