"""One number of a depth and its unit: with its fraction, mended where a scanner damaged it, and none of the number of the next field."""

from __future__ import annotations

from ...vocabulary.tables import table
from ..depths import UNIT_WORDS
from .tokens import HUES, Token

DEEPEST_M = 6.0
"""No horizon lies deeper, in metres: an ``m`` behind a larger number is a word of its own."""
JOINS = {"-", "to", "through", "until"}
_DAMAGED = {"o": 0.0, "l": 1.0}


def number_at(row: list[Token], at: int) -> tuple[float, int, tuple[str, ...]] | None:
    """(number, the token behind it, what was read otherwise) of the number at token ``at``; None where there is none that can be a depth."""
    if at >= len(row):
        return None
    if row[at].kind == "word" and row[at].key in _DAMAGED and at + 1 < len(row) and row[at + 1].key in JOINS:
        return _DAMAGED[row[at].key], at + 1, (f"{row[at].text} read as {_DAMAGED[row[at].key]:g}",)
    damaged = _damaged(row, at)
    if damaged:
        return damaged
    if row[at].kind != "number" or _is_of_the_next_field(row, at):
        return None
    value, at = float(row[at].key), at + 1
    if at + 2 < len(row) and row[at].kind == row[at + 2].kind == "number" and row[at + 1].key == "/" and float(row[at + 2].key) in (2, 4, 8) and float(row[at].key) < float(row[at + 2].key) and is_glued(row, at + 1):
        value, at = value + float(row[at].key) / float(row[at + 2].key), at + 3  # 2 1/2 inches
    return value, at, ()


def is_glued(row: list[Token], at: int) -> bool:
    """Whether the mark at ``at`` touches the tokens before and behind it: ``37/45``, and not ``4 / 10YR``."""
    return at + 1 < len(row) and row[at - 1].end == row[at].start and row[at].end == row[at + 1].start


def _is_of_the_next_field(row: list[Token], at: int) -> bool:
    """Whether a number behind a depth begins a colour, a share, a grade of structure or a half of a colour: ``0-4 - 10YR 3/2``, ``0 to 20, perhaps 10 %``."""
    behind = row[at + 1 : at + 4]
    if len(behind) < 1:
        return False
    if behind[0].text.upper() in HUES and len(behind) > 1 and (behind[1].kind == "number" or behind[1].text.upper() in HUES):
        return True
    if behind[0].key in ("%", "percent", "pct", "per"):
        return True
    return row[at].key in ("0", "1", "2", "3") and behind[0].key in table("notes")["codes"]["size"] and len(behind) > 1 and behind[1].kind == "word" and behind[1].key in table("notes")["codes"]["kind"]


def _damaged(row: list[Token], at: int) -> tuple[float, int, tuple[str, ...]] | None:
    """A number in which a scanner took a 1 for an l or a 0 for an O: ``l2``, ``3O``."""
    one, two = row[at], row[at + 1] if at + 1 < len(row) else None
    if one.kind == "word" and len(one.key) == 2 and one.key[0] in "lio" and one.key[1].isdigit():
        value, end, written = f"{one.key[0]}{one.key[1]}", at + 1, one.text
    elif one.kind == "number" and one.key.isdigit() and two and two.start == one.end and two.key in ("o", "l"):
        value, end, written = f"{one.key}{two.key}", at + 2, one.text + two.text
    else:
        return None
    number = value.replace("l", "1").replace("i", "1").replace("o", "0")
    return float(number), end, (f"{written} read as {number}",)


def unit_at(row: list[Token], at: int) -> tuple[str, int] | None:
    """(unit, token behind it) where one stands at a token; None for the same letters as a word."""
    if at >= len(row):
        return None
    if row[at].key == "-" and at + 1 < len(row) and row[at + 1].key in UNIT_WORDS and len(row[at + 1].key) > 1:
        at += 1
    key = row[at].key
    if key not in UNIT_WORDS or (key in ("m", "in", "'") and at + 1 < len(row) and row[at + 1].kind == "word"):
        return None  # "in pasture", "10YR 3/2 m": not a unit
    if key == "m" and at and row[at - 1].kind == "number" and float(row[at - 1].key) > DEEPEST_M:
        return None  # 23-48, m: massive
    if key == "m" and at + 2 < len(row) and row[at + 1].kind == "number" and row[at + 2].text.upper() in HUES:
        return None  # 10-30 m 10YR 3/2
    at += 1
    if at + 1 < len(row) and row[at].key == "." and row[at + 1].key in (",", ";", ":", ")", "(", "to", "-", "+"):
        at += 1
    return UNIT_WORDS[key], at


def in_brackets(row: list[Token], at: int) -> tuple[float, float | None, str, int] | None:
    """(low, high or None, unit, token behind) of numbers in brackets, as ``(10-21 cm)``."""
    if at >= len(row) or row[at].key != "(":
        return None
    first = number_at(row, at + 1)
    if first is None:
        return None
    low, spot, _ = first
    unit = unit_at(row, spot)
    if unit:
        spot = unit[1]
    high = None
    if spot < len(row) and row[spot].key in JOINS:
        second = number_at(row, spot + 1)
        if second is None:
            return None
        high, spot, _ = second
        unit = unit_at(row, spot) or unit
        spot = max(spot, unit[1]) if unit else spot
    if spot < len(row) and row[spot].key == "+":
        spot += 1
    if spot >= len(row) or row[spot].key != ")":
        return None
    return low, high, unit[0] if unit else "", spot + 1
