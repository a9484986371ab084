"""Where a pit begins: ids with and without digits, words behind them, and sentences that begin none. All invented."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.pit_lines import bare_id, keyed_id, starts_pit
from geoprofile.pits.notes.reader import tables_of

HORIZONS = "Ap 0-20 cm; loam\nB 20-40 cm; clay\n"


@pytest.mark.parametrize("gap", ["", "\n"], ids=["right below", "behind a blank line"])
@pytest.mark.parametrize(
    ("line", "pit", "rest"),
    [
        ("Profile BR-B", "BR-B", ""), ("Pit North Knoll", "North Knoll", ""), ("Site: Hilltop", "Hilltop", ""), ("Hole B", "B", ""), ("Core North", "North", ""), ("Test pit Alpha", "Alpha", ""),
        ("Plot Three Oaks, slope 3 %", "Three Oaks", ""), ("Pit name: Old Gate", "Old Gate", ""), ("Pit no. B", "B", ""), ("Pit 7 (by the old gate)", "7", "by the old gate"),
        ("P2 - near fence", "P2", "near fence"), ("P2 (near fence), slope 4 %", "P2", "near fence"), ("TP-12: wet meadow", "TP-12", "wet meadow"), ("NK-3, top of knoll", "NK-3", "top of knoll"), ("P-2", "P-2", ""),
    ],
)  # fmt: skip
def test_a_pit_begins_with_an_id_in_letters_or_with_words_behind(gap, line, pit, rest):
    notes = tables_of(f"Pit A1\n{HORIZONS}{gap}{line}\n{HORIZONS}", "n.txt")
    assert notes.ids == ("A1", pit)
    assert notes.pits.cells["remarks"].tolist() == ["", rest]
    assert len(notes.horizons.cells) == 4 and "horizon remarks" not in notes.horizons.cells or not any(notes.horizons.cells["horizon remarks"])


@pytest.mark.parametrize(
    "line",
    [
        "Pit wall was wet here", "Site is wet and cold", "Profile described by the crew", "Pit Wall Collapsed", "Profile description", "Site Conditions: dry spell", "site visit in rain", "Pit at the old gate",
        "The pit caved in.", "Pit of stones below", "Hole was dry", "Profile Description", "Site visited 12 June", "Core is in the truck", "Plot of land for sale",
    ],
)  # fmt: skip
def test_a_sentence_begins_no_pit(line):
    assert not starts_pit(line) and bare_id(line, 0, len(line)) is None
    notes = tables_of(f"Pit A1\nAp 0-20 cm; loam\n{line}\nB 20-40 cm; clay\n", "n.txt")
    assert notes.ids == ("A1",) and len(notes.horizons.cells) == 2
    assert line.rstrip(".").split(":")[0].split()[-1] in notes.horizons.cells["horizon remarks"][0] + notes.pits.cells.iloc[0]["remarks"]


@pytest.mark.parametrize("line", ["B2 - near fence", "Ck1, sandy", "T55, R12, west of the road", "BC - wet", "IIC2 (stones)"])
def test_symbols_of_horizons_and_townships_are_no_ids(line):
    assert bare_id(line, 0, len(line)) is None


def test_what_stands_between_two_pits_goes_to_the_upper_one_where_the_lower_has_an_id():
    notes = tables_of(f"Pit A1\n{HORIZONS}\nWater came in overnight.\nP2 - near fence\n{HORIZONS}", "n.txt")
    assert notes.ids == ("A1", "P2") and notes.pits.cells["remarks"].tolist() == ["Water came in overnight.", "near fence"]


def test_a_line_before_horizons_that_begin_again_is_kept_with_the_pit_that_it_heads():
    notes = tables_of(f"Pit A1\n{HORIZONS}\nsome ridge, in the rain\n{HORIZONS}", "n.txt")
    assert notes.pits.cells["remarks"].tolist() == ["", "some ridge, in the rain"]


@pytest.mark.parametrize("text", [f"Pit 4\n{HORIZONS}\nPit 5, refused: standing water.\n\nPit 6, slope 3 %\n{HORIZONS}", f"Pit 4\n{HORIZONS}\nPit 6\n{HORIZONS}\nPit 5, refused: standing water.\n"])
def test_a_pit_without_horizons_is_listed_and_lends_its_id_to_no_other(text):
    notes = tables_of(text, "n.txt")
    assert notes.ids == ("4", "6")
    (problem,) = [one for one in notes.problems if "no horizons" in one.what]
    assert (problem.pit_id, problem.found) == ("5", "Pit 5, refused: standing water.") and problem.row in (5, 9)


def test_the_word_and_the_id_of_a_line():
    assert keyed_id("Site: B-2, slope 3 %") == ("site", "B-2") and keyed_id("Soil pit no. 12") == ("pit", "12")
    assert keyed_id("Pit wall") is None
