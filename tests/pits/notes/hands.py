"""Notes of two pits as many hands write them, from a seed; all invented. Each hand is consistent with itself.

``in_lines`` writes a horizon a line or several on one; ``laid_out`` writes cards and tables; ``spoken`` speaks; ``in_full``
adds dry colours, mottles, roots, fragments, films and remarks to the line of a horizon. All give the text, what it means,
and the habits of the hand.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

Meant = dict[str, str]
Pit = tuple[str, list[tuple[str, int, int, Meant]]]
PARTS = {"structure": ("structure grade", "structure size", "structure kind"), "boundary": ("boundary distinctness", "boundary form")}
FIELDS = ("colour moist", "texture", "structure", "effervescence", "boundary")
MORE_FIELDS = ("colour dry", "consistence", "ph")
IDS = ("OX-03", "B-41", "CRK-14", "T7", "P12", "MR-2", "AB12", "W-9")
ORDERS = (
    ("LFH", "Ae", "Bt", "Ck"), ("Ap", "Bm", "Cca", "Ck"), ("A", "Bw", "BC", "2C"), ("Ap", "Bt1", "Bt2", "Cr"), ("Ah", "AB", "Bmk", "Ck"), ("O", "E", "Bs", "C"),
    ("Ap", "Btg", "Cg"), ("Oe", "A", "Bg", "Cg"),
)  # fmt: skip
CODES = {
    "colour moist": {"10YR 3/2": ["10YR 3/2"], "2.5Y 5/3": ["2.5Y 5/3"], "7.5YR 4/4": ["7.5YR 4/4"]},
    "texture": {"silt loam": ["SiL", "sil"], "clay loam": ["CL", "cl"], "sandy loam": ["SL", "sl"], "loam": ["L", "l"], "clay": ["C", "c"], "silty clay loam": ["SiCL", "sicl"]},
    "structure": {
        "moderate fine granular": ["2fgr", "2 f gr", "m f gr", "mod f gr"], "weak medium subangular blocky": ["1msbk", "w m sbk", "1 m sbk", "wk med sbk"], "massive": ["ma", "m", "mass"],
        "single grain": ["sg"], "strong coarse prismatic": ["3cpr", "s c pr", "st co pr"],
    },
    "effervescence": {"strong": ["es", "HCl strong", "strong fizz", "ST"], "none": ["NE", "no fizz", "HCl none"], "slight": ["SL", "sl eff", "HCl slight"], "moderate": ["HCl mod", "mod eff"]},
    "boundary": {"clear smooth": ["cs", "cl s", "c s"], "gradual wavy": ["gw", "gr w", "g w"], "abrupt smooth": ["as", "ab s", "a s"]},
}  # fmt: skip
WORDS = {
    "colour moist": {"10YR 3/2": ["10YR 3/2 moist", "10YR 3/2 m", "10YR 3/2"], "2.5Y 5/3": ["2.5Y 5/3 m", "2.5Y 5/3"], "5Y 4/1": ["5Y 4/1 (moist)", "5Y 4/1"]},
    "texture": {name: [name] for name in ("silt loam", "clay loam", "sandy loam", "gravelly loam", "clay")},
    "structure": {name: [name] for name in ("moderate fine granular", "weak medium subangular blocky", "massive", "single grain", "strong coarse prismatic")},
    "effervescence": {"strong": ["strongly effervescent", "strong effervescence"], "none": ["no effervescence", "noneffervescent", "no reaction"], "moderate": ["moderately effervescent"]},
    "boundary": {"clear smooth": ["clear smooth boundary", "clear smooth"], "gradual wavy": ["gradual wavy boundary", "gradual wavy"], "abrupt smooth": ["abrupt smooth boundary"]},
}  # fmt: skip
VALUES = {
    "colour moist": {name: [name] for name in ("10YR 3/2", "2.5Y 5/3", "5Y 4/1")},
    "texture": {"silt loam": ["silt loam", "SiL"], "clay loam": ["clay loam", "CL"], "clay": ["clay", "C"], "gravelly sand": ["gravelly sand", "GS"]},
    "structure": {"moderate fine granular": ["moderate fine granular", "moderate, fine, granular", "2fgr"], "massive": ["massive", "ma"], "strong coarse prismatic": ["strong coarse prismatic", "strong, coarse, prismatic"]},
    "effervescence": {"strong": ["strong", "strongly effervescent", "es"], "none": ["none", "nil", "no fizz", "0"], "slight": ["slight", "sl"], "moderate": ["moderate", "mod"]},
    "boundary": {"clear smooth": ["clear smooth", "clear, smooth", "cs"], "gradual wavy": ["gradual wavy", "gw"], "abrupt smooth": ["abrupt smooth", "as"]},
}  # fmt: skip
LABELS = {
    "pit": ["PIT", "Pit", "Site", "Profile", "SITE NO", "Pit no."], "designation": ["HORIZON", "Horizon", "Hz", "Hor", "Layer", "Designation"], "depth": ["DEPTH", "Depth", "Depth (cm)", "Depths"],
    "colour moist": ["COLOR (moist)", "Colour", "Munsell", "Moist colour", "Color moist", "Colour (m)"], "texture": ["TEXTURE", "Texture", "Text", "Field texture"],
    "structure": ["STRUCTURE", "Structure", "Struct"], "effervescence": ["HCL", "HCl", "Effervescence", "Fizz", "Reaction HCl", "Acid", "Carbonates", "Lime"], "boundary": ["BOUNDARY", "Boundary", "Lower boundary", "Bdy"],
}  # fmt: skip
LEADS = ("{d} {D}", "{d}: {D}", "{d} - {D}", "{d}, {D}", "{D} {d}", "{d} ({D})", "{d}\t{D}", "{d} / {D}", "{d} -- {D}")
HEADS = (
    "Pit {i}", "SITE {i}", "{i}  upper slope", "{i}, near fence", "{i} - canola", "Pit {i}: upper slope 4 %", "=== {i} ===", "pit {i} mid slope", "Site {i}   12 Sept 2026", "{i} toe  moist colours", "{i}",
    "** {i} **", "# {i}",
)  # fmt: skip
BETWEEN = ("\n", "\n", "\n", ", ", "; ", " / ", " | ", ". ", " -- ", " > ", ";\n", ",\n", ".\n", "\n\n", "\n- ")

EXTRAS = {
    "colour dry": {name: [f"{name} dry", f"({name} d)", f"dry {name}", f"{name} d"] for name in ("10YR 5/2", "2.5Y 7/2", "5Y 6/1")},
    "consistence": {"friable": ["friable", "friable when moist"], "very firm": ["very firm"], "firm": ["firm"], "very friable": ["very friable"]},
    "ph": {name: [f"pH {name}", f"pH = {name}", f"(pH {name})", f"pH: {name}"] for name in ("6.5", "7.2")},
    "mottles": {"": ["few fine faint mottles", "few, fine, faint mottles (7.5YR 5/6)", "common medium distinct 7.5YR 5/8 mottles", "many coarse prominent mottles, 7.5YR 5/8"]},
    "roots": {"": ["few fine roots", "plentiful fine and medium roots", "many roots", "common fine roots throughout"]},
    "fragments": {"": ["15% gravel", "about 10 percent gravel", "20 % cobbles"]},
    "films": {"": ["common thin clay films", "few clay skins on ped faces", "many distinct clay films on faces of peds"]},
    "remark": {"": ["old root channels", "charcoal at the base", "wet", "water seeping", "sampled", "photo 12"]},
}  # fmt: skip
USUAL = ("colour moist", "colour dry", "mottles", "texture", "structure", "consistence", "films", "roots", "fragments", "effervescence", "ph", "remark", "boundary")
SPEECH = {
    "colour moist": {
        "10YR 3/2": ["ten Y R three two", "ten Y R three over two", "10YR 3 over 2", "ten YR three two"], "2.5Y 5/3": ["two point five Y five three", "two point five Y five over three", "2.5Y 5 over 3"],
        "7.5YR 4/4": ["seven point five Y R four four", "seven five Y R four four", "7.5YR 4/4"],
    },
    "texture": {name: [name, f"it's a {name}", f"texture {name}"] for name in ("silt loam", "clay loam", "sandy loam", "clay", "gravelly sand", "loam")},
    "structure": {name: [name, f"{name} structure"] for name in ("moderate fine granular", "weak medium subangular blocky", "massive", "single grain")},
    "effervescence": {
        "strong": ["strong fizz", "it fizzes strongly", "strong effervescence", "strong reaction with the acid"], "none": ["no fizz", "no reaction with acid", "nothing with the acid", "doesn't fizz"],
        "moderate": ["moderate fizz", "moderate effervescence"],
    },
    "boundary": {
        "clear smooth": ["clear smooth boundary", "boundary is clear and smooth", "clear, smooth boundary"], "gradual wavy": ["gradual wavy boundary", "boundary gradual and wavy", "with a gradual wavy boundary"],
        "abrupt smooth": ["abrupt smooth boundary", "abrupt smooth"],
    },
}  # fmt: skip
FIRST = ("On top there's {d}, {u} to {l}", "{d} from {u} to {l}", "First horizon {d}, {u} to {l}", "Starting with the {d}, {u} to {l}", "Top is {d} {u} to {l}", "{d} {u} to {l} centimetres")
NEXT = (
    "Then {d} from {u} to {l}", "Next is the {d}, {u} to {l}", "Below that {d}, {u} to {l} centimetres", "The {d} goes from {u} to {l}", "Under that we have {d} from {u} down to {l}", "From {u} to {l} {d}",
    "Then we're into a {d}, {u} to {l}", "{d} {u} to {l}",
)  # fmt: skip
PITS = ("Okay this is pit {i}, upper slope. ", "Pit {i}. ", "Next up, pit {i}, near the fence. ", "This is pit number {i}, in pasture, working in centimetres. ", "All right pit {i}. ")
UNITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen")
TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
FIGURES = {"1": "one", "2": "two"}


@dataclass(frozen=True)
class Hand:
    """``text`` as written; ``pits`` what it means; ``habits`` for the message of a test."""

    text: str
    pits: list[Pit]
    habits: tuple


def in_lines(seed: str) -> Hand:
    """Two pits with a head line each, and their horizons one below the other or on one line."""
    chance = random.Random(seed)
    values = chance.choice((CODES, WORDS))
    has = _fields(chance, 0.85)
    if "texture" not in has:  # SL behind no texture is one
        has = [name for name in has if name != "effervescence"] or ["colour moist"]
    depth = chance.choice(("{u}-{l}", "{u}-{l} cm", "{u} to {l} cm", "{u}-{l}cm", "{u} - {l}", "{u} to {l}"))
    lead, head, between = chance.choice(LEADS), chance.choice(HEADS), chance.choice(BETWEEN)
    mark = chance.choice((" ", ", ", "; ", " / ", "  ", "\t", " | ") if values is CODES else (", ", "; ", " / ", "\t", ". ", " - "))
    first = mark if chance.random() < 0.6 else chance.choice((" ", ": ", "; ", ", "))
    first = chance.choice((": ", ", ", "; ", " - ")) if lead == "{D} {d}" else first
    said = _said(chance, values)
    pits = [(name, _pit(chance, values, has)) for name in chance.sample(IDS, 2)]
    written = []
    for name, rows in pits:
        lines = []
        for designation, upper, lower, meant in rows:
            fields = mark.join(said[field][value] for field, value in meant.items())
            lines.append(lead.format(d=designation, D=depth.format(u=upper, l=lower)) + (first + fields if fields else ""))
        written.append(head.format(i=name) + "\n" + between.join(lines))
    return Hand(chance.choice(("\n\n", "\n")).join(written) + "\n", pits, (lead, mark, between, head))


def in_full(seed: str) -> Hand:
    """One pit with all that a description may hold, in the usual order or in any."""
    chance = random.Random(seed)
    values = {**WORDS, **EXTRAS}
    order = [name for name in USUAL if chance.random() < (0.9 if name in WORDS else 0.5)] or ["texture"]
    if chance.random() < 0.3:
        chance.shuffle(order)
    if {"colour moist", "colour dry"} <= set(order):
        order.remove("colour dry")
        order.insert(order.index("colour moist") + 1, "colour dry")
    said = _said(chance, values)
    lead = chance.choice(("{d} {u}-{l} cm", "{d}: {u} to {l} cm", "{d}, {u}-{l}", "{d} ({u}-{l} cm)", "{d} - {u} to {l} cm", "{d}--{u} to {l} cm", "{u}-{l} cm {d}"))
    mark, first, stop = chance.choice((", ", "; ", "; ", " / ", "\t")), chance.choice((": ", "; ", ", ")), chance.choice(("", ".", " "))
    rows, lines, at = [], [], 0
    for designation in chance.choice((("Ap", "Bt", "Ck"), ("A", "Bw", "C"), ("Ah", "Bmgj", "Ckg"), ("Ae", "Btg", "BC", "Ck"))):
        upper, lower = at, at + chance.choice((6, 9, 14, 22))
        meant, at = {name: chance.choice(list(values[name])) for name in order}, lower
        rows.append((designation, upper, lower, {name: value for name, value in meant.items() if value}))
        lines.append(lead.format(d=designation, u=upper, l=lower) + first + mark.join(said[name][value] for name, value in meant.items()) + stop)
    return Hand("Pit 4 north end\n" + "\n".join(lines) + "\n", [("4", rows)], (lead, mark, first, order))


def in_any_order(seed: str) -> Hand:
    """Words whose order changes from horizon to horizon, and between which there is a comma or nothing."""
    chance = random.Random(seed)
    has, said = _fields(chance, 0.7), _said(chance, WORDS)
    lead, marks = chance.choice(("{d} {u}-{l} ", "{d} {u}-{l} cm ", "{d} {u} to {l} cm, ", "{d}: {u}-{l} cm; ")), chance.choice(((" ",), (" ",), (" ", ", ")))
    pits = [("8", _pit(chance, WORDS, has))]
    lines = []
    for designation, upper, lower, meant in pits[0][1]:
        order = list(meant)
        chance.shuffle(order)
        fields = "".join(said[name][meant[name]] + (chance.choice(marks) if name != order[-1] else "") for name in order)
        lines.append(lead.format(d=designation, u=upper, l=lower) + fields)
    return Hand("Pit 8 mid slope\n" + "\n".join(lines) + "\n", pits, (lead, marks))


def laid_out(seed: str) -> Hand:
    """Two pits as cards (a field a line, two a line, all on one) or as tables (blanks, bars, tabs), the id once or with each horizon."""
    chance = random.Random(seed)
    has = _fields(chance, 0.9)
    labels = {name: chance.choice(words) for name, words in LABELS.items()}
    labels = {name: label.upper() for name, label in labels.items()} if chance.random() < 0.3 else labels
    kind, mark, repeats = chance.choice(("lines", "pairs", "beside", "one line", "blanks", "bars", "tabs")), chance.choice((": ", ":", "  :  ", " = ", ":\t")), chance.random() < 0.4
    depth, ruler = chance.choice(("{u}-{l}", "{u} - {l} cm", "{u} to {l} cm", "{u}-{l} cm")), chance.choice(("", "-----------------------", "- - -", "=========="))
    said = _said(chance, VALUES)
    pits = [(name, _pit(chance, VALUES, has)) for name in chance.sample((*IDS, "12"), 2)]
    columns = ["designation", "depth", *has]
    cells = [
        (name, [{"pit": name, "designation": row[0], "depth": depth.format(u=row[1], l=row[2]), **{field: said[field][value] for field, value in row[3].items()}} for row in rows])
        for name, rows in pits
    ]  # fmt: skip
    habits = (kind, mark, ruler, repeats)
    if kind in ("blanks", "bars", "tabs"):
        return Hand(_tables(cells, columns, labels, kind, repeats), pits, habits)
    written = []
    for name, rows in cells:
        cards = [_card([f"{labels[field]}{mark}{row[field]}" for field in columns if field in row], f"{labels['pit']}{mark}{name}", kind, repeats) for row in rows]
        gap = f"\n{ruler}\n" if ruler else "\n" if kind == "one line" else "\n\n"
        alone = kind == "one line" or (kind in ("lines", "pairs") and not repeats)
        written.append((f"{labels['pit']}{mark}{name}\n" if alone else "") + gap.join(cards))
    return Hand((f"\n{ruler}\n" if ruler else "\n\n").join(written) + "\n", pits, habits)


def spoken(seed: str) -> Hand:
    """Two pits told in a paragraph each or in one: numbers in words, designations letter by letter or written out."""
    chance = random.Random(seed)
    has, said = _fields(chance, 0.85), _said(chance, SPEECH)
    spells, dash, state = chance.random() < 0.5, chance.choice("- "), chance.choice((" moist", "", " when moist"))
    first, leads, head = chance.choice(FIRST), chance.sample(NEXT, 2), chance.choice(PITS)
    mark, stop, between = chance.choice((", ", ", ", ". ")), chance.choice((". ", ". ", "; ", ", ")), chance.choice(("\n\n", "\n", " "))
    pits = [(name, _pit(chance, SPEECH, has)) for name in chance.sample(("3", "7", "14", "22"), 2)]
    written = []
    for name, rows in pits:
        told = []
        for number, (designation, upper, lower, meant) in enumerate(rows):
            lead = chance.choice(leads) if number else first
            fields = [said[field][value] + (state if field == "colour moist" else "") for field, value in meant.items()]
            fields = [_large(field) for field in fields] if mark == ". " else fields
            sentence = lead.format(d=_letters(designation) if spells else designation, u=_number(upper, dash), l=_number(lower, dash))
            sentence += (", " if fields else "") + mark.join(fields)
            told.append(_large(sentence) if stop == ". " else sentence)
        written.append(head.format(i=name if chance.random() < 0.5 else _number(int(name), dash)) + stop.join(told) + ".")
    return Hand(between.join(written) + "\n", pits, (spells, dash, mark, stop, between, leads))


def _number(value: int, dash: str) -> str:
    if value < 20:
        return UNITS[value]
    return TENS[value // 10] + (dash + UNITS[value % 10] if value % 10 else "")


def _letters(designation: str) -> str:
    """``Bt1`` as it is said: B T one."""
    return " ".join(FIGURES.get(letter, letter.upper()) for letter in designation)


def _large(sentence: str) -> str:
    return sentence[0].upper() + sentence[1:]


def _card(fields: list[str], pit: str, kind: str, repeats: bool) -> str:
    if kind == "one line":
        return "   ".join(fields)
    if kind == "beside":  # Pit: B-41   Horizon: Ap
        return "\n".join([f"{pit}     {fields[0]}", *fields[1:]])
    step = 2 if kind == "pairs" else 1
    lines = ["    ".join(fields[at : at + step]) for at in range(0, len(fields), step)]
    return "\n".join([pit, *lines] if repeats else lines)


def _tables(cells: list[tuple[str, list[dict]]], columns: list[str], labels: dict[str, str], kind: str, repeats: bool) -> str:
    columns = ["pit", *columns] if repeats else columns
    head = [labels[name].rstrip(".") for name in columns]
    tables = [(name, [[row.get(field, "-") for field in columns] for row in rows]) for name, rows in cells]
    if repeats:
        return _rows([head, *(row for _, rows in tables for row in rows)], kind)
    return "\n".join(f"{labels['pit']} {name}\n" + _rows([head, *rows], kind) for name, rows in tables)


def _rows(rows: list[list[str]], kind: str) -> str:
    if kind == "tabs":
        return "".join("\t".join(row) + "\n" for row in rows)
    if kind == "bars":
        return "".join("| " + " | ".join(row) + " |\n" for row in rows)
    widths = [max(len(row[at]) for row in rows) + 2 for at in range(len(rows[0]))]
    return "".join("".join(cell.ljust(width) for cell, width in zip(row, widths)).rstrip() + "\n" for row in rows)


def _fields(chance: random.Random, share: float) -> list[str]:
    return [name for name in FIELDS if chance.random() < share] or ["colour moist"]


def _said(chance: random.Random, values: dict) -> dict[str, dict[str, str]]:
    return {name: {value: chance.choice(words) for value, words in of.items()} for name, of in values.items()}


def _pit(chance: random.Random, values: dict, has: list[str]) -> list[tuple[str, int, int, Meant]]:
    rows, at = [], 0
    order = chance.choice(ORDERS)
    for number, designation in enumerate(order):
        meant = {name: chance.choice(list(values[name])) for name in has}
        if designation[0] in "LO":
            upper, lower = chance.choice((4, 6, 10)), 0
            meant = {name: value for name, value in meant.items() if name in ("colour moist", "boundary")}
        else:
            upper, lower = at, at + chance.choice((8, 10, 15, 23))
            at = lower
        if number == len(order) - 1:
            meant.pop("boundary", None)
        rows.append((designation, upper, lower, meant))
    return rows
