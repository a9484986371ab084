"""The same horizon in hundreds of hands, invented from a seed: a field is read right or left in the remarks, and never read wrong."""

from __future__ import annotations

import random
import re
import sys
from pathlib import Path

import pytest

from geoprofile.pits.notes.reader import tables_of
from geoprofile.vocabulary.tables import table

FIELDS = {
    "colour moist": {"10YR 3/2": ["10YR 3/2 m", "10YR 3/2 moist", "very dark grayish brown (10YR 3/2) moist", "m 10YR 3/2", "moist 10YR 3/2"]},
    "colour dry": {"10YR 5/2": ["10YR 5/2 d", "10YR 5/2 dry", "dry 10YR 5/2", "(d 10YR 5/2)", "dry colour 10YR 5/2"]},
    "texture": {"silt loam": ["silt loam", "SiL", "SIL", "sil"], "clay loam": ["clay loam", "CL"], "sandy loam": ["sl"], "loam": ["L"], "sand": ["S"], "clay": ["C"], "gravelly sand": ["gravelly sand"], "heavy clay": ["heavy clay"]},
    "structure": {
        "moderate fine granular": ["moderate fine granular", "2fgr", "2 f gr", "M F GR"], "moderate medium subangular blocky": ["mod med sbk"], "massive": ["massive", "ma"], "single grain": ["sg", "single grain"],
        "weak coarse prismatic": ["weak coarse prismatic", "wk co pr"],
    },
    "consistence": {"friable": ["friable", "mfr"], "very friable": ["vfr", "very friable"], "very firm": ["v firm"], "firm": ["FI"], "loose": ["loose"]},
    "effervescence": {"strong": ["strong effervescence", "es"], "violent": ["ev"], "none": ["no effervescence", "NE", "eo", "no fizz", "doesn't fizz"], "slight": ["slightly effervescent"], "moderate": ["mod eff"]},
    "boundary": {"clear smooth": ["clear smooth boundary", "cs"], "gradual wavy": ["gw"], "abrupt wavy": ["abrupt wavy", "aw", "abrupt wavey"], "abrupt smooth": ["abr sm", "AS"], "clear wavy": ["clear, wavy"]},
}  # fmt: skip
BETWEEN = [", ", "; ", " / ", "  ", "\t", " | ", ". "]


def _written(chance: random.Random) -> tuple[str, dict[str, str]]:
    names = [name for name in FIELDS if chance.random() < 0.75] or ["texture"]
    if chance.random() < 0.3:
        chance.shuffle(names)
    meant = {name: chance.choice(list(FIELDS[name])) for name in names}
    between = chance.choice(BETWEEN)
    return f"Bt 10-30 cm{chance.choice([between, '; ', ', '])}" + between.join(chance.choice(FIELDS[name][meant[name]]) for name in names), meant


def _read(row) -> dict[str, str]:
    parts = {"structure": ("structure grade", "structure size", "structure kind"), "boundary": ("boundary distinctness", "boundary form")}
    return {name: " ".join(filter(None, (row.get(part, "") for part in parts.get(name, (name,))))) for name in FIELDS}


def test_a_field_is_read_right_or_left_and_never_wrong():
    chance = random.Random(20261125)
    lines = [_written(chance) for _ in range(400)]
    text = "".join(f"Pit {number}\nAh 0-10 cm; loam\n{line}\n\n" for number, (line, _) in enumerate(lines, start=1))
    cells = tables_of(text, "n.txt").horizons.cells
    rows = [row for _, row in cells[cells["designation"] == "Bt"].iterrows()]
    assert len(rows) == len(lines)
    left = total = 0
    for (line, meant), row in zip(lines, rows):
        for name, value in _read(row).items():
            assert value in ("", meant.get(name, "")), f"{name} of {line!r}: read {value!r}"
            left += name in meant and not value
            total += name in meant
    assert left < 0.03 * total


def _samples() -> dict[str, str]:
    sys.path.insert(0, str(Path(__file__).parent))
    try:
        import test_codes_in_place
        import test_dictation
        import test_phone_notes
        import test_rulers
        import test_slashes
    finally:
        sys.path.pop(0)
    return {"memo": test_dictation.MEMO, "prose": test_dictation.PROSE, "phone": test_phone_notes.PHONE, "slashes": test_slashes.SLASHES, "rulers": test_rulers.RULED, "columns": test_codes_in_place.COLUMNS}


@pytest.mark.parametrize("name", ["memo", "prose", "phone", "slashes", "rulers", "columns"])
def test_every_word_is_in_a_field_or_in_the_remarks(name):
    """Besides labels, and words that only lead to a horizon (``then it goes into``)."""
    text = _samples()[name]
    covered: set[int] = set()
    for profile in tables_of(text, "n.txt", depth_unit="cm").profiles:
        places = [*((one.start, one.end) for one in profile.header.found), *profile.header.left, *profile.tail]
        for horizon in profile.horizons:
            places += [*((one.start, one.end) for one in horizon.found), *horizon.left, *horizon.kept, (horizon.entry.depths.start, horizon.entry.depths.end)]
        covered |= {spot for first, last in places for spot in range(first, last)}
    outside = {word.group().casefold() for word in re.finditer(r"[\w']+", text) if not covered.issuperset(range(*word.span()))}
    assert outside <= {*table("notes")["dictation"]["leads"], "pit", "slope", "drained", "about", "in", "obs", "observation", "1", "2"}
