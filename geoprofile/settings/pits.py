"""[pits]: where the descriptions are and how they are written."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Literal

from pydantic import Field, field_validator

from ..vocabulary.checks import switchable
from .base import Settings


class TableSource(Settings):
    """A table: ``{ file = "pits.xlsx", sheet = "horizons" }``."""

    file: str = Field(description="path, relative to the survey file")
    sheet: str | None = Field(None, description="sheet of a workbook, or layer of a vector file")
    header_row: int = Field(1, ge=1, description="row of the headings, 1 = first line")
    reader: str | None = Field(None, description="reader of this table; left out = by the file's ending")


class PointsSource(Settings):
    """Points: ``{ file = "waypoints.gpx", id = "name", accuracy_m = 4 }``."""

    file: str = Field(description="path, relative to the survey file")
    layer: str | None = Field(None, description="layer, where the file holds more than one")
    sheet: str | None = Field(None, description="sheet of a workbook")
    id: str | None = Field(None, description="column that holds the pit id")
    accuracy_m: float | None = Field(None, ge=0, description="accuracy of the positions, m")
    crs: str | None = Field(None, description="system of the coordinates where the file does not say")
    reader: str | None = Field(None, description="reader of the points; left out = by the file's ending")


class PitsColumns(Settings):
    """[pits.columns.X]: our name = their heading (or several headings: probes of one reading)."""

    points: dict[str, str | tuple[str, ...]] = Field(default_factory=dict, description="columns of the points table: our name = their heading, in quotes")
    pits: dict[str, str | tuple[str, ...]] = Field(default_factory=dict, description="columns of the pits table: our name = their heading, in quotes")
    horizons: dict[str, str | tuple[str, ...]] = Field(default_factory=dict, description="columns of the horizons table: our name = their heading, in quotes")
    inspections: dict[str, str | tuple[str, ...]] = Field(
        default_factory=dict, description="columns of the inspections table: our name = their heading, in quotes; several headings are several probes"
    )


class PitsSettings(Settings):
    """[pits]"""

    points: PointsSource | None = Field(None, description="coordinates, when not in the pits table")
    pits: TableSource | None = Field(None, description="one row a pit")
    horizons: TableSource | None = Field(None, description="one row a horizon")
    inspections: TableSource | None = Field(None, description="one line a place: direct readings")
    notes: TableSource | None = Field(None, description="field notes as written or dictated: several pits a file, one entry a horizon")
    reader: str | None = Field(None, description="reader of all tables but the points; left out = by the file's ending")
    crs: str | None = Field(None, description="system of coordinates in the tables; needed when no column says it")
    depth_unit: Literal["cm", "m", "in"] | None = Field(
        None, description="unit of depths; a heading or cell that names another unit is a conflict"
    )
    units: dict[str, str] = Field(
        default_factory=dict, description='unit of other columns whose heading does not say it: our name = unit, as clay = "g/kg"'
    )
    organic_layers: Literal["counted_up", "counted_down", "signed", "detect"] = Field(
        "detect", description="how depths of organic layers above the mineral soil are written"
    )
    missing: tuple[str, ...] = Field(
        ("", "n/a"), description="what stands for not recorded; nothing else does"
    )
    missing_for: dict[str, tuple[str, ...]] = Field(
        default_factory=dict, description="the same for single columns: our name = words; overrides missing there"
    )
    same_place_m: float = Field(2.0, ge=0, description="pits closer together than this are taken as visits to one place")
    visits: Literal["latest", "all", "error"] = Field(
        "latest",
        description="what counts where a place was visited twice; latest: of copies that dates do not order, the fuller description",
    )
    date_order: Literal["day_first", "month_first"] | None = Field(
        None, description="needed when dates are ambiguous"
    )
    checks_off: tuple[str, ...] = Field((), description="checks of descriptions that are switched off, by name: see geoprofile explain checks")
    columns: PitsColumns = Field(default_factory=PitsColumns)

    @field_validator("checks_off")
    @classmethod
    def _known_checks(cls, names: tuple[str, ...]) -> tuple[str, ...]:
        for name in names:
            if name not in switchable():
                near = get_close_matches(name, switchable(), 3, 0.5)
                raise ValueError(f"{name!r} is no check that can be switched off; " + (f"did you mean {', '.join(near)}?" if near else "see: geoprofile explain checks"))
        return names
