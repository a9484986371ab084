"""What kind of word each word is: tokens become items, and an item is one character of a phrase's pattern.

The words come from ``tables/notes.toml`` and from the tables of the terms themselves,
those of all conventions together: which of them a survey's convention knows is held
against the cells later, as for any table.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache

from ...vocabulary.conventions import CONVENTIONS
from ...vocabulary.tables import table
from ...vocabulary.terms import TABLE_OF
from .codes import WORDS_TOO
from .notations import colour_at, neutral_at, same_hue
from .slips import SHORT_WORD, nearest
from .texture_codes import capitals, glued_code, is_modifier, modifier_code
from .tokens import Token, key_of, tokens

FROM_TABLES = {
    "structure_kind": "kind", "structure_grade": "grade", "structure_size": "size", "consistence": "consistence",
    "boundary_distinctness": "distinctness", "boundary_form": "form", "texture": "texture",
}
"""Kind of term in the vocabulary -> kind of word in a phrase."""

MARKS = {"&": "and", ",": "comma", ";": "semi", ":": "colon", "=": "colon", "(": "open", "[": "open", ")": "close", "]": "close", "-": "dash", ".": "stop", ">": "parting"}
NUMERIC = ("number", "percent_of", "colour", "ph", "name")
UNIT_KINDS = ("unit_inch", "unit_cm", "unit_mm", "unit_m", "unit_ft")
ALSO_WORDS = (*UNIT_KINDS, "place", "portion", "preposition", "peroxide", "correction", "other_ph", "bulk_density", "filler", "with", "about", "electrical", "sodium_ratio", "organic_carbon", "lime", "sand_share", "silt_share", "clay_share")


@dataclass(frozen=True, slots=True)
class Item:
    """One or more tokens with one meaning. ``values``: kind of word -> what it stands for; ``char`` is its letter in patterns."""

    char: str
    values: dict[str, object]
    start: int
    end: int
    slip: str = ""
    """The word that a misspelt one was read as."""


@dataclass(frozen=True)
class Lexicon:
    """Phrases by their first word, longest first; the pattern letter of each set of kinds; texture codes as they are written."""

    by_first: dict[str, tuple[tuple[tuple[str, ...], dict[str, object]], ...]]
    chars: dict[frozenset[str], str]
    codes: frozenset[str]
    before: frozenset[str]
    base: frozenset[str]
    words: frozenset[str]
    """Every word of every phrase, alone or not."""

    def char(self, values: dict[str, object]) -> str:
        return self.chars[frozenset(values)]

    def letters_of(self, kind: str) -> str:
        """The letters of every set that holds the kind, for a character class."""
        return "".join(char for kinds, char in self.chars.items() if kind in kinds)

    @property
    def kinds(self) -> frozenset[str]:
        return frozenset().union(*self.chars)


@cache
def lexicon() -> Lexicon:
    """All words, read once."""
    data = table("notes")
    found: dict[tuple[str, ...], dict[str, object]] = {}

    def add(phrase: str, kind: str, value: object) -> None:
        keys = tuple(token.key for token in tokens(phrase) if token.kind != "mark")
        if keys:
            found.setdefault(keys, {}).setdefault(kind, value)

    skip = {key_of(word) for word in data["not_nouns"]["words"]}
    for kind, ours in FROM_TABLES.items():
        for entry in table(TABLE_OF[kind])[kind]:
            for word in (entry["name"], *entry.get("spellings", ())):
                if key_of(word) not in skip:
                    add(word, ours, entry["name"] if kind != "texture" else word)
    for convention in CONVENTIONS:
        for entry in table("texture")["modifier"]:
            if convention in entry.get("conventions", (convention,)):
                add(entry["name"], "modifier", entry["name"])
    for kind, words in data["words"].items():
        for word in words:
            add(word, kind, word)
    for kind in ("strength", "whole", "reaction", "place"):
        for word, value in data[kind].items():
            add(word, kind, value)
    for code in WORDS_TOO:
        add(code, "kind", data["codes"]["kind"][code])
    for word, value in data["codes"]["kind_noun"].items():
        add(word, "kind_noun", value)
    for degree, grade in (("very weak", "weak"), ("very strong", "strong")):
        add(degree, "grade", grade)
    for word in (*data["rock"]["kinds"], *data["rock"]["cemented"]):
        add(word, "rock", word)
    add(data["rock"]["noun"], "bedrock", data["rock"]["noun"])
    for values in found.values():
        if set(values) & set(ALSO_WORDS):
            values.setdefault("word", "")
    by_first: dict[str, list] = {}
    for keys, values in found.items():
        by_first.setdefault(keys[0], []).append((keys, values))
    sets = {frozenset(values) for values in found.values()} | {frozenset((kind,)) for kind in (*NUMERIC, *MARKS.values(), "word", "mark", "texture", "letter", "modifier")}
    chars = {kinds: chr(0xE000 + number) for number, kinds in enumerate(sorted(sets, key=sorted))}
    codes = {str(entry.get("code", "")) for entry in table("texture")["texture"]}
    return Lexicon(
        {first: tuple(sorted(entries, key=lambda entry: -len(entry[0]))) for first, entries in by_first.items()},
        chars, frozenset(code for code in codes if code[:1].isupper() or len(code) >= 3),
        frozenset(data["colour_names"]["before"]), frozenset(data["colour_names"]["base"]),
        frozenset(key for keys in found for key in keys) | {*data["colour_names"]["before"], *data["colour_names"]["base"]},
    )  # fmt: skip


def items(text: str) -> tuple[Item, ...]:
    """The items of a text; places from its start."""
    known = lexicon()
    pieces, slips = _spelled_right(_split_hyphens(tokens(text), known), known)
    found: list[Item] = []
    at = 0
    while at < len(pieces):
        count, values = same_hue(pieces, at, [one.values for one in found[-6:]]) or _next(pieces, at, known)
        slip = " ".join(pieces[spot].key for spot in range(at, at + count)) if any(spot in slips for spot in range(at, at + count)) else ""
        if slip and values.keys() <= {"word"}:
            slip = ""
        found.append(Item(known.char(values), values, pieces[at].start, pieces[at + count - 1].end, slip))
        at += count
    return tuple(found)


def _spelled_right(pieces: list[Token], known: Lexicon) -> tuple[list[Token], frozenset[int]]:
    """The tokens with the key that a misspelt word was meant to have, and which ones these are."""
    better = {at: key for at, piece in enumerate(pieces) if piece.kind == "word" and len(piece.key) >= SHORT_WORD and piece.key not in known.words and (key := _nearest(piece.key))}
    return [replace(piece, key=better[at]) if at in better else piece for at, piece in enumerate(pieces)] if better else pieces, frozenset(better)


def _next(pieces: list[Token], at: int, known: Lexicon) -> tuple[int, dict[str, object]]:
    token = pieces[at]
    if token.kind == "number":
        return colour_at(pieces, at) or _share(pieces, at) or _fraction(pieces, at) or (1, {"number": float(token.key)})
    if token.kind == "mark":
        return 1, {MARKS.get(token.key, "mark"): "and" if token.key == "&" else token.key}
    neutral = neutral_at(pieces, at)
    if neutral:
        return neutral
    if token.key == "ph":
        count = _ph(pieces, at)
        if count:
            return count, {"ph": pieces[at + count - 1].key}
    name = _colour_name(pieces, at, known)
    listed = _listed(pieces, at, known)
    if name and name[0] >= (listed[0] if listed else 0):
        return name
    modifier = modifier_code(pieces, at, known.by_first)
    if modifier:
        return modifier
    glued = glued_code(token.text) if not listed else ""
    if glued:
        return 1, {"texture": glued}
    if _is_code(token.text, known):
        return 1, {"letter" if len(token.text) == 1 else "texture": token.text}
    return listed or (1, {"word": token.text})


@lru_cache(maxsize=20_000)
def _nearest(word: str) -> str:
    singles = {first: values for first, entries in lexicon().by_first.items() for keys, values in entries[-1:] if len(keys) == 1}
    return nearest(word, singles, _of_the_trade())


@cache
def _of_the_trade() -> frozenset[str]:
    """Single words that horizons are described by, and the words of ``single grain`` and of textures such as ``silt loam``."""
    kinds = {*FROM_TABLES.values(), "modifier", "kind_part"}
    alone = {keys[0] for entries in lexicon().by_first.values() for keys, values in entries if len(keys) == 1 and kinds & set(values)}
    return frozenset(name for name in (alone | {"grain", "single", "loamy", "sandy", "silty"}) - set(table("notes")["slips"]["not_meant"]) if len(name) >= SHORT_WORD)


def _listed(pieces: list[Token], at: int, known: Lexicon) -> tuple[int, dict[str, object]] | None:
    for keys, values in known.by_first.get(pieces[at].key, ()):
        if len(keys) == 1 or tuple(piece.key for piece in pieces[at : at + len(keys)]) == keys:
            return len(keys), values
    return None


def _is_code(text: str, known: Lexicon) -> bool:
    bare = text.removeprefix("v").removeprefix("g") if text[:1] in "vg" and text[1:2].isupper() or text[:2] == "vg" else text
    return not is_modifier(bare) and (bare in known.codes or (len(bare) > 1 and bare.isupper() and bare in capitals()))


def _share(pieces: list[Token], at: int) -> tuple[int, dict[str, object]] | None:
    """``15 percent``, ``2 to 5 %``: (low, high)."""
    end = at + 1
    high = pieces[at]
    if end + 1 < len(pieces) and pieces[end].key in ("-", "to") and pieces[end + 1].kind == "number":
        high, end = pieces[end + 1], end + 2
    if end < len(pieces) and pieces[end].key in ("%", "percent", "pct"):
        return end + 1 - at, {"percent_of": (float(pieces[at].key), float(high.key))}
    if end + 1 < len(pieces) and (pieces[end].key, pieces[end + 1].key) == ("per", "cent"):
        return end + 2 - at, {"percent_of": (float(pieces[at].key), float(high.key))}
    return None


def _fraction(pieces: list[Token], at: int) -> tuple[int, dict[str, object]] | None:
    """``1/4``, ``2 1/2``."""
    for whole in (0, 1):
        parts = pieces[at + whole : at + whole + 3]
        if len(parts) == 3 and parts[1].key == "/" and parts[0].kind == parts[2].kind == "number" and parts[2].key in ("2", "4", "8", "16") and parts[0].end == parts[1].start:
            return 3 + whole, {"number": (float(pieces[at].key) if whole else 0.0) + float(parts[0].key) / float(parts[2].key)}
    return None


def _ph(pieces: list[Token], at: int) -> int:
    spot = at + 1
    while spot < len(pieces) and spot < at + 4 and pieces[spot].key in (":", "=", "-", "is", "of", "about", ",", "~"):
        spot += 1
    return spot + 1 - at if spot < len(pieces) and pieces[spot].kind == "number" and float(pieces[spot].key) <= 14 else 0


def _colour_name(pieces: list[Token], at: int, known: Lexicon) -> tuple[int, dict[str, object]] | None:
    end = spot = at
    while spot < len(pieces) and (pieces[spot].key in known.before or pieces[spot].key in known.base or (spot > at and pieces[spot].key == "-")):
        spot += 1
        if pieces[spot - 1].key in known.base:
            end = spot
    return (end - at, {"name": " ".join(piece.text for piece in pieces[at:end] if piece.key != "-")}) if end > at else None


def _split_hyphens(pieces: list[Token], known: Lexicon) -> list[Token]:
    """Words joined by a hyphen that are not known as one become their parts: ``yellowish-brown``, ``weak-moderate``."""
    ready: list[Token] = []
    for piece in pieces:
        if piece.kind == "word" and "-" in piece.text and piece.key not in known.by_first:
            parts = tokens(piece.text.replace("-", " - "))
            start = piece.start
            words = tuple(part.key for part in parts if part.kind == "word")
            one = any(keys == words for keys, _ in known.by_first.get(words[0], ())) if words else False
            for part in parts:
                if one and part.kind == "mark":  # subangular-blocky
                    start += len(part.text)
                    continue
                ready.append(Token(part.text, part.key, part.kind, start, start + len(part.text)))
                start += len(part.text)
        else:
            ready.append(piece)
    return ready
