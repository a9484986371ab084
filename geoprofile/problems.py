"""A problem: one fault in the material, listed once, with its place and what to do.

Problems never stop a run; good rows go on. They travel in the products and end
in problems.csv and in the GeoPackage.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields

import pandas as pd

SEVERITIES = ("error", "warning", "note")
"""error: the row or value was not used. warning: used, but look at it. note: read as stated."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault. ``check`` is a short plain name of the check that found it, such as ``overlap``."""

    severity: str
    check: str
    what: str
    pit_id: str = ""
    file: str = ""
    sheet: str = ""
    row: int | None = None
    field: str = ""
    found: str = ""
    allowed: str = ""
    remedy: str = ""

    def __post_init__(self) -> None:
        if self.severity not in SEVERITIES:
            raise ValueError(f"severity {self.severity!r} is none of {SEVERITIES}")

    @property
    def where(self) -> str:
        parts = [self.file]
        if self.sheet:
            parts.append(f"sheet {self.sheet}")
        if self.row is not None:
            parts.append(f"row {self.row}")
        return ", ".join(part for part in parts if part)


def counted(number: int, thing: str, many: str = "") -> str:
    """A number with its thing, as messages say it: 1 pit, 2 pits; ``many`` where the plural is not a mere s."""
    return f"{number} {thing}" if number == 1 else f"{number} {many or thing + 's'}"


PROBLEM_COLUMNS = tuple(field.name for field in fields(Problem))


def problems_frame(problems: Iterable[Problem]) -> pd.DataFrame:
    """Problems as a table with the columns of :class:`Problem`, duplicates removed, order kept."""
    unique = list(dict.fromkeys(problems))
    frame = pd.DataFrame([asdict(problem) for problem in unique], columns=list(PROBLEM_COLUMNS))
    frame["row"] = frame["row"].astype("Int64")
    for name in PROBLEM_COLUMNS:
        if name != "row":
            frame[name] = frame[name].astype("str")
    return frame


def problems_of(frame: pd.DataFrame) -> list[Problem]:
    """The inverse of :func:`problems_frame`."""
    rows = frame.to_dict("records")
    return [Problem(**{**row, "row": None if pd.isna(row["row"]) else int(row["row"])}) for row in rows]
