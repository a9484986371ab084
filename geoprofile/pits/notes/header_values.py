"""What a value of a pit's head is in the words and units of the table: ``mod well``, ``four percent``, ``north-east``, ``12 June, 2025``."""

from __future__ import annotations

import math
import re

from ...vocabulary.tables import table
from .tokens import tokens

NUMBERS = ("slope", "elevation", "aspect", "observed_to", "acid_to", "water_at")
"""Labels with a number: of ``Slope: 4 percent, convex`` the number is taken and the rest is left."""
WINDS = {
    name: round(22.5 * number, 1) for number, name in enumerate(("n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw"))
} | {"north": 0, "northeast": 45, "east": 90, "southeast": 135, "south": 180, "southwest": 225, "west": 270, "northwest": 315}


def value_of(name: str, value: str) -> str:
    """The value of the field ``name`` as the table has it; what is not known stays as it is written."""
    read = " ".join(value.split())
    if name in NUMBERS:
        row = tokens(read)
        if row and row[0].kind == "number" and not row[0].text[0].isdigit():  # four percent
            read = f"{row[0].key} {read[row[0].end :]}".replace("  ", " ").strip()
    if name == "aspect":
        word = read.casefold().replace("-", "").replace(" ", "")
        read = f"{WINDS[word]:g}" if word in WINDS else read
    elif name in ("slope", "elevation"):
        read = re.sub(r"(?<=\d),(?=\d{3})", "", read)
        read = _in_percent(read) if name == "slope" else read
    elif name == "drainage":
        read = _drainage(read)
    elif name == "depth_unit":
        read = read.split(",")[0]  # cm, from the top of the Oe
    elif name == "pit_id":
        read = read.rstrip(".:,")
        spelled = re.fullmatch(r"((?:[A-Z] )+)(\w+)", read)
        last = _figure(spelled[2]) if spelled else ""
        read = spelled[1].replace(" ", "") + last if last.isdigit() else _figure(read)
    elif name == "date":
        read = re.sub(r"(?<=\d)(?:st|nd|rd|th)\b", "", read).replace(" of ", " ").replace("Sept ", "Sep ")
        read = re.sub(r"^([A-Za-z]+)\.? (\d+),? ?(\d{4})$", r"\1 \2, \3", re.sub(r"[.,] (?=\d{4}$)", " ", read) if read[0].isdigit() else read)
    return read


def _figure(word: str) -> str:
    """``three`` is 3; anything else stays."""
    row = tokens(word)
    return row[0].key if len(row) == 1 and row[0].kind == "number" else word


def _drainage(text: str) -> str:
    """``mod well``, ``imperf.``, ``very poor`` in the words of the classes."""
    if text in table("notes")["drainage_codes"]:
        return table("notes")["drainage_codes"][text]
    read = re.sub(r"(?i)^mod\.? ", "moderately ", re.sub(r"(?i)^v\.? ", "very ", text))
    read = read if read.isupper() else read.lower()  # W and MW are classes
    return re.sub(r"(?i)\b(rapid|imperfect|poor|excessive)$", r"\1ly", re.sub(r"(?i)\bimperf\.?$", "imperfect", read))


def _in_percent(text: str) -> str:
    found = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:°|deg(?:rees?)?)", text)
    return f"{100 * math.tan(math.radians(float(found[1]))):.4g}" if found else re.sub(r"per cent|pct", "percent", text)
