"""The checks of descriptions as data: their names, severities, what they look at, and their sources."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from .tables import table


@dataclass(frozen=True, slots=True)
class Check:
    """A check under the name that its problems are listed by. ``severity`` is the higher one where it has two.

    ``made_with`` is the stage that makes it: pits or attributes.
    """

    name: str
    severity: str
    looks_at: str
    source: str
    made_with: str = "pits"


@cache
def checks() -> tuple[Check, ...]:
    """Every check, in the order in which a profile is looked at."""
    return tuple(Check(name, **entry) for name, entry in table("checks").items())


@cache
def check_names() -> tuple[str, ...]:
    """Names of the checks of the pits stage."""
    return tuple(check.name for check in checks() if check.made_with == "pits")


@cache
def switchable() -> tuple[str, ...]:
    """Names of the checks that a survey may switch off: not those whose rows are left out, for nothing is lost in silence."""
    return tuple(check.name for check in checks() if check.severity != "error" and check.made_with == "pits")
