"""Make geoprofile/vocabulary/tables/munsell.csv again: the published renotation of the Munsell colours, whole.

    .venv/bin/python scripts/make_munsell_table.py

Takes the 2,734 real colours of Newhall, Nickerson & Judd 1943 from colour-science, a general library of colour (extra
``test``; it is no dependency at run time), and writes chromaticities as published, four decimals, sorted by the circle
of hues. Luminance is not written: it follows from the value (ASTM D1535).
"""

from __future__ import annotations

import os
import re
import sys
import warnings
from pathlib import Path

from geoprofile.vocabulary.munsell import HUE_LETTERS

TABLE = Path(__file__).resolve().parents[1] / "geoprofile" / "vocabulary" / "tables" / "munsell.csv"
HEAD = """\
# Chromaticities of Munsell colours under illuminant C, 2 degree observer. Made by scripts/make_munsell_table.py.
# Source: Newhall, Nickerson & Judd 1943, Final report of the O.S.A. subcommittee on the spacing of the Munsell colors,
# Journal of the Optical Society of America 33(7):385-418; the 2,734 published colours of value 1 and more.
hue,value,chroma,x,y
"""


def table_text() -> str:
    """The whole file as text."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.notation import MUNSELL_COLOURS
    chips = {}
    for (hue, value, chroma), (x, y, _) in MUNSELL_COLOURS["Munsell Colours Real"]:
        number, letters = re.fullmatch(r"([\d.]+)([A-Z]+)", hue).groups()
        chips[10 * HUE_LETTERS.index(letters) + float(number), float(value), float(chroma)] = (hue, x, y)
    return HEAD + "".join(f"{hue},{value:g},{chroma:g},{x:.4f},{y:.4f}\n" for (_, value, chroma), (hue, x, y) in sorted(chips.items()))


if __name__ == "__main__":
    text = table_text()
    new = TABLE.with_suffix(".new")
    new.write_text(text, encoding="utf-8")
    os.replace(new, TABLE)
    print(f"{TABLE.name}: {text.count(chr(10)) - HEAD.count(chr(10))} colours", file=sys.stderr)
