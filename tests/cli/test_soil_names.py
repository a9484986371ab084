"""``soil-names`` from the command line: a table, the story of one pit, JSON; every form says that it is advice."""

import json

from geoprofile.cli.run import run_command_line

NOTES = """Pit: G1
Soil: Orthic Gray Luvisol
LFH 4 to 0 cm
Ae 0 to 16 cm, light brownish gray (10YR 6/2 m); silt loam; platy
Bt 16 to 45 cm, dark yellowish brown (10YR 4/4 m); clay loam; subangular blocky
Ck 45 to 120 cm; clay loam; moderately effervescent

Pit: B2
Ah 0 to 20 cm
Bm 20 to 45 cm
Ck 45 to 120 cm; loam
"""
SYSTEM = ("--set", "survey.crs=EPSG:3158")
ADVICE = "a qualified pedologist who saw the soil decides"


def _run(tmp_path, capsys, *more):
    (tmp_path / "notes.txt").write_text(NOTES, encoding="utf-8")
    code = run_command_line(["soil-names", str(tmp_path / "notes.txt"), *more, *SYSTEM, "-o", str(tmp_path / "out")])
    return code, capsys.readouterr().out


def test_each_pit_has_a_line_with_its_name_how_sure_and_the_surveyors(tmp_path, capsys):
    code, text = _run(tmp_path, capsys)
    assert code == 0 and ADVICE in text
    lines = text.splitlines()
    assert any(line.startswith("G1") and "Orthic Gray Luvisol; decided" in line and line.endswith("surveyor: Orthic Gray Luvisol, agrees") for line in lines)
    assert any(line.startswith("B2") and "open between Orthic Brown Chernozem, Orthic Dark Brown Chernozem" in line for line in lines)


def test_the_story_of_a_pit_tells_each_step_with_rule_evidence_and_source(tmp_path, capsys):
    code, text = _run(tmp_path, capsys, "G1")
    assert code == 0 and text.rstrip().endswith("decides.")
    assert "Taken: Luvisolic" in text and "yes: Bt 16-45 cm" in text and "source: CSSC 1998, ch. 8" in text
    assert "as designated, not measured: Bt: more clay than Ae (clay not measured)" in text


def test_json_holds_names_and_steps(tmp_path, capsys):
    document = json.loads(_run(tmp_path, capsys, "G1", "--json")[1])
    assert document["name"]["subgroup"] == "Orthic Gray Luvisol" and document["steps"][0]["level"] == "order"
    everything = json.loads(_run(tmp_path, capsys, "--json")[1])
    assert [row["pit_id"] for row in everything["names"]] == ["G1", "B2"] and ADVICE in everything["notes"][0]


def test_an_unknown_pit_and_a_survey_that_names_no_soils_are_refused(tmp_path, capsys):
    for more, told in (("G9",), "there is no such pit"), (("--set", "naming.use=false"), "switched off"):
        (tmp_path / "notes.txt").write_text(NOTES, encoding="utf-8")
        assert run_command_line(["soil-names", str(tmp_path / "notes.txt"), *more, *SYSTEM, "-o", str(tmp_path / "out")]) == 2
        assert told in capsys.readouterr().err


def test_explain_tells_a_class_by_name_and_by_published_code(capsys):
    for word in ("Orthic Gray Luvisol", "O.GL"):
        assert run_command_line(["explain", word]) == 0
        text = capsys.readouterr().out
        assert "Luvisolic: a Bt of 5 cm or more" in text and ADVICE in text
