"""What the letters of a designation mean for an attribute; the table is ``meanings.toml``.

An answer is True, False or None. None is doubtful: a bare B may be a Bt.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

from ..errors import SettingsError
from ..vocabulary.designations import Designation, Part, Suffix, parse_designation

ANY_MASTER = ("B", "C", "A", "E", "O", "H", "R")
"""Masters tried in turn to read the letters after a ``*``."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A master (``*`` = any) and the suffixes that must be there. See :func:`pattern`."""

    text: str
    master: str
    suffixes: tuple[Suffix, ...]

    def fits(self, part: Part) -> bool:
        return (self.master in ("*", part.master)) and all(suffix in part.suffixes for suffix in self.suffixes)


@lru_cache(maxsize=4096)
def pattern(text: str, convention_name: str) -> Pattern:
    """Read ``Bt``, ``A*``, ``*k``, ``Btj``: a master and the suffixes a horizon must carry; others may be there.

    Raises SettingsError when the convention does not know a letter of it.
    """
    found = re.fullmatch(r"(\*|[A-Z]+)(\D*?)\*?", text.strip())
    if found and not found[2]:
        known = found[1] == "*" or parse_designation(found[1] + "k", convention_name).master == found[1]
        if known and found[1] != "*":
            return Pattern(text, found[1], ())
    elif found:
        masters = [found[1]] if found[1] != "*" else ANY_MASTER
        for master in masters:
            parsed = parse_designation(master + found[2], convention_name)
            if parsed.known and len(parsed.parts) == 1:
                return Pattern(text, found[1], parsed.parts[0].suffixes)
    raise SettingsError(
        "a designation pattern cannot be read", found=repr(text),
        allowed=f"a master and suffixes of the {convention_name} convention, as Bt, A*, *k",
        remedy="write the letters that must be there; * stands for any master or for any further letters",
    )


@dataclass(frozen=True)
class Meaning:
    """One entry of ``meanings.toml``."""

    any: tuple[Pattern, ...]
    but_not: tuple[Pattern, ...] = ()
    bare: str = ""
    apart_from: tuple[str, ...] = ()
    parts: str = "only"
    not_buried: bool = False

    def answer(self, designation: Designation) -> bool | None:
        """True, False, or None where the designation does not say."""
        parts = designation.parts
        if not parts:
            return None
        if self.not_buried and designation.buried:
            return False
        looked_at = parts if self.parts == "any" else parts[:1]
        single = len(parts) == 1
        if single or self.parts != "only":
            if any(one.fits(part) for one in self.but_not for part in looked_at):
                return False
            if any(one.fits(part) for one in self.any for part in looked_at):
                return True
        if self.bare and (single or self.parts == "any") and self._is_bare(parts[0]):
            return None  # B/E too; in E/B the E has the larger share
        return False

    def _is_bare(self, part: Part) -> bool:
        return part.master == self.bare and all(suffix.letters in self.apart_from for suffix in part.suffixes)


@cache
def meanings(convention_name: str) -> dict[str, Meaning]:
    """All meanings of a convention by name."""
    return {name: _meaning(entry, convention_name) for name, entry in _table(convention_name).items() if name != "buried"}


@cache
def buried_limits(convention_name: str) -> tuple[float, float]:
    """(mantle_cm, thin_mantle_cm) of a convention: see ``meanings.toml``."""
    entry = _table(convention_name)["buried"]
    return float(entry["mantle_cm"]), float(entry["thin_mantle_cm"])


@cache
def _table(convention_name: str) -> dict:
    return tomllib.loads((files(__package__) / "meanings.toml").read_text(encoding="utf-8"))[convention_name]


def _meaning(entry: dict, convention_name: str) -> Meaning:
    def patterns(key: str) -> tuple[Pattern, ...]:
        return tuple(pattern(text, convention_name) for text in entry.get(key, ()))

    return Meaning(patterns("any"), patterns("but_not"), entry.get("bare", ""), tuple(entry.get("apart_from", ())),
                   entry.get("parts", "only"), entry.get("not_buried", False))  # fmt: skip


@lru_cache(maxsize=65536)
def answers(text: str, convention_name: str) -> dict[str, bool | None]:
    """Every meaning's answer for one designation; all None for a blank one. Callers must not change it."""
    designation = parse_designation(text, convention_name)
    return {name: meaning.answer(designation) for name, meaning in meanings(convention_name).items()}


def pattern_answer(one: Pattern, designation: Designation) -> bool | None:
    """Whether any part of a designation fits a pattern; a bare master is doubtful for a pattern with suffixes."""
    if not designation.parts:
        return None
    if any(one.fits(part) for part in designation.parts):
        return True
    first = designation.parts[0]
    bare = len(designation.parts) == 1 and not first.suffixes and first.master == one.master and first.master in "AB"
    return None if bare and one.suffixes and designation.convention == "canadian" else False
