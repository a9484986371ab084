"""Texture classes from sand, silt and clay, and texture words taken apart.

Class limits are data: ``tables/texture.toml`` holds them as sentences such as
``silt + 1.5 clay < 15``.
"""

from __future__ import annotations

import re
from functools import cache

import numpy as np

from .tables import table

SUM_TOLERANCE = 2.0
"""Fractions may miss 100 by this much, % (rounding of three numbers); they are then scaled to 100."""


def texture_class(sand, silt, clay, convention: str) -> np.ndarray:
    """Texture class codes of the convention from percentages of the fine earth.

    Parameters
    ----------
    sand, silt, clay : arrays of one shape, % of fine earth. Where exactly one of
        the three is missing it follows from the other two.
    convention : the Canadian convention splits off heavy clay above 60 % clay.

    Returns
    -------
    array of text of the same shape; '' where two are missing, one is negative, or
    they do not sum to 100 within ``SUM_TOLERANCE``.

    Source: Soil Survey Manual 2017 limits as in WRB 2022 Annex 1 Table 8.39.
    """
    parts = np.stack(np.broadcast_arrays(*(np.asarray(part, dtype=float) for part in (sand, silt, clay))))
    missing = np.isnan(parts)
    rest = 100.0 - np.nansum(parts, axis=0)
    parts = np.where(missing & (missing.sum(axis=0) == 1), rest, parts)
    total = parts.sum(axis=0)
    with np.errstate(invalid="ignore"):
        usable = (np.abs(total - 100.0) <= SUM_TOLERANCE) & (parts >= 0).all(axis=0)
        scaled = np.round(parts * 100.0 / np.where(usable, total, np.nan), 6)
    codes = np.full(total.shape, "", dtype=object)
    for code, alternatives in _triangle(convention):
        inside = np.zeros(total.shape, dtype=bool)
        for conditions in alternatives:
            fits = usable.copy()
            for weights, holds, limit in conditions:
                fits &= holds(np.round(np.tensordot(weights, scaled, axes=1), 6), limit)
            inside |= fits
        codes[inside] = code
    return codes


@cache
def clay_limits(convention: str) -> dict[str, tuple[float, float]]:
    """Class code -> least and greatest clay (%) that a point of the class can have, to half a percent."""
    sand, silt = (grid.ravel() for grid in np.meshgrid(np.arange(0, 100.5, 0.5), np.arange(0, 100.5, 0.5)))
    inside = sand + silt <= 100
    clay = 100.0 - sand[inside] - silt[inside]
    codes = texture_class(sand[inside], silt[inside], clay, convention)
    return {code: (float(clay[codes == code].min()), float(clay[codes == code].max())) for code, _ in _triangle(convention)}


@cache
def _triangle(convention: str) -> tuple[tuple[str, tuple], ...]:
    """(code, alternatives); an alternative is conditions that hold together: (weights, comparison, limit)."""
    return tuple(
        (entry["code"], tuple(tuple(_condition(text) for text in group) for group in entry["limits"]))
        for entry in table("texture")["texture"]
        if "limits" in entry and convention in entry.get("conventions", (convention,))
    )


def _condition(text: str) -> tuple[np.ndarray, np.ufunc, float]:
    left, sign, right = re.fullmatch(r"(.+?)\s*(<=|>=|<|>)\s*([\d.]+)", text).groups()
    weights = np.zeros(3)
    for factor, name in re.findall(r"([\d.]*)\s*(sand|silt|clay)", left):
        weights[("sand", "silt", "clay").index(name)] = float(factor or 1)
    compare = {"<": np.less, "<=": np.less_equal, ">": np.greater, ">=": np.greater_equal}[sign]
    return weights, compare, float(right)


def split_modifiers(text: str, convention: str) -> tuple[tuple[str, ...], str]:
    """(modifiers in full words, what remains): ``very gravelly sandy loam`` -> (('very gravelly',), 'sandy loam').

    Codes are taken before a hyphen (``GRV-SL``) or, in the Canadian convention,
    run on (``vgSL``).
    """
    rest = " ".join(str(text).split())
    found: list[str] = []
    modifiers = _modifiers(convention)
    while True:
        for spelling, name in modifiers:
            head = re.match(rf"{re.escape(spelling)}(?:\s*-\s*|\s+)(?=\S)", rest, re.IGNORECASE)
            if not head and name.endswith("gravelly") and convention == "canadian" and spelling in ("g", "vg"):
                head = re.match(rf"{spelling}(?=[A-Z])", rest)
            if head:
                found.append(name)
                rest = rest[head.end() :]
                break
        else:
            return tuple(found), rest


def several_textures(text: str, convention: str) -> tuple[str, ...]:
    """The textures of a horizon that has more than one, as ``SR- FSL CL`` (stratified) or ``SL, L``; () for any other text.

    Each part is a class, or a word used in its place, with or without modifiers.
    """
    from .terms import find_term

    rest = re.sub(r"^(?:SR|stratified)(?:\s*-\s*|\s+)", "", str(text).strip(), flags=re.IGNORECASE)
    for between in (r"\s*[,;/&+]\s*(?:and\s+)?|\s+(?:and|to)\s+", r"\s+"):
        parts = tuple(part for part in re.split(between, rest) if part)
        if len(parts) > 1 and all(find_term("texture", part, convention) for part in parts):
            return parts
    return ()


def names_rock(text: str, designation: str, convention: str) -> bool:
    """Whether a text in place of a texture names the rock of a horizon that may be rock (R, Cr, C): material, not texture.

    A rock named in any other horizon (``shale`` in a Bt) is a fault; a cemented one (``duripan``) is the material of a
    horizon whose designation says that it is cemented: m, in the Canadian convention c.
    """
    from .designations import parse_designation

    words = " ".join(re.sub(r"[^a-z -]", " ", str(text).casefold()).replace("-", " ").split())
    parsed = parse_designation(designation, convention)
    if _rock().fullmatch(words) and any(part.master in ("R", "C", "CR", "RC") for part in parsed.parts):
        return True
    return bool(_cemented().fullmatch(words)) and parsed.has("c" if convention == "canadian" else "m")


@cache
def _cemented() -> re.Pattern:
    rock = table("notes")["rock"]
    kinds = "|".join(sorted(rock["cemented"], key=len, reverse=True))
    return re.compile(rf"(?:(?:{'|'.join(rock['states'])})\s+)*(?:{kinds})")


@cache
def _rock() -> re.Pattern:
    rock = table("notes")["rock"]
    kinds = "|".join(sorted((*rock["kinds"], rock["noun"]), key=len, reverse=True))
    states = "|".join(rock["states"])
    return re.compile(rf"(?:(?:{states}|and|or|to|{kinds})\s+)*(?:{kinds})")


@cache
def _modifiers(convention: str) -> tuple[tuple[str, str], ...]:
    """(spelling, name), longest spelling first."""
    pairs = [
        (spelling, entry["name"])
        for entry in table("texture")["modifier"]
        if convention in entry.get("conventions", (convention,))
        for spelling in (entry["name"], *entry.get("codes", ()))
    ]
    return tuple(sorted(pairs, key=lambda pair: -len(pair[0])))
