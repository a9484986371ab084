"""Notes typed on a phone, all invented: no capitals, few marks, short and misspelt words; and what says the unit of depths."""

from __future__ import annotations

import pytest

from geoprofile.errors import InputError
from geoprofile.pits.notes.reader import tables_of
from geoprofile.pits.notes.small_letters import with_capitals

PHONE = """pit 7 june 3 cutblock 15 pct slope well drained
lfh 4-0
ae 0-8 7.5yr 7/1 moist sandy loam weak med platy v friable abrupt wavey
bfgj 8-25 7.5yr 4/6 m sl wk fine gran friable clear wavey few fine faint mottles
bc 25-33 10yr 5/4 ls single grain loose grad smooth
ck 33-70+ 2.5y 5/3 gravelly sand massive v firm mod eff 20 pct gravel

pit 8
ap 0-20 10yr 3/1 moist sil mod med gran no fizz
a bit stony at 20-30
of 20-30 roots i counted ten
bt1 20-45 10yr 4/3 cl strong med sbk firm
c 45-90 cl massive strong eff
"""


def _read(text: str, unit: str | None = "cm"):
    notes = tables_of(text, "phone.txt", depth_unit=unit)
    return notes, [{name: cell for name, cell in row.items() if cell} for row in notes.horizons.cells.to_dict("records")]


def test_designations_in_small_letters_begin_horizons():
    notes, rows = _read(PHONE)
    assert notes.ids == ("7", "8") and notes.pits.cells["slope"].tolist() == ["15 percent", ""]
    assert [f"{row['designation']} {row['upper depth (cm)']}-{row['lower depth (cm)']}" for row in rows] == [
        "LFH 4-0", "Ae 0-8", "Bfgj 8-25", "BC 25-33", "Ck 33-70+", "Ap 0-20", "Bt1 20-45", "C 45-90"]  # fmt: skip
    (note,) = [one for one in notes.problems if "small letters" in one.what]
    assert note.severity == "note" and "8 times" in note.what


def test_words_without_marks_between_them_fill_their_fields():
    _, rows = _read(PHONE)
    parts = ("colour moist", "texture", "structure grade", "structure size", "structure kind", "consistence", "effervescence", "boundary distinctness", "boundary form", "horizon remarks")
    read = [tuple(row.get(part, "") for part in parts) for row in rows]
    assert read[1:5] == [
        ("7.5YR 7/1", "sandy loam", "weak", "medium", "platy", "very friable", "", "abrupt", "wavy", ""),
        ("7.5YR 4/6", "sandy loam", "weak", "fine", "granular", "friable", "", "clear", "wavy", "few fine faint mottles"),
        ("10YR 5/4", "loamy sand", "", "", "single grain", "loose", "", "gradual", "smooth", ""),
        ("2.5Y 5/3", "gravelly sand", "", "", "massive", "very firm", "moderate", "", "", "20 pct gravel"),
    ]
    assert read[6:] == [("10YR 4/3", "clay loam", "strong", "medium", "subangular blocky", "firm", "", "", "", ""), ("", "clay loam", "", "", "massive", "", "strong", "", "", "")]
    assert "a bit stony at 20-30" in rows[5]["horizon remarks"] and "of 20-30 roots i counted ten" in rows[5]["horizon remarks"]


@pytest.mark.parametrize(("word", "name"), [("bfgj", "Bfgj"), ("lfh", "LFH"), ("ab", "AB"), ("ahe", "Ahe"), ("cca", "Cca"), ("iick", "IICk"), ("2bt", "2Bt"), ("btnj", "Btnj"), ("bt2", "Bt2"), ("r", "R"), ("bed", ""), ("road", ""), ("and", ""), ("at", ""), ("x", "")])
def test_the_whole_word_must_be_a_designation(word, name):
    assert with_capitals(word) == name


@pytest.mark.parametrize("line", ["at 30-40 water", "road 12-40 m away", "a 3-4 day trip", "bm is at 30-40", "photo 12-40", "bt 33 cm from the peg", "ck 90-120"])
def test_a_line_in_small_letters_whose_depths_do_not_follow_is_no_horizon(line):
    notes, rows = _read(f"Pit 1\nAh 0-12 cm; loam\n{line}\nBm 12-30 cm; clay\n")
    assert [row["designation"] for row in rows] == ["Ah", "Bm"] and line in rows[0]["horizon remarks"]


@pytest.mark.parametrize(("body", "texture"), [("10yr 4/3 sl effervescent", ""), ("10yr 4/3 cl smooth", ""), ("10yr 4/3 m cl mod med sbk", "clay loam"), ("2.5y 5/3 sand massive", "sand"), ("sl sticky", "")])
def test_two_letters_are_a_texture_only_in_their_place(body, texture):
    assert _read(f"Pit 1\nBm 0-20 cm; {body}\n")[1][0].get("texture", "") == texture


@pytest.mark.parametrize(
    ("horizons", "said"),
    [
        ("LFH 4-0\nAe 0-8\nBm 8-60", ('depth_unit = "cm"', "Canadian")), ("A 0-20\nB 20-70\nC 70-110", ('depth_unit = "cm"', "110 in would be 279 cm")),
        ("A 0-7\nBw 7-24\nCr 24-42", ('depth_unit = "in"', "42 cm would be a shallow pit")), ("A 0-7\nC 7-24", ('"cm" or "in"', "fit both")),
    ],
)  # fmt: skip
def test_where_no_unit_is_said_the_message_proposes_the_one_that_fits(horizons, said):
    with pytest.raises(InputError) as error:
        _read(f"Pit 1\n{horizons}\n", None)
    assert all(words in str(error.value) for words in said)
    assert _read(f"Pit 1\n{horizons}\n", "cm")[1]


@pytest.mark.parametrize("heading", ["hor   cm    colour      text", "hor, cm, colour, texture", "horizon\tdepth (cm)\tcolour", "hor cm colour"])
def test_a_line_of_headings_says_the_unit(heading):
    notes, rows = _read(f"Hole 3\n{heading}\nAh    0-12  10YR 3/1 m  SiL\nBm    12-40  10YR 4/3 m  CL\n", None)
    assert [row["lower depth (cm)"] for row in rows] == ["12", "40"]
    inches = heading.replace("cm", "in")
    assert _read(f"Hole 3\n{inches}\nAh    0-12  10YR 3/1 m  SiL\n", None)[1][0]["lower depth (cm)"] == "30.48" or inches == "hor in colour"


def test_a_sentence_with_in_says_no_unit():
    with pytest.raises(InputError):
        _read("Hole 3, texture and structure in pasture\nAh 0-12, 10YR 3/1 m\n", None)


def test_codes_among_words_are_read_right_or_left():
    _, rows = _read("Pit 1\nAp 0-10 cm 10YR 3/2 moist dry 10YR 5/2 sil 2fgr fr es cs\nbt 10-30 m 10YR 4/3 dry 10YR 6/3 cl M F GR FI eo abr sm\n")
    ap, bt = rows
    assert (ap["colour moist"], ap["colour dry"], ap["texture"], ap["structure size"], ap["structure kind"], ap["consistence"], ap["effervescence"], ap["boundary form"]) == (
        "10YR 3/2", "10YR 5/2", "silt loam", "fine", "granular", "friable", "strong", "smooth")  # fmt: skip
    assert (bt["upper depth (cm)"], bt["colour moist"], bt["colour dry"], bt["texture"], bt["effervescence"], bt["boundary form"]) == ("10", "10YR 4/3", "10YR 6/3", "clay loam", "none", "smooth")  # m is moist, and no metre
    assert bt.get("structure kind", "granular") == "granular"
