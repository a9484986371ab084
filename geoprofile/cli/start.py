"""``geoprofile new``: a survey file with every key explained, and a form for pits."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import Annotated, get_args, get_origin

import typer

from .shapes import allowed_values, placeholder, table_fields, words_of
from .shared import JsonOption, print_json, say

SET_AT_START = {
    "survey.name": "My survey",
    "survey.crs": "EPSG:0000",
    "pits.pits": {"file": "pits.xlsx", "sheet": "pits"},
    "pits.horizons": {"file": "pits.xlsx", "sheet": "horizons"},
    "pits.inspections": {"file": "pits.xlsx", "sheet": "inspections"},
    "pits.depth_unit": "cm",
}


class Convention(StrEnum):
    """By which horizons are named and words are read."""

    canadian = "canadian"
    usda = "usda"
    wrb = "wrb"


def new(
    folder: Annotated[Path, typer.Argument(help="Folder to start the survey in; made when it is not there.", show_default=False)],
    convention: Annotated[Convention, typer.Option("--convention", help="Whose horizon letters and words the survey uses.")] = Convention.canadian,
    as_json: JsonOption = False,
) -> int:
    """Start a survey: survey.toml with every key explained, and pits.xlsx, a form to type into or to print."""
    from ..errors import OutputError, writing
    from ..outputs.workbook import without_clock
    from ..pits.form_workbook import form_bytes

    survey, form = folder / "survey.toml", folder / "pits.xlsx"
    for path in (survey, form):
        if path.exists():
            raise OutputError("the folder already holds a survey", where=str(path),
                              remedy="choose another folder; nothing was changed")  # fmt: skip
    content = without_clock(form_bytes(convention.value))
    with writing(folder):
        folder.mkdir(parents=True, exist_ok=True)
        survey.write_text(survey_text(convention.value), encoding="utf-8")
        form.write_bytes(content)
    say(f"{survey}: set survey.crs to the system of your maps\n{form}: the form, in the words of the {convention.value} convention; "
        f"write on its sheets pits, horizons and inspections\nthen: geoprofile check {folder}", as_json)  # fmt: skip
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


def keys_of_named(model: type, prefix: str = "") -> Iterator[tuple[str, object, str]]:
    """The same for tables that the surveyor names, as ``attributes.new.NAME.kind``."""
    from pydantic import BaseModel

    for name, field in model.model_fields.items():
        key = f"{prefix}{field.alias or name}"
        annotation = field.annotation
        parts = get_args(annotation) if get_origin(annotation) is dict else ()
        if parts and isinstance(parts[1], type) and issubclass(parts[1], BaseModel):
            yield from keys_of(parts[1], f"{key}.NAME.")
        elif isinstance(annotation, type) and issubclass(annotation, BaseModel) and not _is_source(annotation):
            yield from keys_of_named(annotation, key + ".")


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


def own_table(annotation: object) -> dict[str, object]:
    """Key -> field of a table that is more than the place of a file."""
    found = table_fields(annotation)
    return {} if "file" in found else found


def _choices(field) -> str:
    """The words that a key may have, where its help does not name them all."""
    words = words_of(field.annotation)
    told = set(re.findall(r"\w+", field.description or ""))
    return "" if told.issuperset(words) else f"; {allowed_values(field.annotation)}"


def survey_text(convention: str = "canadian") -> str:
    """The text of a fresh survey.toml: every key with its help; defaults are commented out."""
    from ..settings import SurveyFile

    at_start = {**SET_AT_START, "survey.convention": convention}
    lines = ["# Survey file of geoprofile. Paths are relative to this file.", "format = 1"]
    section = None
    named: dict[str, list[str]] = {}
    for key, field, default in keys_of_named(SurveyFile):
        table, _, name = key.rpartition(".")
        named.setdefault(table.removesuffix(".NAME"), []).append(
            f"#   {name}: {field.description or ''}" + (f" [{default}]" if default else ""))
    for key, field, default in keys_of(SurveyFile):
        table, _, name = key.rpartition(".")
        if key == "format":
            continue
        if table != section:
            lines += ["", f"[{table}]"]
            section = table
        if field.description:
            lines.append(f"# {field.description}" + _choices(field))
        if key in named:
            lines += [f"# a table of its own, [{key}.NAME], with:", *named[key]]
        elif key in at_start:
            lines.append(f"{name} = {_toml(at_start[key])}")
        else:
            lines += [f"#   {inner}: {told.description or ''}{_choices(told)}" for inner, told in own_table(field.annotation).items()]
            lines.append(f"# {name} = {default or placeholder(field.annotation)}")
    return "\n".join(lines) + "\n"
