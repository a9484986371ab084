"""Pits told by an invented speaker, from a seed: every horizon is found with its depths, and no field is read wrong."""

from __future__ import annotations

import random

import pytest

from geoprofile.pits.notes.reader import tables_of

ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
PROFILES = [["LFH", "Ae", "AB", "Bt", "BC", "Ck"], ["Ap", "Bm", "BC", "Ck"], ["Of", "Om", "Oh", "Cg"], ["Ah", "Ahe", "Bt1", "Bt2", "Ck"], ["LFH", "Ahe", "Aegj", "Btgj", "Cg"], ["Ap", "A", "Bw", "C"], ["Ah", "Bmk", "Cca", "Ck"]]
LEADS = ["", "then ", "next one ", "then it goes into ", "below that the ", "first mineral horizon is ", "after that we've got ", "moving down, ", "and under that there's a "]
HUES = {"ten Y R": "10YR", "two point five Y": "2.5Y", "seven five Y R": "7.5YR", "five Y": "5Y", "10 Y R": "10YR"}
TEXTURES = ["silt loam", "loam", "clay loam", "silty clay loam", "sand"]
FIZZ = {"no fizz": "none", "it doesn't fizz": "none", "strong effervescence": "strong", "slight fizz": "slight"}
CHAT = ["the shovel hit a stone", "lots of worms here", "same as the last one really", "I can't tell if it goes deeper", "the pit wall keeps falling in"]
CORRECTIONS = ["no wait, make that", "sorry, I mean", "scratch that,"]


def _said(number: int, chance: random.Random) -> str:
    if number < 20:
        return ONES[number]
    if number < 100:
        return TENS[number // 10 - 2] + (chance.choice("- ") + ONES[number % 10] if number % 10 else "")
    rest = number - 100
    return chance.choice(["a hundred" + (f" and {_said(rest, chance)}" if rest else ""), ("one oh " + ONES[rest] if 0 < rest < 10 else f"one {_said(rest, chance)}") if rest else "one hundred"])


def _spelled(name: str, chance: random.Random) -> str:
    letters = [letter for letter in name if letter.isalpha()]
    number = name[-1] if name[-1].isdigit() else ""
    if chance.random() < 0.2:
        return name
    if chance.random() < 0.2 and len(letters) > 1 and letters[1].islower():
        said = f"capital {letters[0]} " + " ".join(f"lower case {letter}" for letter in letters[1:])
    else:
        said = " ".join(letter.upper() for letter in letters)
    return f"{said} {chance.choice([ONES[int(number)], number])}" if number else said


def _horizon(name: str, upper: int, lower: int, first: bool, chance: random.Random) -> tuple[str, dict[str, str]]:
    top, base = _said(upper, chance), _said(lower, chance)
    depths = chance.choice([f"{top} to {base}", f"from {top} to {base}", f"{top} down to {base} centimetres" if upper < lower else f"{_said(upper, chance)} centimetres thick, so {top} to {base}"])
    symbol = _spelled(name, chance)
    lead = chance.choice(["", "at the top there's an "]) if first else chance.choice(LEADS)
    head = chance.choice([f"{lead}{symbol}, {depths}", f"{lead}{symbol} {depths}", f"{lead}{symbol} is {depths}", f"from {top} to {base} we have a {symbol}"])
    meant, parts = {}, [head]
    if chance.random() < 0.8:
        hue, value, chroma = chance.choice(list(HUES)), chance.randint(2, 8), chance.randint(1, 8)
        meant["colour moist"] = f"{HUES[hue]} {value}/{chroma}"
        again = f"{hue} {ONES[9 - value]} over one, {chance.choice(CORRECTIONS)} " if chance.random() < 0.2 and value < 8 else ""
        parts.append(f"{again}{hue} {ONES[value]}{chance.choice([' ', ' over '])}{ONES[chroma]}{chance.choice(['', ' moist'])}")
    if chance.random() < 0.8:
        meant["texture"] = chance.choice(TEXTURES)
        parts.append((f"clay {chance.choice(CORRECTIONS)} " if chance.random() < 0.2 else "") + meant["texture"])
    if chance.random() < 0.5:
        fizz = chance.choice(list(FIZZ))
        meant["effervescence"] = FIZZ[fizz]
        parts.append(fizz)
    if chance.random() < 0.4:
        parts.insert(chance.randint(1, len(parts)), chance.choice(CHAT))
    words = ", ".join(parts)
    return words[0].upper() + words[1:], meant


def _memo(chance: random.Random) -> tuple[str, list[tuple[str, str, str, dict[str, str]]]]:
    names = chance.choice(PROFILES)
    at, sentences, meant = 0, [], []
    for number, name in enumerate(names):
        upper, lower = (chance.randint(2, 12), 0) if name == "LFH" else (at, at + chance.randint(3, 30))
        at = lower
        words, cells = _horizon(name, upper, lower, number == 0, chance)
        sentences.append(words)
        meant.append((name, str(upper), str(lower), cells))
    return ". ".join(sentences) + ". ", meant


@pytest.mark.parametrize("width", [None, 48, 78])
def test_an_invented_speaker_is_understood(width):
    chance = random.Random(width or 1)
    text, meant = "", []
    for number in range(2, 42):
        memo, horizons = _memo(chance)
        text += f"{chance.choice(['Pit', 'Okay, pit', 'This is pit'])} {_said(number, chance)}, on the ridge. {memo}{chance.choice(['', 'I got the auger to one ninety. '])}"
        meant.append(horizons)
    if width:
        lines = [""]
        for word in text.split():
            if len(lines[-1]) + len(word) > width:
                lines.append("")
            lines[-1] = f"{lines[-1]} {word}".strip()
        text = "\n".join(lines)
    notes = tables_of(text, "memo.txt", depth_unit="cm")
    assert notes.ids == tuple(str(number) for number in range(2, 42))
    rows = iter(notes.horizons.cells.to_dict("records"))
    for horizons in meant:
        for name, upper, lower, cells in horizons:
            row = next(rows)
            assert (row["designation"], row["upper depth (cm)"], row["lower depth (cm)"]) == (name, upper, lower)
            for cell in ("colour moist", "texture", "effervescence"):
                assert row.get(cell, "") == cells.get(cell, ""), (name, row)
