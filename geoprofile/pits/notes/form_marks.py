"""What a printed form has besides words: dotted lines to write on, and boxes to tick. Read as colons and blanks; as long as the text."""

from __future__ import annotations

import re

from ..columns import parse_heading
from .fields import names_of_horizons, names_of_pits

_DOTS = re.compile(r"[ \t]*(?:\.{2,}|_{2,}|\u2026+)(?:[ \t]*[._\u2026]{1,})*[ \t]*")
_LONE_DOT = re.compile(r"(?<=[ \t])\.(?=[ \t]|$)", re.MULTILINE)
_BOX = re.compile(r"\[(?P<tick>[ xX\u2713\u2714*])\]|(?P<empty>[\u2610\u25a1])|(?P<full>[\u2611\u2612\u25a0])")
_CHOICE = re.compile(r"[ \t]*[^\s\[\]\u2610\u25a1\u2611\u2612\u25a0]+(?:[ \t][^\s\[\]\u2610\u25a1\u2611\u2612\u25a0]+)*")
_APART = re.compile(r"\S[ \t]{2,}\S")
_LABEL = re.compile(r"(?:^|[ \t]{2,}|[|\t])[ \t]*(?P<label>[A-Za-z][\w/.()-]*(?: [\w/.()-]+){0,3})$")


def without_form_marks(text: str) -> str:
    """``Texture ..... loam ......`` reads ``Texture :     loam        ``; of ``[ ] clear [x] gradual`` only the ticked word stands."""
    if "[" in text or any(box in text for box in "\u2610\u2611\u2612\u25a1\u25a0"):
        text = _ticked(text)
    if ".." in text or "__" in text or "\u2026" in text:
        text = "".join(_undotted(line) for line in text.splitlines(keepends=True))
    return text


def _ticked(text: str) -> str:
    """Without boxes and without the words of those left empty; where a line ticks nothing, its words stand."""
    lines = []
    for line in text.splitlines(keepends=True):
        boxes = list(_BOX.finditer(line))
        if not boxes or (len(boxes) == 1 and line[: boxes[0].start()].strip(" \t-*")):
            lines.append(line)
            continue
        letters = list(line)
        for box in boxes:
            ticked = box["full"] or (box["tick"] or " ").strip()
            choice = _CHOICE.match(line, box.end())
            end = box.end() if ticked or not choice else choice.end()
            letters[box.start() : end] = " " * (end - box.start())
        lines.append("".join(letters))
    return "".join(lines)


def _undotted(line: str) -> str:
    """A dotted line behind a label is its colon, behind a value it is nothing."""
    if not _DOTS.search(line):
        return line
    done, at, open_label, gap = "", 0, False, False
    for dots in _DOTS.finditer(line):
        said = line[at : dots.start()]
        done += said
        label = _LABEL.search(done)
        open_label = bool(label) and (gap or not (open_label and said.strip()) or _APART.search(said) is not None) and parse_heading(label["label"].strip(" .")).base in _labels()
        done += (" :" if open_label and len(dots.group()) > 1 else "").ljust(len(dots.group()))
        at, gap = dots.end(), dots.group().endswith("  ")
    return _LONE_DOT.sub(" ", done + line[at:])


def _labels() -> set[str]:
    return {*names_of_horizons(), *names_of_pits(), "from", "to"}
