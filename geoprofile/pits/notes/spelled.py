"""Designations said letter by letter: ``B T``, ``A H E``, ``L F H``, ``capital B lower case t``, ``B T one``."""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table
from .entries import behind_words, designation_in, is_designation

_NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "1": "1", "2": "2", "3": "3", "4": "4", "5": "5"}
_SMALL = r"(?:lower[ -]?case|small|little)[ \n]"
_SPELLED = re.compile(
    rf"(?:(?<!ty[ \n-])(?P<before>[Tt]wo|[Tt]hree|[23])[ \n])?(?:[Cc]apital[ \n])?(?P<first>[ABCEFHLOR]|(?<=apital )[abcefhlor])(?P<rest>(?:,?[ \n](?:{_SMALL}[A-Za-z]|(?!I\b)(?:[Cc]apital[ \n])?[A-Z]|(?!a\b)[a-z])(?![\w'\u2019]))*)(?![\w'\u2019])"
)
_NUMBER = re.compile(r"[ \n](one|two|three|four|five|[1-5])(?![\w.'/-])(?=[ \n,]+(?!(?:to|down|over|point|hundred|and|oh|cm|centimet(?:re|er)s|inch(?:es)?)\b)\w)")


def spelled_at(text: str, at: int) -> tuple[tuple[str, tuple[int, int]], ...]:
    """(designation, its place) of letters said one by one at ``at``; none where they make nothing that is known.

    A number behind them may be of the symbol (``B T one, from nine``) or of the depth (``B T one twenty to one sixty``):
    then both are given, that with the number first.
    """
    found = _SPELLED.match(text, at)
    if not found or not (found["rest"] or found["before"]):
        return ()
    letters = list(re.finditer(r"(?<![\w'\u2019-])[A-Za-z](?![\w'\u2019])", text[found.start("rest") : found.end("rest")]))
    for count in range(len(letters), -1 if found["before"] else 0, -1):  # two C
        said = [found["first"].upper(), *(one.group().upper() for one in letters[:count])]
        name = _NUMBERS.get((found["before"] or "").lower(), "") + cased(said)
        if is_designation(name):
            end = found.start("rest") + (letters[count - 1].end() if count else 0)
            number = _NUMBER.match(text, end)
            numbered = name + _NUMBERS[number[1].lower()] if number else ""
            return (*(((numbered, (at, number.end(1))),) if number and is_designation(numbered) else ()), (name, (at, end)))
    return ()


def cased(letters: list[str]) -> str:
    """The symbol of letters that were said: ``B T`` is Bt, ``A B G`` is ABg, ``L F H`` is LFH."""
    together = table("notes")["dictation"]["together"]
    count = next((size for size in (3, 2) if "".join(letters[:size]) in together and len(letters) >= size), 1)
    return "".join(letters[:count]) + "".join(letters[count:]).lower()


def names_at(text: str, at: int, end: int) -> list[tuple[str, tuple[int, int], bool]]:
    """(designation, its place, whether it was spelled) of what may stand at a place."""
    spelled = [(*found, True) for found in spelled_at(text, at) if found[1][1] <= end]
    if spelled:
        return spelled
    plain = designation_in(text, at, min(end, at + 40))
    if plain is None or not is_designation(plain[0]):
        return []
    last = plain[1][1]
    if plain[0] == "An" and re.match(r"[ \n][\dIVX]{0,3}[A-Z]", text[last : last + 6]):
        return []  # An Ah from 0 to 12
    if plain[0] == "I" or (plain[0] in "RBGYP" and _hue_before().search(text, max(at - 20, 0), at)):
        return []  # ten Y R
    if plain[0] == "A" and re.match(r"\s+[a-z]", text[last : last + 3]) and behind_words(text, last + 1, end) == last + 1 and not _depth_word().match(text, last):
        return []  # A bit of clay
    return [(*plain, False)]


@cache
def _hue_before() -> re.Pattern:
    return re.compile(r"(?:\b(?:[Ff]ive|[Tt]en|5|10|2\.5|7\.5)\s+(?:[YGBPR]\s+)?|\b[YGBP]\s+)\Z")


@cache
def _depth_word() -> re.Pattern:
    return re.compile(rf"(?i)\s+(?:from|about|(?:a )?hundred|{number_words()})\b")


@cache
def number_words() -> str:
    """Words of numbers, as alternatives of a pattern."""
    data = table("notes")["numbers"]
    return "|".join(sorted((*data["words"], *data["tens"]), key=len, reverse=True))
