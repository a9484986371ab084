"""Clauses of codes as a field book has them: ``2 f sbk``, ``mod med gr``, ``cs``, ``es``, turned into the words they stand for.

Only a whole clause is read so, between commas, semicolons, tabs or two blanks: inside of running
text the same letters are words or parts of words.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from ...vocabulary.tables import table
from .code_runs import code_run
from .running_codes import running_codes

_CLAUSE = re.compile(r"(?:(?!  )[^,;\t\n(|])+")
_LONGEST = 48
WORDS_TOO = ("sbk", "abk", "cpr")
"""Codes of kinds that stand among words as well; the phrases know them."""
_PARTING = "/|>|->|to|part(?:ing|s)? (?:in)?to|break(?:ing|s)? (?:in)?to|br to|brk to|brk"


@lru_cache(maxsize=20_000)
def code_clauses(piece: str) -> tuple[tuple[int, int, str], ...]:
    """(start, end, words) of the clauses of a piece of text that are codes; none where the whole piece is one word of the trade."""
    found = []
    for clause in _CLAUSE.finditer(piece):
        text = clause.group().strip()
        if text and len(text) <= _LONGEST:
            words = _words(text)
            if words and words != text.casefold():
                start = clause.start() + clause.group().index(text)
                found.append((start, start + len(text), words))
                continue
        run = code_run(clause.group())
        if run:
            found += [(clause.start() + first, clause.start() + last, words) for first, last, words in run]
            continue
        inside = _inside().search(clause.group())
        mottled = None if inside else _mottles().match(clause.group())
        taken = []
        if inside and not _plain(*inside.groups()):
            taken = [(*inside.span(), " parting to ".join(_unit(part.casefold()) for part in inside.groups() if part))]
        elif mottled:
            taken = [(mottled.start("amount"), mottled.end("contrast"), _mottle_words(mottled))]
        taken += [one for one in running_codes(clause.group()) if not any(first < one[1] and one[0] < last for first, last, _ in taken)]
        found += [(clause.start() + first, clause.start() + last, words) for first, last, words in sorted(taken)]
    return tuple(found)


def blanked(piece: str, clauses: tuple[tuple[int, int, str], ...]) -> str:
    """The piece without its clauses of codes, as long as before."""
    for start, end, _ in clauses:
        piece = piece[:start] + " " * (end - start) + piece[end:]
    return piece


def _words(text: str) -> str:
    bare = " ".join(text.casefold().replace(".", " ").split())
    data = table("notes")["codes"]
    if bare in data["by_place"]["boundary"]:  # gr w: granular and weak, or gradual and wavy
        return ""
    for name, form in _forms():
        found = form.fullmatch(text if name == "texture" else bare)  # CL is a code of the tables
        if not found:
            continue
        if name == "structure" and _plain(found["first"], found["second"]):
            return ""
        if name == "structure" and not found["second"] and _unit(bare).endswith((" massive", " single grain")):
            return ""  # c mass: clay, massive
        if name == "structure":
            return " parting to ".join(_unit(part) for part in (found["first"], found["second"]) if part)
        if name == "dash":
            return _dashed(_unit(found["first"]), _unit(found["second"]))
        if name == "bound":
            return f"{data['effervescence'][found['effervescence']]} effervescence {'below' if found['number'] else 'in the'} {found['number'] or found['part']}"
        if name == "no acid":
            return "no effervescence"
        if name == "boundary":
            return f"{data['distinctness'][found['distinctness']]} {data['form'][found['form']]} boundary"
        if name == "fizz":
            return f"{data['degree'][found['degree']]} {data['fizz'].get(found['fizz'], 'effervescence')}"
        return f"{data[name][bare]} effervescence" if name == "effervescence" else data[name][bare]
    return ""


def _dashed(first: str, second: str) -> str:
    """``2mpr-2msbk`` parts to the second kind; ``1fgr-sg`` is both."""
    parts_to = table("notes")["codes"]["parts_to"]
    larger = next((kind for kind in parts_to if first.endswith(kind)), "")
    return f"{first} {'parting to' if any(second.endswith(kind) for kind in parts_to.get(larger, ())) else 'and'} {second}"


def _mottle_words(found: re.Match) -> str:
    data = table("notes")["codes"]
    return " ".join(data[f"mottle_{part}"][found[name].casefold()] for part, name in (("quantity", "amount"), ("size", "size"), ("contrast", "contrast"))) + " mottles"


@cache
def _mottles() -> re.Pattern:
    """``c2d 7.5YR 5/6 mottles``, ``c f d``: only before a colour, the word itself, or alone."""
    data = table("notes")["codes"]
    amount, size, contrast = (_any(data[f"mottle_{part}"]) for part in ("quantity", "size", "contrast"))
    return re.compile(rf"(?i)\s*(?P<amount>{amount})\s?(?P<size>{size})\s?(?P<contrast>{contrast})(?=\s*(?:$|\(?\d|mott|redox|[a-z ]*\())")


@cache
def _inside() -> re.Pattern:
    """A grade, a size and a kind among other words: ``10YR 3/2 L mod f gr friable``."""
    data = table("notes")["codes"]
    grade, size, kind = (_any(data[name]) for name in ("grade", "size", "kind"))
    unit = rf"(?:{grade})(?:(?:&|\+|-)(?:{grade}))?[ -]+(?:(?:{size})(?:\s*(?:&|\+|-|/|and|to|\s)\s*(?:{size}))?[ -]*)?(?:{kind})"
    return re.compile(rf"(?i)(?<![\w./])(?P<first>{unit})(?:\s*(?:{_PARTING})\s*(?P<second>{unit}))?(?:\s+struct(?:ure)?\b)?(?![\w-])")


def _plain(*units: str | None) -> bool:
    """Whether there is no code in it: full words are read as phrases."""
    return all(word in _full_words() for unit in units if unit for word in re.split(r"[\s-]+", unit.casefold()))


@cache
def _full_words() -> frozenset[str]:
    data = table("notes")["codes"]
    return frozenset(word for name in ("grade", "size", "kind") for phrase in data[name].values() for word in (*phrase.split(), "and", "to", *WORDS_TOO))


def _unit(text: str) -> str:
    data = table("notes")["codes"]
    forward = _unit_form().fullmatch(text.strip())
    if forward:
        grade, between, other, size, second, kind = forward.groups()
        if not grade and size == "m" and second and re.match(r"m\s+\w", text.strip()):  # M C SBK: grade, size, kind
            grade, size, second = "mod", second, ""
    else:
        size, kind, grade, behind = _unit_backward().fullmatch(text.strip()).groups()
        size, second, other, between = size or behind, "", "", ""
    grades = (" to " if between and between.strip() in ("-", "to") else " and ").join("strong" if code == "s" else data["grade"][code] for code in (grade, other) if code)
    sizes = " and ".join(data["size"][code] for code in (size, second) if code)
    return " ".join(word for word in (grades, sizes, data["kind"][kind]) if word)


@cache
def _unit_form() -> re.Pattern:
    data = table("notes")["codes"]
    grade, size, kind = (_any(data[name]) for name in ("grade", "size", "kind"))
    return re.compile(rf"(?:({grade}|s(?=\s))(?:(\s?(?:&|\+|-|and|to)\s?)({grade}))?[ -]*)?(?:({size})(?:\s*(?:&|\+|-|/|and|to|\s)\s*({size}))?[ -]*)?({kind})")


@cache
def _unit_backward() -> re.Pattern:
    """``m pl mod``, ``sbk mod med``: the grade behind the kind."""
    data = table("notes")["codes"]
    grade, size, kind = (_any(data[name]) for name in ("grade", "size", "kind"))
    return re.compile(rf"(?:({size})[ ,-]*)?({kind})[ ,-]+({grade})(?:[ ,-]+({size}))?")


@cache
def _forms() -> tuple[tuple[str, re.Pattern], ...]:
    data = table("notes")["codes"]
    unit = _unit_form().pattern
    bare = re.sub(r"\((?!\?)", "(?:", unit)
    return (
        ("structure", re.compile(rf"(?P<first>{bare})(?:\s*(?:{_PARTING})\s*(?P<second>{bare}))?")),
        ("structure", re.compile(re.sub(r"\((?!\?)", "(?:", f"(?P<first>{_unit_backward().pattern})(?P<second>$)?".replace("(?P<first>", "\0").replace("(?P<second>", "\1")).replace("\0", "(?P<first>").replace("\1", "(?P<second>"))),
        ("boundary", re.compile(rf"(?!(?:v ?s|v ?w|gr ?s)\b)(?P<distinctness>{_any(data['distinctness'])})\s*(?P<form>{_any(data['form'])})(?:\s*(?:bdy|bnd|bound|boundary))?")),
        ("dash", re.compile(rf"(?P<first>{bare})\s?-\s?(?P<second>{bare})")),
        ("effervescence", re.compile(_any(data["effervescence"]))),
        ("no acid", re.compile(r"(?:hcl|acid|eff|efferv|fizz|reaction)\s*[:=]?\s*(?:-|\u2013|\u2212|0|neg|negative|nil|none)")),
        ("bound", re.compile(rf"(?P<effervescence>{_any(data['effervescence'])})\s+(?:(?:below|from|under|past)\s+(?P<number>\d+(?:\.\d+)?\s*(?:cm|in|inches)?)(?: down)?|in (?:the )?(?P<part>(?:lower|upper) (?:part|half|third)))")),
        ("fizz", re.compile(rf"(?P<degree>{_any(data['degree'])})\s+(?P<fizz>{_any(data['fizz'])})(?:\s+(?:with |w/ ?)?(?:hcl|acid))?")),
        ("fizz", re.compile(rf"(?P<fizz>{_any(data['fizz'])}|hcl|acid)[ :=]+(?P<degree>{_any(data['degree'])})")),
        ("texture", re.compile(_any(data["texture"]))),
        ("moist", re.compile(_any(data["moist"]))),
        ("reaction", re.compile(_any(data["reaction"]))),
    )


def _any(codes: dict[str, str]) -> str:
    return "|".join(re.escape(code) for code in sorted(codes, key=len, reverse=True))
