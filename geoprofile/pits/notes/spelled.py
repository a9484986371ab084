"""Designations said letter by letter: ``B T``, ``A H E``, ``L F H``, ``capital B lower case t``, ``B T one``."""

from __future__ import annotations

import re

from ...vocabulary.tables import table
from .entries import is_designation

_NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "1": "1", "2": "2", "3": "3", "4": "4", "5": "5"}
_SMALL = r"(?:lower[ -]?case|small|little)[ \n]"
_SPELLED = re.compile(
    rf"(?:(?P<before>[Tt]wo|[Tt]hree|[23])[ \n])?(?:[Cc]apital[ \n])?(?P<first>[ABCEFHLOR]|(?<=apital )[abcefhlor])(?P<rest>(?:,?[ \n](?:{_SMALL}[A-Za-z]|(?!I\b)(?:[Cc]apital[ \n])?[A-Z]|(?!a\b)[a-z])(?![\w'\u2019]))+)"
)
_NUMBER = re.compile(r"[ \n](one|two|three|four|five|[1-5])(?![\w.'/-])(?=[ \n,]+(?!(?:to|down|over|point|hundred|and|oh|cm|centimet(?:re|er)s|inch(?:es)?)\b)\w)")


def spelled_at(text: str, at: int) -> tuple[tuple[str, tuple[int, int]], ...]:
    """(designation, its place) of letters said one by one at ``at``; none where they make nothing that is known.

    A number behind them may be of the symbol (``B T one, from nine``) or of the depth (``B T one twenty to one sixty``):
    then both are given, that with the number first.
    """
    found = _SPELLED.match(text, at)
    if not found:
        return ()
    letters = list(re.finditer(r"(?<![\w'\u2019-])[A-Za-z](?![\w'\u2019])", text[found.start("rest") : found.end("rest")]))
    for count in range(len(letters), 0, -1):
        said = [found["first"].upper(), *(one.group().upper() for one in letters[:count])]
        name = _NUMBERS.get((found["before"] or "").lower(), "") + cased(said)
        if is_designation(name):
            end = found.start("rest") + letters[count - 1].end()
            number = _NUMBER.match(text, end)
            numbered = name + _NUMBERS[number[1].lower()] if number else ""
            return (*(((numbered, (at, number.end(1))),) if number and is_designation(numbered) else ()), (name, (at, end)))
    return ()


def cased(letters: list[str]) -> str:
    """The symbol of letters that were said: ``B T`` is Bt, ``A B G`` is ABg, ``L F H`` is LFH."""
    together = table("notes")["dictation"]["together"]
    count = next((size for size in (3, 2) if "".join(letters[:size]) in together and len(letters) >= size), 1)
    return "".join(letters[:count]) + "".join(letters[count:]).lower()
