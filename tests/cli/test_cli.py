"""The command line as a stranger meets it: quick help, plain errors, exit codes, JSON."""

import json
import re
import subprocess
import sys

import pytest

from geoprofile.cli.run import run_command_line

HEAVY = ("numba", "geopandas", "rasterio", "sklearn", "folium", "pandas", "scipy", "matplotlib")


def _run(*arguments: str, **options) -> subprocess.CompletedProcess:
    return subprocess.run([sys.executable, "-m", "geoprofile", *arguments], capture_output=True, text=True, **options)


@pytest.mark.parametrize("arguments", [["--help"], ["run", "--help"], ["--version"], ["commands"]])
def test_help_loads_nothing_heavy(arguments):
    code = (
        "import sys; from geoprofile.cli.run import run_command_line; "
        f"code = run_command_line({arguments!r}); "
        f"print([name for name in {HEAVY!r} if name in sys.modules], code, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stderr.strip().splitlines()[-1] == "[] 0"


def test_every_command_is_described_and_every_option_has_help():
    document = json.loads(_run("commands", "--json").stdout)
    names = {command["name"] for command in document["commands"]}
    assert names >= {
        "new", "check", "pits", "attributes", "terrain", "surfaces", "zones", "salvage", "publish", "run",
        "transect", "next-pits", "composition", "explain", "doctor",
    }  # fmt: skip
    for command in document["commands"]:
        assert command["help"], command["name"]
        assert "--json" in [flag for p in command["parameters"] for flag in p["flags"]], command["name"]
        assert all(parameter["help"] for parameter in command["parameters"]), command["name"]


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        (["runn"], 2, "Did you mean 'run'"),
        (["run", "--outputt", "x"], 2, "--output"),
        (["run", "no-such-folder"], 3, "geoprofile new"),
        (["explain", "carbonate_depth"], 2, "depth_to_carbonates"),
    ],
)
def test_errors_are_one_message_with_what_to_do_and_a_code(arguments, code, told, capsys):
    """C8, C9: no traceback, the right exit code."""
    assert run_command_line(arguments) == code
    text = capsys.readouterr().err
    assert told in text and "Traceback" not in text


def _pits_survey(folder, second_depth):
    (folder / "pits.csv").write_text(f"pit,easting,northing,horizon,depth (cm)\nP-1,500000,5800000,Ah,0-14\nP-1,500000,5800000,Bm,{second_depth}\n")
    (folder / "survey.toml").write_text('format = 1\n[survey]\ncrs = "EPSG:32614"\n[pits]\nhorizons = { file = "pits.csv" }\n')
    return str(folder)


def test_check_ends_with_the_code_of_the_input_where_it_lists_an_error(tmp_path, capsys):
    """An error is something that was not used; a script must not go on as if all were read."""
    survey = _pits_survey(tmp_path, "14-nine")
    assert run_command_line(["check", survey]) == 3
    assert "1 error to correct" in capsys.readouterr().out
    assert run_command_line(["check", survey, "--json"]) == 3
    document = json.loads(capsys.readouterr().out)
    assert (document["ok"], document["exit_code"], document["errors"]) == (False, 3, 1)
    assert run_command_line(["pits", survey]) == 0  # the good rows go on


def test_check_ends_with_0_where_there_are_only_warnings_and_notes(tmp_path, capsys):
    survey = _pits_survey(tmp_path, "17-40")
    assert run_command_line(["check", survey, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["ok"] and document["errors"] == 0 and "gap" in [problem["check"] for problem in document["problems"]]


def test_an_error_is_one_json_document_where_json_was_asked_for(capsys):
    assert run_command_line(["run", "no-such-folder", "--json"]) == 3
    document = json.loads(capsys.readouterr().out)
    assert document["ok"] is False and document["exit_code"] == 3 and document["remedy"]


def test_a_fault_of_ours_is_told_as_ours_without_a_traceback(monkeypatch, capsys, tmp_path):
    """C9."""
    import geoprofile.cli.start as start

    monkeypatch.setattr(start, "survey_text", lambda *_: 1 / 0)
    assert run_command_line(["new", str(tmp_path / "a")]) == 1
    text = capsys.readouterr().err
    assert "our fault" in text and "Traceback" not in text


def test_new_starts_a_survey_that_its_own_reader_accepts(tmp_path, capsys):
    """C4: also in a folder with spaces and accents."""
    folder = tmp_path / "Überblick à côté"
    assert run_command_line(["new", str(folder)]) == 0
    text = (folder / "survey.toml").read_text(encoding="utf-8").replace("EPSG:0000", "EPSG:3158")
    from geoprofile.settings import parse_survey

    assert parse_survey(text).pits.horizons.sheet == "horizons"
    assert "[attributes.new.NAME]" in text and "#   depths_cm: " in text and "#\n" not in text
    everything = "\n".join(
        line[2:] if re.match(r"# [a-z_]+ = ", line) and "..." not in line else line for line in text.splitlines()
    )
    parse_survey(everything)
    assert run_command_line(["new", str(folder)]) == 6
    assert "already holds" in capsys.readouterr().err


def test_a_key_can_be_overridden_and_a_wrong_one_is_told(tmp_path, capsys):
    (tmp_path / "survey.toml").write_text('format = 1\n[survey]\ncrs = "EPSG:3158"\n')
    assert run_command_line(["pits", str(tmp_path), "--set", "grid.cellm=10"]) == 2
    assert "grid.cellm" in capsys.readouterr().err


@pytest.mark.parametrize("word", ["at_least", "grid.cell_m", "ordinary_kriging", "depth_to_carbonates", "geopackage"])
def test_explain_tells_what_a_word_means(word, capsys):
    assert run_command_line(["explain", word]) == 0
    assert "means:" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("designation", "is_bt"),
    [("Btnj", True), ("Btjnj", False), ("Bntj", False), ("Btgj", True), ("BCt", False), ("IIBtg", True), ("Btb", False)],
)
def test_explain_says_which_designations_are_bt_and_why(designation, is_bt, capsys):
    """A question that the demo must answer (definitions.md: Bt)."""
    assert run_command_line(["explain", designation]) == 0
    answer, _, reason = capsys.readouterr().out.partition("Bt: ")[2].partition(", ")
    assert answer == ("yes" if is_bt else "no") and len(reason) > 10


def test_doctor_prints_versions_and_the_projection_database(capsys):
    """C1, C2: one database, the GDAL copies listed."""
    assert run_command_line(["doctor", "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert report["ok"] and set(report["gdal_copies"]) == {"rasterio", "fiona", "pyogrio"}
    assert report["projection"]["network"].startswith("off")


def test_foreign_projection_settings_are_ignored():
    """C1: another program's PROJ_DATA must not reach us."""
    import os

    done = _run("doctor", "--json", env={**os.environ, "PROJ_DATA": "/nowhere", "PROJ_LIB": "/nowhere"})
    assert done.returncode == 0 and "/nowhere" not in done.stdout


@pytest.mark.parametrize("order", ["rasterio, fiona, pyogrio, geopandas", "pyogrio, geopandas, fiona, rasterio"])
def test_geospatial_libraries_import_in_either_order(order):
    """C2."""
    done = subprocess.run([sys.executable, "-c", f"import geoprofile.environment, {order}; import pyproj; pyproj.CRS(3158)"], capture_output=True)
    assert done.returncode == 0
