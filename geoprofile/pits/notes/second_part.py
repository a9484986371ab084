"""Words that lead to the second soil of a combination horizon: ``surrounded by tongues of brown (10YR 5/3) ... (E)``.

Behind them stand a colour and texture as at the beginning of a clause, and not those of a feature in the soil.
"""

from __future__ import annotations

import re
from functools import lru_cache

from ...vocabulary.tables import table

_COLOUR = r"(?=(?:about\s+)?(?:\d{1,3}\s*(?:%|percent)\s+)?[a-z ,-]{0,40}\(?\s*(?:\d{1,2}(?:\.\d)?\s?[YRGBP]|N\s?\d))"


@lru_cache(maxsize=2_000)
def _leads(designation: str) -> re.Pattern:
    """For the masters and symbols of one designation."""
    names = "|".join(re.escape(part.strip(" '0123456789")) for part in re.split(r"\s*(?:/|&|\band\b)\s*", designation) if part.strip(" '0123456789"))
    words = table("notes")["second_part"]
    before, nouns, behind = ("|".join(words[name]) for name in ("before", "nouns", "behind"))
    noun = rf"(?:{nouns})(?:\s+(?:{behind}))?"
    part = rf"(?:{names})(?:\s+(?:part|portion|material|horizon|{nouns}))?(?:\s*:|\s+(?:{behind}|is|are|has))?"
    return re.compile(rf"(?<![\w(])(?:(?:{before})\s+)*(?:(?:the|some|many|few|common|thin|wavy|irregular|discontinuous)\s+)*(?:{noun}|{part})\s+{_COLOUR}")


def leads_to_parts(piece: str, designation: str) -> tuple[tuple[int, int], ...]:
    """Places, without blanks and marks behind, of such words in a piece of the description of a combination horizon."""
    return tuple((found.start(), found.start() + len(found.group().rstrip(" :\n\t"))) for found in _leads(designation).finditer(piece))


def as_clauses(piece: str, places: tuple[tuple[int, int], ...]) -> str:
    """The piece with a comma in place of those words, as long as before."""
    for start, end in places:
        piece = piece[:start] + ",".ljust(end - start) + piece[end:]
    return piece
