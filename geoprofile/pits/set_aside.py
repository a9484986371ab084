"""Horizons that were read and yet are not used: each row is listed, with the reason why its pit or its copy was not."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from ..problems import Problem

REASONS = ("repeated id", "older visit", "no pit", "repeated", "id")
"""Checks that take a whole pit, or copies of its horizons, out of use."""
PLACE = ["file", "sheet", "row"]


def list_set_aside(read: pd.DataFrame, used: pd.DataFrame, listed: list[Problem]) -> list[Problem]:
    """One problem a pit that lost horizons; it names every row.

    ``read`` and ``used`` are horizons with pit_id and their place in the source; ``listed`` the problems so far. Rows
    that have an error of their own there (no thickness, depths upside down) are left to it.
    """
    there = set(used[PLACE].itertuples(index=False, name=None))
    own = {(problem.file, problem.sheet, problem.row) for problem in listed if problem.severity == "error" and problem.check not in REASONS}
    why = {}
    for problem in listed:
        if problem.check in REASONS and problem.pit_id:
            why.setdefault(problem.pit_id, problem)
    places = list(read[PLACE].itertuples(index=False, name=None))
    lost = read[np.array([place not in there and place not in own for place in places], bool)]
    problems = []
    for (pit_id, file, sheet), rows in lost.groupby(["pit_id", "file", "sheet"], sort=False):
        reason = why.get(pit_id)
        problems.append(Problem(
            reason.severity if reason else "error", "set aside", ("a horizon was" if len(rows) == 1 else f"{len(rows)} horizons were") + " read and not used"
            + (f", because of this problem of the pit: {reason.check}" if reason else ""), pit_id=pit_id, file=file, sheet=sheet, row=int(rows["row"].min()),
            found=f"{'row' if rows['row'].nunique() == 1 else 'rows'} {row_words(rows['row'])}", remedy=reason.remedy if reason else "",
        ))  # fmt: skip
    return problems


def row_words(rows: Iterable[int]) -> str:
    """``2, 5 to 9, 12``: all of them, none left out."""
    spans: list[list[int]] = []
    for row in sorted(set(map(int, rows))):
        if spans and row == spans[-1][1] + 1:
            spans[-1][1] = row
        else:
            spans.append([row, row])
    return ", ".join(f"{first}" if first == last else f"{first} to {last}" for first, last in spans)
