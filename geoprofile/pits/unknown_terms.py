"""Words that no table of terms knows: each is listed once, with every pit that has it and the word that it may stand for."""

from __future__ import annotations

import numpy as np

from ..problems import counted
from ..vocabulary.terms import nearest_term
from .columns import Column, Mapped

MOST = 12
"""Pits named in one problem; the others are counted."""


def list_unknown(mapped: Mapped, column: Column, kind: str, what: str, places: dict[str, list[int]], ids: np.ndarray, convention: str, allowed: str = "") -> None:
    """One problem a word. ``places``: word -> rows of the table; ``kind`` of term for a proposal, '' for none.

    Where a word of the column stands in several pits, all pits are named with their word, none as the place of the problem.
    """
    pits = {word: list(dict.fromkeys(str(ids[row]) for row in rows)) for word, rows in places.items()}
    several = any(len(names) > 1 for names in pits.values())
    words = list(places)
    for word, rows in places.items():
        # the first speaks for all where problems of a kind are drawn together
        more = f"; other words: {', '.join(words[1:MOST])}" + (" ..." if len(words) > MOST else "") if word == words[0] and len(words) > 1 else ""
        names = pits[word]
        near = nearest_term(kind, word, convention) if kind else ""
        mapped.problem(rows[0], "warning", "term", what, field=column.field.name, pit_id="" if several else names[0],
                       found=(f"{word} in {_where(len(rows), names)}" if several else word) + more, allowed=allowed[:300],
                       remedy=(f"if {near} is meant, write that" if near else "write a term of the convention") + f"; geoprofile explain {column.field.name} tells more")  # fmt: skip


def _where(rows: int, names: list[str]) -> str:
    named = ", ".join(names[:MOST]) + (f" and {len(names) - MOST} more" if len(names) > MOST else "")
    among = f"{rows} rows of " if rows > len(names) else ""
    return f"{among}{counted(len(names), 'pit')}: {named}"
