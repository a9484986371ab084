"""Printed forms that were filled in, misspelt words, letters to a colleague, and heads with an id in words. All invented."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.form_marks import without_form_marks
from geoprofile.pits.notes.lexicon import items
from geoprofile.pits.notes.reader import tables_of


def _rows(text: str, unit: str = "cm") -> list[dict]:
    return [{name: cell for name, cell in row.items() if cell} for row in tables_of(text, "n.txt", depth_unit=unit).horizons.cells.to_dict("records")]


FORM = """SOIL PIT FORM                             Page 1 of 1
Pit no. ....... K-9 .......    Slope ....... 3 % .......
Colours [x] moist [ ] dry
------------------------------------------------------
HORIZON ..... Ah ......   FROM ..... 0 .....   TO .... 14 ....
Colour ...... 10YR 2/2 ......   Texture ..... loam ......
Structure .....................  Effervescence .. none ..
Boundary   [ ] abrupt [x] clear [ ] gradual
           [x] smooth [ ] wavy [ ] irregular
------------------------------------------------------
HORIZON ..... LFH .....   FROM ____ 14 ____   TO ___ 30+ ___
Colour ______ 10YR 5/3 ______   Texture _______________
Structure ... massive . Effervescence .. weak ..
Boundary   \u2610 abrupt \u2610 clear \u2611 gradual
"""


def test_a_printed_form_is_read_from_its_dotted_lines_and_ticked_boxes():
    first, second = _rows(FORM)
    assert first == {
        "pit_id": "K-9", "designation": "Ah", "upper depth (cm)": "0", "lower depth (cm)": "14", "colour moist": "10YR 2/2", "texture": "loam", "effervescence": "none",
        "boundary distinctness": "clear", "boundary form": "smooth",
    }  # fmt: skip
    assert (second["designation"], second["lower depth (cm)"], second["boundary distinctness"], second["structure kind"]) == ("LFH", "30+", "gradual", "massive")
    assert "texture" not in second


@pytest.mark.parametrize("text", [FORM, "Ah 0-12 cm... loam\nnotes: see [1] and [x]\n", "- [x] done\n- [ ] to do\n", "a .. b", "...", "[ ]"])
def test_without_the_marks_of_a_form_every_place_stands(text):
    read = without_form_marks(text)
    assert len(read) == len(text)
    assert all(new == old or (new in " :" and old not in "\n") for new, old in zip(read, text))


@pytest.mark.parametrize(
    ("written", "meant"),
    [("laom", "loam"), ("caly", "clay"), ("snady loam", "sandy loam"), ("single grian", "single grain"), ("claer", "clear"), ("smoth", "smooth"), ("granualr", "granular"), ("blokcy", "blocky"), ("massvie", "massive"), ("modrate", "moderate"), ("prsimatic", "prismatic")],
)
def test_a_misspelt_word_is_the_one_that_was_surely_meant_and_a_note_says_so(written, meant):
    assert items(written)[0].slip == meant


@pytest.mark.parametrize("word", ["slit", "form", "though", "ridges", "stopped", "clays", "coarser", "planted", "brow", "stick", "course", "water", "class"])
def test_another_word_is_none_of_the_trade(word):
    assert not items(word)[0].slip


def test_a_misspelt_texture_is_not_read_as_its_other_half():
    row = _rows("pit 2\nae 0-12, 10yr 6/2, silt laom, modrate medium platy, claer wavy\n")[0]
    assert (row["texture"], row["structure grade"], row["structure kind"], row["boundary distinctness"], row["boundary form"]) == ("silt loam", "moderate", "platy", "clear", "wavy")
    notes = tables_of("pit 2\nae 0-12, 10yr 6/2, silt laom\n", "n.txt", depth_unit="cm")
    assert any("laom" in problem.what for problem in notes.problems)


LETTER = """Dear all, depths in centimetres, colours moist unless I say dry.

Pit 7A lies on the slope. The litter is an LFH from 5 to 0 cm, black (10YR 2/1), with an abrupt and smooth boundary. The Ae runs from 0 to 12 cm. It is a silt loam, light
brownish gray (10YR 6/2) and light gray (10YR 7/2) when dry. Below it, from 12 to 20 cm, comes an AB of clay loam. The Bt reaches from 20 to 50 cm and is a brown (10YR 4/3) clay.
The BC, 50 to 75 cm, is a clay loam of colour 10YR 4/2. Its boundary is gradual and smooth.
"""


def test_a_letter_in_full_sentences_gives_every_horizon():
    rows = _rows(LETTER)
    assert [(row["designation"], row["lower depth (cm)"], row.get("texture", "")) for row in rows] == [("LFH", "0", ""), ("Ae", "12", "silt loam"), ("AB", "20", "clay loam"), ("Bt", "50", "clay"), ("BC", "75", "clay loam")]
    assert (rows[1]["colour moist"], rows[1]["colour dry"], rows[3]["colour moist"], rows[4]["colour moist"]) == ("10YR 6/2", "10YR 7/2", "10YR 4/3", "10YR 4/2")


@pytest.mark.parametrize(
    ("head", "pit_id"),
    [("No. 118 - upper slope, stubble", "118"), ("PEDON: Hollin Beck 1", "Hollin Beck 1"), ("Pit: Sallow Moor 7          Use: native grass        Slope: 2%", "Sallow Moor 7"), ("PIT NO. = K-4", "K-4"), ("Nr. 12", "12"), ("** K-4 **", "K-4")],
)
def test_ids_in_words_and_numbers(head, pit_id):
    assert {row["pit_id"] for row in _rows(f"{head}\nAh 0-12 cm; loam\nBm 12-40 cm; clay\n")} == {pit_id}


def test_depths_are_taken_back_across_words_and_the_next_horizon_is_not_lost():
    text = (
        "Okay, this is pit 14, in centimetres. An Ah from 0 to 12, loam. Next is a Bm from 12 to 35, no wait, the tape slipped, 12 to 38, clay loam. "
        "Then from 38 to 60 a Cca, silt loam, scratch that, silty clay loam. And the last one is Ck, 60 to 105 and it keeps going, clay loam.\n"
    )
    rows = _rows(text)
    assert [(row["designation"], row["lower depth (cm)"], row["texture"]) for row in rows] == [("Ah", "12", "loam"), ("Bm", "38", "clay loam"), ("Cca", "60", "silty clay loam"), ("Ck", "105+", "clay loam")]


def test_a_stratified_horizon_keeps_all_its_textures():
    row = _rows("Pit 1\nC 0-50 cm; stratified sandy loam, loam, and silt loam; massive\n")[0]
    assert row["texture"] == "stratified sandy loam, loam, and silt loam"


def test_a_head_of_labels_gives_each_field_its_own_value():
    head = "Plot no.: 118   Date: 2021-07-29 Easting 612340 Northing 5412876 Zone 11\nASPECT 210   SLOPE 38%\nMESO SLOPE: Upper   DRAINAGE: Well\nlatitude 44.3561 and longitude -78.2190\n"
    pit = tables_of(head + "Ah 0-12 cm; loam\n", "n.txt").pits.cells.iloc[0]
    assert (pit["date"], pit["slope"], pit["aspect"], pit["drainage"].lower(), pit["pit_id"]) == ("2021-07-29", "38%", "210", "well", "118")


def test_a_lower_depth_alone_makes_a_horizon_and_a_sentence_that_goes_on_does_not():
    rows = _rows("Pit 1\nA, surface down to 4 in. Loam.\nBw, down to 11 in. Clay.\nC to 40 in where the wall\nhad not caved\n")
    assert [(row["designation"], row["upper depth (cm)"], row["lower depth (cm)"]) for row in rows] == [("A", "0", "10.16"), ("Bw", "10.16", "27.94")]
