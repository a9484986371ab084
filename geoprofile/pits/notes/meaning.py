"""What a phrase says: the cells it fills, in the words of the tables, and what of it goes to the remarks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from difflib import get_close_matches

from ...vocabulary.tables import table
from ...vocabulary.terms import terms
from .lexicon import UNIT_KINDS, Item
from .matrix import MatrixColour, matrix_colours, state_of
from .parts import CM, part_said
from .phrases import Phrase
from .texture_codes import texture_codes


@dataclass
class Said:
    """``cells``: heading -> text. ``keep`` says that the words themselves go to the remarks too; ``note`` what was read otherwise."""

    cells: dict[str, str] = field(default_factory=dict)
    colours: tuple[MatrixColour, ...] = ()
    keep: bool = False
    notes: tuple[str, ...] = ()


def meaning(phrase: Phrase, text: str) -> Said:
    """What one phrase says; ``text`` is the piece of text it was found in."""
    said = _OF[phrase.what](phrase.items, text[phrase.start : phrase.end])
    slips = tuple(f"{text[item.start : item.end]} read as {item.slip}" for item in phrase.items if item.slip)
    return replace(said, notes=said.notes + slips) if slips else said


def _texture(items: tuple[Item, ...], words: str) -> Said:
    parts = []
    for number, item in enumerate(items):
        for kind in ("modifier", "texture", "letter", "rock", "bedrock", "fragment"):
            if kind in item.values:
                written = str(item.values[kind])
                parts.append(texture_codes().get(written.casefold(), written) if kind in ("texture", "letter") else written)
                break
        else:
            if {"and", "to", "dash"} & set(item.values) and number and "modifier" not in items[number - 1].values:
                parts.append("to" if "dash" in item.values else str(next(iter(item.values.values()))))
            elif "comma" in item.values and parts:  # stratified sandy loam, loam, and silt loam
                parts[-1] += ","
    return Said({"texture": " ".join(parts)})


def _structure(items: tuple[Item, ...], words: str) -> Said:
    units: list[tuple[str, dict[str, list[str]]]] = []
    join, now, notes = "", {}, []
    last_join = " and "
    last_kind = max((number for number, item in enumerate(items) if {"kind", "kind_part", "kind_noun"} & set(item.values)), default=-1)
    for number, item in enumerate(items):
        kinds = item.values
        if "parting" in kinds:
            units.append((join, now))
            join, now = "parting to", {}
        elif "kind" in kinds or "kind_part" in kinds or "kind_noun" in kinds:
            named = str(kinds.get("kind") or kinds.get("kind_noun") or f"{kinds['kind_part']} blocky")
            if now.get("kind") and "kind_noun" in kinds:  # subangular blocks
                continue
            now.setdefault("kind", []).append(named)
        elif "grade" in kinds:
            if "kind" in now and number < last_kind:  # behind the last kind it is of that: granular, strong
                units.append((join, now))
                join, now = "and", {}
            now.setdefault("grade", []).extend([last_join] * bool(now.get("grade")) + [str(kinds["grade"])])
            if str(kinds.get("strength", "")).startswith("very "):
                notes.append(f"{kinds['strength']} read as {kinds['grade']} (structure)")
        elif "size" in kinds:
            if "kind" in now and number < last_kind:
                units.append((join, now))
                join, now = "and", {}
            now.setdefault("size", []).extend([last_join] * bool(now.get("size")) + [str(kinds["size"])])
        elif ("to" in kinds or "dash" in kinds) and "kind" in now:
            units.append((join, now))
            join, now = "to", {}
        elif "to" in kinds or "dash" in kinds:
            last_join = " to "
        elif "and" in kinds:
            last_join = " and "
        elif "word" in kinds and kinds["word"] and "kind" not in now:
            near = _near_size(str(kinds["word"]))
            if near and "size" not in now:
                now["size"] = [near]
                notes.append(f"{kinds['word']} read as {near}")
    units.append((join, now))
    units = [(how, unit) for how, unit in units if unit]
    first = units[0][1]
    cells = {f"structure {part}": value for part in ("grade", "size", "kind") if (value := _joined(first, part))}
    more = [" ".join([how, *filter(None, (_joined(unit, part) for part in ("grade", "size", "kind")))]) for how, unit in units[1:]]
    if more:
        cells["structure more"] = ", ".join(more)
    return Said(cells, notes=tuple(notes))


def _joined(unit: dict[str, list[str]], part: str) -> str:
    words = unit.get(part, [])
    return " and ".join(words) if part == "kind" else "".join(words)


def _near_size(word: str) -> str:
    """A size that a scanner damaged (``tine``), where one is near enough; '' for a stray letter or another word."""
    near = get_close_matches(word.casefold(), [term.name for term in terms("structure_size", "usda")], 1, 0.7) if len(word) > 2 else []
    return near[0] if near else ""


def _boundary(items: tuple[Item, ...], words: str) -> Said:
    cells = {}
    for kind, heading in (("distinctness", "boundary distinctness"), ("form", "boundary form")):
        named = [str(item.values[kind]) for item in items if kind in item.values]
        if named:
            cells[heading] = " to ".join(dict.fromkeys(named))
    return Said(cells)


def _effervescence(items: tuple[Item, ...], words: str) -> Said:
    cells = {}
    part, items = part_said(items)
    for item in items:
        if "whole" in item.values or "strength" in item.values:
            said = str(item.values.get("whole") or item.values["strength"])
            cells["effervescence"] = "none" if said == "noncalcareous" else said
        elif "percent_of" in item.values and item.values["percent_of"][0] == item.values["percent_of"][1]:
            cells["caco3"] = f"{item.values['percent_of'][0]:g}"
    notes = (f"{words} read as no effervescence",) if words.casefold().startswith(("noncalc", "non-calc", "lime")) else ()
    cells.setdefault("effervescence", "effervescent")
    return _of_a_part(Said(cells, notes=notes), "effervescence part", part, words)


def _of_a_part(said: Said, heading: str, part: str, words: str) -> Said:
    """With the part of the horizon that it is said of; a depth from the surface stays in the remarks too."""
    if part:
        said.cells[heading] = part
        said.keep |= "below" in words.casefold().split()
    return said


def _calcareous(items: tuple[Item, ...], words: str) -> Said:
    part, items = part_said(items)
    degree = next((str(item.values["strength"]) for item in items if "strength" in item.values), "")
    if degree == "none":
        return _of_a_part(Said({"effervescence": "none"}, notes=(f"{words} read as no effervescence",)), "effervescence part", part, words)
    adverb = {"slight": "slightly", "weak": "weakly", "moderate": "moderately", "strong": "strongly", "extreme": "extremely"}
    named = " ".join(adverb.get(word, word) for word in degree.split())
    return _of_a_part(Said({"effervescence": f"{named} calcareous".strip()}), "effervescence part", part, words)


def _reaction(items: tuple[Item, ...], words: str) -> Said:
    said = Said()
    for item in items:
        if "ph" in item.values:
            said.cells["ph"] = str(item.values["ph"])
        elif "reaction" in item.values:
            said.cells["reaction"] = now = str(item.values["reaction"])
            written = " ".join(words.split("(")[0].split(",")[0].casefold().split())
            if now.split()[0] not in written:
                said.notes = (f"{written} is called {now} now",)
    return said


def _consistence(items: tuple[Item, ...], words: str) -> Said:
    word = next(str(item.values["consistence"]) for item in items if "consistence" in item.values)
    state = next((str(item.values["state"]) for item in items if "state" in item.values), "")
    moist = word in table("notes")["consistence_of"]["moist"]
    if state:
        moist = word in table("notes")["consistence_of"]["moist"] or (word == "loose" and state[0] != "d" and "dry" not in state)
    return Said({"consistence": word}) if moist else Said({"loose" if word == "loose" and not state else "other consistence": words})


def _mottles(items: tuple[Item, ...], words: str) -> Said:
    known = {term.name for convention in ("canadian", "wrb") for term in terms("mottle_abundance", convention)}
    amounts = [str(item.values["quantity"]) for item in items if "quantity" in item.values]
    part, items = part_said(items)
    if any("none" in item.values for item in items):
        return _of_a_part(Said({"mottles": "none"}), "mottles part", part, words)
    cells = {"mottles": amounts[0] if amounts and amounts[0] in known else words}
    contrast = next((str(item.values["contrast"]) for item in items if "contrast" in item.values), "")
    if contrast:
        cells["mottle contrast"] = contrast
    plain = all({"quantity", "contrast", "mottle", "comma"} & set(item.values) for item in items)
    return _of_a_part(Said(cells, keep=not plain and cells["mottles"] != words), "mottles part", part, words)


def _fragments(items: tuple[Item, ...], words: str) -> Said:
    low, high = next(item.values["percent_of"] for item in items if "percent_of" in item.values)
    plain = len(items) == 2 and items[1].values.get("fragment") in ("coarse fragments", "rock fragments")
    return Said({"coarse fragments": f"{low:g}"} if low == high else {}, keep=not plain or low != high)


def _thickness(items: tuple[Item, ...], words: str) -> Said:
    numbers, units = [], []
    for item in items:
        if "open" in item.values and numbers:
            break
        if "number" in item.values:
            numbers.append(item.values["number"])
        units += [kind for kind in UNIT_KINDS if kind in item.values]
    factor = CM[units[-1]]
    low, high = sorted(round(number * factor, 4) for number in numbers[:2])
    return Said({"thickness": f"{low:g}-{high:g}"})


def _number_of(heading: str) -> Callable[[tuple[Item, ...], str], Said]:
    def read(items: tuple[Item, ...], words: str) -> Said:
        for item in items:
            if "percent_of" in item.values:
                low, high = item.values["percent_of"]
                return Said({heading: f"{low:g}"}) if low == high else Said(keep=True)
            if "number" in item.values:
                unit = next((str(one.values["electrical_unit"]) for one in items if "electrical_unit" in one.values), "")
                return Said({heading: f"{item.values['number']:g} {unit}".strip()})
        return Said(keep=True)

    return read


def _fractions(items: tuple[Item, ...], words: str) -> Said:
    cells = {}
    shares = [item.values["percent_of"] for item in items if "percent_of" in item.values]
    names = [kind for item in items for kind in ("sand_share", "silt_share", "clay_share") if kind in item.values]
    for name, (low, high) in zip(names, shares):
        if low == high:
            cells[name.removesuffix("_share")] = f"{low:g}"
    return Said(cells, keep=len(cells) < len(names))


_OF: dict[str, Callable[[tuple[Item, ...], str], Said]] = {
    "matrix": lambda items, words: Said(colours=matrix_colours(items), keep=any({"mottled", "correction"} & set(item.values) for item in items)), "texture": _texture, "structure": _structure, "boundary": _boundary, "effervescence": _effervescence,
    "calcareous": _calcareous, "reaction": _reaction, "consistence": _consistence, "mottles": _mottles, "fragments": _fragments,
    "thickness": _thickness, "electrical_conductivity": _number_of("ec"), "sodium_ratio": _number_of("sar"), "bulk_density": _number_of("bulk density"),
    "lime": _number_of("caco3"), "organic_carbon": _number_of("organic carbon"), "fractions": _fractions,
    "state": lambda items, words: Said({"state": next(state_of(item) for item in items if "state" in item.values)}),
    "roots": lambda items, words: Said({"roots": words}), "feature": lambda items, words: Said(keep=True),
}  # fmt: skip
