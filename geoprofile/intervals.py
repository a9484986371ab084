"""What a pit says of an attribute: an interval, how it is known, and whether the feature is there.

An attribute is never a bare number. ``at_least(60)`` is not 60, ``unknown()`` is
not 0, ``absent`` is not missing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

STATUSES = ("measured", "at_least", "at_most", "between", "absent", "at_surface", "unknown")
PRESENCES = ("present", "absent", "not_seen", "not_described")
BOUNDED = ("at_least", "at_most", "between")
"""Statuses that a method without bounds cannot use."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Low and high (None where there is none), status, presence, evidence, flags.

    ``evidence`` names what it rests on (``designation``, ``effervescence``,
    ``direct reading`` ...); ``flags`` are short plain remarks such as
    ``mixed into Ap``.
    """

    low: float | None
    high: float | None
    status: str
    presence: str
    evidence: str = ""
    flags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.status not in STATUSES:
            raise ValueError(f"status {self.status!r} is none of {STATUSES}")
        if self.presence not in PRESENCES:
            raise ValueError(f"presence {self.presence!r} is none of {PRESENCES}")
        for value in (self.low, self.high):
            if value is not None and not math.isfinite(value):
                raise ValueError("a limit is a finite number or None")
        low, high = self.low, self.high
        agrees = {
            "measured": low is not None and low == high,
            "at_least": low is not None and high is None,
            "at_most": low is None and high is not None,
            "between": low is not None and high is not None and low < high,
            "absent": low == high and low in (0, None),
            "at_surface": low == high == 0,
            "unknown": low is None and high is None,
        }[self.status]
        if not agrees:
            raise ValueError(f"status {self.status} does not go with low {low} and high {high}")

    def because(self, evidence: str, *flags: str) -> Interval:
        """The same interval with its evidence (and further flags) stated."""
        return replace(self, evidence=evidence, flags=self.flags + flags)

    @property
    def is_bounded(self) -> bool:
        return self.status in BOUNDED

    def text(self, decimals: int = 0) -> str:
        """As a mapper writes it: ``17``, ``>60``, ``<30``, ``15-21``, ``absent``, ``unknown``."""
        return interval_text(self.low, self.high, self.status, decimals)


def interval_text(low: float | None, high: float | None, status: str, decimals: int = 0) -> str:
    """See :meth:`Interval.text`. ``>60`` reads: at least 60."""

    def number(value: float) -> str:
        text = f"{value:.{max(decimals, 1)}f}".rstrip("0").rstrip(".")
        return "0" if text == "-0" else text

    match status:
        case "measured":
            return number(low)
        case "at_least":
            return f">{number(low)}"
        case "at_most":
            return f"<{number(high)}"
        case "between":
            return f"{number(low)}-{number(high)}"
        case "at_surface":
            return "0"
        case _:
            return status


def measured(value: float, presence: str = "present") -> Interval:
    return Interval(float(value), float(value), "measured", presence)


def at_least(value: float, presence: str = "present") -> Interval:
    return Interval(float(value), None, "at_least", presence)


def at_most(value: float, presence: str = "present") -> Interval:
    return Interval(None, float(value), "at_most", presence)


def between(low: float, high: float, presence: str = "present") -> Interval:
    """An interval; one of no width is a measurement."""
    if low == high:
        return measured(low, presence)
    return Interval(float(low), float(high), "between", presence)


def absent_thickness() -> Interval:
    """The feature is not there: its thickness is 0."""
    return Interval(0.0, 0.0, "absent", "absent")


def absent_depth() -> Interval:
    """The feature is not there: it has no depth at all."""
    return Interval(None, None, "absent", "absent")


def at_surface() -> Interval:
    """The feature begins at the surface."""
    return Interval(0.0, 0.0, "at_surface", "present")


def unknown(presence: str = "not_described") -> Interval:
    return Interval(None, None, "unknown", presence)
