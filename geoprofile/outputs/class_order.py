"""Classes in the order that the trade gives them: drainage from dry to wet, slopes from level to steep."""

from __future__ import annotations

from collections.abc import Iterable

from ..vocabulary.terms import TABLE_OF, find_term
from .map_colours import OTHER_CLASSES

UNKNOWN = 1_000


def in_order(names: Iterable[str], column: str, convention: str) -> list[str]:
    """``names`` of the classes of a column of the pits, by the vocabulary's order.

    Names that it does not know come after, in their own order; the class of all others is last. A column without a
    vocabulary, as the recorded soil, keeps the order that it has.
    """

    def place(name: str) -> tuple[bool, int]:
        term = find_term(column, name, convention) if column in TABLE_OF else None
        return name == OTHER_CLASSES, UNKNOWN if term is None else term.order

    return sorted(names, key=place)
