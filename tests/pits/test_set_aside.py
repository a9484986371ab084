"""Rows that were read and are not used are named, every one, with the reason of their pit."""

from __future__ import annotations

import pandas as pd

from geoprofile.pits.set_aside import list_set_aside, row_words
from geoprofile.pits.stage import read_pits
from geoprofile.problems import Problem
from geoprofile.record import Record
from geoprofile.settings.pits import PitsSettings


def rows(*places):
    return pd.DataFrame([{"pit_id": pit, "file": "h.csv", "sheet": "", "row": row} for pit, row in places])


def test_rows_are_named_in_runs_and_none_is_left_out():
    assert row_words([9, 5, 6, 7, 12, 5]) == "5 to 7, 9, 12" and row_words([3]) == "3"
    assert row_words(range(1, 2000, 2)).count(",") == 999


def test_rows_of_a_pit_that_is_not_used_are_listed_with_its_reason():
    read = rows(("P-1", 2), ("P-2", 3), ("P-2", 4), ("P-2", 6))
    why = Problem("warning", "older visit", "an older visit", pit_id="P-2", file="p.csv", row=3, remedy="say visits")
    (told,) = list_set_aside(read, read.iloc[:1], [why])
    assert (told.pit_id, told.found, told.row, told.severity) == ("P-2", "rows 3 to 4, 6", 3, "warning")
    assert "3 horizons" in told.what and "older visit" in told.what and told.remedy == "say visits"


def test_a_row_with_an_error_of_its_own_is_not_listed_again():
    read = rows(("P-1", 2), ("P-1", 3))
    own = Problem("error", "zero thickness", "no thickness", pit_id="P-1", file="h.csv", row=3)
    assert list_set_aside(read, read.iloc[:1], [own]) == []


def test_a_loss_that_nobody_explained_is_an_error_and_not_silence():
    (told,) = list_set_aside(rows(("P-1", 2)), rows(("P-1", 2)).iloc[:0], [])
    assert told.severity == "error" and told.found == "row 2"


def test_horizons_without_id_of_two_pits_and_of_no_pit_are_all_named(make_context, tmp_path):
    """R9: as many rows come out as went in."""
    (tmp_path / "p.csv").write_text("pit,easting,northing\nP-1,500000,5500000\nP-2,500100,5500000\nP-2,500900,5500000\n", encoding="utf-8")
    (tmp_path / "h.csv").write_text("pit,horizon,upper (cm),lower (cm)\nP-1,Ah,0,10\nP-2,Ah,0,12\nP-2,Bm,12,30\n,Bm,10,20\nP-9,Ah,0,5\nP-9,C,5,20\n", encoding="utf-8")
    settings = PitsSettings(pits={"file": str(tmp_path / "p.csv")}, horizons={"file": str(tmp_path / "h.csv")}, crs="EPSG:3158")
    pits = read_pits(settings, make_context(), Record("pits", {}))
    assert list(pits.horizons["row"]) == [2]
    aside = pits.problems[pits.problems["check"] == "set aside"].set_index("pit_id")["found"].to_dict()
    assert aside == {"P-2": "rows 3 to 4", "P-9": "rows 6 to 7"}
    assert 5 in set(pits.problems.loc[pits.problems["what"].str.contains("no pit id"), "row"])
