"""Designations said letter by letter: ``B T``, ``A H E``, ``L F H``, ``capital B lower case t``, ``B T one``."""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table
from .entries import is_designation

_NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "1": "1", "2": "2", "3": "3", "4": "4", "5": "5"}
_SMALL = r"(?:lower[ -]?case|small|little)[ \n]"
_SPELLED = re.compile(
    rf"(?:(?P<before>[Tt]wo|[Tt]hree|[23])[ \n])?(?:[Cc]apital[ \n])?(?P<first>[ABCEFHLOR]|(?<=apital )[abcefhlor])(?P<rest>(?:,?[ \n](?:{_SMALL}[A-Za-z]|(?!I\b)(?:[Cc]apital[ \n])?[A-Z]|(?!a\b)[a-z])(?![\w'\u2019]))+)"
)
_NUMBER = re.compile(r"[ \n](one|two|three|four|five|[1-5])(?![\w.'/-])(?=(?P<behind>[ \n,]+(?P<next>[\w-]+)?(?:[ \n]+(?:down[ \n]+)?to[ \n]+(?P<to>[\w-]+))?))")


def spelled_at(text: str, at: int) -> tuple[str, tuple[int, int]] | None:
    """(designation, its place) of letters said one by one at ``at``; None where they make none that is known."""
    found = _SPELLED.match(text, at)
    if not found:
        return None
    letters = list(re.finditer(r"(?<![\w'\u2019-])[A-Za-z](?![\w'\u2019])", text[found.start("rest") : found.end("rest")]))
    for count in range(len(letters), 0, -1):
        said = [found["first"].upper(), *(one.group().upper() for one in letters[:count])]
        name = (_NUMBERS.get((found["before"] or "").lower(), "")) + _cased(said)
        if is_designation(name):
            end = found.start("rest") + letters[count - 1].end()
            number = _NUMBER.match(text, end)
            if number and _is_of_the_symbol(number) and is_designation(name + _NUMBERS[number[1].lower()]):
                return name + _NUMBERS[number[1].lower()], (at, number.end(1))
            return name, (at, end)
    return None


def _cased(letters: list[str]) -> str:
    """The symbol of letters that were said: ``B T`` is Bt, ``A B G`` is ABg, ``L F H`` is LFH."""
    together = table("notes")["dictation"]["together"]
    count = next((size for size in (3, 2) if "".join(letters[:size]) in together and len(letters) >= size), 1)
    return "".join(letters[:count]) + "".join(letters[count:]).lower()


def _is_of_the_symbol(number: re.Match) -> bool:
    """Whether ``one`` behind letters is a number of the symbol: ``B T one, from ...`` or ``B T one twenty to forty``, and not ``A E one to seven``."""
    following = (number["next"] or "").casefold()
    if following in ("to", "down", "over", "point", "hundred", "and", "cm", "centimetres", "centimeters", "inches", "inch", "oh") or not number["behind"].strip(" \n") and not following:
        return False
    first, last = _value(following), _value((number["to"] or "").casefold())
    return not (first and last and first >= 10 and 100 * int(_NUMBERS[number[1].lower()]) + first < last)  # one twenty to one sixty: of one hundred and twenty


def _value(word: str) -> int:
    return sum(_values().get(part, int(part) if part.isdigit() else 0) for part in word.split("-"))


@cache
def _values() -> dict[str, int]:
    data = table("notes")["numbers"]
    return {word: n for n, word in enumerate(data["words"])} | {word: 10 * n for n, word in enumerate(data["tens"], 2)}
