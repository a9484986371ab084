"""Pits while their lines are gathered, and whether a line begins another one."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from .entries import Entry


@dataclass
class OpenPit:
    """A pit while its lines are gathered."""

    start: int
    head_end: int
    entries: list[Entry] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    doubtful: list[tuple[int, int]] = field(default_factory=list)
    tail: list[tuple[int, int]] = field(default_factory=list)
    headings: list[tuple[int, int]] = field(default_factory=list)
    """Lines of column headings."""
    pit: str = ""
    """Id of the pit in a column of its table."""
    key: tuple[str, str] | None = None
    """Word and id of the line that begins it (``pit``, ``5``)."""
    again: list[tuple[int, int]] = field(default_factory=list)
    """Further lines with the same id, between horizons."""
    unread: list[tuple[int, int]] = field(default_factory=list)
    """Layers without a designation, whose depths are no horizon's."""
    in_layer: bool = False
    """Whether the last line tells such a layer."""
    closed: str = ""
    """Why lines no longer belong to the horizons: remarks, or a section of a published description."""


def without_stray_heads(text: str, all_: list[OpenPit]) -> list[OpenPit]:
    """The pits with horizons; lines below a ruler that name no pit and lead to no horizon stay with the pit above."""
    kept: list[OpenPit] = []
    for one in all_:
        if one.entries:
            kept.append(one)
        elif kept and not one.key and _has_words(text, one):
            kept[-1].tail.append((one.start, one.head_end))
    return kept


def _has_words(text: str, one: OpenPit) -> bool:
    """Whether a head says anything: a ruler does not."""
    return re.search(r"\w", text[one.start : one.head_end]) is not None


def is_of_the_pit_above(text: str, entry: Entry, head: OpenPit, above: OpenPit) -> bool:
    """Whether only a ruler stands between a horizon and the pit above: the same id in both, or depths that go on."""
    if _has_words(text, head) or not above.entries:
        return False
    return entry.pit == above.pit and (bool(entry.pit) or not restarts(entry, above.entries[-1]) and not begins_again(entry, above.entries[-1]))


def together(pits: list[OpenPit]) -> list[OpenPit]:
    """A pit whose id stands above each of its horizons is one: the same id again, and depths that go on."""
    kept: list[OpenPit] = []
    for one in pits:
        above = kept[-1] if kept else None
        if above and above.key and one.key and above.key == one.key and not one.pit and not restarts(one.entries[0], above.entries[-1]):
            above.again.append((one.start, one.head_end))
            above.entries += one.entries
            above.ends += one.ends
            above.tail += one.tail
            above.unread += one.unread
        else:
            kept.append(one)
    return kept


def restarts(entry: Entry, last: Entry) -> bool:
    """Depths begin again: the entry is above the one before, which was not counted upward from the mineral soil."""
    if entry.depths is None or last.depths is None:
        return True
    upward = last.depths.lower is not None and last.depths.lower.value < last.depths.upper.value
    return not upward and entry.depths.upper.value < last.depths.upper.value or (entry.depths.lower is not None and entry.depths.lower.value < entry.depths.upper.value and not upward)


def goes_on(entry: Entry, last: Entry, before: str) -> bool:
    """A line that only looks like a horizon: ``pockets of`` / ``E 5 to 10 mm wide``, in the middle of a sentence."""
    depths = entry.depths
    if depths is None or depths.lower is None or entry.strong or re.search(r"[.;:)!?]\s*$", before):
        return False
    return depths.unit == "mm" or (last.depths is not None and 0 < depths.upper.value < last.depths.upper.value < (last.depths.lower or last.depths.upper).value)


def begins_again(entry: Entry, last: Entry) -> bool:
    """A horizon that begins at the surface, right below one that does not end there."""
    if entry.depths is None or last.depths is None or last.depths.lower is None or entry.depths.lower is None:
        return False
    at_surface = entry.depths.upper.value == 0 and entry.depths.lower.value > 0
    return at_surface and 0 not in (last.depths.upper.value, last.depths.lower.value) and last.depths.lower.value > last.depths.upper.value


def may_be_another_pit(entry: Entry, text: str) -> bool:
    """Among the sections behind a pedon: a horizon at the surface, and not ``A horizon: 0 to 10 inches``."""
    depths = entry.depths
    if depths is None or depths.lower is None or 0 not in (depths.upper.value, depths.lower.value):
        return False
    return not re.search(r"[a-z]{4}", text[entry.designation_at[1] : depths.start])
