"""Readings of notes held against answers: shares right of each thing, and every miss."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from geoprofile.pits.notes.reader import READER
from geoprofile.vocabulary.terms import find_term

KIND = {"gr": "granular", "sbk": "subangular blocky", "abk": "angular blocky", "pl": "platy", "pr": "prismatic", "bk": "blocky", "sg": "single grain", "ma": "massive"}
GRADE = {"1": "weak", "2": "moderate", "3": "strong"}
SIZE = {"vf": "very fine", "f": "fine", "m": "medium", "co": "coarse", "vco": "very coarse", "thin": "fine"}
THINGS = ("horizons", "designation", "depth", "colour", "texture", "structure", "effervescence", "boundary")


@pytest.fixture
def score():
    """``score(answers, files, unit)``: ({thing: share right}, [every miss]); answers as in reference/pedons/answers.csv."""

    def held(answers: Path, files: Iterable[Path], unit: str | None = None) -> tuple[dict[str, float], list[str]]:
        with answers.open(encoding="utf-8") as file:
            by_pit: dict[str, list[dict]] = {}
            for row in csv.DictReader(file):
                by_pit.setdefault(row["pedon"].upper(), []).append(row)
        read = {}
        for path in files:
            notes = READER.read_notes(path, depth_unit=unit)
            cells = notes.horizons.cells
            read |= {key.upper(): [row for _, row in cells[cells["pit_id"] == key].iterrows()] for key in notes.ids}
        right, all_, misses = dict.fromkeys(THINGS, 0), dict.fromkeys(THINGS, 0), []
        for pit, rows in by_pit.items():
            found = read.get(pit, [])
            for what, where, answer, said in [("horizons", pit, len(rows), len(found)), *_compared(pit, rows, found)]:
                all_[what] += 1
                right[what] += answer == said
                if answer != said:
                    misses.append(f"{what} of {where}: answer {answer!r}, read {said!r}")
        shares = {what: right[what] / all_[what] for what in THINGS}
        print("\n".join(f"{what}: {right[what]} of {all_[what]} ({share:.1%})" for what, share in shares.items()), *misses, sep="\n")
        return shares, misses

    return held


def _compared(pit: str, rows: list[dict], found: list) -> Iterable[tuple[str, str, object, object]]:
    for number, answer in enumerate(rows):
        read = found[number] if number < len(found) else {}
        where = f"{pit} {answer['designation']}"
        yield "designation", where, answer["designation"], read.get("designation", "")
        for which in ("upper", "lower"):
            wanted, said = _depth(answer[f"{which}_cm"]), _depth(read.get(f"{which} depth (cm)", ""))
            near = wanted is not None and said is not None and abs(wanted - said) < 0.11  # tenths of inches turned to cm
            yield "depth", f"{where} {which}", wanted, wanted if near else said
        for state in ("moist", "dry"):
            several = read.get(f"matrix {state}", "") or read.get(f"colour {state}", "")
            yield "colour", f"{where} {state}", _colours(answer[f"colour_{state}"]), _colours(several)
        yield "texture", where, _said(answer["texture"]), _texture(read.get("texture", ""))
        yield "structure", where, _structure(answer["structure"]), _joined(read, "structure grade", "structure size", "structure kind", "structure more").replace("structureless ", "")
        yield "effervescence", where, _effervescence(answer["effervescence"]), read.get("effervescence", "")
        yield "boundary", where, _said(answer["boundary"]), _joined(read, "boundary distinctness", "boundary form")


def _depth(text: str) -> float | None:
    numbers = [float(number) for number in re.findall(r"[\d.]+", text.split("(")[0])]
    return sum(numbers) / len(numbers) if numbers else None


def _colours(text: str) -> str:
    return re.sub(r"(N [\d.]+/)0", r"\1", re.sub(r"\d+% ", "", _said(text)))


def _said(text: str) -> str:
    return "" if text in ("-", "(litter)") else text


def _texture(text: str) -> str:
    """A code, or an older spelling, by its name."""
    terms = [find_term("texture", text, convention) for convention in ("canadian", "usda")] if text else []
    return next((term.name for term in terms if term and (term.code == text or text == "silty loam")), text)


def _effervescence(text: str) -> str:
    """Where in the horizon it is stays a remark; ``(calcareous)`` is the word of the notes."""
    first = re.sub(r" \((?:lower|upper) part\)", "", _said(text)).split(" + ")[0]
    return {"(noncalcareous)": "none", "(calcareous)": "calcareous"}.get(first, first)


def _joined(found, *names: str) -> str:
    return " ".join(text for name in names if (text := found.get(name, "")))


def _structure(coded: str) -> str:
    """``2 co pr > 2 m sbk`` in words."""
    parts = re.split(r" ([>&]) ", re.sub(r" \(no [^)]*\)", "", _said(coded)))
    return " ".join({">": "parting to", "&": "and"}.get(part) or _unit(part) for part in parts if part)


def _unit(coded: str) -> str:
    words = coded.split()
    grade = GRADE.get(words[0], "")
    kind = " and ".join(KIND.get(word, word) for word in words[-1].split("&"))
    size = " and ".join(SIZE.get(word, word) for word in words[bool(grade) : -1][0].split("&")) if len(words) > 1 + bool(grade) else ""
    return " ".join(word for word in (grade, size, kind) if word)
