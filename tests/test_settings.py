"""The survey file: all mistakes together, each with its line and the nearest valid name."""

import pytest

from geoprofile.errors import InputError, SettingsError
from geoprofile.settings import files_in, load_survey, parse_survey

GOOD = """
format = 1
[survey]
name = "Somewhere (invented)"
crs = "EPSG:3158"
area = "boundary.gpkg"
strata = { file = "lines.gpkg", layer = "parent_material", use = "split" }
[pits]
points = { file = "waypoints.gpx", layer = "waypoints", id = "name", accuracy_m = 4 }
horizons = { file = "pits.xlsx", sheet = "horizons" }
[pits.columns.horizons]
pit_id = "Pit"
[attributes.new.clay_0_30]
kind = "average"
of = "clay_percent"
upper_cm = 0
lower_cm = 30
[surfaces.for.depth_to_carbonates]
drift = ["relative_elevation"]
[zones]
draft = { from = "surface", attribute = "depth_to_carbonates", limits_cm = [10, 25, 50, 100] }
"""


def test_a_good_file_is_read_and_frozen():
    settings = parse_survey(GOOD)
    assert settings.surfaces.for_["depth_to_carbonates"].drift == ("relative_elevation",)
    assert settings.attributes.new["clay_0_30"].lower_cm == 30
    with pytest.raises(Exception, match="frozen"):
        settings.survey.name = "other"


def test_every_file_that_the_survey_names_is_known():
    assert dict(files_in(parse_survey(GOOD))) == {
        "survey.area": "boundary.gpkg",
        "survey.strata.file": "lines.gpkg",
        "pits.points.file": "waypoints.gpx",
        "pits.horizons.file": "pits.xlsx",
    }


def test_all_mistakes_are_reported_together_with_line_and_nearest_name():
    text = GOOD.replace("crs =", "csr =").replace('"split"', '"splt"').replace("accuracy_m = 4", "accuracy_m = -4").replace("drift =", "drft =")
    with pytest.raises(SettingsError) as caught:
        parse_survey(text, "survey.toml")
    mistakes = [caught.value, *caught.value.others]
    told = {mistake.where.split(", ")[-1]: mistake for mistake in mistakes}
    assert set(told) == {
        "survey.crs", "survey.csr", "survey.strata.use", "pits.points.accuracy_m", "surfaces.for.depth_to_carbonates.drft",
    }  # fmt: skip
    assert told["survey.csr"].remedy == "did you mean 'crs'?" and ", line 5," in told["survey.csr"].where
    assert told["survey.strata.use"].remedy == "did you mean 'split'?"
    assert told["surfaces.for.depth_to_carbonates.drft"].remedy == "did you mean 'drift'?"


def test_a_file_that_is_not_toml_says_where():
    with pytest.raises(SettingsError, match="not valid TOML") as caught:
        parse_survey("format = \n[survey", "s.toml")
    assert "line 1" in caught.value.found


def test_a_missing_file_says_how_to_start_one(tmp_path):
    with pytest.raises(InputError) as caught:
        load_survey(tmp_path)
    assert "geoprofile new" in caught.value.remedy


def test_a_file_saved_with_a_byte_order_mark_is_read(tmp_path):
    """R4."""
    (tmp_path / "survey.toml").write_text(GOOD, encoding="utf-8-sig")
    assert load_survey(tmp_path).survey.crs == "EPSG:3158"


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('[pits]\nhorizons = "a.csv"', ("a table in { } belongs here", 'write { file = "a.csv" }')),
        ('[zones]\nparcels = "p.gpkg"', ("a table in { } belongs here", 'write { file = "p.gpkg" }')),
        ("[pits]\nhorizons = 3", ("a table in { } belongs here", "explain pits.horizons")),
        ("[pits]\nmissing = 3", ("a list in [ ] belongs here", "explain pits.missing")),
        ('[grid]\ncell_m = "ten"', ("a number belongs here", "without quotes")),
        ("[grid]\ncell_m = -1", ("the value must be greater than 0", "explain grid.cell_m")),
    ],
)
def test_a_value_of_the_wrong_shape_is_told_in_plain_words(more, told):
    """No words of the library that checks: a surveyor knows no tuple and no instance."""
    with pytest.raises(SettingsError) as wrong:
        parse_survey(f'format = 1\n[survey]\ncrs = "EPSG:3158"\n{more}\n')
    assert all(word in str(wrong.value) for word in told), str(wrong.value)
    assert not any(word in str(wrong.value) for word in ("tuple", "instance", "tablesource", "input should"))


@pytest.mark.parametrize("section", ['output = "a\\u0000b"', 'area = "a\\u0000.gpkg"', 'strata = { file = "a\\u0000.gpkg" }'])
def test_a_path_with_the_null_character_is_a_mistake_of_the_survey_file(section):
    text = f'format = 1\n[survey]\ncrs = "EPSG:3158"\n{section}\n'
    with pytest.raises(SettingsError, match="null character") as caught:
        parse_survey(text)
    assert caught.value.exit_code == 2 and "line 4" in caught.value.where
