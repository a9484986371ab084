"""What was understood of the notes and what was left, laid out for a person to confirm."""

from __future__ import annotations

import re

from .depths import Depths
from .found import Found
from .profiles import Profile
from .reader import Notes

LEGEND = (
    "Behind | stand the notes; under them what was read, and behind <- the words it was read from where they differ.",
    "'left' was not understood: it is kept word for word in the remarks. 'also kept' is in a field and in the remarks.",
)


def reading_lines(notes: Notes) -> list[str]:
    """The text pit by pit and horizon by horizon: each phrase with what was read of it, then the words left as remarks; a count at the end."""
    lines: list[str] = [*LEGEND]
    for key, profile, unit in zip(notes.ids, notes.profiles, notes.units, strict=True):
        lines += ["", f"pit {key} (line {_line(notes.text, profile.start)})", *_marked(notes.text, profile.start, _head_end(profile))]
        lines += _table(notes.text, profile.header.found, profile.header.left)
        shown = (-1, -1)
        for horizon in profile.horizons:
            depths = horizon.entry.depths
            found = list(horizon.found)
            if depths:
                found.append(Found("depths", _depths(depths, unit), depths.start, depths.end))
            place = (horizon.entry.start, horizon.end)
            marked = ["  | (of the same lines)"] if place == shown else _marked(notes.text, *place)  # a table on its side holds several
            shown = place
            lines += ["", *marked, *_table(notes.text, found, horizon.left, horizon.kept, horizon.named)]
            lines += [_row("note", note) for note in dict.fromkeys((*horizon.notes, *horizon.entry.notes))]
        if profile.tail:
            lines += ["", "  behind the horizons, kept in the remarks of the pit:"]
            lines += [line for start, end in profile.tail for line in _marked(notes.text, start, end)]
    problems = [f"  {one.severity}: {one.what}" + (f"; found: {one.found}" if one.found else "") for one in notes.problems]
    return [*lines, "", *(["to look at:", *problems, ""] if problems else []), _count(notes)]


def _count(notes: Notes) -> str:
    """How much was understood, in words of the horizons."""
    horizons = [horizon for profile in notes.profiles for horizon in profile.horizons]
    words = sum(_number_of_words(notes.text[slice(*place)]) for place in {(horizon.entry.start, horizon.end) for horizon in horizons})
    left = sum(_number_of_words(notes.text[start:end]) for horizon in horizons for start, end in horizon.left)
    counts = ", ".join(f"{number} {what}{'' if number == 1 else 's'}" for number, what in ((len(notes.profiles), "pit"), (len(horizons), "horizon")))
    return f"{counts}, {words:,} words in them; {left:,} words ({left / max(words, 1):.0%}) were left"


def _number_of_words(text: str) -> int:
    return len(re.findall(r"\w+", text))


def _depths(depths: Depths, usual: str) -> str:
    unit = depths.unit or f"{usual} (no unit beside it)"
    if depths.lower is None:
        return f"from {depths.upper.text(1.0)} {unit}, open below"
    return f"{depths.upper.text(1.0)} to {depths.lower.text(1.0)} {unit}" + (" and below" if depths.open_below else "")


def reading_document(notes: Notes) -> list[dict]:
    """The same for a program: each phrase with its place in the text (start, end) and what was read."""
    return [
        {
            "pit": key,
            "head": {"understood": _places(profile.header.found), "left": [list(place) for place in profile.header.left]},
            "horizons": [
                {"designation": one.entry.designation, "understood": _places(one.found), "left": [list(place) for place in one.left], "notes": one.notes}
                for one in profile.horizons
            ],
        }
        for key, profile in zip(notes.ids, notes.profiles)
    ]  # fmt: skip


def _places(found: list[Found]) -> list[dict]:
    return [{"what": one.what, "read": one.read, "start": one.start, "end": one.end} for one in found]


def _table(text: str, found: list[Found], left: list[tuple[int, int]], kept: list[tuple[int, int]] = (), named: dict[tuple[int, int], str] | None = None) -> list[str]:
    lines = []
    for one in sorted(found, key=lambda one: one.start):
        if one.what == "label" and not one.read:  # on a card the label is plain
            continue
        written = _words(text, one.start, one.end)
        differs = one.read and _plain(one.read) != _plain(written)
        where = " (also kept)" if (one.start, one.end) in kept and one.read and one.what != "feature" else ""
        lines.append(_row(one.what.replace("_", " "), ("in the remarks" if one.what == "feature" else one.read or "in the remarks") + where, written if differs or one.what == "feature" else ""))
    for start, end in left:
        label = (named or {}).get((start, end), "")
        lines.append(_row("left", f"{label}: {_words(text, start, end)}" if label else _words(text, start, end)))
    return lines


def _row(what: str, read: str, written: str = "") -> str:
    return f"      {what:<24}{read}" + (f"  <- {written}" if written else "")


def _plain(text: str) -> str:
    return " ".join(re.findall(r"[\w./]+", text.casefold()))


def _marked(text: str, start: int, end: int) -> list[str]:
    return [f"  | {line.strip()}" for line in text[start:end].splitlines() if line.strip()]


def _words(text: str, start: int, end: int) -> str:
    return " ".join(text[start:end].split())


def _head_end(profile: Profile) -> int:
    return profile.horizons[0].entry.start if profile.horizons else profile.end


def _line(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1
