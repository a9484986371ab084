"""Codes of textures and of their modifiers, as manuals and older field sheets print them: ``SIL``, ``GRV-SL``.

Codes come from ``tables/texture.toml`` (Schoeneberger et al. 2012, Field Book; the form with a hyphen from memory).
"""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table
from .tokens import Token


@cache
def capitals() -> frozenset[str]:
    """Codes of textures as older forms and field sheets print them, all in capitals: ``SIL``, ``SICL``."""
    return frozenset(code.upper() for code in texture_codes())


@cache
def texture_codes() -> dict[str, str]:
    """Code of a texture, in small letters -> its name, where all conventions that have the code mean one thing by it."""
    names: dict[str, set[str]] = {}
    for entry in table("texture")["texture"]:
        if entry.get("code"):
            names.setdefault(entry["code"].casefold(), set()).add(entry["name"])
    return {code: found.pop() for code, found in names.items() if len(found) == 1}


@cache
def _modifier_codes() -> dict[str, str]:
    return {code.casefold(): entry["name"] for entry in table("texture")["modifier"] for code in entry.get("codes", ())}


def is_modifier(text: str) -> bool:
    """Whether a code is that of a modifier, which alone is no texture: ``GR`` is granular as well as gravel."""
    return text.casefold() in _modifier_codes()


def glued_code(word: str, *, under_texture: bool = False) -> str:
    """``grsl`` -> gravelly sandy loam, ``vcbl`` -> very cobbly loam, ``GSL``: modifier and texture written as one; '' for any other word.

    ``GS`` is a boundary as well as a gravelly sand: it is a texture only where it stands under that heading.
    """
    found = _glued().fullmatch(word.casefold())
    if not found or (found["modifier"] == "g" and len(found["texture"]) == 1 and not under_texture):
        return ""
    strength = {"v": "very ", "x": "extremely ", "e": "extremely "}.get(found["strength"] or "", "")
    modifier = _modifier_codes()["gr" if found["modifier"] == "g" else found["modifier"]]
    return f"{strength}{modifier} {texture_codes()[found['texture']]}"


@cache
def _glued() -> re.Pattern:
    textures = "|".join(sorted(map(re.escape, texture_codes()), key=len, reverse=True))
    return re.compile(rf"(?P<strength>[vxe])?(?P<modifier>gr|cb|st|cn|g)[ -]?(?P<texture>{textures})")


def modifier_code(pieces: list[Token], at: int, words: dict) -> tuple[int, dict[str, object]] | None:
    """``GRV-SL``, ``GR SL``, ``cb-l``: the code of a modifier right before the code of a texture, or before its words (``GR-sandy loam``)."""
    name = _modifier_codes().get(pieces[at].key)
    if name is None or at + 1 == len(pieces):
        return None
    dashed = pieces[at + 1].key == "-" and pieces[at + 1].start == pieces[at].end and at + 2 < len(pieces)
    step = 2 if dashed else 1
    following = pieces[at + step]
    if not dashed and not (pieces[at].text.isupper() and following.text.isupper() and (len(following.text) > 1 or (following.text in ("S", "L") and not (at and len(pieces[at - 1].text) == 1 and pieces[at - 1].text.isalnum())))):
        return None
    more = modifier_code(pieces, at + step, words)
    if more:
        return step + more[0], {kind: f"{name} {said}" for kind, said in more[1].items()}
    if following.key in texture_codes():
        return step + 1, {"texture": f"{name} {texture_codes()[following.key]}"}
    return (step, {"modifier": name}) if any("texture" in values for _, values in words.get(following.key, ())) else None
