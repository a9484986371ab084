"""Delimited text: encoding, separator and decimal mark are found together over the whole file.

The choice is printed; nothing is converted to numbers here and no thousands
mark is ever taken out (R1, R2, R3, R4).
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from pathlib import Path

from ...errors import InputError
from .raw import RawTable, first_filled, table_of

SEPARATORS = {";": "semicolon", "\t": "tab", ",": "comma", "|": "vertical bar"}
DECIMAL_MARKS = {".": "point", ",": "comma"}
_COMMA_NUMBER = re.compile(r"\s*[-+\u2212]?\d+,\d+\s*")
_POINT_NUMBER = re.compile(r"\s*[-+\u2212]?\d+\.\d+\s*")


class Delimited:
    """Text with one record a line: comma, semicolon, tab or bar between the cells."""

    suffixes = (".csv", ".txt", ".tsv", ".tab")

    def read(self, path: Path, *, sheet: str | None = None, header_row: int = 1) -> RawTable:
        text, encoding = decode(Path(path))
        separator = find_separator(text, header_row, path)
        lines, records = _records(text, separator)
        header_row = first_filled(records, header_row)
        if len(records) < header_row:
            raise InputError("the table has no row of headings", where=f"{path}, row {header_row}",
                             remedy="set header_row to the row that holds the headings")
        headings = records[header_row - 1]
        width = len(headings)
        body, rows, faults = [], [], {}
        for line, record in zip(lines[header_row:], records[header_row:], strict=True):
            if len(record) > width and any(cell.strip() for cell in record[width:]):
                faults[(len(body), -1)] = (
                    "the row has more cells than there are headings, so its values may stand in the wrong columns",
                    f"{len(record)} cells under {width} headings",
                    "put text that holds the separator in double quotes",
                )
            body.append((record + [""] * (width - len(record)))[:width])
            rows.append(line)
        decimal, found = find_decimal(body)
        notes = (f"read as {encoding}, {SEPARATORS[separator]} between cells, decimal {DECIMAL_MARKS[decimal]}",)
        return table_of(headings, body, rows, decimal=decimal, has_decimals=found, faults=faults, notes=notes)


def decode(path: Path) -> tuple[str, str]:
    """The text and the name of its encoding: UTF-8 with or without mark, UTF-16 with mark, else cp1252.

    cp1252 is what spreadsheets of western systems save; latin-1 is another table and is never used (R3).
    """
    data = path.read_bytes()
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16"), "UTF-16"
    try:
        marked = data.startswith(b"\xef\xbb\xbf")
        text = data.decode("utf-8-sig")
        encoding = "UTF-8 with byte-order mark" if marked else "UTF-8"
    except UnicodeDecodeError:
        try:
            text, encoding = data.decode("cp1252"), "cp1252"
        except UnicodeDecodeError as error:
            line = data.count(b"\n", 0, error.start) + 1
            raise InputError(
                "the text is neither UTF-8 nor cp1252", where=f"{path}, line {line}",
                found=f"byte {data[error.start]:#04x} at position {error.start}",
                remedy="save the file as UTF-8 in the program it comes from",
            ) from error
    if "\0" in text:
        raise InputError("this is not a text file", where=str(path), found="zero bytes",
                         remedy="rename it to its true ending, such as .xls or .xlsx")
    return text, encoding


def find_separator(text: str, header_row: int, path: Path | str = "") -> str:
    """The separator under which most rows have as many cells as the headings; more cells win a tie.

    A row with fewer cells, whose last ones are empty and were not written, counts half: it agrees with no other separator.
    """
    best = (0.0, 0, ",")
    for separator in SEPARATORS:
        _, records = _records(text, separator)
        heading = first_filled(records, header_row)
        if len(records) < heading:
            continue
        width = len(records[heading - 1])
        body = [record for record in records[heading:] if any(record)]
        share = sum(1.0 if len(record) == width else 0.5 * (1 < len(record) < width) for record in body) / len(body) if body else 1.0
        # one column agrees with everything, so it wins only when nothing else does
        score = (share if width > 1 else 0.01, width, separator)
        if score[:2] > best[:2]:
            best = score
    if best[0] == 0.0:
        raise InputError("the file is empty", where=str(path), remedy="give a file with headings and rows")
    return best[2]


def find_decimal(records: list[list[str]]) -> tuple[str, bool]:
    """The mark that more cells use, ``12,5`` or ``12.5`` (a point where neither occurs), and whether one occurs at all."""
    counts: Counter[str] = Counter()
    for record in records:
        for cell in record:
            if "," in cell:
                counts[","] += bool(_COMMA_NUMBER.fullmatch(cell))
            elif "." in cell:
                counts["."] += bool(_POINT_NUMBER.fullmatch(cell))
    return ("," if counts[","] > counts["."] else "."), bool(counts[","] or counts["."])


def _records(text: str, separator: str) -> tuple[list[int], list[list[str]]]:
    """First line of each record, and the records. A cell in quotes may hold line ends."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    lines, records, start = [], [], 1
    csv.field_size_limit(10_000_000)
    for record in reader:
        lines.append(start)
        records.append(record)
        start = reader.line_num + 1
    return lines, records


READER = Delimited()
