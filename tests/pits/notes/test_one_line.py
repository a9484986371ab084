"""Horizons one behind the other on a line, and codes that only their place decides. All invented."""

from __future__ import annotations

import pytest

from geoprofile.errors import InputError
from geoprofile.pits.notes.code_runs import by_place, code_run
from geoprofile.pits.notes.reader import tables_of


def _rows(text: str, unit: str = "cm") -> list[dict]:
    return [{name: cell for name, cell in row.items() if cell} for row in tables_of(text, "n.txt", depth_unit=unit).horizons.cells.to_dict("records")]


def _depths(text: str) -> list[tuple[str, str, str]]:
    return [(row["designation"], row["upper depth (cm)"], row.get("lower depth (cm)", "")) for row in _rows(text)]


@pytest.mark.parametrize("between", [", ", "; ", " / ", " | ", " -- ", " > ", "  ", ". ", " "])
def test_horizons_on_one_line_are_as_many_as_are_written(between):
    line = between.join(("LF 3-0 10YR 2/2", "Ahe 0-6 10YR 3/1 L", "Ae 6-15 10YR 6/2 SiL", "Bt 15-50 10YR 4/3 CL", "Ck 50-95+ 2.5Y 5/2 CL"))
    rows = _rows(f"Site B-4\n{line}\n")
    assert [(row["designation"], row["lower depth (cm)"], row["colour moist"]) for row in rows] == [
        ("LF", "0", "10YR 2/2"), ("Ahe", "6", "10YR 3/1"), ("Ae", "15", "10YR 6/2"), ("Bt", "50", "10YR 4/3"), ("Ck", "95+", "2.5Y 5/2"),
    ]  # fmt: skip


def test_a_gap_behind_a_comma_is_a_fault_of_the_record_and_no_part_of_the_horizon_above():
    assert _depths("Pit 1\nAp 0-15 L, Bm 18-40 CL, Ck 40-80 CL\n") == [("Ap", "0", "15"), ("Bm", "18", "40"), ("Ck", "40", "80")]


@pytest.mark.parametrize("words", ["A 15-40% clay", "C 15-20 cm thick in places", "B 15 to 30 mm wide cracks", "(Bt 15 to 40 in the next pit)", "E 5-9 pockets"])
def test_what_only_looks_like_the_next_horizon_stays_with_the_one_above(words):
    assert _depths(f"Pit 1\nAp 0-15 cm, loam, {words}\nBt 15-40 cm, clay\n") == [("Ap", "0", "15"), ("Bt", "15", "40")]


@pytest.mark.parametrize(
    ("clause", "words"),
    [
        (" 10YR 3/1 L w f gr ab s", ["loam", "weak fine granular", "abrupt smooth boundary"]), ("CL m co sbk gr w", ["clay loam", "moderate coarse subangular blocky", "gradual wavy boundary"]),
        ("2.5Y 5/2 m CL ma HCl mod", ["clay loam", "massive", "moderate effervescence"]), ("10YR 4/4 c 2 f gr SL cs", ["clay", "moderate fine granular", "slight effervescence", "clear smooth boundary"]),
        ("SiL m ST", ["silt loam", "massive", "strong effervescence"]), ("5Y 4/1 GR sl sg fr", ["single grain", "friable"]), ("fine roots", []), ("very friable", []), ("10YR 3/2", []), ("CL gritty", []),
    ],
)  # fmt: skip
def test_a_run_of_codes_is_read_where_all_of_it_is_explained(clause, words):
    assert [said for *_, said in code_run(clause)] == words


@pytest.mark.parametrize(
    ("code", "said", "words"),
    [
        ("c", {"colour"}, "clay"), ("c", {"colour", "texture"}, ""), ("m", {"colour", "texture"}, "massive"), ("m", {"colour"}, ""), ("m", {"texture", "structure kind"}, ""),
        ("SL", {"colour"}, "sandy loam"), ("SL", {"texture", "structure kind"}, "slight effervescence"), ("SL", {"structure kind"}, ""), ("ST", {"texture", "effervescence"}, ""),
        ("gr w", {"structure kind"}, "gradual wavy boundary"), ("gr w", {"texture"}, ""),
    ],
)  # fmt: skip
def test_a_field_of_one_code_is_read_by_what_was_said_before(code, said, words):
    assert by_place(code, said) == words


@pytest.mark.parametrize(
    ("written", "texture"),
    [("grsl", "gravelly sandy loam"), ("vgrls", "very gravelly loamy sand"), ("xcbl", "extremely cobbly loam"), ("GSL", "gravelly sandy loam"), ("vgSiL", "very gravelly silt loam"), ("stcl", "stony clay loam")],
)
def test_codes_of_modifier_and_texture_may_be_written_as_one(written, texture):
    """Common practice, no source."""
    assert _rows(f"Pit 1\nC 0-30 cm; {written}; massive\n")[0]["texture"] == texture


def test_gs_is_a_boundary_and_a_texture_only_under_its_heading():
    running, card = _rows("Pit 1\nC 0-30 cm; sandy loam; massive; GS\nHorizon: 2C\nDepth: 30-60 cm\nTexture: GS\n")
    assert (running["texture"], running["boundary distinctness"], card["texture"]) == ("sandy loam", "gradual", "gravelly sand")


@pytest.mark.parametrize("head", ["CK-4 toe  (moist, dry in parens)", "CK-4; colours moist, dry colours in brackets", "Pit CK-4 (brackets are dry)"])
def test_a_colour_in_brackets_is_of_the_state_that_the_head_gives(head):
    row = _rows(f"{head}\nAp / 0-22 / 10YR 2/1 (10YR 4/1) / sil\n")[0]
    assert (row["colour moist"], row["colour dry"], row["texture"], row["pit_id"]) == ("10YR 2/1", "10YR 4/1", "silt loam", "CK-4")


def test_without_such_a_head_a_second_notation_in_brackets_is_kept_and_not_guessed():
    row = _rows("Pit 1\nAp / 0-22 / 10YR 2/1 (10YR 4/1) / sil\n")[0]
    assert row["colour moist"] == "10YR 2/1" and "colour dry" not in row and "10YR 4/1" in row["horizon remarks"]


def test_the_lower_depth_alone_may_be_taken_back():
    text = "Okay this is pit nine, in centimetres. Ap zero to twenty, clay loam. Then the Bt twenty to fifty-two, no sorry, make that fifty-six, clay, and that one's massive. Then Ck fifty-six to ninety, nothing with the acid.\n"
    rows = _rows(text)
    assert [(row["designation"], row["lower depth (cm)"]) for row in rows] == [("Ap", "20"), ("Bt", "56"), ("Ck", "90")]
    assert (rows[1]["structure kind"], rows[2]["effervescence"]) == ("massive", "none")


def test_an_m_behind_depths_of_a_pit_is_no_metre():
    assert _depths("Pit 1\nAp 0 - 15\tm\nC 15 - 48\tm\n") == [("Ap", "0", "15"), ("C", "15", "48")]


@pytest.mark.parametrize("ruler", ["-------", "=====", "* * *", "- - -", ""])
def test_cards_of_one_pit_stay_together_whatever_stands_between_them(ruler):
    cards = ["HORIZON: A\nDEPTH: 0-9 cm\nTEXTURE: loam", "HORIZON: Bw\nDEPTH: 9-30 cm\nTEXTURE: clay", "HORIZON: R\nDEPTH: 30 cm +"]
    for ids in (("PIT: N-1\n", "", ""), ("PIT: N-1\n",) * 3, ("PIT: N-1     ",) * 3):
        text = f"\n{ruler}\n".join(name + card for name, card in zip(ids, cards))
        assert [(row["pit_id"], row["designation"]) for row in _rows(text + f"\n{ruler}\nPIT: N-2\nHORIZON: A\nDEPTH: 0-12 cm\n")] == [("N-1", "A"), ("N-1", "Bw"), ("N-1", "R"), ("N-2", "A")]


def test_a_further_head_of_the_same_pit_adds_what_the_first_does_not_say():
    notes = tables_of("Pit 3; slope 4 %; well drained\nAp 0-20 cm; loam\nPit 3; slope 6 %; in pasture\nBm 20-50 cm; clay\n", "n.txt")
    pit = notes.pits.cells.iloc[0]
    assert len(notes.pits.cells) == 1 and (pit["slope"], pit["drainage"], pit["land_use"]) == ("4 %", "well", "pasture")
    assert "6 %" in pit["remarks"]


@pytest.mark.parametrize("body", [" " * 60_000, "\t" * 60_000, "- " * 30_000, "loam m " * 8_000, "10-20 " * 10_000], ids=["blanks", "tabs", "dashes", "words", "depths"])
def test_a_long_line_takes_time_in_proportion(body):
    """In proportion this takes a second; in its square it took minutes, which nobody would fail to notice."""
    with pytest.raises(InputError, match="hardly anything"):
        tables_of(f"Pit 1\nAp 0-15 cm, loam,{body}clear\nBt 15-30 clay\n", "n.txt", depth_unit="cm")


def test_codes_at_the_end_of_a_line_are_not_said_together_with_the_next():
    assert _depths("Pit 7\nAp 0-20 cm 10YR 3/2 L\nR 20-48 cm\n") == [("Ap", "0", "20"), ("R", "20", "48")]
    assert _depths("Pit 7\nAp 0-20 cm 10YR 3/2 C\nC 20-48 cm\n") == [("Ap", "0", "20"), ("C", "20", "48")]


def test_what_stopped_the_hole_is_taken_from_the_last_horizon_too():
    pit = tables_of("Pit 7 toe, MWD\nAp 0-20 cm, loam\nC 20-48 cm, clay, hit rock at 48\n", "n.txt").pits.cells.iloc[0]
    assert (pit["stopped_by"], pit["observed_to"], pit["drainage"]) == ("rock", "48 cm", "moderately well")
