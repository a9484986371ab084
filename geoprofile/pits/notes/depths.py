"""The depths behind a designation: ``0 to 9 inches``, ``17-45``, ``45+``, ``15 (10-21)``, ``from about 17 down to 45 centimetres``."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..depths import UNIT_WORDS
from .depth_numbers import JOINS, in_brackets, is_glued, number_at, unit_at
from .tokens import Token

LARGEST = 2000.0
_ABOUT = {"about", "approximately", "roughly", "circa", "ca", "~", "around", "from", "at", "starting", "beginning"}
_OR = {"perhaps", "or", "maybe", "possibly", "/"}
_BEFORE_JOIN = {"down", "up", "and", "then", "it", "goes", "going", "runs", "running", "extends", "extending", "continues", "on", "all", "the", "way", "ends", "ending", "stops"}
_ENDS = {"ends", "ending", "stops"}
_DEEPER = {">", "below", "beyond", "under", "beneath", "past"}
_ON_DOWN = ("and below", "and deeper", "and more", "and beyond", "and down", "and on", "and downward", "or more", "or deeper", "on down", "down", "downward", "downwards", "to bottom", "to base", "to the bottom")
_KEEPS_GOING = {"and it keeps going", "and keeps going", "and it continues", "and still going", "and going", "and it goes on", "and goes on"}
_BOTTOM = {"the", "bottom", "base", "end", "of", "pit", "hole", "at", "a", "depth"}
_CORRECTS = {"no", "sorry", "wait", "correction", "actually", "rather"}
_AROUND_CORRECTION = {*_CORRECTS, "make", "that", "i", "mean", "say", "scratch", "it's", "its", "is", "should", "be", ".", ",", "-", "um", "uh"}
_BEHIND_A_DEPTH = {",", ";", ":", ".", "(", ")", "[", "]", "|", "+", "plus", "and", "where"}
NEAR = 0.4
"""Two readings of one depth: the smaller is at least this part of the larger."""
_SURFACE = {"surface", "top", "nought", "oh"}
_NOT_DEPTHS = {"thick", "%", "percent", "per", "slope", "slopes", "°", "degrees"}


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
    open_plainly: bool = False
    """Whether the words say that the horizon goes on below (``+``, ``and below``)."""


def goes_on_from(depths: Depths, last: Depths) -> bool:
    """Whether depths begin where the last end."""
    return last.lower is not None and depths.upper.low <= last.lower.high and depths.upper.high >= last.lower.low


def depths_at(row: list[Token], at: int) -> tuple[Depths, int] | None:
    """The depths that begin at token ``at``, and the token behind them; None where none do."""
    start = at
    if at < len(row) and row[at].key == "between":  # between 18 and 35 cm
        joint = next((place for place in range(at + 1, min(at + 6, len(row))) if row[place].key == "and"), None)
        if joint is None:
            return None
        row, at = [*row[:joint], replace(row[joint], key="to"), *row[joint + 1 :]], at + 1
    deeper = at + 1 < len(row) and row[at].key in _DEEPER
    first = _limit(row, at + 1 if deeper else at, up_to=True)
    if first is None:
        return None
    upper, at, notes = first
    at, plus = _plus(row, at)
    plus = plus or deeper
    lower = None
    second = None if plus else _second(row, at)
    if second is not None:
        lower, at, more = second
        notes += more
        at, plus = _plus(row, at)
    elif not plus and _runs_on(row, at):
        plus = True
    elif not plus and at < len(row) and row[at].key == "-" and (at + 1 == len(row) or row[at + 1].kind != "number"):
        pass  # R 35- : a dash that leads to no second depth belongs to the text
    unit = (lower.unit if lower else "") or upper.unit
    late = unit_at(row, at)
    if late and not unit:
        unit, at = late
        at, more_plus = _plus(row, at)
        plus = plus or more_plus
    elif unit and at < len(row) and UNIT_WORDS.get(row[at].key) == unit and len(row[at].key) < 3:
        at += 1  # 0.00 m - 0.21 m HORIZON Ap
    at = _converted(row, at, unit)
    corrected = _corrected(row, at, replace(upper, unit=unit) if lower else None)
    if corrected:
        better, end = corrected
        said = " ".join(token.text for token in row[start:at])
        return replace(better, unit=better.unit or unit, start=row[start].start, notes=(*better.notes, f"{said} was corrected by the speaker")), end
    if at < len(row) and row[at].key in _NOT_DEPTHS:
        return None
    if max(limit.high for limit in (upper, lower) if limit) > LARGEST:
        return None
    upper = replace(upper, unit=unit)
    return Depths(upper, lower, unit, lower is None or plus, row[start].start, row[at - 1].end, notes, plus), at


def _corrected(row: list[Token], at: int, upper: Limit | None) -> tuple[Depths, int] | None:
    """``22 to 50, no sorry, 22 to 55``: the depths said last; of one alone (``22 to 50, no, 55``) the lower."""
    spot = at
    while spot < len(row) and row[spot].key in _AROUND_CORRECTION:
        spot += 1
    if spot == len(row) or not _CORRECTS & {token.key for token in row[at:spot]}:
        return None
    found = depths_at(row, spot)
    if found is None and upper is not None:  # 12 to 35, no wait, the tape slipped, 12 to 38
        number = next((place for place in range(spot, min(spot + 8, len(row))) if row[place].kind == "number"), spot)
        found = depths_at(row, number)
        found = found if found and found[0].lower is not None and found[0].upper.value == upper.value else None
    if found is None or found[0].lower is not None or upper is None:
        return found if found and found[0].lower is not None else None
    better, end = found
    behind = row[end].key if end < len(row) else ";"
    if (behind not in _BEHIND_A_DEPTH and not (behind[0].isalpha() and behind not in _NOT_DEPTHS and behind not in UNIT_WORDS)) or better.upper.value <= upper.value or (better.unit and upper.unit and better.unit != upper.unit):
        return None
    unit = better.unit or upper.unit
    return Depths(replace(upper, unit=unit), better.upper, unit, better.open_plainly, better.start, better.end, better.notes, better.open_plainly), end


def _limit(row: list[Token], at: int, up_to: bool = False) -> tuple[Limit, int, tuple[str, ...]] | None:
    """A depth with its limits. ``up_to``: the first depth, of which ``15-20 to 45`` gives two numbers."""
    while at < len(row) and (row[at].key in _ABOUT or row[at].key == "+" or (row[at].key == "the" and at + 1 < len(row) and row[at + 1].key in _SURFACE)):
        at += 1
    if at < len(row) and row[at].key in _SURFACE:
        return Limit(0.0, 0.0, 0.0), at + 1, ()
    number = number_at(row, at)
    if number is None:
        return None
    value, at, notes = number
    unit = ""
    found = unit_at(row, at)
    if found:
        unit, at = found
    low = high = value
    spot = at
    if spot < len(row) and row[spot].key == ",":
        spot += 1
    if spot + 1 < len(row) and row[spot].key == "or" and row[spot + 1].key in _OR:  # or maybe
        spot += 1
    if spot < len(row) and row[spot].key in _OR:
        other = _other_number(row, spot, value, up_to)
        if other is not None:
            low, high = sorted((value, other[0]))
            value, at = (low + high) / 2, other[1]
            found = unit_at(row, at)
            if found:
                unit, at = found
    twice = None if unit or low != high else _second_number(row, at, up_to)
    if twice is not None:
        low, high = sorted((value, twice[0]))
        value, at = (low + high) / 2, twice[1]
        found = unit_at(row, at)
        if found:
            unit, at = found
    bounds = _bounds(row, at, value, unit)
    if bounds:
        low, high, at = bounds
    return Limit(value, low, high, unit), at, notes


def _other_number(row: list[Token], at: int, value: float, up_to: bool) -> tuple[float, int] | None:
    """The number behind ``or``, ``perhaps`` or a slash, where it is another reading of the same depth: near it, and with nothing behind that counts something else."""
    other = number_at(row, at + 1)
    if other is None:
        return None
    if row[at].key == "/":
        return other[:2] if is_glued(row, at) else None
    number, end, _ = other
    unit = unit_at(row, end)
    behind = row[unit[1] if unit else end].key if (unit[1] if unit else end) < len(row) else ";"
    near = min(value, number) >= NEAR * max(value, number)
    stops = behind in _BEHIND_A_DEPTH or (up_to and behind in JOINS | _BEFORE_JOIN)
    return (number, end) if near and (stops or (unit is not None and behind not in _NOT_DEPTHS and behind not in ("/", "-") and not behind[0].isdigit())) else None


def _second_number(row: list[Token], at: int, up_to: bool) -> tuple[float, int] | None:
    """``15-20`` where the horizon goes from or to a range: ``15-20 to 45``, ``0 to 15-20``."""
    if at >= len(row) or row[at].key != "-" or not is_glued(row, at):
        return None  # 0 to 20 - 15 samples
    number = number_at(row, at + 1)
    if number is None:
        return None
    value, end, _ = number
    unit = unit_at(row, end)
    behind = unit[1] if unit else end
    before = at >= 2 and row[at - 2].key == "to"
    joined = behind < len(row) and row[behind].key == "to" and number_at(row, behind + 1) is not None
    return (value, end) if (joined if up_to else before) else None


def _runs_on(row: list[Token], at: int) -> bool:
    """``45 cm down``, ``45 cm to bottom of pit``: words that say the horizon goes on, and stay words."""
    words = " ".join(token.key for token in row[at : at + 3])
    return any(words == said or words.startswith(said + " ") for said in _ON_DOWN)


def _second(row: list[Token], at: int) -> tuple[Limit, int, tuple[str, ...]] | None:
    spot = at
    if spot < len(row) and row[spot].key == "," and spot + 1 < len(row) and row[spot + 1].key in _BEFORE_JOIN | {"to"}:
        spot += 1
    while spot < len(row) and row[spot].key in _BEFORE_JOIN:
        spot += 1
    if spot < len(row) and row[spot].key == "at" and row[spot - 1].key in _ENDS:
        return _limit(row, spot + 1)
    if spot >= len(row) or row[spot].key not in JOINS:
        return None
    spot += 1
    while spot < len(row) and row[spot].key in _BOTTOM:  # to the bottom at 120
        spot += 1
    if row[spot - 1].key == "-" and spot < len(row) and row[spot].key == "to":  # 0- to 7-inches
        spot += 1
    return _limit(row, spot)


def _plus(row: list[Token], at: int) -> tuple[int, bool]:
    going = next((count for count in (4, 3, 2) if " ".join(token.key for token in row[at : at + count]) in _KEEPS_GOING), 0)
    if going:
        return at + going, True
    keys = [token.key for token in row[at : at + 2]]
    if keys[:1] == ["+"] or keys[:1] == ["plus"]:
        return at + 1, True
    if len(keys) == 2 and (" ".join(keys) in _ON_DOWN[:8]):
        return at + 2, True
    return at, False


def _bounds(row: list[Token], at: int, value: float, unit: str) -> tuple[float, float, int] | None:
    """``(10-21)`` behind a depth: its limits, when they hold it and are in its unit."""
    inside = in_brackets(row, at)
    if not inside:
        return None
    low, high, own, end = inside
    if high is None and not own and not unit and unit_at(row, end):  # 15(20) cm
        return min(value, low), max(value, low), end
    if high is None or (own and own != unit and unit) or not low <= value <= high:
        return None
    if own and not unit:
        return None
    return low, high, end


def _converted(row: list[Token], at: int, unit: str) -> int:
    """Behind the depths the same in another unit: ``(0 to 8 inches)``. In the same unit it is something else."""
    inside = in_brackets(row, at)
    return inside[3] if inside and inside[2] and inside[2] != unit else at