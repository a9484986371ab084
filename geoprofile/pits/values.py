"""Text to values, a whole column at a time: each different text is read once.

What cannot be read becomes missing and is listed, once per row, with its place.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable

import numpy as np
import pandas as pd

from ..errors import InputError
from ..vocabulary.munsell import parse_colour
from ..vocabulary.terms import find_term, terms
from .columns import Column, Mapped, units

_DASHES = str.maketrans({"\u2212": "-", "\u2013": "-", "\u2014": "-", "\u2010": "-", "\u2011": "-", "\u00b4": "'", "\u2019": "'"})
_NUMBER = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*)", re.DOTALL)
_CENSORED = re.compile(r"(?:[<>\u2264\u2265~]|ca\.?\s|tr$|trace$|nd$|bdl$)", re.IGNORECASE)


def by_text(texts: np.ndarray, read: Callable[[str], object]) -> np.ndarray:
    """``read`` applied to each different text; object array in the order of ``texts``."""
    codes, unique = pd.factorize(texts)
    out = np.empty(len(unique), dtype=object)
    for number, text in enumerate(unique):
        out[number] = read(text)
    return out[codes] if len(unique) else np.empty(0, dtype=object)


def plain(text: str, decimal: str = ".") -> str:
    """Dashes, primes and the decimal mark in their plain form; no thousands mark is taken out (R2, R14)."""
    text = text.translate(_DASHES)
    return re.sub(r"(?<=\d),(?=\d)", ".", text) if decimal == "," else text


def numbers(mapped: Mapped, column: Column, ids: np.ndarray) -> np.ndarray:
    """A column of numbers in the field's unit; NaN where not recorded or not a number (then listed).

    Censored values such as ``<0.05`` are listed and never become a number or zero (R15).
    """
    field = column.field
    texts = mapped.text_in(column)
    decimal = decimal_of(mapped, column, texts, ids)
    direct = pd.to_numeric(pd.Series(np.where(texts == "", "nan", texts)).str.replace(",", "." if decimal == "," else ",", regex=False),
                           errors="coerce").to_numpy(float)
    factor = _factor(field.unit, column.unit)
    done = (texts == "") | np.isfinite(direct)
    values = np.where(np.isfinite(direct), direct * factor, np.nan)
    if field.needs_unit and not column.unit:
        done = texts == ""
        values[:] = np.nan
    for position in np.flatnonzero(~done):
        value, fault = _one_number(plain(texts[position], decimal), field, column)
        if fault:
            mapped.problem(position, "error", "value", fault, field=field.name, pit_id=ids[position], found=texts[position],
                           allowed=f"a number in {field.unit}" if field.unit else "a number",
                           remedy="correct the cell, or list the word under missing in [pits]")
        else:
            values[position] = value
    return values


def _one_number(text: str, field, column: Column) -> tuple[float, str]:
    if _CENSORED.match(text):
        return np.nan, "only a limit is given, so it is not used as a number"
    match = _NUMBER.fullmatch(text)
    if not match:
        return np.nan, "this is not a number"
    unit = match[2].strip().lower()
    if not np.isfinite(float(match[1])):
        return np.nan, "this is not a number"
    if not unit:
        if field.needs_unit and not column.unit:
            return np.nan, "the unit is not said, neither in the heading nor in the cell"
        return float(match[1]) * _factor(field.unit, column.unit), ""
    known = units().get(field.unit, {})
    if unit not in known:
        return np.nan, "the unit is not known" if field.unit else "this is not a number"
    return float(match[1]) * known[unit], ""


def _factor(kept: str, written: str) -> float:
    return units().get(kept, {}).get(written, 1.0) if written else 1.0


def decimal_of(mapped: Mapped, column: Column, texts: np.ndarray, ids: np.ndarray) -> str:
    """The file's decimal mark, or the column's own when it uses only the other one.

    A column with both marks is read by the file's mark and the other rows are listed (R1).
    """
    mark = mapped.raw.decimal
    other = "." if mark == "," else ","
    has_other = np.array([bool(re.search(r"\d" + re.escape(other) + r"\d", text)) if other in text else False for text in texts], bool)
    if not has_other.any():
        return mark
    has_mark = np.array([mark in text and bool(re.search(r"\d" + re.escape(mark) + r"\d", text)) for text in texts], bool)
    if not has_mark.any():
        return other
    rows = mapped.raw.rows[has_other if has_other.sum() <= has_mark.sum() else has_mark]
    first = int(np.flatnonzero(has_other if has_other.sum() <= has_mark.sum() else has_mark)[0])
    mapped.problem(
        first, "error", "decimal mark", "a column of numbers holds both decimal marks",
        field=column.field.name, pit_id=ids[first], found="rows " + ", ".join(map(str, rows[:20])) + (" ..." if len(rows) > 20 else ""),
        allowed=f"decimal {'comma' if mark == ',' else 'point'}", remedy="use one mark in the whole file",
    )
    return mark


def slopes(mapped: Mapped, column: Column, ids: np.ndarray) -> np.ndarray:
    """Slope in percent; degrees are converted by their tangent."""
    values = numbers(mapped, column, ids)
    if column.unit in units()["degrees"]:
        return np.round(100 * np.tan(np.radians(values)), 6)
    return values


def term_codes(mapped: Mapped, column: Column, kind: str, convention: str, ids: np.ndarray) -> np.ndarray:
    """Terms as the vocabulary names them; a word it does not know is kept as written and listed once per word."""
    texts = mapped.text_in(column)
    found = by_text(texts, lambda text: find_term(kind, text, convention) if text else None)
    out = np.array([(term.code if kind == "texture" else term.name) if term else text for term, text in zip(found, texts)], dtype=object)
    unknown = {}
    for position in np.flatnonzero([bool(text) and term is None for text, term in zip(texts, found)]):
        unknown.setdefault(texts[position], position)
    if unknown:
        allowed = ", ".join(dict.fromkeys(term.name for term in terms(kind, convention)))
        for text, position in unknown.items():
            mapped.problem(position, "warning", "term", f"this is no {kind.replace('_', ' ')} of the convention; kept as written",
                           field=column.field.name, pit_id=ids[position], found=text, allowed=allowed[:300])
    return out


def several_terms(mapped: Mapped, column: Column, convention: str, ids: np.ndarray) -> dict[str, np.ndarray]:
    """A cell of several terms, such as ``clear wavy`` or ``moderate medium granular``, to one column a kind."""
    kinds = column.field.parts
    texts = mapped.text_in(column)
    found = by_text(texts, lambda text: _take_apart(text, kinds, convention))
    first = kinds[0][0] if column.field.name == kinds[0][0] else None
    out = {part: np.array([entry[0].get(part, "") for entry in found], dtype=object) for part, _ in kinds}
    seen = set()
    for position, (parts, rest) in enumerate(found):
        if not rest:
            continue
        if first and not parts:
            out[first][position] = texts[position]
        if texts[position] not in seen:
            seen.add(texts[position])
            mapped.problem(position, "warning", "term", f"not all of this is a known {column.field.name.replace('_', ' ')} term"
                           + ("; kept as written" if first and not parts else ""),
                           field=column.field.name, pit_id=ids[position], found=texts[position])
    return out


def _take_apart(text: str, kinds, convention: str) -> tuple[dict[str, str], str]:
    words = [word for word in re.split(r"[\s,;/]+", text.strip()) if word]
    parts: dict[str, str] = {}
    rest = []
    start = 0
    while start < len(words):
        for stop in range(len(words), start, -1):
            chunk = " ".join(words[start:stop])
            hit = next(((part, term) for part, kind in kinds if part not in parts and (term := find_term(kind, chunk, convention))), None)
            if hit:
                parts[hit[0]] = hit[1].name
                start = stop
                break
        else:
            rest.append(words[start])
            start += 1
    return parts, " ".join(rest)


def colours(mapped: Mapped, column: Column, ids: np.ndarray) -> np.ndarray:
    """Munsell colours in their normal form; what is none is kept as written, and listed by the checks."""
    texts = mapped.text_in(column)
    found = by_text(texts, lambda text: parse_colour(text) if text else None)
    return np.array([colour.text if colour else text for colour, text in zip(found, texts)], dtype=object)


def dates(mapped: Mapped, column: Column, order: str | None, ids: np.ndarray) -> np.ndarray:
    """ISO dates. When no row of the column settles day and month, the order must be stated (R13)."""
    texts = mapped.text_in(column)
    codes, unique = pd.factorize(texts)
    numeric = {text: re.fullmatch(r"(\d{1,2})[./\- ](\d{1,2})[./\- ](\d{4})", text) for text in unique}
    pairs = [(int(m[1]), int(m[2])) for m in numeric.values() if m]
    if pairs and order is None:
        day_first = any(first > 12 for first, _ in pairs)
        month_first = any(second > 12 for _, second in pairs)
        if day_first == month_first:
            if all(first == second for first, second in pairs):
                day_first = True
            else:
                raise InputError(
                    "the dates hold both orders of day and month" if day_first else "no date tells day from month",
                    where=f"{mapped.raw.file}, column {column.heading!r}", found=next(t for t, m in numeric.items() if m),
                    remedy='say date_order = "day_first" or "month_first" in [pits]',
                )
        order = "day_first" if day_first else "month_first"
    out = np.array([_one_date(text, numeric[text], order) for text in unique], dtype=object)
    values = out[codes] if len(unique) else texts
    for position in np.flatnonzero((values == "") & (texts != "")):
        mapped.problem(position, "error", "date", "this is not a date", field=column.field.name, pit_id=ids[position],
                       found=texts[position], allowed="2024-05-31, or day, month and year")
    return values


def _one_date(text: str, numeric: re.Match | None, order: str | None) -> str:
    try:
        if numeric:
            first, second, year = int(numeric[1]), int(numeric[2]), int(numeric[3])
            day, month = (first, second) if order == "day_first" else (second, first)
            return datetime.date(year, month, day).isoformat()
        if re.match(r"\d{4}-\d{1,2}-\d{1,2}", text):
            year, month, day = (int(part) for part in re.match(r"(\d{4})-(\d{1,2})-(\d{1,2})", text).groups())
            return datetime.date(year, month, day).isoformat()
        if re.fullmatch(r"\d{8}", text):
            return datetime.date(int(text[:4]), int(text[4:6]), int(text[6:])).isoformat()
        for shape in ("%d %B %Y", "%d %b %Y", "%B %d, %Y", "%b %d, %Y", "%d-%b-%Y", "%Y/%m/%d", "%Y.%m.%d"):
            try:
                return datetime.datetime.strptime(text, shape).date().isoformat()
            except ValueError:
                continue
    except ValueError:
        return ""
    return ""
