"""What all settings models share: frozen, strict about names, paths listed."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel, ConfigDict, Field, field_validator

from ..errors import InputError


class Settings(BaseModel):
    """One table of the survey file. Unknown keys are mistakes; values do not change."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    @field_validator("*", mode="after")
    @classmethod
    def _no_null_character(cls, value: object) -> object:
        texts = value if isinstance(value, (tuple, list)) else (value,)
        if any(isinstance(text, str) and "\0" in text for text in texts):
            raise ValueError("text holds the null character, which no name and no path can have")
        return value


class LayerSource(Settings):
    """A layer of a file: ``{ file = "lines.gpkg", layer = "parent_material" }``."""

    file: str = Field(description="path, relative to the survey file")
    layer: str | None = Field(None, description="layer, where the file holds more than one")
    id: str | None = Field(None, description="column that names each feature")


def files_in(settings: object, prefix: str = "") -> Iterator[tuple[str, str]]:
    """(key, path) of every file that a settings model names, in order.

    A file field is called ``file`` or is marked with ``json_schema_extra={"is_file": True}``.
    """
    if isinstance(settings, Settings):
        for name, field in type(settings).model_fields.items():
            value = getattr(settings, name)
            key = f"{prefix}.{name}" if prefix else name
            marked = isinstance(field.json_schema_extra, dict) and field.json_schema_extra.get("is_file")
            if isinstance(value, str) and (name == "file" or marked):
                yield key, value
            elif marked and isinstance(value, tuple):
                yield from ((f"{key}[{number}]", file) for number, file in enumerate(value, start=1))
            elif isinstance(value, (Settings, dict, tuple, list)):
                yield from files_in(value, key)
    elif isinstance(settings, dict):
        for name, value in settings.items():
            yield from files_in(value, f"{prefix}.{name}")
    elif isinstance(settings, (tuple, list)):
        for number, value in enumerate(settings, start=1):
            yield from files_in(value, f"{prefix}[{number}]")


def require(value: object, key: str, why: str) -> None:
    """Refuse to start a stage whose section lacks what it needs."""
    if value in (None, "", (), {}):
        raise InputError(f"the survey file does not say {key}", where=key, remedy=why)
