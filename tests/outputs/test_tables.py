"""CSV and workbook: safe from formulas, ids as text, nothing lost, the same bytes every time."""

import csv
import io
import zipfile
from dataclasses import replace

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.scores import BOUNDED_MEASURES, MEASURES
from geoprofile.outputs.frames import IN_UNITS_OF_THE_ATTRIBUTE
from geoprofile.outputs.tables import csv_bytes, csv_cell, tables_of, write
from geoprofile.outputs.workbook import workbook_bytes


@pytest.fixture
def written(make_bundle):
    bundle = make_bundle()
    return bundle, write(bundle), bundle.context.output


def read_csv(path):
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline="")))


def test_csv_is_utf8_with_mark_commas_points_and_crlf(written):
    """RFC 4180; R3, R4: accents survive in a spreadsheet, and our own readers strip the mark."""
    _, _, output = written
    content = (output / "tables" / "pits.csv").read_bytes()
    assert content.startswith(b"\xef\xbb\xbfpit_id,") and content.count(b"\r\n") == 8  # the heading and seven pits; a note has a bare \n
    rows = read_csv(output / "tables" / "pits.csv")
    assert [row["pit_id"] for row in rows][:2] == ["007", "1E5"]  # R6
    assert rows[3]["remarks"] == "two\nlines" and rows[6]["remarks"] == "Ü – é"
    assert rows[0]["clay_0_30_low_percent"] == "23.5" and rows[0]["observed_to_cm"] == "100"
    assert rows[1]["depth_to_carbonates_high_cm"] == "" and rows[1]["depth_to_carbonates_text"] == ">60"


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ("=1+1", "'=1+1"), ("+cmd|x", "'+cmd|x"), ("-5-0", "'-5-0"), ("@sum", "'@sum"), ("\tx", "'\tx"), ("-5", "-5"), ("+3.5", "+3.5"),
        ("15-21", "15-21"), (">60", ">60"), ("None", "None"), ("", ""), (None, ""), (np.nan, ""), (np.inf, ""), (pd.NA, ""),
        (15.0, "15"), (12.5, "12.5"), (0.1 + 0.2, "0.3"), (1e-7, "1e-07"), (True, "yes"), (np.int64(3), "3"),
    ],
)  # fmt: skip
def test_cells_are_disarmed_only_where_they_must_be(value, cell):
    assert csv_cell(value) == cell


@settings(max_examples=80, deadline=None)
@given(st.lists(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0\r"), max_size=12), min_size=1, max_size=6))
def test_any_text_comes_back_from_csv_but_for_the_apostrophe(texts):
    rows = list(csv.reader(io.StringIO(csv_bytes(pd.DataFrame({"note": texts})).decode("utf-8-sig"), newline="")))[1:]
    back = [row[0] if row else "" for row in rows]
    assert [text[1:] if text[:1] == "'" and text[1:2] in tuple("=+-@\t") else text for text in back] == [
        text[1:] if text[:1] == "'" and text[1:2] in tuple("=+-@\t") else text for text in texts
    ]
    assert not any(text[:1] in tuple("=@\t") for text in back)


def test_the_workbook_has_no_formula_and_keeps_text_as_it_stands(written):
    bundle, _, output = written
    book = openpyxl.load_workbook(output / "tables" / "tables.xlsx")
    for sheet in book:
        for row in sheet.iter_rows():
            assert all(cell.data_type != "f" for cell in row)
    pits = book["pits"]
    headings = [cell.value for cell in pits[1]]
    ids = [cell for cell in pits["A"]][1:3]
    assert [cell.value for cell in ids] == ["007", "1E5"] and {cell.number_format for cell in ids} == {"@"}
    assert pits.cell(2, headings.index("Remarks") + 1).value == "=1+1"
    assert "Depth to carbonates, low limit (cm)" in headings and "X (m)" in headings
    assert pits.cell(2, headings.index("Clay, 0 to 30 cm, low limit (%)") + 1).value == 23.5
    assert book.sheetnames[0] == "about" and book.sheetnames[-1] == "columns"
    assert len(list(book["horizons"].iter_rows())) == len(bundle.pits.horizons) + 1


def test_the_workbook_carries_no_clock(make_bundle, monkeypatch):
    """D6: built at two moments years apart, the bytes are the same."""
    import datetime as real

    import openpyxl.writer.excel as excel

    tables = {"pits": pd.DataFrame({"pit_id": ["007"], "depth_cm": [15.0]})}
    first = workbook_bytes(tables, ["about"])

    class Later(real.datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2031, 5, 6, 7, 8, 9, tzinfo=tz)

    monkeypatch.setattr(excel.datetime, "datetime", Later)
    assert workbook_bytes(tables, ["about"]) == first
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert {item.date_time for item in archive.infolist()} == {(2000, 1, 1, 0, 0, 0)}
        assert b"2000-01-01T00:00:00Z</dcterms:modified>" in archive.read("docProps/core.xml")


def test_odd_text_does_not_stop_the_workbook():
    """Control characters, a lone surrogate and a text longer than a cell holds (ECMA-376: 32 767 characters)."""
    table = pd.DataFrame({"note": ["a\x07b", "x" * 40_000, "\ud800"]}, dtype=object)
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes({"t": table}, [])))
    first, second, third = (cell.value for cell in book["t"]["A"][1:])
    assert first == "a\N{REPLACEMENT CHARACTER}b" and third == "?"
    assert len(second) <= 32_767 and second.endswith("(cut; see the CSV)")


def test_every_table_of_the_products_is_there_and_every_problem_is_listed_once(written):
    bundle, files, output = written
    paths = {file.path for file in files}
    assert {"problems.csv", "scores.csv", "tables/pits.csv", "tables/horizons.csv", "tables/salvage.csv", "tables/notes.csv",
            "tables/zones.csv", "tables/parcels.csv", "tables/about_tables.txt"} <= paths  # fmt: skip
    problems = read_csv(output / "problems.csv")
    assert len(problems) == 3 and problems[0]["as_found"] == "'-5-0" and problems[0]["stage"] == "pits"
    assert [row["note"] for row in read_csv(output / "tables" / "notes.csv")] == ["pits.csv was read as UTF-8", "one attribute was not mapped"]
    assert read_csv(output / "tables" / "parcels.csv")[0]["id"] == "'@7"
    assert set(tables_of(bundle)) >= {"problems", "scores"}


def test_the_reader_is_told_about_the_apostrophe_and_the_bounds(written):
    text = (written[2] / "tables" / "about_tables.txt").read_text(encoding="utf-8")
    assert "apostrophe" in text and ">60 = at least 60" in text and "byte-order mark" in text


def test_no_shapefile_is_written_and_long_names_stay_whole(written):
    """G12: a Shapefile would cut them at ten letters and let them collide; the reader is told why there is none."""
    _, files, output = written
    assert not [file.path for file in files if file.path.endswith((".shp", ".dbf"))]
    heading = (output / "tables" / "pits.csv").read_text("utf-8-sig").splitlines()[0].split(",")
    long = [name for name in heading if len(name) > 10]
    assert {"clay_0_30_low_percent", "clay_0_30_high_percent"} <= set(long)
    assert len({name[:10] for name in long}) < len(long) == len(set(long))  # cut, they would be the same
    assert "No Shapefile is written" in (output / "tables" / "about_tables.txt").read_text("utf-8")


def test_attributes_that_are_not_drawn_say_what_is_given_instead(written):
    (row,) = read_csv(written[2] / "tables" / "refusals.csv")
    assert row["title"] == "Clay, 0 to 30 cm" and row["reason"] == "one pit says something of it"
    assert row["given_instead"] == "pits by zone, stratum and parcel in the tables"


def test_no_column_of_ours_was_named_by_rote(written):
    """D5: '..._column' in a heading means that a name of ours is an SQL word and needs a better one."""
    for path in [*written[2].glob("*.csv"), *written[2].glob("tables/*.csv")]:
        heading = path.read_text("utf-8-sig").splitlines()[0].split(",")
        assert not [name for name in heading if name.endswith("_column")], path.name


def test_depth_functions_have_a_table_where_the_survey_asks_for_them_and_none_elsewhere(make_bundle):
    from dataclasses import replace

    bundle = make_bundle(only=True)
    assert "depth_functions" not in tables_of(bundle)
    first, *others = bundle.attributes.definitions
    asked = replace(first, of="clay_percent", upper_cm=0.0, lower_cm=30.0, smoothing=0.1)
    table = tables_of(replace(bundle, attributes=replace(bundle.attributes, definitions=(asked, *others))))["depth_functions"]
    assert set(table["attribute"]) == {first.name} and set(table["lambda"]) == {0.1} and set(table["lower_cm"]) == {30.0}
    assert len(table) == (bundle.attributes.values["attribute"] == first.name).sum() and "evidence" in table


def test_every_value_of_an_attribute_stands_beside_its_unit(written):
    rows = read_csv(written[2] / "tables" / "attributes.csv")
    assert {(row["attribute"], row["unit"]) for row in rows} == {("depth_to_carbonates", "cm"), ("a_e_thickness", "cm"), ("clay_0_30", "%")}


def test_scores_are_rounded_to_what_they_mean_and_say_their_unit(make_bundle):
    """A mean error of -5.4e-18 cm is what arithmetic leaves of 0; an efficiency has no unit."""
    bundle = make_bundle()
    scores = bundle.surfaces.scores.iloc[[0, 0]].assign(
        attribute="depth_to_carbonates", measure=["mean error", "efficiency"], value=[-5.4157e-18, 0.368543262659]
    )
    bundle = replace(bundle, surfaces=replace(bundle.surfaces, scores=scores))
    told = tables_of(bundle)["scores"]
    assert told["value"].tolist() == [0.0, 0.369] and told["unit"].tolist() == ["cm", ""]
    assert not np.signbit(told["value"].iloc[0]), "no -0 either"
    assert IN_UNITS_OF_THE_ATTRIBUTE <= {*MEASURES, *BOUNDED_MEASURES}
