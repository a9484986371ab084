"""The form as a workbook: to be typed into in the field, or printed and filled in by hand.

Shades are our own and differ in grey. Depths, ids and colours are text cells, so that no spreadsheet makes a date of
4-0 or a number of 007 (R5, R6).
"""

from __future__ import annotations

import io
from collections.abc import Sequence

from ..vocabulary.tables import table
from .form import Asked, Sheet, form_sheets

TYPED_TO = 2000
"""Last row with lists and prompts."""
INK, NEEDED, ASKED, EXAMPLE_SHADE, RULE = "1C2B2A", "2F4B45", "D3DDD6", "F0EDE4", "8C9A94"
LETTER, A4 = 1, 9
"""Paper sizes as the format numbers them (ECMA-376, ST_PaperSize is read as in part 1, 18.3.1.63)."""
HEAD_HEIGHT, EXAMPLE_HEIGHT, ROW_HEIGHT = 62, 46, 28
"""Points: four lines of a heading where a wider face stands in for ours, three of the example, one written by hand."""
FORMATS = {"text": "@", "date": "yyyy-mm-dd", "number": "General"}


def form_bytes(convention: str) -> bytes:
    """The form in the words of a convention, as the bytes of an .xlsx file."""
    from openpyxl import Workbook

    book = Workbook()
    book.properties.creator = "geoprofile"
    front = book.active
    front.title = "how to"
    paper = A4 if convention == "wrb" else LETTER
    sheets = form_sheets(convention)
    pages = [(book.create_sheet(sheet.name), sheet) for sheet in sheets]
    lists = _lists(book.create_sheet("lists"), sheets, convention, paper)
    _front(front, sheets, convention, paper)
    for page, sheet in pages:
        _page(page, sheet, lists, convention, paper)
    book.active = 1
    sink = io.BytesIO()
    book.save(sink)
    return sink.getvalue()


def _page(page, sheet: Sheet, lists: dict[str, str], convention: str, paper: int) -> None:
    from openpyxl.styles import Alignment, Border, PatternFill, Side
    from openpyxl.utils import get_column_letter

    rule = Side(style="thin", color=RULE)
    grid = Border(left=rule, right=rule, top=rule, bottom=rule)
    wrapped = Alignment(wrap_text=True, vertical="center")
    for number, asked in enumerate(sheet.columns, start=1):
        letter = get_column_letter(number)
        page.column_dimensions[letter].width = asked.width
        page.column_dimensions[letter].number_format = FORMATS[asked.kind]
        head = page.cell(1, number, asked.heading)
        head.font = _font(bold=True, color="FFFFFF" if asked.needed else INK)
        head.fill = PatternFill("solid", fgColor=NEEDED if asked.needed else ASKED)
        head.alignment = Alignment(wrap_text=True, vertical="bottom")
        head.border = Border(left=rule, right=rule, top=rule, bottom=Side(style="medium", color=INK))
        example = page.cell(2, number, asked.example)
        example.font = _font(italic=True, color="5E6A66")
        example.fill = PatternFill("solid", fgColor=EXAMPLE_SHADE)
        example.number_format, example.alignment, example.border = "@", wrapped, grid
        for row in range(3, sheet.rows + 3):
            cell = page.cell(row, number)
            cell.number_format, cell.alignment, cell.border = FORMATS[asked.kind], wrapped, grid
        page.add_data_validation(_prompt(asked, letter, lists.get(asked.list_name + ("" if _coded(asked) else " plain"), "")))
    page.add_data_validation(_no_typing(f"A2:{get_column_letter(len(sheet.columns))}2"))
    page.row_dimensions[1].height = HEAD_HEIGHT
    page.row_dimensions[2].height = EXAMPLE_HEIGHT
    for row in range(3, sheet.rows + 3):
        page.row_dimensions[row].height = ROW_HEIGHT
    page.freeze_panes = "C2" if sheet.name == "horizons" else "B2"
    _on_paper(page, paper, f"{sheet.name}: {sheet.says} ({convention})")
    page.print_title_rows = "1:1"


def _font(size: float = 11, **more):
    """A face with its name and size stated: programs differ in what they take where none is."""
    from openpyxl.styles import Font

    return Font(name="Calibri", size=size, **more)


def _coded(asked: Asked) -> bool:
    return any(choice.endswith(")") for choice in asked.choices)


def _prompt(asked: Asked, letter: str, place: str):
    """The message that shows when a cell of the column is chosen, with its list or limits."""
    from openpyxl.worksheet.datavalidation import DataValidation

    where = f"{letter}3:{letter}{TYPED_TO}"
    if place:
        rule = DataValidation(type="list", formula1=place, allow_blank=True, sqref=where)
        rule.errorStyle = "stop" if asked.strict else "warning"
        rule.error = "Choose a word of the list." if asked.strict else "This is not in the list. A code or usual spelling is read as well; other words are kept as written and listed."
        rule.showErrorMessage = asked.strict or _coded(asked)
    elif asked.kind == "number" and asked.most is not None:
        rule = DataValidation(type="decimal", operator="between", formula1=str(asked.least), formula2=str(asked.most), allow_blank=True, sqref=where)
        rule.error, rule.errorStyle, rule.showErrorMessage = f"A number from {asked.least:g} to {asked.most:g}.", "warning", True
    else:
        rule = DataValidation(allow_blank=True, sqref=where)
    rule.promptTitle, rule.prompt, rule.showInputMessage = asked.heading[:32], asked.prompt, True
    if rule.showErrorMessage:
        rule.errorTitle = asked.heading[:32]
    return rule


def _no_typing(where: str):
    """Nobody should write over the example: it is never read."""
    from openpyxl.worksheet.datavalidation import DataValidation

    rule = DataValidation(type="custom", formula1="FALSE", allow_blank=False, sqref=where)
    rule.promptTitle, rule.prompt, rule.showInputMessage = "An example", "This row shows how to write, and is never read. Begin in the row below.", True
    rule.errorTitle, rule.error, rule.errorStyle, rule.showErrorMessage = "An example", "This row is never read. Write in the rows below it.", "stop", True
    return rule


def _lists(page, sheets: Sequence[Sheet], convention: str, paper: int) -> dict[str, str]:
    """The words of the drop-down lists, one column a kind; where each stands."""
    from openpyxl.styles import Alignment, PatternFill
    from openpyxl.utils import get_column_letter

    places: dict[str, str] = {}
    for asked in (column for sheet in sheets for column in sheet.columns if column.choices):
        name = asked.list_name + ("" if _coded(asked) else " plain")
        if name in places:
            continue
        number = len(places) + 1
        letter = get_column_letter(number)
        head = page.cell(1, number, asked.heading)
        head.font, head.fill = _font(bold=True, color=INK), PatternFill("solid", fgColor=ASKED)
        head.alignment = Alignment(wrap_text=True, vertical="bottom")
        for row, word in enumerate(asked.choices, start=2):
            page.cell(row, number, word).number_format = "@"
        page.column_dimensions[letter].width = max(len(word) for word in (*asked.choices, "0" * 11)) + 1
        places[name] = f"lists!${letter}$2:${letter}${len(asked.choices) + 1}"
    page.row_dimensions[1].height = 32
    page.freeze_panes = "A2"
    _on_paper(page, paper, f"words and codes of the form ({convention})", across=2)
    page.print_title_rows = "1:1"
    return places


def _front(page, sheets: Sequence[Sheet], convention: str, paper: int) -> None:
    from openpyxl.styles import Alignment

    told = table("form")["how_to"]
    page.column_dimensions["A"].width = 100
    page.sheet_view.showGridLines = False
    lines = [(told["title"], "title"), (f"Convention: {convention}. Sheets: " + "; ".join(f"{s.name}, {s.says}" for s in sheets)
              + "; lists, the words and codes.", "text")]  # fmt: skip
    lines += [(text, "text") for text in told["text"]]
    lines += [(told["cautions_title"], "heading"), *((text, "text") for text in told["cautions"])]
    fonts = {"title": _font(bold=True, size=16, color=NEEDED), "heading": _font(bold=True, size=13, color=NEEDED), "text": _font(size=11, color=INK)}
    for row, (text, kind) in enumerate(lines, start=1):
        cell = page.cell(row, 1, text)
        cell.font, cell.alignment = fonts[kind], Alignment(wrap_text=True, vertical="top")
        # a program that opens the file without drawing it sets no heights: 95 letters fit a line
        page.row_dimensions[row].height = 28 if kind != "text" else 15.5 * (1 + len(text) // 95) + 5
    _on_paper(page, paper, "geoprofile form")


def _on_paper(page, paper: int, title: str, across: int = 1) -> None:
    """Landscape, ``across`` pages wide; where one page is too narrow for the words to be read, two."""
    page.page_setup.orientation = page.ORIENTATION_LANDSCAPE
    page.page_setup.paperSize = paper
    page.page_setup.fitToWidth, page.page_setup.fitToHeight = across, 0
    page.sheet_properties.pageSetUpPr.fitToPage = True
    page.page_margins.left = page.page_margins.right = 0.4
    page.page_margins.top, page.page_margins.bottom, page.page_margins.header, page.page_margins.footer = 0.75, 0.55, 0.3, 0.25
    page.oddHeader.left.text, page.oddHeader.left.size = title, 10
    page.oddHeader.right.text, page.oddHeader.right.size = "Survey ______________   Surveyor ________   Date ____________", 10
    page.oddFooter.left.text, page.oddFooter.left.size = "Enter no pit that is not shored or sloped to the local code; have buried lines located before digging.", 8
    page.oddFooter.right.text, page.oddFooter.right.size = "&P of &N", 8
