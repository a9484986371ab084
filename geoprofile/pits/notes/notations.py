"""Munsell notations among tokens, written and said: ``10YR 4/3``, ``ten Y R four over three``, ``4/1`` behind another of the same hue."""

from __future__ import annotations

from dataclasses import replace

from .tokens import HUES, Token


def colour_at(pieces: list[Token], at: int) -> tuple[int, dict[str, object]] | None:
    """(number of tokens, ``{"colour": "10YR 4/3"}``) of a notation that begins at a number; None where there is none."""
    return _half_hue(pieces, at) or _notation(pieces, at)


def _notation(pieces: list[Token], at: int) -> tuple[int, dict[str, object]] | None:
    """``10 YR 4 / 3``, ``10YR 4 over 3``, ``ten Y R four over three``, ``ten Y R four three``."""
    spot = at + 1
    letters = ""
    while spot < len(pieces) and pieces[spot].kind == "word" and len(letters) < 2 and pieces[spot].text.upper() in HUES:
        letters += pieces[spot].text.upper()
        spot += 1
        if spot < len(pieces) and pieces[spot].key == "." and len(letters) == 1:
            spot += 1
    if letters not in HUES or spot + 1 >= len(pieces):
        return None
    if pieces[spot].key in (",", "-"):
        spot += 1
    row = pieces[spot : spot + 3]
    if len(row) == 3 and row[0].kind == row[2].kind == "number" and row[1].key in ("/", "over"):
        value, chroma, end = row[0], row[2], spot + 3
    elif len(row) > 1 and row[0].kind == row[1].kind == "number" and _is_a_chip(row):
        value, chroma, end = row[0], row[1], spot + 2
    else:
        return None
    if float(pieces[at].key) > 10 or float(value.key) > 10 or float(chroma.key) > 20:
        return None
    text = f"{float(pieces[at].key):g}{letters} {float(value.key):g}/{float(chroma.key):g}"
    return end - at, {"colour": text}


def _half_hue(pieces: list[Token], at: int) -> tuple[int, dict[str, object]] | None:
    """``seven five Y R four three``, ``two five Y``: hues of 7.5 and 2.5 as they are said."""
    if pieces[at].key not in ("7", "2") or not pieces[at].text.isalpha() or at + 1 == len(pieces) or pieces[at + 1].text.casefold() != "five":
        return None
    found = _notation([*pieces[: at + 1], replace(pieces[at + 1], key=f"{pieces[at].key}.5"), *pieces[at + 2 :]], at + 1)
    return (found[0] + 1, found[1]) if found else None


def _is_a_chip(row: list[Token]) -> bool:
    """Whether two numbers right behind a hue are value and chroma (``ten Y R five three``), and not a chroma left out and the next field."""
    single = all(0 < float(one.key) <= 8 for one in row[:2]) and row[1].start == row[0].end + 1
    return single and (len(row) == 2 or row[2].kind != "word" or row[0].text.isalpha() or row[2].key not in ("f", "m", "c", "vf", "co", "cm", "in", "to"))


def same_hue(pieces: list[Token], at: int, before: list[dict[str, object]]) -> tuple[int, dict[str, object]] | None:
    """``4/1`` behind a colour: ``10YR 3/1 m, 4/1 d``, ``10YR 3/2 to 3/3``, ``ten Y R five three, make that five four`` are of one hue."""
    row = pieces[at : at + 3]
    if len(row) < 2 or len(before) < 2 or row[0].kind != "number" or not {"comma", "semi", "to", "dash", "and", "correction"} & set(before[-1]):
        return None
    said = row[1].kind == "number" and row[0].text.isalpha() and row[1].text.isalpha() and any("correction" in one for one in before[-4:]) and (len(row) < 3 or row[2].text.upper() not in HUES)
    if not said and (len(row) < 3 or row[1].key not in ("/", "over") or row[2].kind != "number"):
        return None
    count = 2 if said else 3
    last = next((one for one in reversed(before[:-1]) if "colour" in one or not {"state", "comma", "correction", "word"} & set(one)), before[-2])
    hue = str(last.get("colour", "N")).split()[0]
    chroma = row[count - 1]
    if hue == "N" or not 2 <= float(row[0].key) <= 10 or float(chroma.key) > 8 or (at + count < len(pieces) and pieces[at + count].key in ("inch", "inches", "cm", "to", "-")):
        return None
    return count, {"colour": f"{hue} {float(row[0].key):g}/{float(chroma.key):g}"}


def neutral_at(pieces: list[Token], at: int) -> tuple[int, dict[str, object]] | None:
    """``N 5/``, ``N 5/0``, ``N5``."""
    if pieces[at].text not in ("N", "n") or at + 2 >= len(pieces) or pieces[at + 1].kind != "number" or pieces[at + 2].key not in ("/", "over"):
        return None
    zero = at + 3 < len(pieces) and pieces[at + 3].kind == "number" and float(pieces[at + 3].key) == 0
    return 4 if zero else 3, {"colour": f"N {float(pieces[at + 1].key):g}/"}
