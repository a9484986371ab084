"""Where a horizon begins: a designation with its depths, in any of the orders people use."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from ...vocabulary.conventions import CONVENTIONS, rules_of
from ...vocabulary.designations import parse_designation
from ...vocabulary.tables import table
from .depths import Depths, depths_at
from .fields import Cell
from .lexicon import lexicon
from .tokens import tokens

_HARD = re.compile(r"(?:\d|[IVX]+ ?)?(?:R|Cr|C|W|CR)")
HEAD = 120
"""A horizon's designation and depths stand within this many characters of its beginning."""

_ONE = r"\^?(?:\d{1,2}|[IVX]{1,4}\s?(?=[A-Z]))?\^?[A-Z][A-Za-z@\u03b1-\u03c9]{0,9}['\u2019\u2032\"]{0,2}[a-z]{0,5}\d{0,2}['\u2019\u2032]?(?:(?<=\d)[a-z]{1,3})?"
_OLD = re.compile(r"(?:\d|[IVX]{1,4})?(?:A|B|C)\d{1,2}[a-z]{1,3}\d?")
"""An older form that no convention holds now: the number before the letters, ``B21t``."""
_DASHED = r"\s*(?:-{2,3}|[\u2012-\u2015])"
_DESIGNATION = re.compile(rf"(?:(?:(?:\d|[IVX]{{1,4}}) )?[A-Z]{{1,2}}[a-z]{{0,3}}(?: [a-z]){{0,3}} ?[1-9l]?(?={_DASHED}\s*[\dOol.]+\s*(?:inch(?:es)?|in|cm)?\s*(?:to|[-\u2013])\s*[\dlO])|(?:[IVX]{{1,4}} )?[A-Z](?: [a-z]){{1,3}}(?=[\s,:])|{_ONE}(?:(?:\s*[/&+]\s*|\s+and\s+|\s*[-\u2013,]\s*(?=[LFHC]\b)){_ONE})*)")
_STRONG = re.compile(r"\s*(?:-{2,3}|- -(?=\s?\d)|[\u2010-\u2015\u2212]|:|-(?=\s|\d))\s*")
_WEAK = re.compile(r"[\s,.;(\[*?]*(?:(?<=\s)[/|]\s+(?=[\d(]))?")
_FIRST_DEPTH = re.compile(r"\s*(?:\*|\u2022|-)?\s*(?:[Dd]epths?:?\s+)?(?=\d|[Ff]rom\b|(?:[Zz]ero|[Oo]ne|[Tt]wo|[Tt]hree|[Ff]our|[Ff]ive|[Ss]ix|[Ss]even|[Ee]ight|[Nn]ine|[Tt]en|[Ee]leven|[Tt]welve|[A-Za-z]{3,5}teen|[A-Za-z]{3,5}ty)\b)")
_BETWEEN = re.compile(r"(?:(?:is|was|comes|we have|there is|there's|it is|it's|lies|you have|we get)\s+)?(?:(?:an?|the)\s+)?(?:(?:[Hh]orizon|HORIZON|[Ll]ayer|LAYER)\s*[:=]?\s+)?(?=[\^A-Z\d])")



_STOP = re.compile(r"[.;](?=\s)")
_CAPITAL = re.compile(r"[A-Z^]")
_WORD = re.compile(r"(?<![\w.'\u2019-])[\w^]")
_BEFORE = re.compile(r"(?:[A-Za-z0-9'\u2019-]+[,:]?\s+)*")


@dataclass(frozen=True, slots=True)
class Entry:
    """The head of a horizon, with places in the whole text. ``depths`` is None where none are written."""

    start: int
    designation: str
    designation_at: tuple[int, int]
    depths: Depths | None
    body: int
    known: bool
    strong: bool = False
    """Whether dashes or a colon stand behind the designation."""
    lead: tuple[int, int] | None = None
    """Words before it that belong to no list of leads (``Under it sits the old topsoil``)."""
    cells: tuple[Cell, ...] = ()
    """Of a horizon that is laid out, on a card or in a table: what stands at each label."""
    labels: tuple[tuple[int, int], ...] = ()
    """Places of the labels themselves."""
    stop: int = -1
    """Where the laid-out part ends; -1 for running text."""
    pit: str = ""
    """Id of the pit, where a table has a column of it."""
    notes: tuple[str, ...] = ()
    """What was decided of a horizon whose depths could not be read."""
    beside: tuple[Entry, ...] = ()
    """Further horizons of the same lines, in the other columns of a table that lies on its side."""


def entry_at(text: str, start: int, end: int) -> Entry | None:
    """The horizon that begins at ``start``, or None."""
    if not _CAPITAL.search(text, start, min(end, start + HEAD)):
        return None
    return _designation_first(text, start, end) or _depths_first(text, start, end)


_SAMPLE = re.compile(r"-\d{1,3}-\d{1,3}(?![\d.]|\s?(?:cm|in\b|\"))(?=\s+(?:taken|sampled?|at|from|was|is|bag|jar)\b|[ \t]*$)")
"""``C-4-2 taken at 0.90 m`` is a sample."""
_DOWN_TO = re.compile(r"[\s,:;\u2010-\u2015-]*(?:(?:it |which )?(?:goes|runs|extends|continues|reaches)\s+)?(?:on\s+)?(?:down\s+)?to\s+(?:about\s+)?(?=\d)")


def entry_down_to(text: str, start: int, end: int, last: Entry) -> Entry | None:
    """A horizon whose lower depth alone is written (``Bw, down to 11``): it begins where the last one ended."""
    at = lead_end(text, start, end)
    named = designation_in(text, at, min(end, at + 40))
    words = _DOWN_TO.match(text, named[1][1], end) if named else None
    above = last.depths.lower if last.depths else None
    if not words or above is None or not re.search(r"[,:;\u2010-\u2015-]|[a-z]{4}", words.group()):
        return None  # C to 120 cm, at the beginning of a line that goes on with a sentence
    found = depths_at(tokens(text[words.end() : min(end, words.end() + HEAD)], words.end()), 0)
    if found is None or found[0].lower is not None or found[0].upper.value <= above.value:
        return None
    lower, unit = found[0].upper, found[0].unit or above.unit
    note = "the upper depth is where the horizon above ends"
    plus = found[0].open_plainly
    depths = Depths(replace(above, unit=above.unit or unit), lower, unit, plus, found[0].start, found[0].end, (*found[0].notes, note), plus)
    return Entry(start, named[0], named[1], depths, depths.end, True)


def entry_within(text: str, start: int, end: int) -> Entry | None:
    """The horizon that a sentence names further on: ``Under it sits the old topsoil, IIAhb, 30-46``.

    Where it must follow on the horizon above, or begin at the surface: that is for who asks to hold.
    """
    stop = _STOP.search(text, start, min(end, start + 120))
    last = stop.start() if stop else min(end, start + 120)
    if not _CAPITAL.search(text, start, last):
        return None
    for word in _WORD.finditer(text, start, last):
        at = word.start()
        if not _BEFORE.fullmatch(text, start, at):
            return None
        if at == start or (text[at].islower() and not text.startswith("from", at)):
            continue
        found = _designation_first(text, at, end) or _depths_first(text, at, end)
        if found and found.known and found.depths and found.depths.lower is not None:
            return replace(found, start=start, lead=(start, at))
    return None


def _designation_first(text: str, start: int, end: int) -> Entry | None:
    at = lead_end(text, start, end)
    found = _DESIGNATION.match(text, at, min(end, at + 40))
    if not found:
        return None
    for stop in _ends(found):
        written = text[at:stop]
        if stop < end and (text[stop].isalnum() or text[stop] == "_"):
            continue
        designation = _joined(written)
        known = is_designation(designation)
        strong = _STRONG.match(text, stop, end)
        known = known or bool(_OLD.fullmatch(designation)) or _is_known_but_for_the_place_of_its_number(designation)
        if not (known or looks_like_one(designation)):
            continue
        spot = strong.end() if strong else _WEAK.match(text, stop, end).end()
        spot = behind_words(text, spot, end)
        row = tokens(text[spot : min(end, spot + HEAD)], spot)
        depth = depths_at(row, 0)
        if depth is None and text.startswith("?", stop):  # Cr? soft shale 40-55
            words = re.compile(r"(?:[a-z]+\s+){1,3}(?=\d)").match(text, spot, end)
            depth = depths_at(tokens(text[words.end() : min(end, words.end() + HEAD)], words.end()), 0) if words else None
            if depth and depth[0].lower is not None:
                return Entry(start, designation, (at, stop), depth[0], depth[0].end, known, lead=(spot, words.end()))
        if depth is None:
            plain = strong and strong.group().strip() in ("-", ":")
            if strong and known and not (plain and (len(designation) == 1 or designation.isupper() and designation not in ("LFH", "LF", "FH"))):
                return Entry(start, designation, (at, stop), None, strong.end(), True)
            continue
        depths, after = depth
        if not known and not depths.unit:
            continue
        if _SAMPLE.match(text, stop, end):
            continue
        if depths.lower is None and not depths.unit and not depths.open_below:
            continue
        if depths.lower is None and not (depths.unit or depths.open_plainly):
            continue
        if depths.lower is None and not (depths.open_plainly or strong or _HARD.match(designation)):
            continue  # A 10 m wide ditch
        return Entry(start, designation, (at, stop), depths, depths.end, known, bool(strong))
    return None


def _depths_first(text: str, start: int, end: int) -> Entry | None:
    begin = _FIRST_DEPTH.match(text, start, end)
    if not begin:
        return None
    row = tokens(text[begin.end() : min(end, begin.end() + HEAD)], begin.end())
    found = depths_at(row, 0)
    if found is None or (found[0].lower is None and not found[0].unit):
        return None
    spot = _WEAK.match(text, found[0].end, end).end()
    strong = _STRONG.match(text, spot, end)
    spot = strong.end() if strong else spot
    spot = _BETWEEN.match(text, spot, end).end() if _BETWEEN.match(text, spot, end) else spot
    name = _DESIGNATION.match(text, spot, min(end, spot + 40))
    if not name:
        return None
    for stop in _ends(name):
        if text[spot:stop] == "I" and re.match(r"\s+[a-z]", text[stop : stop + 3]):
            return None  # from 0 to 15 cm I saw
        if (stop == end or not text[stop].isalnum()) and is_designation(_joined(text[spot:stop])):
            after = behind_words(text, stop, end)
            return Entry(start, _joined(text[spot:stop]), (spot, stop), found[0], after, True)
    return None


def designation_in(text: str, first: int, last: int) -> tuple[str, tuple[int, int]] | None:
    """(designation, its place) at the beginning of a stretch of text; None where no convention, old or new, knows it."""
    found = _DESIGNATION.match(text, first, last)
    for stop in _ends(found) if found else ():
        name = _joined(text[first:stop])
        if (stop == last or not (text[stop].isalnum() or text[stop] == "_")) and (is_designation(name) or _OLD.fullmatch(name) or looks_like_one(name)):
            return name, (first, stop)
    return None


def _ends(found: re.Match) -> list[int]:
    """The whole match, and without its last joined part: ``A and B`` may be ``A``."""
    first = re.match(_ONE, found.group())
    ends = [found.end()]
    if first and first.end() != len(found.group()):
        ends.append(found.start() + first.end())
    return ends


def _joined(written: str) -> str:
    written = re.sub(r"^([IVX]+) (?=[A-Z])", r"\1", written.strip())
    apart = re.fullmatch(r"(?:\d |[IVX]{1,4} ?)?[A-Z]{1,2}[a-z]{0,3}(?: [a-z]){0,3}(?: ?[\dl])?", written)
    return written.replace(" ", "") if apart else written


@lru_cache(maxsize=20_000)
def is_designation(text: str) -> bool:
    """Whether any convention knows it, and it is no word of the language."""
    if re.fullmatch(r"[A-Z]+[a-z]+", text) and text.casefold() in _ordinary():
        return False
    if re.fullmatch(r"[A-Z]+[a-z]{4,}", text):  # one convention takes nearly any row of letters
        return any(parse_designation(text, convention).known for convention in ("canadian", "usda"))
    return any(parse_designation(text, convention).known for convention in CONVENTIONS)


def _is_known_but_for_the_place_of_its_number(text: str) -> bool:
    """``Bt2gj``, which is Btgj2 where numbers stand last."""
    found = re.fullmatch(r"((?:\d|[IVX]{1,4})?[A-Z]{1,2}[a-z]{1,3})(\d{1,2})([a-z]{1,3})", text)
    return found is not None and is_designation(f"{found[1]}{found[3]}{found[2]}")


@cache
def _ordinary() -> frozenset[str]:
    printed = {token.casefold() for convention in CONVENTIONS for token in rules_of(convention).tokens}
    words = {key for key, entries in lexicon().by_first.items() if len(key) > 2 and key.isalpha() and len(entries[-1][0]) == 1}
    return frozenset({*words, *table("notes")["entry"]["ordinary"]} - printed)


@lru_cache(maxsize=20_000)
def looks_like_one(text: str) -> bool:
    """A short form with a master letter first, such as a scanner's ``Btl`` for ``Bt1``."""
    return len(text) <= 6 and text.casefold() not in _ordinary() and any(
        one.parts and len(one.unknown) <= 1 and len(one.text) > 1 for one in (parse_designation(text, convention) for convention in CONVENTIONS)
    )


def lead_end(text: str, at: int, end: int) -> int:
    """Behind ``Next horizon,``, ``2.``, ``- `` and the like."""
    while True:
        found = _lead().match(text, at, end)
        if not found or not found.group():
            return at
        at = found.end()


def behind_words(text: str, at: int, end: int) -> int:
    """Behind ``horizon is``, ``which goes`` and the like, which stand between a designation and its depths."""
    found = _behind().match(text, at, end)
    return found.end() if found else at


@cache
def _lead() -> re.Pattern:
    words = sorted(table("notes")["entry"]["lead"], key=len, reverse=True)
    spoken = "|".join(rf"{re.escape(word[0])}{re.escape(word[1:])}" if word in ("a", "an") else f"[{word[0].upper()}{word[0]}]{re.escape(word[1:])}" for word in words)
    return re.compile(rf"\s*(?:An[ ](?=[\dIVX]{{0,3}}[A-Z])|A[ ](?=[\dIVX]{{0,3}}[A-Z][a-z])|(?:[Hh]orizon|[Ll]ayer)\s+(?:no\.?\s*)?\d{{1,2}}\s*[.:,)-]\s*|(?:{spoken})[,:]?\s+|\(?\d{{1,2}}[.)]\s+|\(\d{{1,2}}\)\s*|[*\u2022>|]\s*|-\s+|\s+)")


@cache
def _behind() -> re.Pattern:
    words = "|".join(re.escape(word) for word in sorted(table("notes")["entry"]["behind"], key=len, reverse=True))
    return re.compile(rf"(?:(?:{words})\b[\s,:\u2010-\u2015-]*)*")
