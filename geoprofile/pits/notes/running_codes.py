"""Codes and short words among other words, without a mark between fields: ``10yr 4/3 m sl wk fine gran v friable abrupt wavey mod eff``.

A code of two letters is a texture only in its place: behind the colour, or before the
structure at the beginning of a clause. Elsewhere the same letters are other words.
"""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table


def running_codes(clause: str) -> list[tuple[int, int, str]]:
    """(start, end, words) of the codes of a clause besides its structure, in the order of the text."""
    found = []
    for name, pattern in _patterns():
        for match in pattern.finditer(clause):
            words = _words(name, match)
            if words and words != match.group("code").casefold():
                found.append((match.start("code"), match.end("code"), words))
    return sorted(found)


def _words(name: str, found: re.Match) -> str:
    codes = table("notes")["codes"]
    bare = " ".join(found["code"].casefold().replace(".", " ").split())
    if name == "boundary":
        return f"{codes['distinctness'][found['distinctness'].casefold()]} {codes['form'][found['form'].casefold()]} boundary"
    if name == "fizz":
        return f"{codes['degree'][' '.join(found['degree'].casefold().replace('.', ' ').split())]} {codes['fizz'][found['fizz'].casefold()]}"
    if name == "calcareous":
        return f"{codes['degree'][' '.join(found['degree'].casefold().replace('.', ' ').split())]} calcareous"
    return codes[name].get(bare, "")


@cache
def _patterns() -> tuple[tuple[str, re.Pattern], ...]:
    codes = table("notes")["codes"]
    texture = _any(code for code in codes["texture"] if len(code) > 1)
    distinctness, form = (_any(code for code in codes[name] if len(code) > 2) for name in ("distinctness", "form"))
    degree, fizz = _any(codes["degree"]), _any(code for code in codes["fizz"] if code.startswith(("eff", "fizz")))
    structure = _any({*(code for code in codes["grade"] if len(code) > 1), *(code for code in codes["size"] if len(code) > 1), *(code for code in codes["kind"] if len(code) > 1)})
    moist = _any(code for code in codes["moist"] if len(code) > 2)
    behind_colour = r"(?:(?<=/\d)|(?<=/\d m)|(?<=/\d d)|(?<=/\d moist)|(?<=/\d dry)|(?<=/\d\))|(?<=/\d m\)))"
    return (
        ("texture", re.compile(rf"(?i){behind_colour}[ ]+(?P<code>{texture})(?=$|[ ])(?![ ]+(?:{fizz}|acid|alk|calc|sticky|plastic|hard|smooth|wavy)\b)")),
        ("texture", re.compile(rf"(?i)^[ ]*(?P<code>{texture})(?=[ ]+(?:\d[ ]?)?(?:{structure}|massive|single|loose|friable|firm|v[ .])\b)")),
        ("boundary", re.compile(rf"(?i)(?<![\w-])(?P<code>(?P<distinctness>{distinctness})\.?[ ]+(?:and[ ]+)?(?P<form>{form})(?:[ ]+(?:bdy|bnd|bound|boundary))?)(?![\w-])")),
        ("fizz", re.compile(rf"(?i)(?<![\w-])(?P<code>(?P<degree>{degree})\.?[ ]+(?P<fizz>{fizz})(?:[ ]+(?:with |w/ ?)?(?:hcl|acid))?)(?![\w-])")),
        ("calcareous", re.compile(rf"(?i)(?<![\w-])(?P<code>(?P<degree>{degree})\.?[ ]+calc)(?![\w-])")),
        ("moist", re.compile(rf"(?i)(?<![\w-])(?P<code>{moist})(?![\w-])")),
    )


def _any(codes) -> str:
    return "|".join(re.escape(code).replace(r"\ ", r"\.?[ ]+") for code in sorted(codes, key=len, reverse=True))
