"""How a sheet of the workbook looks on the screen and on paper: names, widths, pages."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Sequence

LONGEST_NAME = 31
"""Characters in the name of a sheet, the most that common spreadsheets take."""
LINE_POINTS, HIGHEST_POINTS = 15, 405
"""Height of a line of text, and about the most that a row can have."""
BOLD = 1.3
"""Width of a bold letter in plain ones, wide enough for the fonts that stand in for one another."""
NARROWEST, WIDEST = 9, 60
"""Width of a column in characters; a longer text is wrapped."""
A4 = 9
"""The paper's number in Office Open XML (ECMA-376, 18.3.1.63)."""
PAGE_CHARACTERS = 230
"""Width of a landscape page at the smallest scale that is read with ease: about 150 characters fit at full size."""


def sheet_names(names: Sequence[str]) -> dict[str, str]:
    """Names of sheets: at most 31 characters, whole words, none of []:*?/\\, unique ignoring case."""
    chosen: dict[str, str] = {}
    taken: set[str] = set()
    for name in names:
        base = new = _shortened(re.sub(r"[\[\]:*?/\\']", "_", name)) or "sheet"
        number = 2
        while new.lower() in taken:
            new = f"{base[: LONGEST_NAME - 1 - len(str(number))]}_{number}"
            number += 1
        taken.add(new.lower())
        chosen[name] = new
    return chosen


def _shortened(name: str) -> str:
    """``name`` without its longest inner words where it is too long: its beginning and end tell tables apart."""
    words = name.split("_")
    while len("_".join(words)) > LONGEST_NAME and len(words) > 2:
        del words[max(range(1, len(words) - 1), key=lambda place: len(words[place]))]
    return "_".join(words)[:LONGEST_NAME]


def column_width(heading: str, texts: Sequence[str]) -> float:
    """Width in characters that shows every text whole, up to WIDEST; the heading may take several lines."""
    longest_word = max((len(word) for word in heading.split()), default=0)
    lines = (len(line) for text in texts for line in text.split("\n"))
    return min(max(len(heading) * 0.4, longest_word * BOLD, *lines, NARROWEST - 3) + 3, WIDEST)


def heading_height(headings: Sequence[str], widths: Sequence[float]) -> float | None:
    """Height in points of the heading row, whose letters are bold."""
    return row_height(headings, [width / BOLD for width in widths])


def row_height(texts: Sequence[str], widths: Sequence[float]) -> float | None:
    """Height in points of a row whose longer texts are wrapped; None where one line is enough.

    Not every program works out the height of a wrapped row by itself.
    """
    lines = max((_lines(text, width) for text, width in zip(texts, widths, strict=True)), default=1)
    return min(lines * LINE_POINTS, HIGHEST_POINTS) if lines > 1 else None


def _lines(text: str, width: float) -> int:
    if len(text) <= width - 2 and "\n" not in text:
        return 1
    return sum(len(textwrap.wrap(line, int(width) - 2)) or 1 for line in text.split("\n"))


def pages_wide(widths: Sequence[float]) -> int:
    """How many pages lie side by side so that print stays readable."""
    return max(1, math.ceil(sum(widths) / PAGE_CHARACTERS))


def set_up_pages(sheet, widths: Sequence[float]) -> None:
    """Landscape, as wide as ``pages_wide``, the heading row and the first column on every page, a footer."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = pages_wide(widths), 0
    sheet.page_setup.pageOrder = "overThenDown"
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top, sheet.page_margins.bottom = 0.5, 0.6
    sheet.oddFooter.left.text, sheet.oddFooter.right.text = "&A", "page &P of &N"
    sheet.print_title_rows = "1:1"
    if pages_wide(widths) > 1:
        sheet.print_title_cols = "A:A"
