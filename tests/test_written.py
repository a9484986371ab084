"""An existing file of the user's is never damaged: only what this program wrote, unchanged, is replaced or removed."""

import json

import pytest

from geoprofile import written
from geoprofile.errors import OutputError


def _place(folder, path, text):
    ready = folder / "ready"
    ready.write_text(text)
    return written.place(ready, folder, path)


def test_a_file_of_ours_is_replaced_by_the_next_one(tmp_path):
    _place(tmp_path, "tables/pits.csv", "first")
    _place(tmp_path, "tables/pits.csv", "second")
    assert (tmp_path / "tables/pits.csv").read_text() == "second"


def test_a_foreign_file_is_named_and_stays(tmp_path):
    (tmp_path / "report.pdf").write_text("MINE")
    with pytest.raises(OutputError, match="was not written by this program") as caught:
        _place(tmp_path, "report.pdf", "ours")
    assert caught.value.exit_code == 6 and caught.value.where == str(tmp_path / "report.pdf")
    assert (tmp_path / "report.pdf").read_text() == "MINE"


def test_a_file_of_ours_that_the_user_changed_is_treated_alike(tmp_path):
    _place(tmp_path, "pits.csv", "ours")
    (tmp_path / "pits.csv").write_text("ours, with remarks")
    with pytest.raises(OutputError, match="was changed since it was written"):
        _place(tmp_path, "pits.csv", "newer")
    assert (tmp_path / "pits.csv").read_text() == "ours, with remarks"


def test_a_foreign_file_of_the_same_content_is_no_hindrance(tmp_path):
    (tmp_path / "pits.csv").write_text("same")
    _place(tmp_path, "pits.csv", "same")
    _place(tmp_path, "pits.csv", "newer")
    assert (tmp_path / "pits.csv").read_text() == "newer"


def test_a_link_to_a_file_of_the_users_stays_a_link(tmp_path):
    (tmp_path / "precious.csv").write_text("MINE")
    (tmp_path / "problems.csv").symlink_to("precious.csv")
    with pytest.raises(OutputError):
        _place(tmp_path, "problems.csv", "ours")
    assert (tmp_path / "problems.csv").is_symlink() and (tmp_path / "precious.csv").read_text() == "MINE"


@pytest.mark.parametrize("torn", ['["map.h', "\0\0"])
def test_a_run_killed_while_it_noted_a_file_goes_on(tmp_path, torn):
    """The old file is known, the new one was not moved yet, and the note is torn."""
    _place(tmp_path, "map.html", "first")
    with open(tmp_path / written.NOTES, "a") as notes:
        notes.write(torn)
    _place(tmp_path, "map.html", "second")
    _place(tmp_path, "map.html", "third")
    assert (tmp_path / "map.html").read_text() == "third"


def test_files_of_an_older_run_are_known_from_its_products(tmp_path):
    (tmp_path / "map.html").write_text("old")
    listing = tmp_path / ".products" / "publish" / "product.json"
    listing.parent.mkdir(parents=True)
    listing.write_text(json.dumps({"files": [{"path": "map.html", "sha256": written.file_sha256(tmp_path / "map.html")}]}))
    _place(tmp_path, "map.html", "new")
    assert (tmp_path / "map.html").read_text() == "new"


def test_every_file_in_the_way_is_told_at_once_before_the_work(tmp_path):
    for name in ("report.pdf", "map.html"):
        (tmp_path / name).write_text("MINE")
    with pytest.raises(OutputError) as caught:
        written.refuse_before_work(tmp_path, ["report.pdf", "map.html", "scores.csv"])
    assert len(caught.value.others) == 1 and "map.html" in str(caught.value)


def test_only_an_unchanged_file_is_removed(tmp_path):
    ours, changed = _place(tmp_path, "a.csv", "a"), _place(tmp_path, "b.csv", "b")
    (tmp_path / "b.csv").write_text("b and a remark")
    written.remove(tmp_path, {"a.csv": ours, "b.csv": changed, "gone.csv": ours})
    assert not (tmp_path / "a.csv").exists() and (tmp_path / "b.csv").read_text() == "b and a remark"
