"""Words for a part of a horizon behind a term: ``slight, in the lower part``, ``strong in lower 5 cm``."""

from __future__ import annotations

import re

_PART = re.compile(
    r"(?i),?\s+(?:only )?(?:in|of) (?:the )?(?P<where>upper|lower|middle|top|bottom) "
    r"(?:(?P<share>half|third|quarter)|(?:part|portion)s?|(?P<length>\d+(?:\.\d+)?) ?(?P<unit>cm|mm|in|inch|inches))\s*$"
)


def without_part(text: str) -> str:
    """The term alone: ``slight`` of ``slight, in the lower part``."""
    return text if " " not in text else _PART.sub("", text)


def part_of(text: str) -> str:
    """The part alone, in the words of the record: ``lower part``, ``lower half``, ``lower 5 cm``; '' where none is named."""
    found = _PART.search(text) if " " in text else None
    if not found:
        return ""
    where = {"top": "upper", "bottom": "lower"}.get(found["where"].lower(), found["where"].lower())
    if found["length"]:
        return f"{where} {found['length']} {found['unit'].lower()}"
    return f"{where} {(found['share'] or 'part').lower()}"
