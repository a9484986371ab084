"""The survey file: read once, all mistakes reported together."""

from __future__ import annotations

import json
import re
import tomllib
from difflib import get_close_matches
from pathlib import Path
from typing import Literal, get_args

from pydantic import BaseModel, Field, ValidationError

from ..errors import InputError, SettingsError
from .attributes import AttributesSettings
from .base import LayerSource, Settings, files_in
from .naming import NamingSettings
from .pits import PitsSettings
from .publish import PublishSettings
from .run import RunSettings
from .salvage import SalvageSettings
from .sampling import SamplingSettings
from .surfaces import SurfacesSettings
from .survey import GridSettings, SurveySettings
from .terrain import TerrainSettings
from .zones import ZonesSettings

__all__ = ["LayerSource", "Settings", "SurveyFile", "files_in", "load_survey", "mistake", "parse_survey"]


class SurveyFile(Settings):
    """The whole survey file, one model a stage."""

    format: Literal[1] = Field(description="version of the survey file's form: 1")
    survey: SurveySettings
    grid: GridSettings = Field(default_factory=GridSettings)
    pits: PitsSettings = Field(default_factory=PitsSettings)
    attributes: AttributesSettings = Field(default_factory=AttributesSettings)
    naming: NamingSettings = Field(default_factory=NamingSettings)
    terrain: TerrainSettings = Field(default_factory=TerrainSettings)
    surfaces: SurfacesSettings = Field(default_factory=SurfacesSettings)
    zones: ZonesSettings = Field(default_factory=ZonesSettings)
    salvage: SalvageSettings = Field(default_factory=SalvageSettings)
    sampling: SamplingSettings = Field(default_factory=SamplingSettings)
    publish: PublishSettings = Field(default_factory=PublishSettings)
    run: RunSettings = Field(default_factory=RunSettings)


def load_survey(path: Path) -> SurveyFile:
    """Read a survey file (or the ``survey.toml`` of a folder).

    Raises SettingsError with every mistake of the file, InputError when it cannot be read.
    """
    path = Path(path)
    if path.is_dir():
        path = path / "survey.toml"
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise InputError(
            "there is no such survey file", where=str(path),
            remedy="give the path of a survey.toml or of its folder, or start one with: geoprofile new FOLDER",
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            "the survey file cannot be read", where=str(path), found=str(error),
            remedy="give the path of a survey.toml saved as UTF-8, or start one with: geoprofile new FOLDER",
        ) from error
    return parse_survey(text, str(path))


def parse_survey(text: str, where: str = "survey.toml") -> SurveyFile:
    """Parse the text of a survey file; see :func:`load_survey`."""
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError("the survey file is not valid TOML", where=where, found=str(error),
                            remedy="text goes in double quotes, lists in [ ], tables start with [name]") from error
    try:
        return SurveyFile.model_validate(values)
    except ValidationError as error:
        mistakes = [mistake(item, text, where) for item in error.errors()]
    unique = {str(mistake): mistake for mistake in mistakes}
    first, *rest = unique.values()
    raise SettingsError(
        first.what, where=first.where, found=first.found, allowed=first.allowed, remedy=first.remedy, others=tuple(rest)
    )


SHAPES = {
    **dict.fromkeys(("tuple_type", "list_type"), ("a list in [ ]", 'such as ["one", "another"]')),
    **dict.fromkeys(("float_type", "float_parsing"), ("a number", "such as 10 or 2.5, without quotes")),
    **dict.fromkeys(("int_type", "int_parsing", "int_from_float"), ("a whole number", "such as 10, without quotes")),
    **dict.fromkeys(("bool_type", "bool_parsing"), ("true or false", "without quotes")),
    "string_type": ("text", "in double quotes"),
}
"""What belongs where something else stands, by the kind of mistake that the checker of models names."""


def mistake(item: dict, text: str, where: str) -> SettingsError:
    """A mistake as the checker of models gives it, in our words; ``text`` is searched for its line."""
    path = [str(part) for part in item["loc"] if not _is_model_name(part)]
    key = ".".join(path)
    line = _line_of(path, text)
    place = f"{where}, line {line}, {key}" if line else f"{where}, {key}"
    see = "see: geoprofile explain " + key
    match item["type"]:
        case "extra_forbidden":
            names = _names_at(path[:-1])
            near = get_close_matches(path[-1], names, 1, 0.5)
            remedy = f"did you mean {near[0]!r}?" if near else "take it out, or use one of these"
            return SettingsError("there is no such key", where=place, found=path[-1], allowed=", ".join(names), remedy=remedy)
        case "missing":
            return SettingsError("a key is missing", where=place, remedy="add format = 1 as the first line" if key == "format" else f"add {path[-1]} = ...; see: geoprofile explain {key}")
        case "literal_error":
            allowed = item.get("ctx", {}).get("expected", "")
            near = get_close_matches(str(item["input"]), re.findall(r"'([^']+)'", allowed), 1, 0.5)
            return SettingsError(
                "a value is not one of those allowed", where=place, found=repr(item["input"]), allowed=allowed,
                remedy=f"did you mean {near[0]!r}?" if near else "choose one of these",
            )
        case kind if kind.startswith(("model_", "dict_")):
            given = item["input"]
            remedy = f"write {{ file = {json.dumps(given)} }}" if isinstance(given, str) and "file" in _names_at(path) else see
            return SettingsError("a table in { } belongs here", where=place, found=repr(given), allowed=", ".join(_names_at(path)), remedy=remedy)
        case kind if kind in SHAPES:
            what, example = SHAPES[kind]
            return SettingsError(f"{what} belongs here", where=place, found=repr(item["input"]), allowed=example, remedy=see)
        case _:
            what = re.sub(r"^(value error, |input should be )", "", item["msg"][:1].lower() + item["msg"][1:])
            if item["msg"].startswith("Input should be"):
                what = f"the value must be {what}"
            return SettingsError(what, where=place, found=repr(item["input"]), remedy=see)


def _is_model_name(part: object) -> bool:
    # pydantic puts the member of a union ("LayerSource", "str") into the path
    return isinstance(part, str) and (part[:1].isupper() or part in ("str", "float", "int") or part.startswith("tuple["))


def _names_at(path: list[str]) -> list[str]:
    """Valid keys of the table at ``path``."""
    model: object = SurveyFile
    for part in path:
        if not (isinstance(model, type) and issubclass(model, BaseModel)):
            return []
        for name, field in model.model_fields.items():
            if part in (name, field.alias):
                model = _model_in(field.annotation)
                break
        # the name of an entry of a dict of models (for.NAME, new.NAME) leaves the model as it is
    if not (isinstance(model, type) and issubclass(model, BaseModel)):
        return []
    return [field.alias or name for name, field in model.model_fields.items()]


def _model_in(annotation: object) -> object:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in get_args(annotation):
        found = _model_in(part)
        if found is not None:
            return found
    return None


def _line_of(path: list[str], text: str) -> int | None:
    """The line that sets the last named key of ``path``, found by its table heading and its name."""
    heading, found = "", None
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.strip()
        if bare.startswith("["):
            heading = bare.strip("[] ").replace('"', "")
        match = re.match(r'"?([A-Za-z0-9_\-]+)"?\s*=', bare)
        full = [*heading.split("."), match[1]] if match and heading else [match[1]] if match else heading.split(".")
        if full == path[: len(full)] and bare:
            found = number
            if full == path:
                return number
    return found
