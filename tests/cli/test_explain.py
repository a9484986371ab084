"""``geoprofile explain``: a practitioner's words are answered with meaning, limits and source."""

from __future__ import annotations

import json
from collections import Counter

import pytest

from geoprofile.attributes.topsoil_rules import topsoil_rules
from geoprofile.cli.run import run_command_line
from geoprofile.registry import plugins
from geoprofile.vocabulary.tables import table

WORDS = (
    "Bt", "effervescence", "depth_to_carbonates", "Ahe", "LFH", "mottles", "mottle", "chroma", "Munsell", "gley", "calcareous", "lime", "solum",
    "salvage", "stripping", "topsoil", "clay films", "fizz", "structure", "consistence", "drainage", "boundary", "till", "loess",
    "parent material", "stoniness", "pH", "EC", "SAR", "hardpan", "duff", "peat", "slope", "discontinuity", "depth function", "spline", "lambda",
    "depth to Bt", "topsoil_thickness", "Cca", "IIBtgj", "sbk", "loam", "friable",
    "kriging", "variogram", "RMSE", "efficiency", "no spatial skill", "a_and_e", "dark_a", "topsoil_rule", "salvage.rule", "rule set",
    "relative_elevation", "wetness index", "landform_element", "convergent footslope", "profile_curvature",
    "chainage", "offset", "UTM", "easting", "composition", "subdominant",
)  # fmt: skip


@pytest.fixture
def explained(capsys):
    def of(word, *more):
        assert run_command_line(["explain", word, "--json", *more]) == 0, word
        return json.loads(capsys.readouterr().out)["entries"]

    return of


@pytest.mark.parametrize("word", WORDS)
def test_a_practitioners_word_is_answered_with_meaning_limits_and_source(explained, word):
    entries = explained(word)
    assert all(entry.get("means") for entry in entries)
    assert any(entry.get("source") for entry in entries), entries
    assert any(entry.get("limits") or entry.get("words") for entry in entries), entries


def test_several_words_are_explained_each_and_a_term_of_several_words_as_one(capsys):
    def told(*words):
        assert run_command_line(["explain", *words, "--json"]) == 0
        return [entry["name"] for entry in json.loads(capsys.readouterr().out)["entries"]]

    assert {"stopped by", "drainage"} <= set(told("stopped_by", "drainage"))
    assert "parent material" in told("parent", "material") and "drainage" not in told("parent", "material")


def test_several_words_one_of_which_is_none_are_refused(capsys):
    assert run_command_line(["explain", "drainage", "gloop"]) != 0
    assert "gloop" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("word", "convention", "told"),
    [
        ("ca", "canadian", "thicker than 10 cm"), ("k", "usda", "Secondary carbonates"), ("gj", "canadian", "Weakly"),
        ("sbk", "canadian", "subangular blocky"), ("SiL", "canadian", "silt loam"), ("MW", "canadian", "moderately well"),
        ("violent", "usda", "effervescence"), ("very gravelly sandy loam", "canadian", "sandy loam"),
    ],
)  # fmt: skip
def test_codes_and_letters_are_told_in_their_convention(explained, word, convention, told):
    assert told in json.dumps(explained(word, "--convention", convention))


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("clear", "2 to 5 cm thick"), ("gentle", "5 to 9 % slope"), ("diffuse", "from 15 cm thick on"), ("nonstony", "0 to 0.01 % of the surface"),
        ("noncalcareous", ": 0 % CaCO3"), ("neutral", "6.6 to 7.3 pH"),
    ],
)  # fmt: skip
def test_limits_of_a_class_carry_their_unit(explained, word, told):
    assert any(told in entry["means"] for entry in explained(word)), explained(word)


@pytest.mark.parametrize("word", ["kriging with bounded observations", "bounded_kriging"])
def test_a_method_is_found_by_the_title_that_a_run_prints(explained, word):
    assert [entry["name"] for entry in explained(word) if entry["kind"] == "method"] == ["bounded_kriging"]


def test_a_rule_set_of_topsoil_is_told_with_a_plain_name_and_what_it_takes(explained):
    (entry,) = explained("a_and_e")
    assert "A and E horizons" in entry["name"] and "30 CFR 701.5" in entry["source"] and "permit" in entry["limits"]
    assert sum(entry["kind"] == "rule set of topsoil" for entry in explained("rule set")) == len(topsoil_rules())


def test_a_setting_that_is_a_table_says_how_it_is_written(explained):
    (entry,) = (entry for entry in explained("pits.horizons") if entry["kind"] == "setting")
    assert '{ file = "..." }' in entry["allowed"] and "header_row" in entry["allowed"]


@pytest.mark.parametrize(
    ("word", "allowed"),
    [
        ("surfaces.fit", '"residual_maximum_likelihood" or "maximum_likelihood"'), ("pits.date_order", '"day_first" or "month_first"'),
        ("terrain.derive", 'a list of "slope"'), ("surfaces.less_than_cm", "a list of numbers"), ("attributes.bc_in_solum", "true or false"),
        ("zones.draft", "limits_cm"), ("zones.draft.from", '"surface", "landform_elements" or "clusters"'), ("grid.cell_m", "a number"),
        ("survey.strata.use", '"split" or "stop"'), ("survey.map_scale", "a whole number"), ("survey.name", "a text"),
    ],
)  # fmt: skip
def test_a_setting_says_what_it_may_be(explained, word, allowed):
    assert any(allowed in entry.get("allowed", "") for entry in explained(word) if entry["kind"] == "setting"), explained(word)


def test_a_letter_of_another_convention_is_not_told_as_ours(explained):
    assert "thicker" not in json.dumps(explained("k", "--convention", "canadian"))
    assert explained("kk", "--convention", "usda")[0]["kind"].startswith("letter")


def test_a_designation_is_taken_apart_letter_by_letter(explained):
    entry = next(entry for entry in explained("Ahe") if "designation" in entry["kind"])
    assert "A = " in entry["letters"] and "h = " in entry["letters"] and "e = " in entry["letters"]
    assert "dark A" in entry["means"] and "1998" in entry["source"]


def test_the_words_of_a_kind_are_listed_with_their_codes(explained):
    words = next(entry for entry in explained("effervescence", "--convention", "usda") if entry["kind"] == "word")["words"]
    assert "violent (VE)" in words and "moderate" not in words.partition("calcareous")[0]


def test_letters_of_another_convention_are_told_as_such(explained):
    """E is no horizon of the Canadian convention: answered by those that have it, and named so."""
    assert {entry["kind"] for entry in explained("E and Bt")} <= {"horizon designation, usda convention", "horizon designation, wrb convention"}
    assert any("usda" in entry["kind"] for entry in explained("violent"))


def test_a_section_of_the_survey_file_is_told_by_its_keys(explained):
    assert any("cell_m" in entry["means"] and entry["name"] == "[grid]" for entry in explained("grid"))


def test_a_munsell_notation_is_told_with_its_name(explained):
    """Brown: the soil colour name of 10YR 4/3 on present charts (Soil Survey Manual 2017)."""
    (entry,) = explained("10YR 4/3")
    assert "Named brown" in entry["means"] and "value 4" in entry["means"] and "no such colour" not in entry["limits"]


def test_related_names_are_pointed_out(capsys):
    assert run_command_line(["explain", "solum"]) == 0
    assert "see also: bc_in_solum, solum_thickness" in capsys.readouterr().out


def test_every_attribute_of_ours_tells_what_it_does_not_say():
    ours = {name for name, plugin in plugins("geoprofile.attributes").loaded.items() if type(plugin).__module__.startswith("geoprofile.")}
    assert ours and ours <= set(table("attribute_limits")) and all(table("attribute_limits").values())


def test_no_two_words_of_the_glossary_claim_one_name():
    names = Counter(name for key, entry in table("glossary").items() for name in (key, *(word.replace(" ", "_") for word in entry.get("also", ()))))
    assert [name for name, count in names.items() if count > 1] == []


def test_a_word_that_is_nothing_is_answered_with_what_is_near(capsys):
    assert run_command_line(["explain", "mottels"]) == 2
    assert "mottles" in capsys.readouterr().err


def test_several_words_need_no_quotes_and_words_of_outputs_are_told(capsys):
    for words in (["bank", "volume"], ["held", "by", "the", "interval"], ["a_and_e"], ["probability", "of", "more"]):
        assert run_command_line(["explain", *words]) == 0, words
        assert "means:" in capsys.readouterr().out


def test_every_raster_and_method_that_can_be_asked_for_is_explained(explained):
    from typing import get_args

    from geoprofile.settings.terrain import TerrainSettings

    asked = set(get_args(get_args(TerrainSettings.model_fields["derive"].annotation)[0]))
    assert asked | {"elevation"} >= set(table("terrain_rasters")) >= asked
    for name in plugins("geoprofile.methods").loaded:
        (means,) = [entry["means"] for entry in explained(name) if entry["kind"] == "method"]
        assert len(means.split(". ", 1)[1]) > 40, name


def test_a_word_that_a_setting_may_have_leads_to_the_setting(explained):
    assert [entry["name"] for entry in explained("two_part")] == ["surfaces.absent_as"]
