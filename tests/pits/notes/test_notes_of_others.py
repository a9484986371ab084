"""Field notes that another hand wrote, with answers, without sight of the reader; all invented.

33 files in as many hands (77 pits, 324 horizons): sentences, slashes, several horizons on a line, cards, tables upright and on
their side, forms with boxes to tick, letters, dictation with and without full stops, logs in metres, phone notes with typing
errors. They came in four sets, each read blind before anything was changed for it: 7 of 13, 13 of 25, 2 of 16 (hands as odd
as could be found) and 21 of 23 (ordinary hands) pits had all their horizons; most of the others for a head that was not known
as one. Now all are read as the answers have them. `?` in the answers: the notes can be read in two ways.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from geoprofile.pits.notes.reader import READER

FOLDER = Path(__file__).parent / "kept_aside" / "spelled"
ANSWERS: dict[str, list[dict[str, str]]] = {}
for _row in csv.DictReader((FOLDER / "answers.csv").open(encoding="utf-8")):
    ANSWERS.setdefault(_row["file"], []).append(_row)
JOINED = {
    "structure": ("structure grade", "structure size", "structure kind", "structure more"), "boundary": ("boundary distinctness", "boundary form"), "upper_cm": ("upper depth (cm)",),
    "lower_cm": ("lower depth (cm)",), "colour_moist": ("colour moist",), "colour_dry": ("colour dry",), "texture": ("texture",), "effervescence": ("effervescence",),
}  # fmt: skip


@pytest.mark.parametrize("file", ANSWERS)
def test_the_notes_of_another_hand_are_read_as_their_answers_have_it(file):
    cells = READER.read_notes(FOLDER / file, depth_unit="cm").horizons.cells
    rows = [row for _, row in cells.iterrows()]
    assert [(row["pit_id"].upper(), row["designation"]) for row in rows] == [(answer["pit"].upper(), answer["designation"]) for answer in ANSWERS[file]]
    for row, answer in zip(rows, ANSWERS[file]):
        for name, parts in JOINED.items():
            read = " ".join(filter(None, (row.get(part, "") for part in parts)))
            assert answer[name] == "?" or _plain(read) == _plain(answer[name]), f"{answer['pit']} {answer['designation']} {name}"


def _plain(text: str) -> str:
    """Depths to a millimetre, textures without brackets and commas."""
    number = re.fullmatch(r"(\d+(?:\.\d+)?)(\+?)", text)
    return f"{float(number[1]):.1f}{number[2]}" if number else " ".join(re.sub(r"[(),]", " ", text.replace("structureless ", "")).split())
