"""One depth where two are needed, and layers that nobody gave a designation: read where they can only mean one thing, else listed. All invented."""

from __future__ import annotations

import random

import pytest

from geoprofile.pits.notes.reader import tables_of

HEAD = "Pit 1 54.12310 N 116.90520 W\n"


def _notes(text: str, head: str = HEAD):
    return tables_of(head + text + "\n", "n.txt", depth_unit="cm")


def _rows(notes) -> list[tuple[str, str, str]]:
    return [(row["designation"], row["upper depth (cm)"], row["lower depth (cm)"]) for _, row in notes.horizons.cells.iterrows()]


@pytest.mark.parametrize(
    "first",
    ["Ap 15 cm", "Ap 15 cm thick", "Ap 15cm", "Ap, 15 cm", "Ap (15 cm)", "Ap: 15 cm", "Ap about 15 cm", "Ap horizon 15 cm", "The Ap is 15 cm thick", "Ap to 15 cm", "Ap 15 cm deep, loam", "Ap 15 cm loam", "Ap 15 cm - loam", "Ap 15 cm 10YR 3/2 m loam"],
)  # fmt: skip
@pytest.mark.parametrize("between", ["\n", ", ", "; ", "\n\n"])
def test_one_depth_of_the_first_horizon_goes_from_the_surface_to_the_next(first, between):
    notes = _notes(between.join([first, "Bm 15-40", "Ck 40-100"]))
    assert _rows(notes) == [("Ap", "0", "15"), ("Bm", "15", "40"), ("Ck", "40", "100")]
    assert any("one depth of the first horizon" in one.what for one in notes.problems)


def test_in_inches_it_is_inches():
    assert _rows(_notes("Ap 6 in\nBt 6-20 in\nCk 20-40 in"))[0] == ("Ap", "0", "15.24")


def test_a_colon_before_one_depth_takes_no_other_horizon_with_it():
    assert [row[0] for row in _rows(_notes("Ap: 20 cm, Bm 15-40, Ck 40-100"))] == ["Ap", "Bm", "Ck"]


def test_on_cards_and_in_tables_it_is_the_same():
    assert _rows(_notes("Horizon: Ap\nDepth: 15 cm\nTexture: loam\n\nHorizon: Bm\nDepth: 15-40 cm\nTexture: clay"))[0] == ("Ap", "0", "15")
    assert _rows(_notes("LFH 5-0 cm\nAp: 15 cm\nBm: 15-40 cm"))[1] == ("Ap", "0", "15")


@pytest.mark.parametrize("between", ["\n", ", ", "; "])
@pytest.mark.parametrize("first", ["Ap 20 cm", "Ap 20 cm thick", "Ap 20 cm loam", "Ap 10 cm thick", "Ap 6 in"])
def test_where_the_next_does_not_begin_there_the_horizon_is_without_depths_and_the_others_stay(first, between):
    notes = _notes(between.join([first, "Bm 15-40", "Ck 40-100"]))
    assert _rows(notes) == [("Ap", "", ""), ("Bm", "15", "40"), ("Ck", "40", "100")]
    number = first.split()[1]
    assert number in notes.horizons.cells.iloc[0]["horizon remarks"]
    (problem,) = [one for one in notes.problems if "this horizon is without depths" in one.what]
    assert (problem.severity, problem.pit_id, problem.row) == ("warning", "1", 2) and problem.found.startswith("Ap") and number in problem.found


@pytest.mark.parametrize("between", ["\n", ", "])
def test_one_depth_further_down_gives_nothing_to_the_horizon_above(between):
    notes = _notes(between.join(["Ap 0-15 cm", "Bm 25 cm thick, 10YR 4/4 m, clay loam", "Ck 40-100 cm"]))
    assert _rows(notes) == [("Ap", "0", "15"), ("Bm", "", ""), ("Ck", "40", "100")]
    above, here = (notes.horizons.cells.iloc[number] for number in (0, 1))
    assert not above.get("texture", "") and not above.get("colour moist", "") and (here["texture"], here["colour moist"]) == ("clay loam", "10YR 4/4")


@pytest.mark.parametrize("first", ["LFH 5 cm", "LFH 5 cm thick", "O 5 cm"])
def test_an_organic_layer_above_a_horizon_at_the_surface_is_as_thick_as_its_depth(first):
    assert _rows(_notes(f"{first}\nAh 0-12\nCk 12-60"))[0][1:] == ("5", "0")


@pytest.mark.parametrize("words", ["A 10 m wide ditch", "A 10 cm thick layer of gravel on the road", "Ap 2 m from the fence"])
def test_a_length_in_a_sentence_is_no_horizon(words):
    assert [row[0] for row in _rows(_notes(f"{words}\nAp 0-20\nC 20-50"))] == ["Ap", "C"]


@pytest.mark.parametrize("told", ["Gravel fill 0-30 cm, then Bt 30-60 clay loam", "no topsoil - old access road. Gravel fill 0-30 cm, then Bt 30-60 clay loam", "Fill 0-30 cm\nBt 30-60 clay loam", "Fill - gravel, 0-30 cm.\nBt 30-60 clay loam", "road fill 0-30 then Bt 30-60 clay loam"])
def test_fill_above_the_first_horizon_is_listed_and_the_horizon_read(told):
    notes = _notes(told)
    assert _rows(notes) == [("Bt", "30", "60")] and notes.horizons.cells.iloc[0]["texture"] == "clay loam"
    (problem,) = [one for one in notes.problems if "without a designation" in one.what]
    assert problem.severity == "warning" and "0-30" in problem.found and "ill" in problem.found and "designation" in problem.remedy
    assert "0-30" in notes.pits.cells.iloc[0]["remarks"]


@pytest.mark.parametrize("told", ["Ap 0-30 cm loam\nGravel fill 30-45 cm\n10YR 6/4 sand\nBt 45-60 clay", "Ap 0-30 cm loam, gravel fill 30-45 cm, Bt 45-60 clay", "Ap 0-30 cm loam; gravel fill 30-45 cm, 10YR 6/4; Bt 45-60 clay"])
def test_a_layer_without_a_designation_is_no_part_of_the_horizon_above(told):
    notes = _notes(told)
    assert _rows(notes) == [("Ap", "0", "30"), ("Bt", "45", "60")]
    assert notes.horizons.cells.iloc[0]["texture"] == "loam" and "colour moist" not in notes.horizons.cells
    (problem,) = [one for one in notes.problems if "without a designation" in one.what]
    assert problem.found.startswith("Gravel fill 30-45 cm") or problem.found.startswith("gravel fill 30-45 cm")


def test_depths_of_roots_and_boundaries_stay_with_their_horizon():
    notes = _notes("Ap 0-15 cm loam, few roots 15-30 cm, clear boundary 15-18 cm\nBt 15-30")
    assert "15-18 cm" in notes.horizons.cells.iloc[0]["horizon remarks"] and not any("without a designation" in one.what for one in notes.problems)


def test_a_pit_of_which_nothing_is_read_though_depths_stand_in_it_is_an_error_with_its_lines():
    notes = _notes("Ap 0-15\nC 15-50\n\nPit 2\nworked ground\n0-20 cm topsoil loam\n20-50 cm subsoil clay\n\nPit 3 lease 7-14, not dug\n\nPit 4\nAp 0-10")
    two, three = (next(one for one in notes.problems if one.pit_id == key) for key in "23")
    assert two.severity == "error" and two.found == "0-20 cm topsoil loam | 20-50 cm subsoil clay" and "designation and both depths" in two.remedy
    assert three.severity == "warning" and three.remedy.startswith("nothing, where none was dug")


def test_a_row_of_horizons_behind_the_name_of_the_pit_need_not_begin_at_the_surface():
    assert _rows(_notes("Pit 8: Bm 15-40, Ck 40-100", head="")) == [("Bm", "15", "40"), ("Ck", "40", "100")]


def test_no_range_is_made_of_one_depth_by_any_hand():
    """Whatever is written: a horizon has the depths that were meant or none, and none takes another's texture."""
    chance = random.Random(20261125)
    for _ in range(150):
        names, textures = chance.choice((("Ap", "Bm", "Ck"), ("Ah", "Btg", "Cg"), ("Ae", "Bt", "BC", "Ck"))), ("loam", "clay loam", "silt loam", "clay")
        depths = [0]
        for _ in names:
            depths.append(depths[-1] + chance.choice((8, 12, 20, 25)))
        alone = chance.randrange(len(names) - 1)
        wrong = chance.random() < 0.5
        said = [f"{upper}-{lower}{chance.choice(('', ' cm'))}" for upper, lower in zip(depths, depths[1:])]
        thick = depths[alone + 1] - depths[alone] + 3 * wrong
        said[alone] = f"{thick} cm{chance.choice(('', ' thick'))}"
        field = chance.choice((", ", " ", "; "))
        lines = [f"{name} {depth}{field}{texture}" for name, depth, texture in zip(names, said, textures)]
        text = chance.choice(("\n", ", ", "; ")).join(lines)
        cells = _notes(text).horizons.cells
        assert list(cells["designation"]) == list(names), text
        for number, (_, row) in enumerate(cells.iterrows()):
            meant = (str(depths[number]), str(depths[number + 1]))
            read = (row["upper depth (cm)"], row["lower depth (cm)"])
            assert read == (meant if number != alone or (alone == 0 and not wrong) else ("", "")), text
            assert row["texture"] == textures[number], text
