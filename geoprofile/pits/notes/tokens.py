"""Text cut into words, numbers and marks, each with its place in the source."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from ...vocabulary.tables import table

_PIECES = re.compile(
    r"(?P<number>\d+(?:\.\d+)?[\u00bc\u00bd\u00be]?|\.\d+|[\u00bc\u00bd\u00be])"
    r"|(?P<word>[^\W\d_]+(?:['\u2019\-\u2010\u2011/][^\W\d_]+)*(?:\d(?![\d./]))?)"
    r"|(?P<mark>-{1,3}|[\u2010-\u2015\u2212]|%|[^\w\s])"
)
_MUNSELL_SLIP = re.compile(r"(?<![A-Za-z0-9])(?!10)(?:(?P<ten>[lI1][O0o])|(?P<half>[27]\.?)(?P<five>\.?[Ss]))(?=\s?(?:YR|GY|R|Y|G|B)\s?\d)")
HUES = ("YR", "RP", "GY", "BG", "PB", "R", "Y", "G", "B", "P")
QUARTERS = {"\u00bc": 0.25, "\u00bd": 0.5, "\u00be": 0.75}
_GLUED = re.compile(r"(to|from|about)(\d)", re.IGNORECASE)
_SAID = re.compile(r"(?i)\b(?:point|hundred|(?:one|two) (?:oh|ten|eleven|twelve|\w{2,5}teen|\w{2,4}ty)\b)")
_DASHES = "-\u2010\u2011\u2012\u2013\u2014\u2015\u2212"


@dataclass(frozen=True, slots=True)
class Token:
    """``kind`` is word, number or mark; ``key`` is what the word is looked up by; ``start`` and ``end`` count characters."""

    text: str
    key: str
    kind: str
    start: int
    end: int


def tokens(text: str, offset: int = 0) -> list[Token]:
    """Tokens of ``text``; places are counted from ``offset``. Words of number become numbers (``fifteen``, ``two point five``)."""
    mended, slips = mend_hues(text)
    found: list[Token] = []
    spoken = ("oint" in mended or "undred" in mended or "ne " in mended or "wo " in mended) and _SAID.search(mended) is not None
    for piece in _PIECES.finditer(mended):
        kind = piece.lastgroup
        written = piece.group()
        start, end = piece.start(), piece.end()
        if kind == "word":
            _take_word(found, written, start + offset)
            continue
        key = "-" if written[0] in _DASHES else written
        if kind == "number" and written[-1] in QUARTERS:
            key = f"{float(written[:-1] or 0) + QUARTERS[written[-1]]:g}"
        found.append(Token(written, key, kind, start + offset, end + offset))
    return _spoken(found) if spoken else found


def _spoken(row: list[Token]) -> list[Token]:
    """Numbers as they are said: ``seven point five`` is 7.5, ``one hundred and ten`` is 110."""
    found: list[Token] = []
    at = 0
    while at < len(row):
        token = row[at]
        at += 1
        if token.key == "a" and at < len(row) and row[at].key == "hundred":
            token = Token(token.text, "1", "number", token.start, token.end)
        if token.kind == "number":
            if _is_over_a_hundred(token, row[at : at + 2]):
                token, at = _together(token, row[at], str(100 * int(token.key) + int(row[at].key))), at + 1
            elif at + 1 < len(row) and token.text.isalpha() and row[at].key == "oh" and row[at + 1].kind == "number" and len(row[at + 1].key) == 1:
                token, at = _together(token, row[at + 1], f"{token.key}0{row[at + 1].key}"), at + 2  # one oh five
            if at < len(row) and row[at].key == "hundred":
                token, at = _together(token, row[at], str(int(float(token.key) * 100))), at + 1
                more = at + 1 if at < len(row) and row[at].key == "and" else at
                if more < len(row) and row[more].kind == "number" and float(row[more].key) < 100:
                    token, at = _together(token, row[more], str(int(token.key) + int(float(row[more].key)))), more + 1
            if at + 1 < len(row) and row[at].key == "point" and row[at + 1].kind == "number" and "." not in token.key:
                token, at = _together(token, row[at + 1], f"{token.key}.{row[at + 1].key}"), at + 2
        found.append(token)
    return found


def _is_over_a_hundred(first: Token, behind: list[Token]) -> bool:
    """``one twenty``, ``one thirty-five``: numbers in words, the first of them one or two and the other of two figures."""
    if not behind or first.key not in ("1", "2") or not first.text.isalpha() or behind[0].kind != "number":
        return False
    return behind[0].text[0].isalpha() and len(behind[0].key) == 2 and (len(behind) < 2 or behind[1].key not in ("point", "hundred"))


def _together(first: Token, last: Token, key: str) -> Token:
    return Token(f"{first.text} {last.text}", key, "number", first.start, last.end)


def mend_hues(text: str) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Scanner damage inside a Munsell hue, ``lOYR 4/3`` for ``10YR 4/3``: same length, so that places stand; and what was mended."""
    slips: list[tuple[str, str]] = []

    def mend(found: re.Match) -> str:
        better = "10" if found["ten"] else found.group().replace("S", "5").replace("s", "5")
        slips.append((found.group(), better))
        return better

    return _MUNSELL_SLIP.sub(mend, text), tuple(slips)


def key_of(word: str) -> str:
    """A word without capitals, hyphens and apostrophes: ``Sub-angular`` and ``subangular`` are one."""
    return re.sub("['\u2019\\-\u2010\u2011]", "", word.casefold())


def _take_word(found: list[Token], written: str, start: int) -> None:
    for part, key, kind, offset, single in _word(written):
        last = found[-1] if found else None
        if single and last and last.kind == "number" and last.text.casefold() in _tens() and 0 < int(key) < 10:  # twenty five
            found[-1] = Token(f"{last.text} {part}", str(int(last.key) + int(key)), "number", last.start, start + len(part))
            return
        found.append(Token(part, key, kind, start + offset, start + offset + len(part)))


@lru_cache(maxsize=20_000)
def _word(written: str) -> tuple[tuple[str, str, str, int, bool], ...]:
    """(text, key, kind, place, whether it is one number word) of a word, which may be two: ``to7``."""
    glued = _GLUED.fullmatch(written)
    if glued:  # 0 to7 inches
        return (glued[1], glued[1].casefold(), "word", 0, False), (glued[2], glued[2], "number", len(glued[1]), False)
    number = _number_words().get(written.casefold())
    if number is not None:
        return ((written, number, "number", 0, True),)
    parts = re.split("([\\-\u2010\u2011])", written)
    if len(parts) == 3 and all(part.casefold() in _number_words() for part in parts[::2]):  # twenty-five
        return ((written, str(sum(int(_number_words()[part.casefold()]) for part in parts[::2])), "number", 0, False),)
    return ((written, key_of(written), "word", 0, False),)


@cache
def _number_words() -> dict[str, str]:
    data = table("notes")["numbers"]
    return {word: str(n) for n, word in enumerate(data["words"])} | {word: str(10 * n) for n, word in enumerate(data["tens"], 2)}


@cache
def _tens() -> frozenset[str]:
    return frozenset(table("notes")["numbers"]["tens"])
