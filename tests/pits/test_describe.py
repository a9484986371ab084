"""The describer: what it writes is read back as the same record, in three conventions (issue 5)."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from geoprofile.context import Context
from geoprofile.pits.describe import describe, describe_rows
from geoprofile.pits.stage import read_pits
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS, typed
from geoprofile.record import Record
from geoprofile.settings.pits import PitsSettings
from geoprofile.settings.survey import GridSettings, SurveySettings
from geoprofile.vocabulary.conventions import CONVENTIONS, rules_of
from geoprofile.vocabulary.designations import parse_designation
from geoprofile.vocabulary.terms import terms

SOURCE = ("file", "sheet", "row", "order", "datum_shift_cm", "place_id", "position_by")
"""Where a record came from is not part of what it says."""

MINERAL = {"canadian": ["Ah", "Ahe", "Ap", "Ae", "AB", "Bm", "Bt", "Btnj", "Bntk", "Bf", "BC", "Ck", "Cca", "IICk", "Cg", "Bt1", "Bt2", "IIIC", "Ahb", "Bnjtjgj", "Csk", "A and B", "Bfc", "Cz", "R"],
           "usda": ["A", "Ap", "E", "BE", "Bt", "Btk1", "2Bt2", "E/B", "E and Bt", "B't1", "Bk", "C", "2C", "Cr", "R", "^Au", "Bkkm", "2Btkn1", "BCk1", "E'", "Ab", "Bhs", "Cd", "Btss"],
           "wrb": ["Ah", "Ap", "E", "AB", "Bw", "Bt", "2Bt", "Btg", "Bk1", "C", "Cg", "2C", "R", "Bhs", "E/B", "Cr"]}  # fmt: skip
ORGANIC = {"canadian": ["LFH", "L-H", "Om", "L", "F", "H", "L-F", "Of", "Oh"], "usda": ["Oi", "Oe", "Oa", "Oi1", "Oe2"], "wrb": ["Oi", "Oe", "Oa"]}
WORDS = st.lists(st.sampled_from("dry crack worm near stream; lens of silt, 10YR 4/3 in cracks; Bt 20-40 cm; pH 9; common, fine; (see photo) 3,5 cm".split(" ")), min_size=1, max_size=6).map(" ".join)
PHRASES = st.lists(
    st.sampled_from([
        "hard", "sticky, plastic", "structure more: parting to moderate fine granular", "60% 10YR 4/3 + 40% 10YR 5/2", "common clay films on faces of peds", "mottled", "2 f gr", "cs",
        "few, faint", "loam in the upper part", "10YR 6/3 crushed", "limestone at 90 cm", "5 percent gravel", "clear", "Ck below", "strong effervescence in cracks", "texture gritty", "wavy to broken",
        "10 to 17 cm thick", "many fine roots along prism faces", "\u00e9rod\u00e9, humide", "pH 6,5 on Monday", "N 4/0 streaks", "a < b & c", "Range in characteristics: none",
    ]), min_size=1, max_size=3).map("; ".join)
REMARKS = st.one_of(WORDS, PHRASES)


def _maybe(values):
    return st.one_of(st.none(), values)


def _term(kind: str, convention: str):
    return _maybe(st.sampled_from([term.name for term in terms(kind, convention)]))


def _two(kind: str, convention: str, joins: tuple[str, ...]):
    names = list(dict.fromkeys(term.name for term in terms(kind, convention)))
    pairs = st.tuples(st.sampled_from(names), st.sampled_from(joins), st.sampled_from(names)).filter(lambda two: two[0] != two[2]).map(" ".join)
    return st.one_of(_term(kind, convention), pairs)


def _share(top: int):
    return _maybe(st.integers(0, top * 2).map(lambda half: half / 2))


@st.composite
def colours(draw):
    hue = draw(st.sampled_from(["10YR", "7.5YR", "2.5Y", "5Y", "10R", "N"]))
    value = draw(st.sampled_from([2, 2.5, 3, 3.5, 4, 4.5, 5, 6]))
    return f"N {value:g}/" if hue == "N" else f"{hue} {value:g}/{draw(st.integers(1, 6))}"


@st.composite
def horizons(draw, convention: str):
    rows = []
    for name in reversed(draw(st.lists(st.sampled_from(ORGANIC[convention]), max_size=3, unique=True))):
        below = rows[0]["upper_cm"] if rows else 0.0
        rows.insert(0, {"designation": name, "upper_cm": below - float(draw(st.integers(1, 20))) / 2, "lower_cm": below})
    at = 0.0
    count = draw(st.integers(1, 4))
    names = draw(st.lists(st.sampled_from(MINERAL[convention]), min_size=count, max_size=count))
    for number, name in enumerate(names):
        lower = at + draw(st.integers(2, 60)) / 2
        row = {"designation": name, "upper_cm": at, "lower_cm": lower}
        if number == count - 1 and draw(st.booleans()):
            row["lower_cm"] = np.nan
        elif draw(st.booleans()):
            row |= {"lower_low_cm": lower - 0.5, "lower_high_cm": lower + draw(st.integers(1, 6)) / 2}
        rows.append(row)
        at = lower
    for row in rows:
        for which in ("upper", "lower"):
            row.setdefault(f"{which}_low_cm", row[f"{which}_cm"])
            row.setdefault(f"{which}_high_cm", row[f"{which}_cm"])
        low = draw(_maybe(st.integers(0, 10)))
        effervescence = draw(_term("effervescence", convention))
        parts = st.sampled_from(["lower part", "upper part", "lower half", "lower 5.08 cm", "middle part"])
        for term in ("effervescence", "mottles"):
            row[f"{term}_part"] = draw(_maybe(parts)) if term == "mottles" or effervescence else None
        codes = [term.code or term.name for term in terms("texture", convention)]
        row |= {
            "colour_moist": draw(_maybe(colours())), "colour_dry": draw(_maybe(colours())), "texture": draw(_maybe(st.sampled_from([*codes, "loam and clay loam", "stratified silt and sand", "loam + sandy loam", "shale"]))),
            "coarse_fragments_percent": draw(_share(90)), "structure_grade": draw(_term("structure_grade", convention)),
            "structure_size": draw(_two("structure_size", convention, ("and", "to"))), "structure_kind": draw(_term("structure_kind", convention)),
            "consistence": draw(_term("consistence", convention)), "effervescence": effervescence,
            "mottles": draw(st.one_of(_term("mottle_abundance", convention), st.sampled_from(["20%", "2 percent iron masses"]))), "mottle_contrast": draw(_term("mottle_contrast", convention)),
            "boundary_distinctness": draw(_two("boundary_distinctness", convention, ("to",))), "boundary_form": draw(_term("boundary_form", convention)),
            "caco3_percent": draw(_share(40)), "ec_ds_m": draw(_share(20)), "ph": draw(_maybe(st.integers(35, 95).map(lambda tenth: tenth / 10))),
            "clay_percent": draw(_share(60)), "sand_percent": draw(_share(40)), "silt_percent": draw(_share(40)), "organic_carbon_percent": draw(_share(30)),
            "sar": draw(_share(20)), "bulk_density": draw(_maybe(st.integers(5, 20).map(lambda tenth: tenth / 10))), "roots": draw(_maybe(st.sampled_from(["few fine roots", "plentiful fine and medium", "none", "few, very fine, vertical roots", "many very fine and common fine roots throughout", "2 per dm2"]))),
            "thickness_low_cm": low, "thickness_high_cm": None if low is None else low + draw(st.integers(0, 8)),
            "remarks": draw(_maybe(REMARKS)),
        }  # fmt: skip
    return rows


@st.composite
def records(draw):
    convention = draw(st.sampled_from(CONVENTIONS))
    rows = draw(horizons(convention))
    for row in rows:
        row["designation_as_written"] = row["designation"]
        row["designation"] = parse_designation(row["designation"], convention).text
    pit = {
        "pit_id": draw(st.sampled_from(["7", "TK-001", "1E5", "007", "A b"])), "kind": draw(st.sampled_from(["unknown", "pit", "auger"])),
        "stopped_by": draw(st.sampled_from(["unknown", "rock", "water"])), "date": draw(_maybe(st.just("2024-06-12"))),
        "slope_percent": draw(_share(60)), "aspect_degrees": draw(_share(359)), "elevation_m": draw(_share(900)),
        "drainage": draw(_term("drainage", convention)), "recorded_soil": draw(_maybe(st.just("Orthic Black Chernozemic"))),
        "parent_material": draw(_maybe(st.sampled_from(["till", "fluvial over till"]))), "land_use": draw(_maybe(st.just("pasture"))),
        "photos": draw(_maybe(st.just("a.jpg; b.jpg"))), "remarks": draw(_maybe(REMARKS)), "acid_to_cm": draw(_maybe(st.integers(0, 80))),
        "observed_to_cm": draw(_maybe(st.integers(150, 200))), "surveyor": draw(_maybe(st.sampled_from(["A. B.", "crew 2"]))), "map_unit": draw(_maybe(st.just("TK2/4"))),
        "slope_position": draw(_term("slope_position", convention)), "slope_class": draw(_term("slope_class", convention)), "stoniness": draw(_term("stoniness", convention)),
    }  # fmt: skip
    return convention, pit, rows


@settings(max_examples=20, deadline=None, phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck))
@given(records())
def test_a_description_reads_back_as_the_record_it_was_written_from(tmp_path_factory, record):
    convention, pit, rows = record
    folder = tmp_path_factory.mktemp("notes")
    wanted = typed(pd.DataFrame([{**row, "pit_id": pit["pit_id"]} for row in rows]), HORIZON_COLUMNS)
    head = typed(pd.DataFrame([pit]), PIT_COLUMNS).iloc[0]
    text = describe_rows(head, wanted, convention)
    pits = _read(text, convention, folder)
    _same(wanted, pits.horizons, HORIZON_COLUMNS, text, skip=("lower_is_end",))
    stated = [name for name in pit if pit[name] is not None]
    _same(pd.DataFrame([head[stated]]), pits.pits[stated], {name: PIT_COLUMNS[name] for name in stated}, text)
    again = describe_rows(pits.pits.iloc[0], pits.horizons, convention, "EPSG:3158")
    second = _read(again, convention, folder)
    _same(pits.horizons, second.horizons, HORIZON_COLUMNS, again)
    _same(pits.pits.drop(columns="geometry"), second.pits, PIT_COLUMNS, again)


def test_a_description_is_printed_in_the_order_of_its_convention():
    row = {"pit_id": "7", "designation": "Bt", "upper_cm": 12.0, "lower_cm": 40.0, "colour_moist": "10YR 4/3", "texture": "CL",
           "structure_grade": "moderate", "structure_size": "medium", "structure_kind": "subangular blocky", "consistence": "firm",
           "boundary_distinctness": "clear", "boundary_form": "wavy", "ph": 6.5}  # fmt: skip
    frame = typed(pd.DataFrame([row]), HORIZON_COLUMNS)
    pit = pd.Series({"pit_id": "7"})
    national = describe_rows(pit, frame, "canadian").splitlines()[-1]
    assert national == "Bt 12-40 cm, 10YR 4/3 m; clay loam; moderate medium subangular blocky; firm; clear wavy boundary; pH 6.5."
    manual = describe_rows(pit, frame.assign(texture="cl"), "usda").splitlines()[-1]
    assert manual == "Bt--12 to 40 cm; 10YR 4/3 clay loam; moderate medium subangular blocky; firm; pH 6.5; clear wavy boundary."


@pytest.mark.parametrize(("convention", "words"), [("usda", "weak thin platy"), ("wrb", "weak thin platy"), ("canadian", "weak fine platy")])
def test_plates_are_thin_where_other_structure_is_fine(convention, words):
    """Soil Survey Manual 2017, chapter 3; Canadian manuals say fine of plates too."""
    row = {name: None for name in HORIZON_COLUMNS} | {"designation": "E", "upper_cm": 0.0, "lower_cm": 9.0, "structure_grade": "weak", "structure_size": "fine", "structure_kind": "platy"}
    pit = pd.Series({name: None for name in PIT_COLUMNS} | {"pit_id": "P1", "observed_to_cm": 9.0})
    assert words in describe_rows(pit, typed(pd.DataFrame([row]), HORIZON_COLUMNS), convention)


def test_a_pit_that_is_not_there_is_said(read_survey):
    pits = read_survey({"notes.txt": "Pit 1\nAh 0-12 cm\nBm 12-30 cm\n"}, notes={"file": "notes.txt"})
    with pytest.raises(KeyError):
        describe(pits, "2", "canadian")
    assert "Ah 0-12 cm" in describe(pits, "1", "canadian")


def _read(text: str, convention: str, folder):
    (folder / "notes.txt").write_text(text, encoding="utf-8")
    context = Context(SurveySettings(crs="EPSG:3158", convention=convention), GridSettings(), folder, folder / "out")
    return read_pits(PitsSettings.model_validate({"notes": {"file": "notes.txt"}}), context, Record("pits", {}))


def _same(wanted: pd.DataFrame, found: pd.DataFrame, columns, text: str, skip: tuple[str, ...] = ()) -> None:
    assert len(wanted) == len(found), text
    for name, (kind, _) in columns.items():
        if name in SOURCE or name in skip or name not in wanted:
            continue
        for first, second in zip(wanted[name], found[name], strict=True):
            blank = [value is None or value is pd.NA or value != value or value == "" for value in (first, second)]
            if any(blank):
                assert all(blank), f"{name}: {first!r}, read {second!r} in\n{text}"
            elif kind == "number":
                assert second == pytest.approx(first, abs=1e-3), f"{name} in\n{text}"
            else:
                assert second == first, f"{name} in\n{text}"


def test_every_designation_in_use_is_found_at_the_start_of_a_line():
    """Published tokens of the three conventions (canada.md 1.6 and the tables of usda and wrb)."""
    from geoprofile.pits.notes.entries import entry_at

    for convention in CONVENTIONS:
        for token in rules_of(convention).tokens:
            line = f"{token} 10-25 cm, 10YR 4/3"
            entry = entry_at(line, 0, len(line))
            assert entry is not None and entry.designation == token, (convention, token, entry)
