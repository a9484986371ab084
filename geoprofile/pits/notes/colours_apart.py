"""A colour behind other fields without a mark between them: ``loam 10YR 3/2 m`` is read as ``loam, 10YR 3/2 m``.

Only where the words before it are a field of the soil itself. Behind anything else, such
as ``pockets of sand`` or ``clay films``, a colour is that of the thing named.
"""

from __future__ import annotations

from functools import lru_cache

from ...vocabulary.terms import terms
from .codes import blanked, code_clauses
from .lexicon import Item, items
from .phrases import OF_THE_SOIL, find_phrases

_PLAIN = {"word", "mixture", "mottled", "name", "modifier"}
"""Kinds of word beside a field that name nothing else which could have the colour."""
_MARKS = {"comma", "semi", "colon", "dash", "mark", "stop", "and", "to"}
_BEHIND = {"colour", "close", "state", "other_face"}


@lru_cache(maxsize=20_000)
def colours_apart(piece: str) -> str:
    """The piece with a comma for the blank before each such colour, as long as before."""
    row = items(piece)
    for at, item in enumerate(row):
        if "colour" not in item.values:
            continue
        first = _first_of_colour(row, at)
        if first == 0 or _MARKS & set(row[first - 1].values) or _BEHIND & set(row[first - 1].values):
            continue
        blank = row[first].start - 1
        clause = next((one.end for one in reversed(row[:first]) if {"comma", "semi"} & set(one.values)), 0)
        if piece[blank] == " " and _is_of_the_soil(piece[clause:blank]):
            piece = f"{piece[:blank]},{piece[blank + 1 :]}"
    return piece


def _first_of_colour(row: tuple[Item, ...], at: int) -> int:
    """Where the colour at ``at`` begins: with its name, its bracket, and its state unless one stands behind."""
    behind = next((one for one in row[at + 1 : at + 3] if "close" not in one.values), None)
    stated = behind is not None and "state" in behind.values
    while at > 0:
        kinds = set(row[at - 1].values)
        is_state = "state" in kinds and not stated and not (at > 1 and _BEHIND & set(row[at - 2].values))
        if not ({"open", "name"} & kinds or is_state):
            break
        stated |= is_state
        at -= 1
    return at


def _is_of_the_soil(clause: str) -> bool:
    """Whether a clause ends with a field of the soil and names nothing else."""
    end = len(clause.rstrip())
    last = clause[:end].rsplit(" ", 1)[-1].casefold()
    if last in _materials():  # clay loam till
        end = len(clause[: end - len(last)].rstrip())
    coded = code_clauses(clause[:end])
    phrases, left = find_phrases(blanked(clause[:end], coded))
    said = [(one.end, one.what) for one in phrases] + [(stop, one.what) for _, stop, words in coded for one in find_phrases(words)[0][-1:]]
    if not said or max(said)[0] != end or max(said)[1] not in OF_THE_SOIL:
        return False
    return all(_PLAIN >= set(item.values) for first, stop in left for item in items(clause[first:stop]))


@lru_cache(maxsize=1)
def _materials() -> frozenset[str]:
    """Single words for what a soil formed in, which stand behind its texture."""
    return frozenset(term.name for convention in ("canadian", "usda", "wrb") for term in terms("parent_material", convention) if " " not in term.name)
