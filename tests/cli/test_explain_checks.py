"""``geoprofile explain checks``: every check with what it looks at and its source; and the key that switches one off."""

import json

from geoprofile.cli.run import run_command_line
from geoprofile.vocabulary.checks import checks


def test_explain_checks_lists_every_check_with_its_source(capsys):
    assert run_command_line(["explain", "checks"]) == 0
    text = capsys.readouterr().out
    for check in checks():
        assert f"{check.name} (check of descriptions, {check.severity})" in text
        assert check.looks_at in text and check.source in text


def test_one_check_says_how_to_switch_it_off(capsys):
    assert run_command_line(["explain", "clay increase", "--json"]) == 0
    (entry,) = json.loads(capsys.readouterr().out)["entries"]
    assert 'checks_off = ["clay increase"]' in entry["allowed"] and "three-part rule" in entry["means"]


def test_a_check_that_is_not_there_is_a_usage_error_with_the_nearest(tmp_path, capsys):
    (tmp_path / "survey.toml").write_text('format = 1\n[survey]\nname = "Test"\ncrs = "EPSG:3158"\nconvention = "canadian"\n[pits]\nhorizons = { file = "h.csv" }\nchecks_off = ["clay increases"]\n')
    assert run_command_line(["check", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert "did you mean clay increase" in said.out + said.err and "checks_off" in said.out + said.err
