"""The unit of depths that bear none of their own: said in a head, over a column, by other depths, or by the survey file."""

from __future__ import annotations

import re
from collections import Counter

from ...errors import InputError
from ...vocabulary.designations import parse_designation
from ..depths import UNIT_WORDS
from .fields import label_of
from .profiles import Profile

DEEPEST_IN_INCHES, SHALLOW = 90.0, 30.0
"""Numbers beyond the first are no inches, and below the second a pit is shallow in centimetres."""

LONGEST_HEADINGS = 160
"""Characters of a line of headings at most."""
_WORDS = r"(inch(?:es)?|cms?|centimet(?:re|er)s?|feet|met(?:re|er)s?)\b"
_SAID = (
    re.compile(rf"(?i)\bdepths?\s+(?:\w+\s+){{0,3}}?(?:in\s+)?{_WORDS}"),
    re.compile(rf"(?i)\b(?:measured|measurements?|reckon(?:ed)?|recorded|wrote|written|everything|figures|numbers|all)\b[^.\n]{{0,30}}?\b(?:in|is|are)\s+{_WORDS}(?!\s+of)"),
    re.compile(rf"(?i)(?:^|[.;,(]\s*){_WORDS}\s*(?:throughout|everywhere)?(?=\s*(?:$|[.;,)]))", re.MULTILINE),
)
"""Sentences of a head that give the unit: depths in cm; I measured in inches; cm."""
_UNIT = re.compile(r"(?i)(?<![\w.])(?:cm|in|inch(?:es)?|mm|ft|feet)(?!\w)")


def units_of(profiles: list[Profile], stated: str | None, file: str, text: str) -> list[str]:
    """Unit of each pit's depths without one of their own: that of its head, of its other depths, of the file, of the survey file.

    What is said above the first pit holds for all. A file whose depths bear no unit, but that speaks of other lengths
    in one unit only, means that one.
    """
    counts = [Counter(h.entry.depths.unit for h in one.horizons if h.entry.depths and h.entry.depths.unit) for one in profiles]
    said = [_said_unit(text[one.start : one.horizons[0].entry.start]) for one in profiles]
    whole = sum(counts, Counter()) + Counter(unit for unit in said if unit)
    usual = _said_unit(_above_the_first(profiles[0], text)) or stated or (whole.most_common(1)[0][0] if whole else "") or _only_unit(text)
    own = [unit or (count.most_common(1)[0][0] if count else "") for unit, count in zip(said, counts)]
    if not usual and not all(own):
        raise InputError("the unit of depths is not said", where=file, **_proposal(profiles))
    return [unit or usual for unit in own]


def _above_the_first(first: Profile, text: str) -> str:
    """What stands before the id of the first pit: it speaks of the whole file."""
    head = text[: first.horizons[0].entry.start]
    key = first.header.cells.get("pit_id", "")
    return head.partition(key)[0] if key else ""


def _said_unit(head: str) -> str:
    """``(depths in INCHES)``, ``all depths are in cm``, or a line of headings with a unit among them: ``hor  cm  colour``."""
    found = next((found for pattern in _SAID if (found := pattern.search(head))), None)
    return UNIT_WORDS[found[1].lower()] if found else next((unit for line in head.splitlines() if (unit := _unit_among_headings(line))), "")


def _unit_among_headings(line: str) -> str:
    if len(line) > LONGEST_HEADINGS or not _UNIT.search(line):
        return ""
    for parted, least in ((r"\s{2,}|\t|\s*[,;|/]\s*", 0.5), (r"\s+", 1.0)):
        words = [word.strip(" ().:*#").casefold() for word in re.split(parted, line.strip()) if word.strip(" ().:*#|-")]
        units = {UNIT_WORDS[word] for word in words if word in UNIT_WORDS and word != "m"}
        known = sum(word not in UNIT_WORDS and bool(label_of(word).field) for word in words)
        if len(units) == 1 and known >= 2 and known + 1 >= least * len(words):
            return units.pop()
    return ""


def _proposal(profiles: list[Profile]) -> dict[str, str]:
    """What fits depths without a unit: how deep the pits would be, and which convention their designations are of.

    Common practice, no source: Canadian descriptions are in centimetres; a pit of more than 90 inches is hardly dug.
    """
    horizons = [one for profile in profiles for one in profile.horizons if one.entry.depths]
    deepest = max(limit.high for one in horizons for limit in (one.entry.depths.upper, one.entry.depths.lower) if limit)
    names = list(dict.fromkeys(one.entry.designation for one in horizons))
    canadian = [name for name in names if parse_designation(name, "canadian").known and not parse_designation(name, "usda").known]
    american = [name for name in names if parse_designation(name, "usda").known and not parse_designation(name, "canadian").known]
    in_inches = f"{deepest:g} in would be {deepest * 2.54:.0f} cm"
    if canadian and not american:
        unit, why = "cm", f"{', '.join(canadian[:3])} {'is' if len(canadian) == 1 else 'are'} of the Canadian system, which counts in centimetres"
    elif deepest > DEEPEST_IN_INCHES:
        unit, why = "cm", in_inches
    elif american and not canadian and deepest >= SHALLOW:
        unit, why = "in", f"{', '.join(american[:3])} {'is' if len(american) == 1 else 'are'} of the system of the United States, and {deepest:g} cm would be a shallow pit"
    else:
        unit, why = "", f"{in_inches}, and {deepest:g} cm is possible too"
    first = f'say depth_unit = "{unit}" in [pits], which fits: {why}' if unit else f'say depth_unit = "cm" or "in" in [pits]; the notes fit both: {why}'
    return {
        "found": f"depths to {deepest:g} without a unit, at {', '.join(names[:4])}", "allowed": "cm, m or in",
        "remedy": f"{first}; or write the unit behind a depth or over the column",
    }  # fmt: skip


def _only_unit(text: str) -> str:
    """cm or in, where just one of them is spoken of (``Water at 12 cm everywhere``)."""
    there = {unit for unit, pattern in (("cm", r"(?i)\d\s?(?:cm|centimet(?:re|er)s?)\b"), ("in", r"(?i)\d\s?(?:inch(?:es)?\b|in\.|\")")) if re.search(pattern, text)}
    return there.pop() if len(there) == 1 else ""
