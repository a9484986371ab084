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
from ..vocabulary.parts import without_part
from ..vocabulary.terms import Term, find_term, terms
from ..vocabulary.texture import names_rock, several_textures, split_modifiers
from .columns import Column, Mapped, units
from .unknown_terms import list_unknown

_DASHES = str.maketrans({"\u2212": "-", "\u2013": "-", "\u2014": "-", "\u2010": "-", "\u2011": "-", "\u00b4": "'", "\u2019": "'"})
_NUMBER = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*)", re.DOTALL)
TWO_STAND = ("structure_size", "structure_grade", "structure_kind", "boundary_distinctness", "boundary_form", "consistence")
"""Kinds of which a horizon may have two at once: ``fine and medium subangular blocky``."""
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
    decimal, refused = decimal_of(mapped, column, texts, ids)
    direct = pd.to_numeric(pd.Series(np.where(texts == "", "nan", texts)).str.replace(",", "." if decimal == "," else ",", regex=False),
                           errors="coerce").to_numpy(float)
    factor = _factor(field.unit, column.unit)
    done = (texts == "") | np.isfinite(direct) | refused
    values = np.where(np.isfinite(direct) & ~refused, direct * factor, np.nan)
    if field.needs_unit and not column.unit:
        done = (texts == "") | refused
        values[:] = np.nan
    for position in np.flatnonzero(~done):
        value, fault = _one_number(plain(texts[position], decimal), field, column)
        if fault:
            mapped.problem(position, "error", "value", fault, field=field.name, pit_id=ids[position], found=texts[position],
                           allowed=f"a number in {field.unit}" if field.unit else "a number",
                           remedy="correct the cell, or list the word under missing in [pits]")
        else:
            values[position] = value
    _hold_percent(mapped, column, values, ids)
    return values


def _hold_percent(mapped: Mapped, column: Column, values: np.ndarray, ids: np.ndarray) -> None:
    """Shares beyond 0 to 100 % are not used; a column of sand, silt or clay that never passes 1 is asked about (R16)."""
    if column.field.unit != "%" or column.field.kind != "number":
        return
    with np.errstate(invalid="ignore"):
        beyond = np.flatnonzero((values < 0) | (values > 100 + 1e-9))
    known = values[np.isfinite(values)]
    if len(beyond):
        rows = ", ".join(map(str, mapped.raw.rows[beyond][:12])) + (" ..." if len(beyond) > 12 else "")
        mapped.problem(int(beyond[0]), "error", "unit", f"{len(beyond)} values are no percentage and were not used", field=column.field.name,
                       pit_id=ids[beyond[0]], found=f"{values[beyond[0]]:g} in rows {rows}", allowed="0 to 100 %",
                       remedy=f'say the unit, as {column.field.name} = "g/kg" in [pits.units], or correct the cells')
        values[beyond] = np.nan
    elif column.field.name in ("sand", "silt", "clay") and not column.unit and len(known) >= 3 and 0 < known.max() <= 1:
        mapped.problem(0, "warning", "unit", "no value passes 1: these look like fractions and were read as percent", field=column.field.name,
                       found=f"largest {known.max():g}", remedy=f'say {column.field.name} = "fraction" in [pits.units] if they are')


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


def decimal_of(mapped: Mapped, column: Column, texts: np.ndarray, ids: np.ndarray) -> tuple[str, np.ndarray]:
    """The decimal mark of a column, and the rows that cannot be read by it (listed once, R1, R2).

    It is the file's mark. A column that uses only the other mark is read by that, with a
    warning, unless every number has three digits behind it and may be a thousand.
    """
    mark = mapped.raw.decimal
    other = "." if mark == "," else ","
    refused = np.zeros(len(texts), bool)
    with_other = _with_mark(texts, other)
    if not with_other.any():
        return mark, refused
    with_mark = _with_mark(texts, mark)
    names = {",": "comma", ".": "point"}
    thousands = all(re.fullmatch(r"\D*\d{1,3}[.,]\d{3}\D*", text) for text in texts[with_other])
    if not with_mark.any() and not (thousands and mapped.raw.has_decimals):
        if mapped.raw.has_decimals:
            first = int(np.flatnonzero(with_other)[0])
            mapped.problem(first, "warning", "decimal mark", f"this column uses the decimal {names[other]}, the rest of the file the {names[mark]}",
                           field=column.field.name, pit_id=ids[first], found=texts[first], remedy="use one mark in the whole file")
        return other, refused
    few = with_other if with_other.sum() <= with_mark.sum() or not with_mark.any() else with_mark
    refused |= few
    first = int(np.flatnonzero(few)[0])
    rows = ", ".join(map(str, mapped.raw.rows[few][:20])) + (" ..." if few.sum() > 20 else "")
    what = "a column of numbers holds both decimal marks" if with_mark.any() else "these may be thousands or decimals, so they were not read"
    mapped.problem(first, "error", "decimal mark", what, field=column.field.name, pit_id=ids[first], found=f"{texts[first]} in rows {rows}",
                   allowed=f"decimal {names[mark]}, no mark for thousands", remedy="use one mark in the whole file")
    return (mark if few is with_other else other), refused


def _with_mark(texts: np.ndarray, mark: str) -> np.ndarray:
    pattern = re.compile(r"\d" + re.escape(mark) + r"\d")
    return np.array([mark in text and bool(pattern.search(text)) for text in texts], bool)


def slopes(mapped: Mapped, column: Column, ids: np.ndarray) -> np.ndarray:
    """Slope in percent; degrees are converted by their tangent."""
    values = numbers(mapped, column, ids)
    if column.unit in units()["degrees"]:
        return np.round(100 * np.tan(np.radians(values)), 6)
    return values


def term_codes(mapped: Mapped, column: Column, kind: str, convention: str, ids: np.ndarray) -> np.ndarray:
    """Terms as the vocabulary names them (textures by their code, where they have one).

    A word it does not know is kept as written and listed once per word; several textures of one horizon once per column.
    """
    texts = mapped.text_in(column)
    found = by_text(texts, lambda text: (find_term(kind, without_part(text), convention) or _two_terms(kind, text, convention)) if text else None)
    out = np.array([((kind == "texture" and term.code) or term.name) if term else text for term, text in zip(found, texts)], dtype=object)
    unknown, names = {}, mapped.text("designation")
    for position in np.flatnonzero([bool(text) and term is None for text, term in zip(texts, found)]):
        if not (kind == "texture" and names_rock(texts[position], names[position], convention)):
            unknown.setdefault(texts[position], []).append(int(position))
    several = {text: at[0] for text, at in unknown.items() if kind == "texture" and several_textures(text, convention)}
    allowed = ", ".join(dict.fromkeys(term.name for term in terms(kind, convention))) if unknown else ""
    list_unknown(mapped, column, kind, f"this is no {kind.replace('_', ' ')} of the convention; kept as written",
                 {text: at for text, at in unknown.items() if text not in several}, ids, convention, allowed)  # fmt: skip
    if several:
        first = min(several.values())
        those = np.isin(texts.astype(str), list(several))
        rows = int(those.sum())
        mapped.problem(first, "note", "term", f"{rows} horizons have several textures or are stratified; kept as written, without one class",
                       field=column.field.name, pit_id=ids[first] if len(set(ids[those])) == 1 else "", found=", ".join(sorted(several)))
    return out


def _two_terms(kind: str, text: str, convention: str) -> Term | None:
    """``fine and medium``, ``clear to gradual``: both are terms, and both stand. Textures of one horizon are told apart elsewhere."""
    parts = re.split(r"\s+(and|to)\s+", text.strip()) if kind in TWO_STAND else []
    terms_of = [find_term(kind, part, convention) for part in parts[::2]]
    if len(parts) < 3 or not all(terms_of):
        return None
    return Term("", terms_of[0].name + "".join(f" {join} {term.name}" for join, term in zip(parts[1::2], terms_of[1:])), 0)


def modifiers_as_written(mapped: Mapped, column: Column, convention: str) -> np.ndarray:
    """``texture GRV-SL`` where a texture carries words that its class does not say, else blank: nothing is lost."""
    def said(text: str) -> str:
        term = find_term("texture", text, convention) if text else None
        if term is None or text.casefold() in (term.code.casefold(), term.name.casefold()):
            return ""
        known = split_modifiers(text, convention)
        return f"texture {text}" if known and known[0] and known[1] else ""

    return by_text(mapped.text_in(column), said)


def several_terms(mapped: Mapped, column: Column, convention: str, ids: np.ndarray) -> dict[str, np.ndarray]:
    """A cell of several terms, such as ``clear wavy`` or ``moderate medium granular``, to one column a kind."""
    kinds = column.field.parts
    texts = mapped.text_in(column)
    found = by_text(texts, lambda text: _take_apart(without_part(text), kinds, convention))
    first = kinds[0][0] if column.field.name == kinds[0][0] else None
    out = {part: np.array([entry[0].get(part, "") for entry in found], dtype=object) for part, _ in kinds}
    partly: dict[bool, dict[str, list[int]]] = {False: {}, True: {}}
    for position, (parts, rest) in enumerate(found):
        if rest:
            whole = bool(first and not parts)
            if whole:
                out[first][position] = texts[position]
            partly[whole].setdefault(texts[position], []).append(position)
    for whole, places in partly.items():
        what = f"not all of this is a known {column.field.name.replace('_', ' ')} term" + ("; kept as written" if whole else "")
        list_unknown(mapped, column, "", what, places, ids, convention)
    return out


def _take_apart(text: str, kinds, convention: str) -> tuple[dict[str, str], str]:
    words = [word for word in re.split(r"[\s,;/]+", text.strip()) if word]
    parts, rest, start = {}, [], 0
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
