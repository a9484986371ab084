"""A horizon convention's table, prepared for reading designations."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from .tables import table

CONVENTIONS = ("canadian", "usda", "wrb")


@dataclass(frozen=True)
class OldForm:
    """A form of earlier years. ``today`` is a template of what it is called now; '' where the old form alone does not decide."""

    pattern: re.Pattern
    note: str
    always: bool = False
    today: str = ""


@dataclass(frozen=True)
class Rules:
    """A convention's table, prepared for parsing. See the TOML for what each field means."""

    name: str
    masters: frozenset[str]
    layers: frozenset[str]
    transitional: frozenset[str]
    suffixes: dict[str, dict]
    organic: frozenset[str]
    fibric_suffix: str
    needs_suffix: frozenset[str]
    roman: bool
    weak_mark: str
    transported_mark: str
    suffix_inside: bool
    order: tuple[str, ...]
    order_matters: tuple[tuple[str, str], ...]
    may_repeat: frozenset[str]
    joins: dict[str, str]
    old: tuple[OldForm, ...]
    old_letters: dict[str, str]
    tokens: tuple[str, ...]


@cache
def rules_of(name: str) -> Rules:
    """The convention of that name; ValueError where there is none."""
    if name not in CONVENTIONS:
        raise ValueError(f"there is no horizon convention {name!r}; there are {', '.join(CONVENTIONS)}")
    data = table(name)
    head = data["convention"]
    return Rules(
        name=name,
        masters=frozenset(data["masters"]),
        layers=frozenset(data["layers"]),
        transitional=frozenset(data["transitional"]["letters"]),
        suffixes={entry["letters"]: entry for entry in data["suffixes"]},
        organic=frozenset(head["organic"]),
        fibric_suffix=head["fibric_suffix"],
        needs_suffix=frozenset(head["needs_suffix"]),
        roman=head["discontinuity"] == "roman",
        weak_mark=head.get("weak_mark", ""),
        transported_mark=head.get("transported_mark", ""),
        suffix_inside=head.get("suffix_inside", False),
        order=tuple(head.get("order", ())),
        order_matters=tuple(tuple(pair) for pair in head.get("order_matters", ())),
        may_repeat=frozenset(head.get("may_repeat", ())),
        joins=data["joins"],
        old=tuple(OldForm(re.compile(entry["pattern"]), entry["note"], entry.get("always", False), entry.get("today", "")) for entry in data["old"]),
        old_letters=data.get("old_letters", {}),
        tokens=tuple(data["published"]["tokens"].split()) + tuple(data["published"].get("joined", ())),
    )
