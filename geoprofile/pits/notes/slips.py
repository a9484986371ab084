"""Words of the trade that are misspelt: the one that was surely meant, or none."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from ...vocabulary.tables import table

LONG_WORD = 6
"""Letters from which on any word of the lexicon may be misspelt and still be known."""
SHORT_WORD, MISSING_FROM = 4, 5
"""Letters from which on two letters may have changed places; from which on one may be missing or doubled."""


def nearest(word: str, known: Iterable[str], trade: frozenset[str]) -> str:
    """The word that ``word`` was meant to be (``effervescemt``, ``laom``, ``smoth``); '' where none or more than one is near enough.

    ``known`` are all single words of the lexicon, ``trade`` those of textures, structures, boundaries and the like.
    """
    if len(word) < SHORT_WORD or word in table("notes")["slips"]["other_words"]:
        return ""
    if len(word) >= LONG_WORD:
        near = get_close_matches(word, [one for one in known if len(one) >= LONG_WORD], 1, 0.88 if len(word) >= 8 else 0.91)
        if near and abs(len(near[0]) - len(word)) <= 1 and near[0] != word + "s":
            return near[0]
    found = sorted(trade & set(_one_slip_from(word)) - {word})
    return found[0] if len(found) == 1 and word not in trade else ""


def _one_slip_from(word: str) -> Iterable[str]:
    """Words with two neighbouring letters in the other order, with a letter more, and with one that is there twice."""
    pairs = [(word[:at], word[at:]) for at in range(len(word) + 1)]
    yield from (first + rest[1] + rest[0] + rest[2:] for first, rest in pairs if len(rest) > 1)
    if len(word) >= MISSING_FROM:
        yield from (first + letter + rest for first, rest in pairs for letter in "abcdefghijklmnopqrstuvwxyz")
        yield from (first + rest[1:] for first, rest in pairs if len(rest) > 1 and rest[0] == rest[1])
