"""Writer ``tables``: problems.csv, scores.csv and tables/ with the same tables as CSV and as one workbook.

CSV: UTF-8 with a byte-order mark (without it, spreadsheets damage accents),
comma between fields, point as decimal mark, CRLF line ends as in RFC 4180, the
column names of survey.gpkg. The workbook has readable headings with units.
No cell is ever a formula: in the workbook text is stored as text; in CSV a text
that a spreadsheet would run gets an apostrophe in front.
"""

from __future__ import annotations

import csv
import io

import numpy as np
import pandas as pd

from ..products import OutputFile
from . import frames
from .bundle import Bundle
from .names import safe_name, safe_names
from .placing import write_file
from .workbook import workbook_bytes

what = "problems.csv, scores.csv and tables/: the tables as CSV and as one workbook"

SAYS = {
    "problems": "every fault found, with its file and row, and what to do",
    "scores": "how far the surfaces are from pits they had not seen",
    "surfaces": "what each raster shows, in which file, by which method, and how good it is",
    "refusals": "attributes whose depth or thickness is not drawn, and why",
    "notes": "choices made on the way",
    "salvage": "lifts and bank volumes by area",
    "pits": "one row a pit, with what it says of each attribute",
    "horizons": "one row a horizon",
    "readings": "depths read in the field without a description",
    "attributes": "one row a pit and attribute, with what it rests on",
    "soil_names": "soil named from each record, as advice: how sure, what was supposed, what is missing, the surveyor's name",
    "soil_name_evidence": "each step to a name: what the key asks, what the record answers, and where the rule is printed",
    "depth_functions": "means of the smooth curve through each pit's layers over the intervals asked for",
    "attribute_definitions": "what each attribute means",
}
"""What a file holds, where its name alone does not say it well."""

ABOUT = """About these tables

tables.xlsx holds every table, one a sheet, with readable headings; the sheet "columns" says what each column means.
The CSV files hold the same for programs: UTF-8 with byte-order mark, comma between fields, point as decimal mark,
an empty field where nothing is known. They are no formulas: a text that begins with = + - @ (and is not a plain
number) has an apostrophe in front in the CSV files, and stands as it is in the workbook.

No Shapefile is written: it would cut the names of columns at ten letters. survey.gpkg holds the same with whole names.

Open the workbook rather than the CSV files in a spreadsheet: from CSV it would read 007 as 7 and 15-21 as a date.

How to read an attribute: 17 = measured; >60 = at least 60, the pit ended or was tested only so far; <30 = at most 30;
15-21 = between; absent = looked for and not there; unknown = not described, never 0. The columns low and high hold
the same as numbers; an empty high limit with a low one means "at least".
"""


def write(bundle: Bundle) -> tuple[OutputFile, ...]:
    """Write all tables; see the module."""
    tables = tables_of(bundle)
    definitions = bundle.attributes.definitions
    files = []
    for name, table in tables.items():
        path = f"{name}.csv" if name in ("problems", "scores") else f"tables/{name}.csv"
        files.append(write_file(bundle.context, path, csv_bytes(table), SAYS.get(name, f"the table {name.replace('_', ' ')}")))
    about = f"{bundle.context.survey.name}\n\n{ABOUT}"
    files.append(write_file(bundle.context, "tables/about_tables.txt", about.encode("utf-8"), "how to read the tables"))
    book = workbook_bytes(tables, about.splitlines(), definitions)
    files.append(write_file(bundle.context, "tables/tables.xlsx", book, "every table in one workbook"))
    return tuple(files)


def tables_of(bundle: Bundle) -> dict[str, pd.DataFrame]:
    """Tables by name; areas lose their geometry, pits keep theirs as x and y in the survey's system."""
    pits = frames.wide_pits(bundle)
    placed = frames.has_place(pits)
    x, y = np.full(len(pits), np.nan), np.full(len(pits), np.nan)
    x[placed], y[placed] = pits.geometry[placed].x.round(2), pits.geometry[placed].y.round(2)
    plain = pd.DataFrame(pits.drop(columns="geometry"))
    plain.insert(2, "x_m", x)
    plain.insert(3, "y_m", y)
    tables = {
        "problems": frames.all_problems(bundle),
        "scores": frames.scores_told(bundle),
        "refusals": frames.refusals(bundle),
        "surfaces": frames.surface_register(bundle),
        "pits": plain,
        "horizons": bundle.pits.horizons,
        "readings": bundle.pits.readings,
        "attributes": frames.attribute_values(bundle.attributes),
        "attribute_definitions": frames.attribute_definitions(bundle.attributes),
    }
    if bundle.soil_names is not None:
        tables["soil_names"] = bundle.soil_names.names
        tables["soil_name_evidence"] = bundle.soil_names.steps
    curves = frames.depth_functions(bundle.attributes)
    if len(curves):
        tables["depth_functions"] = curves
    if bundle.salvage is not None:
        lifts = bundle.salvage.lifts
        tables["salvage"] = pd.DataFrame(lifts.drop(columns=lifts.geometry.name))
    for name, table in (bundle.zones.tables if bundle.zones is not None else {}).items():
        safe = safe_name(name)
        tables[f"by_{safe}" if safe in tables else safe] = table
    tables["notes"] = frames.notes_of(bundle)
    return tables


def csv_bytes(table: pd.DataFrame) -> bytes:
    """A table as CSV; see the module for its form."""
    sink = io.StringIO()
    writer = csv.writer(sink, lineterminator="\r\n")
    names = safe_names(table.columns)
    writer.writerow(names.values())
    columns = [[csv_cell(value) for value in table[name]] for name in names]
    writer.writerows(zip(*columns, strict=True))
    return sink.getvalue().encode("utf-8-sig", "replace")


def csv_cell(value: object) -> str:
    """One field: empty for missing, whole numbers without a point, dangerous text disarmed."""
    if is_missing(value):
        return ""
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, (int, np.integer)):
        return str(int(value))
    if isinstance(value, (float, np.floating)):
        return number_text(float(value))
    text = str(value)
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") and not _is_number(text) else text


def number_text(value: float) -> str:
    """The shortest text that reads back as the number to 12 digits: 15, 12.5, never 15.0 or 1e+02."""
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return f"{value:.12g}"


def is_missing(value: object) -> bool:
    return value is None or (pd.api.types.is_scalar(value) and bool(pd.isna(value))) or (
        isinstance(value, (float, np.floating)) and not np.isfinite(value)
    )


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return text.strip() == text
