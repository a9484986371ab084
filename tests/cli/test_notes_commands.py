"""``check --show-reading`` and ``describe`` from the command line."""

import json

from geoprofile.cli.run import run_command_line

NOTES = """Pit 12, slope of 5 percent, well drained. Colours are for moist soil unless stated.
Ah 0-12 cm; 10YR 2/1 silt loam; moderate fine granular structure; friable; squiggly thing; clear wavy boundary.
Bm from about 12 down to 45 centimetres; 10YR 4 over 4, loam.
"""


def test_a_bare_text_of_notes_is_shown_with_what_was_read_and_what_was_left(tmp_path, capsys):
    (tmp_path / "notes.txt").write_text(NOTES, encoding="utf-8")
    assert run_command_line(["check", "--show-reading", str(tmp_path / "notes.txt")]) == 0
    text = capsys.readouterr().out
    assert "pit 12" in text and "squiggly thing" in text
    assert [line.split()[:2] for line in text.splitlines() if "10YR 4/4" in line] == [["colour", "10YR"]]
    assert any(line.split() == ["left", "squiggly", "thing"] for line in text.splitlines())
    assert "'left' was not understood" in text.splitlines()[1]
    assert text.splitlines()[-1] == "1 pit, 2 horizons, 32 words in them; 2 words (6%) were left"


def test_a_depth_without_a_unit_is_shown_with_the_unit_it_is_taken_in(tmp_path, capsys):
    (tmp_path / "notes.txt").write_text("Pit 3\nAh 0-12, loam\n\nPit 4, well drained\nAp 0-10 inches, loam\nRefusal on stones at 40 cm.\n", encoding="utf-8")
    assert run_command_line(["check", "--show-reading", str(tmp_path / "notes.txt")]) == 0
    text = capsys.readouterr().out
    assert "0 to 12 cm (no unit beside it)" in text and "0 to 10 in  <- 0-10 inches" in text
    assert "stopped by              stones" in text and "behind the horizons, kept in the remarks of the pit:" in text


def test_each_phrase_keeps_its_place_in_the_source(tmp_path, capsys):
    (tmp_path / "notes.txt").write_text(NOTES, encoding="utf-8")
    assert run_command_line(["check", "--show-reading", "--json", str(tmp_path / "notes.txt")]) == 0
    (pit,) = json.loads(capsys.readouterr().out)["reading"]
    texture = next(one for one in pit["horizons"][0]["understood"] if one["what"] == "texture")
    assert NOTES[texture["start"] : texture["end"]] == "silt loam"
    assert [NOTES[start:end] for start, end in pit["horizons"][0]["left"]] == ["squiggly thing"]


def test_a_pit_of_a_survey_is_described(tmp_path, capsys):
    (tmp_path / "notes.txt").write_text(NOTES, encoding="utf-8")
    (tmp_path / "survey.toml").write_text('format = 1\n[survey]\ncrs = "EPSG:3158"\n[pits]\nnotes = { file = "notes.txt" }\n', encoding="utf-8")
    assert run_command_line(["describe", str(tmp_path), "12"]) == 0
    text = capsys.readouterr().out
    assert "Ah 0-12 cm, 10YR 2/1 m; silt loam; moderate fine granular; friable; clear wavy boundary. Remarks: squiggly thing." in text
    assert run_command_line(["describe", str(tmp_path), "13"]) == 2
    assert "did you mean 12?" in capsys.readouterr().err
    assert run_command_line(["check", str(tmp_path), "--show-reading"]) == 0
