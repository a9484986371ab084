"""Horizon designations read letter by letter, in the Canadian, USDA or WRB convention.

What each letter means, which letters go together and what older forms were
called is data: ``tables/canadian.toml``, ``usda.toml``, ``wrb.toml``. Nothing is
converted in silence: every departure from what was written leaves a note, and
a form that the convention does not know stays unknown.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache

from .conventions import OldForm, Rules, rules_of
from .tables import table

ROMAN = ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X")
DASHES = str.maketrans({dash: "-" for dash in "\u2010\u2011\u2012\u2013\u2014\u2212"})
PRIMES = str.maketrans({mark: "'" for mark in "\u2018\u2019\u2032\u00b4\u0060\u02b9"} | {'"': "''", "\u2033": "''"})
ORGANIC_LAYERS = re.compile(r"[LFH](?:[\s,&+/-]*\(?[LFH]\)?){1,2}(?![a-z]*[A-Z])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Suffix:
    """One lower-case letter, or pair with one meaning; ``weak`` where the Canadian j follows it."""

    letters: str
    weak: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One horizon of a designation: ``E and Bt`` has two."""

    master: str
    suffixes: tuple[Suffix, ...] = ()


@dataclass(frozen=True, slots=True)
class Designation:
    """A designation taken apart.

    ``text`` is the normal form of the convention; ``known`` says that the
    convention knows every piece of it, ``unknown`` lists the pieces it does not,
    ``notes`` what was read otherwise than written. A designation that is not
    known still has the parts that could be read.
    """

    text: str
    as_written: str
    convention: str
    parts: tuple[Part, ...] = ()
    discontinuity: int = 1
    relation: str = ""
    """'' | 'transitional' (AB) | 'combination' (A/B) | 'lamellae' (E and Bt)"""
    prime: int = 0
    number: str = ""
    buried: bool = False
    organic: bool = False
    transported: bool = False
    unknown: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def known(self) -> bool:
        return bool(self.parts) and not self.unknown

    @property
    def master(self) -> str:
        """Master letters of the first part: A, B, BC, LFH, O, R; '' where none could be read."""
        return self.parts[0].master if self.parts else ""

    def has(self, letters: str, weak: bool = False) -> bool:
        """Whether any part carries the suffix; ``weak=True`` lets a weak one (Btj) count."""
        return any(
            suffix.letters == letters and (weak or not suffix.weak) for part in self.parts for suffix in part.suffixes
        )


@lru_cache(maxsize=65536)
def parse_designation(text: str, convention: str) -> Designation:
    """Take a designation apart.

    Parameters
    ----------
    text : as written, such as ``IICkgj``, ``B't1``, ``E and Bt``, ``AhBw``.
    convention : ``canadian``, ``usda`` or ``wrb``.

    Returns
    -------
    Designation, never an error: what could not be read is in ``unknown``.
    """
    rules = rules_of(convention)
    written = str(text)
    clean, notes = _cleaned(written)
    if not clean:
        return Designation("", written, rules.name)
    best = _read(clean, written, notes, rules)
    if not best.known:
        for other in _other_cases(clean, rules):
            tried = _read(other, written, (*notes, f"{clean} read as {{}}"), rules)
            if tried.known:
                best = _with_notes(tried, tuple(note.format(tried.text) for note in tried.notes))
                break
    if not best.known and clean.casefold() in table("words")["organic"]:
        note = f"{clean}: a word, not a designation; taken as an organic layer"
        return Designation(clean, written, rules.name, organic=True, unknown=(clean,), notes=(note,))
    return best


def nearest_designation(text: str, convention: str) -> str:
    """The published designation that looks most like ``text``; '' where none is near."""
    clean = str(text).strip()
    for looks, means in (("l", "1"), ("I", "1"), ("|", "1"), ("O", "0"), ("0", "O"), ("1", "l")):
        if looks in clean:
            tried = parse_designation(clean.replace(looks, means), convention)
            if tried.known:
                return tried.text
    near = get_close_matches(clean, rules_of(convention).tokens, 1, 0.6)
    return near[0] if near else ""


def _cleaned(text: str) -> tuple[str, tuple[str, ...]]:
    notes: list[str] = []
    clean = unicodedata.normalize("NFKC", text.translate(PRIMES).translate(DASHES)).translate(PRIMES).translate(DASHES)
    clean = " ".join(clean.replace("\u200b", "").replace("\ufeff", "").split()).strip(" .,;:")
    if "?" in clean:
        clean = clean.replace("?", "")
        notes.append("marked as uncertain by the surveyor")
    if re.search(r"[()\[\]]", clean):
        clean = re.sub(r"[()\[\]]", "", clean)
        notes.append("brackets left out")
    return clean.strip(), tuple(notes)


def _other_cases(clean: str, rules: Rules) -> list[str]:
    """The same letters with masters in capitals, suffixes in small letters; shortest master first."""
    found = re.fullmatch(r"(\^?(?:\d*|[IVXivx]*)'?)([A-Za-z@']+)(\d*)", clean)
    candidates = []
    for roman in (False, True):
        lead = re.match(r"\^?\d*" if not roman else r"[IVXivx]+(?=[A-Za-z])", clean)
        if found and lead:
            rest = clean[lead.end() :]
            for length in (2, 1, 2, 3) if rest[:2].upper() in rules.transitional else (1, 2, 3):
                if length <= len(rest):
                    candidates.append(lead.group().upper() + rest[:length].upper() + rest[length:].lower())
    return [other for other in dict.fromkeys(candidates) if other != clean]


def _with_notes(designation: Designation, notes: tuple[str, ...]) -> Designation:
    return replace(designation, notes=notes)


@dataclass
class _OnePart:
    part: Part
    text: str
    discontinuity: int = 1
    prime: int = 0
    number: str = ""
    transported: bool = False


def _read(clean: str, written: str, notes: tuple[str, ...], rules: Rules) -> Designation:
    unknown: list[str] = []
    said = list(notes)
    pieces, joins = _split(clean, rules)
    read = [_read_part(piece, rules, unknown, said) for piece in pieces]
    relation = ""
    if len(read) > 1:
        relation = "lamellae" if all(rules.joins[join] == "lamellae" for join in joins) else "combination"
    elif len(read[0].part.master) == 2 and read[0].part.master not in rules.layers:
        relation = "transitional"
    text = read[0].text
    for join, one in zip(joins, read[1:]):
        shown = rules.joins["preferred"] if rules.joins["and"] == rules.joins["slash"] else join
        text += {"and": " and ", "slash": "/"}[shown] + one.text
    _alone(read, rules, unknown, said, relation)
    front = re.match(r"\^?\d+|[IVX]+(?=[A-Z])|", clean).group()
    for form in rules.old:
        found = form.pattern.fullmatch(clean[len(front) :])
        if not found or not (unknown or form.always):
            continue
        today = front + _today(form, found, rules) if form.today else ""
        now = _read(today, written, (), rules) if today and today != clean else None
        if now and now.known:
            typed = "; l is a typewriter's numeral one" if "l" in (found.groupdict().get("number") or "") else ""
            return replace(now, notes=(*notes, f"{clean} read as {now.text}: {form.note}{typed}"))
        unknown = unknown or [clean]
        said.append(f"{clean}: {form.note}")
        break
    if not unknown:
        compact = clean.replace(" ", "")
        if text.replace(" ", "") != compact and not any("read as" in note for note in said):
            said.append(f"{clean} read as {text}")
    return Designation(
        text=text if not unknown else clean,
        as_written=written,
        convention=rules.name,
        parts=tuple(one.part for one in read if one.part.master),
        discontinuity=read[0].discontinuity,
        relation=relation,
        prime=read[0].prime,
        number=read[0].number or read[-1].number,
        buried=any(suffix.letters == "b" for one in read for suffix in one.part.suffixes),
        organic=bool(read[0].part.master) and set(read[0].part.master) <= rules.organic,
        transported=read[0].transported,
        unknown=tuple(dict.fromkeys(unknown)),
        notes=tuple(dict.fromkeys(said)),
    )


def _today(form: OldForm, found: re.Match, rules: Rules) -> str:
    """The present form: ``letters`` in the letters of today, ``number`` with a typewriter's l as the numeral it stands for."""
    parts = {name: text or "" for name, text in found.groupdict().items()}
    longest = sorted(rules.old_letters, key=len, reverse=True)
    if longest:
        parts["letters"] = re.sub("|".join(longest), lambda old: rules.old_letters[old.group()], parts.get("letters", ""))
    parts["number"] = parts.get("number", "").replace("l", "1")
    return form.today.format(**parts)


def _split(clean: str, rules: Rules) -> tuple[list[str], list[str]]:
    """Pieces between joins, and the joins: 'and' or 'slash'."""
    if rules.layers and ORGANIC_LAYERS.fullmatch(re.sub(r"[a-z]*\d*$", "", clean) or clean):
        return [clean], []
    bits = re.split(r"\s*(/|\band\b|&|\+)\s*", clean)
    joins = ["slash" if bit == "/" else "and" for bit in bits[1::2]]
    return [bit.replace(" ", "") for bit in bits[::2]], joins


def _alone(read: list[_OnePart], rules: Rules, unknown: list[str], said: list[str], relation: str) -> None:
    for one in read:
        if not relation and one.part.master in rules.needs_suffix and not one.part.suffixes:
            unknown.append(one.text)
            said.append(f"{one.part.master} alone: this convention asks for a lower-case letter after it")


def _read_part(piece: str, rules: Rules, unknown: list[str], said: list[str]) -> _OnePart:
    layers = _organic_layers(piece, rules)
    if layers:
        return layers
    mark = re.escape(rules.transported_mark) if rules.transported_mark else "(?!)"
    lead = re.match(rf"({mark})?(\d+)?({mark})?", piece)
    transported = bool(lead.group(1) or lead.group(3))
    discontinuity = int(lead.group(2) or 1)
    rest = piece[lead.end() :]
    if not lead.group(2):
        discontinuity, rest = _roman(rest, rules, said)
    elif discontinuity == 0:
        unknown.append(lead.group(2))
        discontinuity = 1
    found = re.fullmatch(r"([A-Z]+)('*)([^A-Z'\d]*)(?:([A-Z])([^A-Z'\d]*))?('*)(\d*)('*)", rest)
    if not found:
        unknown.append(piece)
        start = re.match(r"[A-Z]", rest)
        master = start.group() if start and start.group() in rules.masters else ""
        return _OnePart(Part(master, ()), piece, discontinuity)
    master, first_prime, letters, inner, inner_letters, late_prime, number, last_prime = found.groups()
    prime = len(first_prime or late_prime or last_prime)
    if inner and not (rules.suffix_inside and len(master) == 1):
        unknown.append(piece)
        return _OnePart(Part(master if master in rules.masters else "", ()), piece, discontinuity)
    whole = master + (inner or "")
    if whole not in rules.masters | rules.transitional:
        unknown.append(whole)
    suffixes = _suffixes(letters, master, rules, unknown, said)
    inner_suffixes = _suffixes(inner_letters, inner, rules, unknown, said) if inner else ()
    if inner:
        shown = master + "'" * prime + _shown(suffixes, rules) + inner + _shown(inner_suffixes, rules)
    else:
        suffixes = _ordered(suffixes, rules)
        shown = whole + "'" * prime + _shown(suffixes, rules)
    front = "" if discontinuity == 1 else _roman_text(discontinuity) if rules.roman else str(discontinuity)
    shown = (lead.group(1) or "") + front + (lead.group(3) or "") + shown + number
    return _OnePart(Part(whole, (*suffixes, *inner_suffixes)), shown, discontinuity, prime, number, transported)


def _organic_layers(piece: str, rules: Rules) -> _OnePart | None:
    """L-H, LFH, L-F ... of the Canadian convention as one layer; None where it is something else."""
    if not rules.layers:
        return None
    found = re.fullmatch(r"([LFH](?:[\s,&+/-]*[LFH]){1,2})([yzub]?)(\d*)", piece)
    if not found:
        return None
    letters = re.sub(r"[^LFH]", "", found.group(1))
    ranged = "-" in found.group(1)
    master = "LFH" if ranged and letters == "LH" else letters
    if master not in rules.layers:
        return None
    shown = "-".join(letters) if ranged and len(letters) == 2 else letters
    suffixes = tuple(Suffix(letter) for letter in found.group(2))
    return _OnePart(Part(master, suffixes), shown + found.group(2) + found.group(3), number=found.group(3))


def _roman(rest: str, rules: Rules, said: list[str]) -> tuple[int, str]:
    found = re.match(r"(X|IX|IV|VI{1,3}|V|I{1,3})(?=[A-HJ-UWYZ])", rest)
    if not found or (not rules.roman and found.group(1) in rules.masters):
        return 1, rest
    number = ROMAN.index(found.group(1))
    if not rules.roman:
        said.append(f"roman numeral {found.group(1)} read as {number}")
    return number, rest[found.end() :]


def _roman_text(number: int) -> str:
    return ROMAN[number] if number < len(ROMAN) else str(number)


def _suffixes(letters: str, master: str, rules: Rules, unknown: list[str], said: list[str]) -> tuple[Suffix, ...]:
    """Suffixes of one master; what is not one goes to ``unknown``."""
    if not letters:
        return ()
    found = _tokens(letters, rules, frozenset())
    if found is None:
        found = _tokens_with_gaps(letters, rules, unknown)
    for suffix in found:
        entry = rules.suffixes[suffix.letters]
        allowed = entry.get("with")
        if allowed and not set(master) & set(allowed):
            unknown.append(suffix.letters)
            said.append(f"{suffix.letters} goes with {', '.join(allowed)} in this convention, not with {master}")
        if suffix.weak and not entry.get("weak"):
            unknown.append(suffix.letters + rules.weak_mark)
            said.append(f"{rules.weak_mark} is not used after {suffix.letters}")
    return found


def _tokens(letters: str, rules: Rules, seen: frozenset[str]) -> tuple[Suffix, ...] | None:
    """Letters cut into suffixes, longest first, none twice; None where that cannot be done."""
    if not letters:
        return ()
    for length in (2, 1):
        head, rest = letters[:length], letters[length:]
        if len(head) < length or head not in rules.suffixes or head in seen:
            continue
        weak = bool(rules.weak_mark) and rest.startswith(rules.weak_mark)
        tail = _tokens(rest[len(rules.weak_mark) :] if weak else rest, rules, (seen | {head}) - rules.may_repeat)
        if tail is not None:
            return (Suffix(head, weak), *tail)
    return None


def _tokens_with_gaps(letters: str, rules: Rules, unknown: list[str]) -> tuple[Suffix, ...]:
    found: list[Suffix] = []
    while letters:
        for length in (2, 1):
            head = letters[:length]
            if len(head) == length and head in rules.suffixes and all(head != one.letters for one in found):
                letters = letters[length:]
                weak = bool(rules.weak_mark) and letters.startswith(rules.weak_mark)
                letters = letters[len(rules.weak_mark) :] if weak else letters
                found.append(Suffix(head, weak))
                break
        else:
            unknown.append(letters[0])
            letters = letters[1:]
    return tuple(found)


def _ordered(suffixes: tuple[Suffix, ...], rules: Rules) -> tuple[Suffix, ...]:
    """Normal order: strong before weak, each in the convention's order; as written where it has none."""
    if not rules.order:
        return suffixes
    ready = sorted(suffixes, key=lambda one: (one.letters == "b", one.weak, rules.order.index(one.letters)))
    strong = [one.letters for one in suffixes if not one.weak]
    for first, second in rules.order_matters:
        if first in strong and second in strong and strong.index(first) < strong.index(second):
            moved = next(one for one in ready if one.letters == second)
            ready.remove(moved)
            ready.insert([one.letters for one in ready].index(first) + 1, moved)
    return tuple(ready)


def _shown(suffixes: tuple[Suffix, ...], rules: Rules) -> str:
    return "".join(one.letters + (rules.weak_mark if one.weak else "") for one in suffixes)
