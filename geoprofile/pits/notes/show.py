"""What was understood of the notes and what was left, laid out for a person to confirm."""

from __future__ import annotations

from .horizon import Found
from .profiles import Profile
from .reader import Notes


def reading_lines(notes: Notes) -> list[str]:
    """The text pit by pit and horizon by horizon: each phrase with what was read of it, then the words left as remarks."""
    lines: list[str] = []
    for key, profile in zip(notes.ids, notes.profiles):
        lines += ["", f"pit {key} (line {_line(notes.text, profile.start)})", *_marked(notes.text, profile.start, _head_end(profile))]
        lines += _table(notes.text, profile.header.found, profile.header.left)
        for horizon in profile.horizons:
            depths = horizon.entry.depths
            found = list(horizon.found)
            if depths:
                below = "open below" if depths.lower is None else depths.lower.text(1.0) + ("+" if depths.open_below else "")
                found.append(Found("depths", f"{depths.upper.text(1.0)} to {below} {depths.unit or '(unit of the other depths)'}", depths.start, depths.end))
            lines += ["", *_marked(notes.text, horizon.entry.start, horizon.end), *_table(notes.text, found, horizon.left)]
            lines += [f"      note       {note}" for note in dict.fromkeys(horizon.notes)]
        for start, end in profile.tail:
            lines.append(f"      kept       {_words(notes.text, start, end)}")
    return lines[1:]


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


def _table(text: str, found: list[Found], left: list[tuple[int, int]]) -> list[str]:
    lines = []
    for one in sorted(found, key=lambda one: one.start):
        written = _words(text, one.start, one.end)
        read = "" if one.read == written else f"  <- {written}"
        lines.append(f"      {one.what.replace('_', ' '):<22}{one.read or '(remarks)'}{read}")
    lines += [f"      {'left':<22}{_words(text, start, end)}" for start, end in left]
    return lines


def _marked(text: str, start: int, end: int) -> list[str]:
    return [f"  | {line.strip()}" for line in text[start:end].splitlines() if line.strip()]


def _words(text: str, start: int, end: int) -> str:
    return " ".join(text[start:end].split())


def _head_end(profile: Profile) -> int:
    return profile.horizons[0].entry.start if profile.horizons else profile.end


def _line(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1
