"""Designations that the convention does not know, that were read otherwise than written, or that do not follow."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.designations import nearest_designation, parse_designation
from .profiles import Profiles


def check_designations(all_: Profiles) -> Iterator[Problem]:
    """Each designation once, with the number of horizons that carry it."""
    for check in (_designations, _old_subdivisions, _materials):
        yield from check(all_)


def _designations(all_: Profiles) -> Iterator[Problem]:
    for code, one in enumerate(all_.designations):
        rows = all_.rows_by_designation[code]
        also = _also(all_, rows)
        if not one.text:
            yield all_.problem(
                rows[0],
                "warning",
                "designation",
                f"a horizon has no designation{also}",
                field="designation",
                remedy="add it; attributes that rest on designations are not known there",
            )
        elif not one.known:
            near = nearest_designation(one.as_written, all_.convention)
            yield all_.problem(
                rows[0],
                "warning",
                "designation",
                f"{one.as_written} is not a designation of this convention{also}",
                field="designation",
                found="; ".join(one.notes) or f"not understood: {', '.join(one.unknown)}",
                remedy=f"did you mean {near}?" if near and near != one.as_written else "correct it",
            )
        elif one.notes:
            yield all_.problem(rows[0], "note", "designation", "; ".join(one.notes) + also, field="designation")
    if "designation_as_written" in all_.frame:
        yield from _read_otherwise(all_, all_.frame["designation_as_written"].fillna("").astype("str").to_numpy())


def _read_otherwise(all_: Profiles, written: np.ndarray) -> Iterator[Problem]:
    """Notes of reading what was written, where the frame already holds the normal form."""
    for text, rows in pd.Series(np.arange(len(written))).groupby(written, sort=False):
        one = parse_designation(str(text), all_.convention)
        if one.known and one.notes and all_.texts[all_.codes[rows.iloc[0]]] != text:
            also = _also(all_, rows.to_numpy())
            yield all_.problem(rows.iloc[0], "note", "designation", "; ".join(one.notes) + also, field="designation")


def _also(all_: Profiles, rows: np.ndarray) -> str:
    if len(rows) == 1:
        return ""
    names = list(dict.fromkeys(str(all_.names[pit]) for pit in all_.pit[rows]))
    shown = ", ".join(names[:6]) + (" ..." if len(names) > 6 else "")
    return f" (in {len(rows)} horizons; pit{'s' if len(names) > 1 else ''} {shown})"


def _old_subdivisions(all_: Profiles) -> Iterator[Problem]:
    """A2 with no A1: before 1981, USDA descriptions called an E so."""
    if all_.convention != "usda":
        return
    second = all_.any_by_pit(all_.flags(lambda one: one.text == "A2"))
    first = all_.any_by_pit(all_.flags(lambda one: one.master == "A" and one.number != "2"))
    for pit in np.flatnonzero(second & ~first):
        yield all_.pit_problem(
            pit,
            "warning",
            "designation",
            "A2 without another A: before 1981 an E was called A2",
            field="designation",
            remedy="write E if an eluvial horizon is meant; it is read as an A",
        )


def _materials(all_: Profiles) -> Iterator[Problem]:
    numbers = np.array([one.discontinuity for one in all_.designations])[all_.codes]
    known = all_.flags(lambda one: one.known and not one.buried)
    back = all_.same_pit & known & np.append(known[1:], False) & np.append(numbers[1:] < numbers[:-1], False)
    for row in np.flatnonzero(back):
        yield all_.problem(
            row + 1,
            "warning",
            "discontinuity",
            f"{all_.name_of(row + 1)} follows {all_.name_of(row)}: the number of the material goes back",
            field="designation",
            remedy="materials are numbered from the top; correct the numbers",
        )
    first = np.append(True, ~all_.same_pit[:-1])
    over = np.where(first, 1, np.append(1, numbers[:-1]))
    read = all_.flags(lambda one: one.known)
    for row in np.flatnonzero(read & (numbers > over + 1) | (first & read & (numbers > 1))):
        before = "" if first[row] else f" follows {all_.name_of(row - 1)}"
        yield all_.problem(
            row,
            "warning",
            "discontinuity",
            f"{all_.name_of(row)}{before or ' is the first horizon described'}: a material is skipped",
            field="designation",
            allowed="the uppermost material has no number, the next is the second",
            remedy="correct the numbers, or add the horizon that was left out",
        )
