"""The depths behind a designation: ``0 to 9 inches``, ``17-45``, ``45+``, ``15 (10-21)``, ``from about 17 down to 45 centimetres``."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..depths import UNIT_WORDS
from .tokens import Token

LARGEST = 2000.0
_ABOUT = {"about", "approximately", "roughly", "circa", "ca", "~", "around", "from", "at", "starting", "beginning"}
_OR = {"perhaps", "or", "maybe", "possibly", "/"}
_JOINS = {"-", "to", "through", "until"}
_BEFORE_JOIN = {"down", "up"}
_NOT_DEPTHS = {"thick", "%", "percent", "per", "slope", "slopes", "°", "degrees"}
_DAMAGED = {"o": 0.0, "l": 1.0}


@dataclass(frozen=True, slots=True)
class Limit:
    """One depth as written; ``low`` and ``high`` where more than one number was given."""

    value: float
    low: float
    high: float
    unit: str = ""

    def text(self, factor: float) -> str:
        """``15``, ``15-17`` or ``15 (10-21)``, times the factor."""
        value, low, high = (f"{round(number * factor, 4):g}" for number in (self.value, self.low, self.high))
        if low == high:
            return value
        return f"{low}-{high}" if abs(self.value - (self.low + self.high) / 2) < 1e-9 else f"{value} ({low}-{high})"


@dataclass(frozen=True, slots=True)
class Depths:
    """Upper and lower depth as written, in ``unit`` ('' where none is said). ``lower`` is None where the horizon is open below."""

    upper: Limit
    lower: Limit | None
    unit: str
    open_below: bool
    start: int
    end: int
    notes: tuple[str, ...] = ()


def depths_at(row: list[Token], at: int) -> tuple[Depths, int] | None:
    """The depths that begin at token ``at``, and the token behind them; None where none do."""
    start = at
    first = _limit(row, at)
    if first is None:
        return None
    upper, at, notes = first
    at, plus = _plus(row, at)
    lower = None
    second = None if plus else _second(row, at)
    if second is not None:
        lower, at, more = second
        notes += more
        at, plus = _plus(row, at)
    elif not plus and at < len(row) and row[at].key == "-" and (at + 1 == len(row) or row[at + 1].kind != "number"):
        pass  # R 35- : a dash that leads to no second depth belongs to the text
    unit = (lower.unit if lower else "") or upper.unit
    late = _unit(row, at)
    if late and not unit:
        unit, at = late
        at, more_plus = _plus(row, at)
        plus = plus or more_plus
    at = _converted(row, at)
    if at < len(row) and row[at].key in _NOT_DEPTHS:
        return None
    if max(limit.high for limit in (upper, lower) if limit) > LARGEST:
        return None
    upper = replace(upper, unit=unit)
    return Depths(upper, lower, unit, lower is None or plus, row[start].start, row[at - 1].end, notes), at


def _limit(row: list[Token], at: int) -> tuple[Limit, int, tuple[str, ...]] | None:
    while at < len(row) and row[at].key in _ABOUT:
        at += 1
    number = _number(row, at)
    if number is None:
        return None
    value, at, notes = number
    unit = ""
    found = _unit(row, at)
    if found:
        unit, at = found
    low = high = value
    spot = at
    if spot < len(row) and row[spot].key == ",":
        spot += 1
    if spot < len(row) and row[spot].key in _OR:
        other = _number(row, spot + 1)
        if other is not None and not (row[spot].key == "/" and row[spot + 1].start > row[spot].end + 1):
            low, high = sorted((value, other[0]))
            value, at = (low + high) / 2, other[1]
            found = _unit(row, at)
            if found:
                unit, at = found
    bounds = _bounds(row, at, value, unit)
    if bounds:
        low, high, at = bounds
    return Limit(value, low, high, unit), at, notes


def _number(row: list[Token], at: int) -> tuple[float, int, tuple[str, ...]] | None:
    if at >= len(row):
        return None
    if row[at].kind == "word" and row[at].key in _DAMAGED and at + 1 < len(row) and row[at + 1].key in _JOINS:
        return _DAMAGED[row[at].key], at + 1, (f"{row[at].text} read as {_DAMAGED[row[at].key]:g}",)
    if row[at].kind != "number":
        return None
    value, at = float(row[at].key), at + 1
    if at + 2 < len(row) and row[at].kind == row[at + 2].kind == "number" and row[at + 1].key == "/" and float(row[at + 2].key) in (2, 4, 8):
        value, at = value + float(row[at].key) / float(row[at + 2].key), at + 3  # 2 1/2 inches
    return value, at, ()


def _second(row: list[Token], at: int) -> tuple[Limit, int, tuple[str, ...]] | None:
    spot = at
    if spot < len(row) and row[spot].key == "," and spot + 1 < len(row) and row[spot + 1].key in _BEFORE_JOIN | {"to"}:
        spot += 1
    while spot < len(row) and row[spot].key in _BEFORE_JOIN:
        spot += 1
    if spot >= len(row) or row[spot].key not in _JOINS:
        return None
    spot += 1
    return _limit(row, spot)


def _unit(row: list[Token], at: int) -> tuple[str, int] | None:
    if at >= len(row):
        return None
    key = row[at].key
    if key not in UNIT_WORDS or (key in ("m", "in", "'") and at + 1 < len(row) and row[at + 1].kind == "word"):
        return None  # "in pasture", "10YR 3/2 m": not a unit
    at += 1
    if at + 1 < len(row) and row[at].key == "." and row[at + 1].key in (",", ";", ")", "(", "to", "-"):
        at += 1
    return UNIT_WORDS[key], at


def _plus(row: list[Token], at: int) -> tuple[int, bool]:
    keys = [token.key for token in row[at : at + 2]]
    if keys[:1] == ["+"] or keys[:1] == ["plus"]:
        return at + 1, True
    if len(keys) == 2 and keys[0] == "and" and keys[1] in ("below", "deeper", "more", "beyond", "down"):
        return at + 2, True
    return at, False


def _bounds(row: list[Token], at: int, value: float, unit: str) -> tuple[float, float, int] | None:
    """``(10-21)`` behind a depth: its limits, when they hold it and are in its unit."""
    inside = _in_brackets(row, at)
    if not inside:
        return None
    low, high, own, end = inside
    if high is None or (own and own != unit and unit) or not low <= value <= high:
        return None
    if own and not unit:
        return None
    return low, high, end


def _converted(row: list[Token], at: int) -> int:
    """Behind the depths the same in another unit: ``(0 to 8 inches)``."""
    inside = _in_brackets(row, at)
    return inside[3] if inside and inside[2] else at


def _in_brackets(row: list[Token], at: int) -> tuple[float, float | None, str, int] | None:
    if at >= len(row) or row[at].key != "(":
        return None
    first = _number(row, at + 1)
    if first is None:
        return None
    low, spot, _ = first
    unit = _unit(row, spot)
    if unit:
        spot = unit[1]
    high = None
    if spot < len(row) and row[spot].key in _JOINS:
        second = _number(row, spot + 1)
        if second is None:
            return None
        high, spot, _ = second
        unit = _unit(row, spot) or unit
        spot = max(spot, unit[1]) if unit else spot
    if spot < len(row) and row[spot].key == "+":
        spot += 1
    if spot >= len(row) or row[spot].key != ")":
        return None
    return low, high, unit[0] if unit else "", spot + 1
