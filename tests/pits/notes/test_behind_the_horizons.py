"""Facts of the pit that are written below its horizons: drainage, slope, and where the hole ended. All invented."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.reader import tables_of

HORIZONS = "Ap 0-15 cm loam\nBt 15-48 cm clay loam\nCk 48-95 cm, moderate effervescence"


def _pit(text: str) -> dict[str, str]:
    return {name: cell for name, cell in tables_of(text + "\n", "n.txt", depth_unit="cm").pits.cells.iloc[0].items() if cell}


def _left(text: str) -> str:
    return tables_of(text + "\n", "n.txt", depth_unit="cm").horizons.cells.iloc[-1].to_dict().get("horizon remarks", "")


FACTS = {
    "moderately well drained": {"drainage": "moderately well"}, "Well drained.": {"drainage": "well"}, "imperfectly drained; water table at 90 cm": {"drainage": "imperfectly"},
    "Drainage: moderately well": {"drainage": "moderately well"}, "slope 1 %": {"slope": "1 %"}, "Slope: 4 %": {"slope": "4 %"}, "slope 4% facing S": {"slope": "4%", "aspect": "180"},
    "moderately well drained, slope 1 %": {"drainage": "moderately well", "slope": "1 %"}, "auger refusal at 95 cm": {"stopped_by": "auger refusal", "observed_to": "95 cm"},
    "auger refusal at 95": {"stopped_by": "auger refusal", "observed_to": "95 cm"}, "Refusal at 95 cm on stones": {"stopped_by": "stones", "observed_to": "95 cm"},
    "stopped at 95 on stones": {"stopped_by": "stones", "observed_to": "95 cm"}, "Stopped by stones at 95 cm.": {"stopped_by": "stones", "observed_to": "95 cm"},
    "bottom of hole 100 cm\nmoderately well drained": {"observed_to": "100 cm", "drainage": "moderately well"}, "hole stopped at 95 cm": {"observed_to": "95 cm"},
}  # fmt: skip


@pytest.mark.parametrize("between", ["\n", ". ", "\n\n"])
@pytest.mark.parametrize("fact", FACTS)
def test_what_is_said_below_the_horizons_is_of_the_pit(fact, between):
    slope = {name.replace("slope_percent", "slope"): cell for name, cell in _pit(f"Pit 1\n{HORIZONS}{between}{fact}").items()}
    assert {name: slope.get(name) for name in FACTS[fact]} == FACTS[fact]


@pytest.mark.parametrize("fact", FACTS)
def test_the_same_words_in_the_head_say_the_same(fact):
    slope = {name.replace("slope_percent", "slope"): cell for name, cell in _pit(f"Pit 1\n{fact}\n{HORIZONS}").items()}
    assert {name: slope.get(name) for name in FACTS[fact]} == FACTS[fact]


def test_what_was_read_is_no_remark_of_the_lowest_horizon_and_the_rest_is():
    assert _left(f"Pit 1\n{HORIZONS}\nimperfectly drained, water seeping in, slope 2 %") == "water seeping in"


def test_the_head_stands_and_what_differs_below_is_kept():
    assert _pit(f"Pit 1\nwell drained\n{HORIZONS}\nimperfectly drained")["drainage"] == "well"
    assert "imperfectly drained" in _left(f"Pit 1\nwell drained\n{HORIZONS}\nimperfectly drained")


@pytest.mark.parametrize("words", ["no refusal at 95 cm", "no auger refusal at 95 cm", "roots stop at 95 cm", "slope steeper below the road"])
def test_what_only_sounds_like_it_is_a_remark(words):
    assert not {"stopped_by", "observed_to", "slope"} & set(_pit(f"Pit 1\n{HORIZONS}\n{words}"))
    assert words in _left(f"Pit 1\n{HORIZONS}\n{words}")


def test_sections_behind_a_published_pedon_are_of_the_series_and_not_of_the_pit():
    told = "TYPICAL PEDON: Anvil loam, in pasture.\nAp--0 to 6 inches; loam; clear smooth boundary.\nC--6 to 30 inches; clay.\n\nRANGE IN CHARACTERISTICS: Depth to gravel is 40 inches.\nDRAINAGE AND PERMEABILITY: Well drained. Slope 3 percent.\n"
    assert not {"drainage", "slope", "slope_percent"} & set(_pit(told))
