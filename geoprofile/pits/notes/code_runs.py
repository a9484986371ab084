"""Codes whose place decides: a run with nothing but blanks between its fields (``L w f gr ab s``), and a field of one code (``/ m / SL / cs``).

In a run the fields stand in the order of a form: texture, structure, consistence, reaction
with acid, boundary. It is read only where the whole of it is explained. A field of one
code is read by what the fields before it have said.
"""

from __future__ import annotations

import re
from collections.abc import Set as AbstractSet
from functools import cache

from ...vocabulary.tables import table
from .texture_codes import texture_codes

_COLOURS = re.compile(r"(?i)[\s):.,-]{0,6}(?:\s{0,3}(?:\d+(?:\.\d+)?\s?(?:YR|RP|GY|BG|PB|[RYGBP])\s?|N\s?)\d(?:\.\d)?/\d?(?:\.\d)?(?:\s?\(?(?:moist|dry|[md](?![a-z]))\)?)?\s?[,;&]?)+\s")


def code_run(clause: str) -> list[tuple[int, int, str]]:
    """(start, end, words) of the fields of a clause that is a run of codes, behind its colours; none where a word of it is no code in its place."""
    colours = _COLOURS.match(clause)
    found = _run().fullmatch(clause, colours.end() if colours else len(clause) - len(clause.lstrip(" \t):.,-")))
    if not found:
        return []
    said = {name: words for name in ("structure", "moist", "fizz", "boundary", "behind") if found[name] and (words := _meaning(name, found))}
    if len(said) + bool(found["texture"]) < 2 or not said:
        return []
    texture = texture_codes().get((found["texture"] or "").casefold(), "")
    fields = [(*found.span(name), words) for name, words in said.items()]
    if texture and not found["modifier"]:
        fields.append((*found.span("texture"), texture))
    return sorted(fields)


def by_place(code: str, said: AbstractSet[str]) -> str:
    """Words for a field of one code behind fields that said ``said`` (names of cells, and ``colour``); '' where its place does not decide.

    ``c`` behind a colour or in the first field is clay, ``m`` behind a texture and before any structure is massive;
    ``SL`` behind a texture is the reaction and no sandy loam; ``gr w`` is a boundary behind a structure.
    """
    codes = table("notes")["codes"]["by_place"]
    code = " ".join(code.casefold().split())
    textured, structured = "texture" in said, "structure kind" in said
    if code in codes["texture"] and not said - {"colour"}:
        return codes["texture"][code]
    if code in codes["structure"] and textured and not structured:
        return codes["structure"][code]
    if code in codes["effervescence"] and textured and "effervescence" not in said:
        return f"{codes['effervescence'][code]} effervescence"
    if code in codes["boundary"] and structured:
        return f"{codes['boundary'][code]} boundary"
    return ""


@cache
def placed_codes() -> frozenset[str]:
    """Codes, in small letters, that :func:`by_place` may know."""
    return frozenset(code for codes in table("notes")["codes"]["by_place"].values() for code in codes)


def _meaning(name: str, found: re.Match) -> str:
    codes = table("notes")["codes"]
    if name == "structure":
        if found["alone"]:
            alone = " ".join(found["alone"].casefold().split())
            return codes["kind"].get(alone) or codes["by_place"]["structure"].get(alone) or alone
        first = _unit(found["grade"], found["size"], found["kind"])
        return f"{first} parting to {_unit(found['grade2'], found['size2'], found['kind2'])}" if found["kind2"] else first
    if name == "moist":
        return codes["moist"][" ".join(found["moist"].casefold().split())]
    if name == "boundary":
        return f"{codes['distinctness'][found['distinctness'].casefold()]} {codes['form'][found['form'].casefold()]} boundary"
    which = "degree" if name == "fizz" else "degree2"
    degree = found[which] or found[f"{which}_first"]
    if degree:
        degree = " ".join(degree.casefold().split())
        return f"{codes['degree'].get(degree, 'no')} effervescence"
    code = found[name].casefold()
    return f"{codes['effervescence'].get(code) or codes['by_place']['effervescence'].get(code)} effervescence"


def _unit(grade: str, size: str | None, kind: str) -> str:
    codes = table("notes")["codes"]
    return " ".join(word for word in (grades()[grade.casefold()], codes["size"][size.casefold()] if size else "", codes["kind"][kind.casefold()]) if word)


@cache
def grades() -> dict[str, str]:
    """Codes of grades where nothing else can be meant: as one of three parts, or under their heading."""
    codes = table("notes")["codes"]
    return {**codes["under_heading"]["grade"], **codes["grade"]}


@cache
def _run() -> re.Pattern:
    data = table("notes")["codes"]
    modifiers = _any(code for entry in table("texture")["modifier"] for code in entry.get("codes", ()))
    words = "|".join(re.escape(name) for name in sorted(set(texture_codes().values()), key=len, reverse=True))
    size, kind, moist = _any(data["size"]), _any(data["kind"]), _any(code for code in data["moist"] if len(code) > 1)
    grade = _any(grades())
    alone = "massive|mass|mas|ma|single grain|sgr|sg|m"

    def unit(number: str) -> str:
        return rf"(?P<grade{number}>{grade})\s*(?P<size{number}>{size})\s*(?P<kind{number}>{kind})"

    structure = rf"(?P<structure>{unit('')}(?:\s*(?:/|->|>|to|parting to|breaking to)\s*{unit('2')})?|(?P<alone>{alone}))"

    def fizz(name: str, degree: str) -> str:
        degrees, said = _any(data["degree"]), "hcl|acid|effervescence|effer|efferv|eff|fizz"
        alone = _any({*data["effervescence"], *data["by_place"]["effervescence"]} - {"e"})
        return rf"(?P<{name}>(?:{said})[ :=]*(?P<{degree}>{degrees}|none|nil|neg|0|-)|(?P<{degree}_first>{degrees})\s+(?:{said})|{alone})"

    boundary = rf"(?P<boundary>(?P<distinctness>{_any(data['distinctness'])})\s*(?P<form>{_any(data['form'])}))"
    return re.compile(
        rf"(?i)\s*(?:(?P<modifier>(?:{modifiers})[ -]?)?(?P<texture>{_any(texture_codes())}|{words})(?:\s+|$))?(?:{structure}(?:\s+|$))?(?:(?P<moist>{moist})(?:\s+|$))?"
        rf"(?:{fizz('fizz', 'degree')}(?:\s+|$))?(?:{boundary}(?:\s+|$))?(?:{fizz('behind', 'degree2')}\s*)?[.\s]*"
    )


def _any(codes) -> str:
    return "|".join(re.escape(code).replace(r"\ ", r"\s+") for code in sorted(codes, key=len, reverse=True))
