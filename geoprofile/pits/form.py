"""What the form for typing in the field asks for: sheets, columns and lists of words of a convention.

The columns are data (``vocabulary/tables/form.toml``); ``form_workbook.py`` draws them. The row of example of a
form carries ``EXAMPLE`` where an id belongs, and readers leave it out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..vocabulary.tables import table
from ..vocabulary.terms import terms
from .columns import known_fields
from .readers.raw import RawTable

EXAMPLE = "EXAMPLE, not read"
"""Stands in the column of ids in a form's row of example."""


@dataclass(frozen=True)
class Asked:
    """A column of the form. ``choices`` are offered as a list; ``strict`` refuses anything else on typing."""

    field: str
    heading: str
    width: float
    kind: str
    prompt: str
    example: str
    choices: tuple[str, ...] = ()
    list_name: str = ""
    strict: bool = False
    needed: bool = False
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True)
class Sheet:
    name: str
    says: str
    rows: int
    """Ruled rows, for printing; typing may go on below."""
    columns: tuple[Asked, ...]


def form_sheets(convention: str) -> tuple[Sheet, ...]:
    """The sheets of the form with the words of a convention."""
    asked = table("form")
    return tuple(
        Sheet(sheet["name"], sheet["says"], sheet["rows"], tuple(
            _asked(name, entry, convention) for name, entry in asked["fields"].items() if sheet["name"] in entry["sheets"]))
        for sheet in asked["sheets"]
    )  # fmt: skip


def _asked(name: str, entry: dict, convention: str) -> Asked:
    field = entry.get("field", name)
    kind = entry.get("terms", "")
    choices = choices_of(kind, convention, plain=entry.get("plain", False), coded_only=entry.get("coded_only", False)) if kind else ()
    example = EXAMPLE if known_fields()[field].kind == "id" else entry.get(f"example_{convention}", entry["example"])
    return Asked(field, entry["heading"], entry["width"], entry.get("kind", "text"), entry["prompt"], example, choices,
                 kind, entry.get("strict", False), entry.get("needed", False), entry.get("least"), entry.get("most"))  # fmt: skip


def choices_of(kind: str, convention: str, *, plain: bool = False, coded_only: bool = False) -> tuple[str, ...]:
    """Words of a kind as the form offers them: ``silt loam (SiL)``; ``plain`` leaves the code out."""
    return tuple(
        term.name if plain or not term.code else f"{term.name} ({term.code})"
        for term in terms(kind, convention) if term.code or not coded_only
    )  # fmt: skip


def without_example(raw: RawTable) -> RawTable:
    """The table without the form's row of example, and a note of it."""
    is_example = (raw.cells == EXAMPLE).any(axis=1).to_numpy()
    if not is_example.any():
        return raw
    kept = ~is_example
    moved = kept.cumsum() - 1
    return replace(
        raw, cells=raw.cells[kept].reset_index(drop=True), rows=raw.rows[kept],
        geometry=None if raw.geometry is None else raw.geometry[kept].reset_index(drop=True),
        dates=frozenset((int(moved[position]), heading) for position, heading in raw.dates if kept[position]),
        faults=tuple(replace(fault, position=int(moved[fault.position])) for fault in raw.faults if kept[fault.position]),
        notes=(*raw.notes, f"{'sheet ' + raw.sheet + ', ' if raw.sheet else ''}row {raw.rows[is_example][0]}: the form's example, not read"),
    )  # fmt: skip
