"""The form that ``geoprofile new`` writes: offered words, prompts and paper; and what is written on it is read without a mapping."""

from __future__ import annotations

import csv
import datetime
import functools
import io
import shutil
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest

from geoprofile.cli.run import run_command_line
from geoprofile.errors import InputError
from geoprofile.outputs.workbook import without_clock
from geoprofile.pits.form import EXAMPLE, form_sheets
from geoprofile.pits.form_workbook import form_bytes
from geoprofile.pits.headings import map_columns
from geoprofile.pits.readers.workbook import READER
from geoprofile.pits.stage import read_pits
from geoprofile.record import Record
from geoprofile.settings import load_survey
from geoprofile.vocabulary.terms import find_term

CONVENTIONS = ("canadian", "usda", "wrb")
made = functools.cache(form_bytes)


@pytest.fixture(scope="module")
def started(tmp_path_factory):
    """A survey that was just started, by convention."""
    folders = {convention: tmp_path_factory.mktemp("started") / convention for convention in CONVENTIONS}
    for convention, folder in folders.items():
        assert run_command_line(["new", str(folder), "--convention", convention]) == 0
        text = (folder / "survey.toml").read_text(encoding="utf-8").replace("EPSG:0000", "EPSG:3158")
        (folder / "survey.toml").write_text(text, encoding="utf-8")
    return folders


@pytest.fixture
def survey(started, tmp_path):
    """(convention, folder) of a survey of one's own."""
    return "canadian", Path(shutil.copytree(started["canadian"], tmp_path / "survey"))


@pytest.fixture(params=CONVENTIONS)
def each_survey(request, started, tmp_path):
    return request.param, Path(shutil.copytree(started[request.param], tmp_path / "survey"))


def read(folder):
    from geoprofile.context import Context

    survey = load_survey(folder)
    return read_pits(survey.pits, Context(survey.survey, survey.grid, folder, folder / "out"), Record("pits", {}))


def columns(convention, sheet):
    return next(page.columns for page in form_sheets(convention) if page.name == sheet)


def offered(book, page, heading):
    """The words of the drop-down list of a column, read from the workbook as a spreadsheet would."""
    letter = next(cell.column_letter for cell in page[1] if cell.value == heading)
    for rule in page.data_validations.dataValidation:
        if rule.type == "list" and f"{letter}3" in rule.sqref:
            name, place = rule.formula1.split("!")
            return [cell.value for (cell,) in book[name][place.replace("$", "")]]
    return []


OWN = {
    "pit_id": "007", "date": datetime.date(2026, 6, 14), "longitude": "-97.1384", "latitude": "49.8951", "position_accuracy": 4, "observed_to": "110",
    "acid_to": "80", "ec_to": "0", "mottles_to": "110", "slope": 4, "aspect": 225, "recorded_soil": "a soil", "map_unit": "A2",
    "surveyor": "S1", "photos": "1.jpg; 2.jpg", "remarks": "old fence", "designation": "Bt", "upper_depth": "15-21", "lower_depth": "46",
    "colour_moist": "10YR 4/3", "colour_dry": "10YR 6/3", "clay": 31, "sand": 35, "silt": 34, "coarse_fragments": 5, "roots": "few fine",
    "mottle_colour": "7.5YR 4/4", "horizon_remarks": "dark coats", "topsoil_thickness": "14", "depth_to_bt": "22",
    "depth_to_carbonates": ">60", "depth_to_mottles": "45-55", "depth_to_c": ">60", "depth_to_rock": ">60", "peat_thickness": "0",
}  # fmt: skip


def write(folder, *rows):
    """Rows of (sheet, row, {heading: value}) typed into the form."""
    book = openpyxl.load_workbook(folder / "pits.xlsx")
    for sheet, row, values in rows:
        headings = {cell.value: cell.column for cell in book[sheet][1]}
        for heading, value in values.items():
            book[sheet].cell(row, headings[heading]).value = value
    book.save(folder / "pits.xlsx")


def filled(folder, convention, number=0):
    """Each sheet with one row below the example: a word of each list, and a value of each other column."""
    book = openpyxl.load_workbook(folder / "pits.xlsx")
    written = {}
    for sheet in ("pits", "horizons", "inspections"):
        row = {}
        for asked in columns(convention, sheet):
            words = offered(book, book[sheet], asked.heading)
            row[asked.heading] = words[number % len(words)] if words else OWN[asked.field]
        if sheet == "inspections":
            row["Place"] = "i-1"
        written[sheet] = row
    write(folder, *((sheet, 3, row) for sheet, row in written.items()))
    return written


@pytest.mark.parametrize("number", [0, 5])
def test_every_field_written_on_the_form_is_read_without_a_mapping(each_survey, number):
    convention, folder = each_survey
    written = filled(folder, convention, number)
    pits = read(folder)
    assert not (pits.problems["check"].isin(["term", "heading", "cell", "depth", "value", "unit", "id", "date"])).any(), pits.problems
    pit, horizon = pits.pits.set_index("pit_id").loc["007"], pits.horizons.iloc[0]
    assert len(pits.horizons) == 1 and set(pits.pits["pit_id"]) == {"007", "i-1"}
    assert (pit["observed_to_cm"], pit["acid_to_cm"], pit["ec_to_cm"], pit["mottles_to_cm"]) == (110, 80, 0, 110)
    assert (pit["slope_percent"], pit["aspect_degrees"], pit["position_accuracy_m"], pit["date"]) == (4, 225, 4, "2026-06-14")
    assert (pit["recorded_soil"], pit["map_unit"], pit["surveyor"], pit["photos"]) == ("a soil", "A2", "S1", "1.jpg; 2.jpg")
    assert "old fence" in pit["remarks"] and pit.geometry is not None and pits.pits.geometry.notna().all()
    assert (horizon["upper_low_cm"], horizon["upper_high_cm"], horizon["lower_cm"]) == (15, 21, 46)
    assert (horizon["colour_moist"], horizon["colour_dry"], horizon["roots"]) == ("10YR 4/3", "10YR 6/3", "few fine")
    assert (horizon["sand_percent"], horizon["silt_percent"], horizon["clay_percent"], horizon["coarse_fragments_percent"]) == (35, 34, 31, 5)
    assert horizon["remarks"] == "dark coats" and horizon["mottle_colour"] == "7.5YR 4/4" and horizon["designation"] == "Bt"
    product = {"mottles": "mottles"}
    for sheet, record in (("pits", pit), ("horizons", horizon)):
        for asked in columns(convention, sheet):
            if asked.choices:
                got, wanted = record[product.get(asked.field, asked.field)], written[sheet][asked.heading]
                term = find_term(asked.list_name, wanted, convention)
                assert got == (term.code if asked.field == "texture" and term.code else term.name), asked.field
    said = pits.readings.groupby("attribute")["text"].apply(list).to_dict()
    assert said == {"topsoil_thickness": ["14", "14", "14"], "depth_to_bt": ["22"], "depth_to_carbonates": [">60"], "depth_to_mottles": ["45-55"],
                    "depth_to_c": [">60"], "depth_to_rock": [">60"], "peat_thickness": ["0"]}  # fmt: skip
    assert sorted(pits.readings.loc[pits.readings["attribute"] == "topsoil_thickness", "probe"]) == [1, 2, 3]


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_every_word_offered_is_read_as_the_term_it_shows(convention):
    for sheet in form_sheets(convention):
        for asked in sheet.columns:
            for word in asked.choices:
                term = find_term(asked.list_name, word, convention)
                assert term is not None and word in (term.name, f"{term.name} ({term.code})"), word


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_every_coded_term_is_offered_with_its_code_and_its_word(convention):
    textures = next(asked for asked in columns(convention, "horizons") if asked.field == "texture").choices
    assert ("silt loam (sil)" if convention == "usda" else "silt loam (SiL)") in textures


@pytest.mark.parametrize("sheet", ["pits", "horizons", "inspections"])
def test_every_heading_is_recognised_as_its_field(tmp_path, sheet):
    path = tmp_path / "form.xlsx"
    path.write_bytes(made("canadian"))
    mapped = map_columns(READER.read(path, sheet=sheet), sheet, {})
    got = {column.heading: name for name, many in mapped.columns.items() for column in many}
    assert got == {asked.heading: asked.field for asked in columns("canadian", sheet)} and not mapped.unmapped and not mapped.problems


def test_the_example_says_that_it_is_one_and_is_never_read(survey):
    convention, folder = survey
    book = openpyxl.load_workbook(folder / "pits.xlsx")
    for sheet in ("pits", "horizons", "inspections"):
        assert book[sheet]["A2"].value == EXAMPLE and "not read" in EXAMPLE
        assert all(cell.value for cell in book[sheet][2])
        refused = [rule for rule in book[sheet].data_validations.dataValidation if rule.type == "custom" and "A2" in rule.sqref]
        assert refused[0].formula1 == "FALSE" and refused[0].errorStyle == "stop" and refused[0].showErrorMessage
    filled(folder, convention)
    pits = read(folder)
    assert EXAMPLE not in set(pits.pits["pit_id"]) | set(pits.horizons["pit_id"]) | set(pits.readings["pit_id"])
    assert not pits.problems["pit_id"].str.contains("EXAMPLE").any()
    assert sum("the form's example, not read" in note for note in pits.notes) == 3
    assert list(pits.horizons["row"]) == [3]


def test_the_example_would_be_read_without_fault_if_it_were_a_pit(each_survey):
    """It must show nothing that the reader would refuse."""
    _, folder = each_survey
    book = openpyxl.load_workbook(folder / "pits.xlsx")
    for sheet in ("pits", "horizons", "inspections"):
        book[sheet]["A2"].value = "i-1" if sheet == "inspections" else "P-1"
    book.save(folder / "pits.xlsx")
    pits = read(folder)
    assert not pits.problems["check"].isin(["term", "heading", "cell", "depth", "value", "unit", "id", "date", "colour", "designation"]).any(), pits.problems
    assert len(pits.pits) == 2 and len(pits.horizons) == 1 and len(pits.readings) == 9


def test_a_form_that_nobody_wrote_on_says_so(survey):
    _, folder = survey
    with pytest.raises(InputError, match="the form has no rows yet"):
        read(folder)


def test_sheets_that_nobody_wrote_on_are_no_fault(survey):
    _, folder = survey
    write(folder, ("inspections", 3, {"Place": "i-1", "Longitude (degrees)": "-97.1", "Latitude (degrees)": "49.9", "Depth to Bt (cm)": "22"}))
    pits = read(folder)
    assert list(pits.pits["pit_id"]) == ["i-1"] and len(pits.readings) == 1 and pits.horizons.empty
    assert sum("has no rows yet" in note for note in pits.notes) == 2


def test_a_depth_on_the_form_cannot_become_a_date_and_a_date_elsewhere_is_proposed_back_R5(survey, tmp_path):
    _, folder = survey
    page = openpyxl.load_workbook(folder / "pits.xlsx")["horizons"]
    for cell in page[1]:
        if cell.value in ("Pit", "Upper depth (cm)", "Lower depth (cm)", "Colour, moist", "Colour, dry"):
            assert page.cell(3, cell.column).number_format == "@" and page.column_dimensions[cell.column_letter].number_format == "@"
    write(
        folder, ("pits", 3, {"Pit": "P-1", "Longitude (degrees)": "-97.1", "Latitude (degrees)": "49.9"}),
        ("horizons", 3, {"Pit": "P-1", "Horizon": "Ah", "Upper depth (cm)": "0", "Lower depth (cm)": "10-15"}),
        ("horizons", 4, {"Pit": "P-1", "Horizon": "Bm", "Upper depth (cm)": datetime.date(2026, 10, 15), "Lower depth (cm)": "40"}),
    )  # fmt: skip
    pits = read(folder)
    assert list(pits.horizons["designation"]) == ["Ah"] and pits.horizons["lower_low_cm"].iloc[0] == 10
    refused = pits.problems[pits.problems["what"].str.contains("holds a date")]
    assert len(refused) == 1 and "10-15" in refused["remedy"].iloc[0] and "C4" in refused["found"].iloc[0]


def test_each_cell_of_a_general_workbook_that_became_a_date_is_proposed_back_and_never_applied_R5(make_context, tmp_path):
    """What a spreadsheet makes of depths typed into General cells: 4/10 and Apr 10 a day of this year, 12-40 December 1940,
    10/4 either way round; a reading too."""
    from geoprofile.settings.pits import PitsSettings

    book = openpyxl.Workbook()
    page = book.active
    page.append(["Pit", "Horizon", "Depth (cm)"])
    for designation, depth in (("Ah", "0-4"), ("Ae", datetime.date(2026, 4, 10)), ("Bm", datetime.date(1940, 12, 1)), ("Bt", datetime.date(2026, 10, 4))):
        page.append(["P-1", designation, depth])
    book.save(tmp_path / "h.xlsx")
    other = openpyxl.Workbook()
    other.active.append(["Place", "Longitude", "Latitude", "Depth to carbonates (cm)"])
    other.active.append(["i-1", -97.1, 49.9, datetime.date(2026, 10, 15)])
    other.save(tmp_path / "i.xlsx")
    settings = PitsSettings(horizons={"file": str(tmp_path / "h.xlsx")}, inspections={"file": str(tmp_path / "i.xlsx")})
    pits = read_pits(settings, make_context(), Record("pits", {}))
    assert list(pits.horizons["designation"]) == ["Ah"] and pits.readings.empty
    refused = pits.problems[pits.problems["what"].str.contains("holds a date")].sort_values(["file", "row"])
    assert [remedy.split("?")[0] for remedy in refused["remedy"]] == ["is it 4-10", "is it 12-40", "is it 4-10 or 10-4", "is it 10-15"]


@pytest.mark.parametrize(("written", "proposed"), [("10-Apr", "4-10"), ("2026-04-10", "4-10"), ("Oct-15", "10-15"), ("4/10/2026", "4-10")])
def test_a_date_in_a_delimited_file_is_proposed_back_R5(make_context, tmp_path, written, proposed):
    from geoprofile.settings.pits import PitsSettings

    (tmp_path / "h.csv").write_text(f"pit,horizon,depth (cm)\nP-1,Ah,0-4\nP-1,Bm,{written}\n", encoding="utf-8")
    context = make_context()
    pits = read_pits(PitsSettings(horizons={"file": str(tmp_path / "h.csv")}), context, Record("pits", {}))
    assert list(pits.horizons["designation"]) == ["Ah"]
    refused = pits.problems[(pits.problems["row"] == 3) & (pits.problems["severity"] == "error")]
    assert len(refused) == 1 and proposed in refused["remedy"].iloc[0], refused.to_dict("records")


def test_a_form_saved_as_csv_leaves_the_example_out_too(survey, tmp_path, make_context):
    convention, folder = survey
    filled(folder, convention)
    page = openpyxl.load_workbook(folder / "pits.xlsx")["horizons"]
    with (tmp_path / "h.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([cell.value or "" for cell in row] for row in page.iter_rows())
    from geoprofile.settings.pits import PitsSettings

    pits = read_pits(PitsSettings(horizons={"file": str(tmp_path / "h.csv")}), make_context(convention=convention), Record("pits", {}))
    assert list(pits.horizons["pit_id"]) == ["007"]


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_the_workbook_is_whole_as_its_format_asks(convention):
    """ECMA-376 part 1, 18.3.1.32: prompts and errors up to 255 characters, their titles up to 32; every part is well-formed."""
    content = made(convention)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        for name in archive.namelist():
            if name.endswith((".xml", ".rels")):
                ElementTree.fromstring(archive.read(name))
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["how to", "pits", "horizons", "inspections", "lists"]
    for page in book.worksheets:
        seen = set()
        for rule in page.data_validations.dataValidation:
            assert len(rule.promptTitle or "") <= 32 and len(rule.errorTitle or "") <= 32
            assert len(rule.prompt or "") <= 255 and len(rule.error or "") <= 255
            area = str(rule.sqref)
            assert area not in seen
            seen.add(area)
            if rule.type == "list":
                name, place = rule.formula1.split("!")
                assert all(cell.value for (cell,) in book[name][place.replace("$", "")])


def test_another_reader_of_workbooks_opens_it_too():
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(made("canadian")))
    assert book.sheet_names == ["how to", "pits", "horizons", "inspections", "lists"]
    assert book.get_sheet_by_name("horizons").to_python()[1][0] == EXAMPLE


@pytest.mark.parametrize("sheet", ["pits", "horizons", "inspections"])
def test_it_can_be_printed_and_written_on(sheet):
    page = openpyxl.load_workbook(io.BytesIO(made("canadian")))[sheet]
    assert page.page_setup.orientation == "landscape" and page.page_setup.fitToWidth == 1 and page.page_setup.fitToHeight == 0
    assert page.sheet_properties.pageSetUpPr.fitToPage and page.print_title_rows == "$1:$1" and page.oddHeader.left.text
    assert page.freeze_panes in ("B2", "C2") and "lines located" in page.oddFooter.left.text
    assert page.cell(3, 1).border.bottom.style == "thin" and page.cell(27, 5).border.left.style == "thin"
    # fit to one page across, a line of typing stays above 6 points: a column is 7 pixels a letter and 5, a page 10.2 inches
    across = sum(dimension.width * 7 + 5 for dimension in page.column_dimensions.values()) / 96
    assert 11 * min(1, 10.2 / across) > 6
    assert all(cell.font.sz >= 11 for row in (1, 2) for cell in page[row]) and page.row_dimensions[1].height >= 4 * 15
    prompts = [rule for rule in page.data_validations.dataValidation if rule.showInputMessage and "3" in str(rule.sqref)]
    assert len(prompts) >= page.max_column


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_every_ruled_row_is_printed_also_where_a_program_skips_long_empty_ends(convention):
    """Seen in an office suite of 2023: 84 or more equal rows without text at the end of a sheet are not printed, ruled or not."""
    book = openpyxl.load_workbook(io.BytesIO(made(convention)))
    for sheet in form_sheets(convention):
        ruled = [row for row in range(3, book[sheet.name].max_row + 1) if book[sheet.name].cell(row, 1).border.bottom.style]
        assert len(ruled) == sheet.rows < 84, sheet.name


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_the_words_and_codes_can_be_read_on_paper(convention):
    page = openpyxl.load_workbook(io.BytesIO(made(convention)))["lists"]
    across = sum(dimension.width * 7 + 5 for dimension in page.column_dimensions.values()) / 96
    assert 11 * min(1, page.page_setup.fitToWidth * 10.2 / across) > 6 and page.print_title_rows == "$1:$1"


def luminance(shade):
    """Relative luminance (WCAG 2.1)."""
    parts = [int(shade[-6:][at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_shades_differ_in_grey_and_headings_can_be_read():
    page = openpyxl.load_workbook(io.BytesIO(made("canadian")))["horizons"]
    grounds = {page.cell(1, column).fill.fgColor.rgb for column in range(1, page.max_column + 1)}
    assert len(grounds) == 2 and abs(luminance(min(grounds)) - luminance(max(grounds))) > 0.4
    for cell in (*page[1], *page[2]):
        ground, ink = sorted((luminance(cell.fill.fgColor.rgb), luminance(cell.font.color.rgb)))
        assert (ink + 0.05) / (ground + 0.05) > 4.5


def test_the_front_sheet_warns_before_digging():
    told = " ".join(str(cell.value) for (cell,) in openpyxl.load_workbook(io.BytesIO(made("canadian")))["how to"]["A1:A20"])
    for word in ("shored", "local code", "lines", "clubroot", "never read", "not recorded"):
        assert word in told


def test_the_form_is_the_same_bytes_every_time():
    assert without_clock(made("wrb")) == without_clock(form_bytes("wrb"))
