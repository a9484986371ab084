"""Codes and short words among other words, without a mark between fields: ``10yr 4/3 m sl wk fine gran v friable abrupt wavey mod eff``.

A code of two letters is a texture only in its place: behind the colour, or before the
structure at the beginning of a clause. Elsewhere the same letters are other words.
"""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table

_END = 120
"""A code that ends a clause is looked for in as many of its last characters."""


def running_codes(clause: str) -> list[tuple[int, int, str]]:
    """(start, end, words) of the codes of a clause besides its structure, in the order of the text."""
    found = []
    for name, pattern in _patterns():
        for match in pattern.finditer(clause, max(len(clause) - _END, 0) if name == "end" else 0):
            words = _words(name, match)
            if words and words != match.group("code").casefold():
                found.append((match.start("code"), match.end("code"), words))
    return sorted(found)


def _words(name: str, found: re.Match) -> str:
    codes = table("notes")["codes"]
    if name == "structure":
        return " ".join(codes[part][found[part].casefold()] for part in ("grade", "size", "kind")) if found["grade"] else codes["kind"]["sg"]
    if name == "effervescence":
        return f"{codes[name][_bare(found)]} effervescence"
    if name == "end":
        return f"{codes['distinctness'][found['distinctness'].casefold()]} {codes['form'][found['form'].casefold()]} boundary"
    if name == "boundary":
        distinctness, form = found["distinctness"].casefold(), found["form"].casefold()
        plain = codes["distinctness"][distinctness] == distinctness and codes["form"][form] == form
        return "" if plain else f"{codes['distinctness'][distinctness]} {codes['form'][form]} boundary"
    if name == "fizz":
        degree = codes["degree"][" ".join(found["degree"].casefold().replace(".", " ").split())]
        return f"{degree} {'calcareous' if found['fizz'].casefold() == 'calc' else 'effervescence'}{found['part'] or ''}"
    return codes[name].get(_bare(found), "")


def _bare(found: re.Match) -> str:
    return " ".join(found["code"].casefold().replace(".", " ").split())


@cache
def _patterns() -> tuple[tuple[str, re.Pattern], ...]:
    codes = table("notes")["codes"]
    texture = _any(code for code in codes["texture"] if len(code) > 1)
    distinctness, form = (_any(code for code in codes[name] if len(code) > shortest) for name, shortest in (("distinctness", 2), ("form", 1)))
    size, kind = _any(codes["size"]), _any(code for code in codes["kind"] if code.isalpha() and len(code) < 4)
    degree, fizz = _any(codes["degree"]), "effer|efferv|eff|calc"
    part = r"(?P<part>,?[ ]+(?:(?:in|at)[ ]+(?:the[ ]+)?(?:lower|upper|middle)[ ]+(?:part|half|third|portion|\d+[ ]*(?:cm|in|inches))|below[ ]+\d+(?:[ ]*(?:cm|in|inches))?))?"
    structure = _any({*(code for code in codes["grade"] if len(code) > 1), *(code for code in codes["size"] if len(code) > 1), *(code for code in codes["kind"] if len(code) > 1)})
    moist = _any(code for code in codes["moist"] if len(code) > 2 or code in ("fi", "fr"))
    behind_colour = r"(?:(?<=/\d)|(?<=/\d m)|(?<=/\d d)|(?<=/\d moist)|(?<=/\d dry)|(?<=/\d\))|(?<=/\d m\))|(?<=/\d\) m)|(?<=/\d\) d)|(?<=/\d\) moist)|(?<=/\d\) dry))"
    return (
        ("texture", re.compile(rf"(?i){behind_colour}[ ]+(?P<code>{texture})(?=$|[ ])(?![ ]+[swib][ ]*$)(?![ ]+(?:eff\w*|fizz\w*|calc\w*|acid|alk\w*|sticky|plastic|hard|smooth|wavy)\b)")),
        ("texture", re.compile(rf"(?i)^[ ]*(?P<code>{texture})(?=[ ]+(?:\d[ ]?)?(?:{structure}|massive|single|loose|friable|firm|v[ .])\b)")),
        ("boundary", re.compile(rf"(?i)(?<![\w-])(?P<code>(?P<distinctness>{distinctness})\.?[ ]+(?:and[ ]+)?(?P<form>{form})(?:[ ]+(?:bdy|bnd|bound|boundary))?)(?![\w-])")),
        ("fizz", re.compile(rf"(?i)(?<![\w-])(?P<code>(?P<degree>{degree})\.?[ ]+(?P<fizz>{fizz})\b\.?(?:[ ]+(?:with |w/ ?)?(?:hcl|acid))?{part})(?![\w-])")),
        ("fizz", re.compile(rf"(?i)(?<![\w-])(?P<code>(?P<fizz>fizz|hcl|eff|efferv)[ ]+(?P<degree>{degree}))(?P<part>)(?![\w-])")),
        ("structure", re.compile(rf"(?i)(?<![\w./-])(?P<code>(?P<grade>[0-3])(?P<size>{size})(?P<kind>{kind})|sg)(?![\w-])(?![ ]*(?:-|/|>|to\b|parting|breaking))")),
        ("effervescence", re.compile(r"(?i)(?<![\w-])(?P<code>eo|es|ev)(?![\w-])(?![ ]+(?:in|below|at|from)\b)")),
        ("end", re.compile(r"(?i)(?:\S+[ ]+){3,}(?P<code>(?P<distinctness>[acgd])(?P<form>[wi]|(?<!a)(?<!A)s))[ ]*$")),
        ("moist", re.compile(rf"(?i)(?<![\w-])(?P<code>{moist})(?![\w-])")),
    )


def _any(codes) -> str:
    return "|".join(re.escape(code).replace(r"\ ", r"\.?[ ]+") for code in sorted(codes, key=len, reverse=True))
