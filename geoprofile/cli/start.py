"""``geoprofile new``: a survey file with every key explained, and a blank form for pits."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from .shared import JsonOption, print_json, say

SET_AT_START = {
    "survey.name": "My survey",
    "survey.crs": "EPSG:0000",
    "pits.pits": {"file": "pits.xlsx", "sheet": "pits"},
    "pits.horizons": {"file": "pits.xlsx", "sheet": "horizons"},
    "pits.depth_unit": "cm",
}
FORM = {
    "pits": (
        "pit_id", "kind", "date", "longitude", "latitude", "position_accuracy_m", "observed_to_cm", "stopped_by",
        "acid_to_cm", "slope_percent", "slope_position", "drainage", "stoniness", "parent_material", "land_use",
        "recorded_soil", "map_unit", "surveyor", "photos", "remarks",
    ),
    "horizons": (
        "pit_id", "designation", "upper_cm", "lower_cm", "colour_moist", "colour_dry", "texture", "sand_percent",
        "silt_percent", "clay_percent", "coarse_fragments_percent", "structure_grade", "structure_size",
        "structure_kind", "consistence", "effervescence", "mottles", "mottle_contrast", "boundary_distinctness",
        "boundary_form", "roots", "remarks",
    ),
}  # fmt: skip


def new(
    folder: Annotated[Path, typer.Argument(help="Folder to start the survey in; made when it is not there.", show_default=False)],
    as_json: JsonOption = False,
) -> int:
    """Start a survey: survey.toml with every key explained, and a blank form pits.xlsx."""
    from ..errors import OutputError

    survey, form = folder / "survey.toml", folder / "pits.xlsx"
    for path in (survey, form):
        if path.exists():
            raise OutputError("the folder already holds a survey", where=str(path),
                              remedy="choose another folder; nothing was changed")  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    survey.write_text(survey_text(), encoding="utf-8")
    _write_form(form)
    say(f"{survey}: set survey.crs, then fill in what you have\n{form}: one row a pit, one row a horizon", as_json)
    if as_json:
        print_json({"ok": True, "command": "new", "files": [str(survey), str(form)]})
    return 0


def keys_of(model: type, prefix: str = "") -> Iterator[tuple[str, object, str]]:
    """(key, field, default as TOML or '') of every key of the survey file, tables resolved."""
    from pydantic import BaseModel

    for name, field in model.model_fields.items():
        key = f"{prefix}{field.alias or name}"
        annotation = field.annotation
        if isinstance(annotation, type) and issubclass(annotation, BaseModel) and not _is_source(annotation):
            yield from keys_of(annotation, key + ".")
        else:
            default = None if field.is_required() else field.get_default(call_default_factory=True)
            yield key, field, "" if default in (None, {}, ()) else _toml(default)


def _is_source(annotation: type) -> bool:
    return "file" in getattr(annotation, "model_fields", {})


def _toml(value: object) -> str:
    if hasattr(value, "model_dump"):
        value = value.model_dump(exclude_none=True)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, (tuple, list)):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    return json.dumps(value, ensure_ascii=False)


def survey_text() -> str:
    """The text of a fresh survey.toml: every key with its help; defaults are commented out."""
    from ..settings import SurveyFile

    lines = ["# Survey file of geoprofile. Paths are relative to this file.", "format = 1"]
    section = None
    for key, field, default in keys_of(SurveyFile):
        table, _, name = key.rpartition(".")
        if key == "format":
            continue
        if table != section:
            lines += ["", f"[{table}]"]
            section = table
        lines.append(f"# {field.description or ''}".rstrip())
        if key in SET_AT_START:
            lines.append(f"{name} = {_toml(SET_AT_START[key])}")
        else:
            lines.append(f"# {name} = {default or '...'}")
    return "\n".join(lines) + "\n"


def _write_form(path: Path) -> None:
    import openpyxl
    from openpyxl.styles import Alignment, Font

    from ..products import HORIZON_COLUMNS, PIT_COLUMNS

    book = openpyxl.Workbook()
    book.remove(book.active)
    for sheet_name, columns in FORM.items():
        sheet = book.create_sheet(sheet_name)
        sheet.append(list(columns))
        known = {**PIT_COLUMNS, **HORIZON_COLUMNS, "longitude": ("number", "degrees, WGS84"), "latitude": ("number", "degrees, WGS84")}
        for cell in sheet[1]:
            cell.font = Font(bold=True)
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            sheet.column_dimensions[cell.column_letter].width = max(12, len(cell.value) + 2)
            from openpyxl.comments import Comment

            cell.comment = Comment(known[cell.value][1], "geoprofile")
        sheet.freeze_panes = "B2"
    book.save(path)
