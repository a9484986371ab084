"""Two questions asked of the finished demo from the command line: where to dig next, and why this value."""

from __future__ import annotations

import json

import geopandas as gpd
import pytest

from geoprofile.cli.run import run_command_line


@pytest.fixture
def asked(demo, demo_folder, capsys):
    def ask(command, *options):
        capsys.readouterr()
        code = run_command_line([command, str(demo_folder), "--json", *options])
        told = capsys.readouterr()
        return code, json.loads(told.out), told.err

    return ask


@pytest.mark.parametrize(
    "options",
    [("--purpose", "gaps"), ("--purpose", "terrain"), ("--attribute", "a_e_thickness"), ("--attribute", "a_e_thickness", "--limit", "15")],
    ids=["gaps", "terrain", "doubt", "doubt near a limit"],
)
def test_each_purpose_names_places_with_their_gain_in_files_for_the_field(asked, demo, options):
    code, found, _ = asked("next-pits", "-n", "3", *options)
    assert code == 0 and len(found["places"]) == 3
    assert found["purpose"] == (options[1] if options[0] == "--purpose" else "doubt")
    assert found["after"] < found["before"]
    assert sum(place["gain"] for place in found["places"]) == pytest.approx(found["before"] - found["after"], rel=1e-2)
    assert [path.rsplit(".", 1)[1] for path in found["files"]] == ["gpx", "gpkg", "csv"]
    layer = gpd.read_file(found["files"][1])
    assert layer["gain"].tolist() == [place["gain"] for place in found["places"]]
    assert "buried lines" in found["caution"]


def test_places_keep_off_what_is_excluded(asked, demo_folder, tmp_path):
    area = gpd.read_file(demo_folder / "boundary.gpkg")
    west, south, east, north = area.total_bounds
    half = area.clip((west, south, (west + east) / 2, north))
    half.to_file(tmp_path / "closed.gpkg")
    code, found, _ = asked("next-pits", "-n", "4", "--exclude", str(tmp_path / "closed.gpkg"))
    assert code == 0 and all(place["x_m"] > (west + east) / 2 for place in found["places"])
    assert any("pits may be dug on" in note for note in found["notes"])


def test_a_question_that_cannot_be_answered_says_what_to_do(asked):
    code, found, _ = asked("next-pits", "--purpose", "doubt")
    assert code == 2 and "--attribute" in found["remedy"]


def test_why_a_place_has_its_value_names_the_pits_and_what_each_says(asked, demo):
    surfaces = demo.products["surfaces"]
    points = surfaces.points[surfaces.points["attribute"] == "depth_to_carbonates"].set_index("pit_id")
    bounded = points[points["low"] != points["high"]].iloc[0]
    code, found, err = asked(
        "surfaces", "--explain", str(bounded["x"]), str(bounded["y"]), "--attribute", "depth_to_carbonates"
    )  # fmt: skip
    (one,) = found["explanations"]
    assert code == 0 and "surfaces: nothing has changed, reused" in err, "nothing is fitted again"
    assert one["stratum"] in ("cultivated", "bush") and one["model"] and one["reliability"]
    assert sum(pit["weight"] for pit in one["pits"]) + one["rest_weight"] == pytest.approx(1)
    for pit in one["pits"]:
        said = points.loc[pit["pit_id"]]
        assert pit["says"].startswith(">") == (said["status"] == "at_least")
        if said["status"] == "at_least":
            assert pit["counts_as"] > said["low"]


def test_without_an_attribute_every_surface_is_explained(asked, demo):
    x, y = demo.products["surfaces"].grid.centre_points().mean(axis=0)
    code, found, _ = asked("surfaces", "--explain", str(x), str(y))
    names = [one["attribute"] for one in found["explanations"]]
    assert code == 0 and names == [one.attribute for one in demo.products["surfaces"].surfaces]
