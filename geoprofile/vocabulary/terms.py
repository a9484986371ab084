"""Terms of the trade, found by their published name, their published code or a common spelling.

The words are data (``tables/*.toml``); where conventions differ, a term says to
which it belongs. A word that no table knows is never guessed: ``find_term`` gives
None and ``nearest_term`` a proposal.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache, lru_cache

from .tables import table

TABLE_OF = {
    "texture": "texture",
    "structure_kind": "structure",
    "structure_grade": "structure",
    "structure_size": "structure",
    "consistence": "consistence",
    "effervescence": "effervescence",
    "carbonate_class": "effervescence",
    "boundary_distinctness": "boundary",
    "boundary_form": "boundary",
    "drainage": "drainage",
    "slope_class": "slope",
    "slope_position": "slope",
    "stoniness": "stoniness",
    "mottle_abundance": "mottles",
    "mottle_contrast": "mottles",
    "observation_kind": "observation",
    "stopped_by": "observation",
    "land_use": "land",
    "parent_material": "land",
    "reaction": "reaction",
}
"""Kind of term -> the table that holds it."""


@dataclass(frozen=True, slots=True)
class Term:
    """A term: published code ('' where there is none), name, place in the order of its kind."""

    code: str
    name: str
    order: int
    low: float | None = None
    """Limits of the class where the source gives them, in the unit the table's header names."""
    high: float | None = None


@cache
def terms(kind: str, convention: str = "canadian") -> tuple[Term, ...]:
    """All terms of a kind in a convention, in order. Raises KeyError for a kind there is not."""
    return tuple(dict.fromkeys(term for term, _ in _entries(kind, convention)))


@lru_cache(maxsize=65536)
def find_term(kind: str, text: str, convention: str = "canadian") -> Term | None:
    """The term meant by ``text``; None where no table knows it (see :func:`nearest_term`).

    Capitals, hyphens and spaces do not matter. A texture may carry modifiers
    (``very gravelly sandy loam``, ``GRV-SL``): the class is returned.
    """
    found = _lookup(kind, convention).get(_key(text))
    if found is None and kind == "texture":
        from .texture import split_modifiers

        _, bare = split_modifiers(text, convention)
        found = _lookup(kind, convention).get(_key(bare))
    return found


def nearest_term(kind: str, text: str, convention: str = "canadian") -> str:
    """The name that looks most like ``text``; '' where none is near. A proposal, never applied."""
    near = get_close_matches(_key(text), list(_lookup(kind, convention)), 1, 0.75)
    return _lookup(kind, convention)[near[0]].name if near else ""


@cache
def _entries(kind: str, convention: str) -> tuple[tuple[Term, tuple[str, ...]], ...]:
    if kind not in TABLE_OF:
        raise KeyError(f"there is no kind of term {kind!r}; there are {', '.join(TABLE_OF)}")
    found = []
    for entry in table(TABLE_OF[kind])[kind]:
        if convention not in entry.get("conventions", (convention,)):
            continue
        term = Term(str(entry.get("code", "")), entry["name"], len(found) + 1, entry.get("low"), entry.get("high"))
        found.append((term, tuple(entry.get("spellings", ()))))
    return tuple(found)


@cache
def _lookup(kind: str, convention: str) -> dict[str, Term]:
    """Normalised spelling -> term. Names win over codes, codes over other spellings."""
    forms = table(TABLE_OF[kind]).get("forms", {}).get(kind, ())
    ready: dict[str, Term] = {}
    entries = _entries(kind, convention)
    for term, _ in entries:
        ready.setdefault(_key(term.name), term)
    for term, _ in entries:
        if term.code:
            ready.setdefault(_key(term.code), term)
            ready.setdefault(_key(f"{term.name} ({term.code})"), term)  # as our form offers it
    for term, spellings in entries:
        for spelling in spellings:
            ready.setdefault(_key(spelling), term)
    for term, spellings in entries:
        for form in forms:
            for word in (term.name, *spellings):
                ready.setdefault(_key(form.format(word)), term)
    return ready


def _key(text: str) -> str:
    clean = unicodedata.normalize("NFKC", str(text)).casefold()
    return re.sub(r"[\s_\-\u2010-\u2015./,;:]+", "", clean)
