"""How the value of a key of the survey file is written, told from the type that the settings give it."""

from __future__ import annotations

import json
from typing import Literal, get_args, get_origin


def allowed_values(annotation: object) -> str:
    """What may stand behind the equals sign, in words: ``"all", "latest" or "error"``, ``a list of numbers``."""
    words = words_of(annotation)
    if words:
        return ("a list of " if _list_in(annotation) is not None else "") + _listed(words)
    keys = table_fields(annotation)
    if keys:
        return "a table { } of the keys " + ", ".join(keys) + f", as {placeholder(annotation)}"
    kinds = [kind for kind in map(_plain, _members(annotation)) if kind]
    return " or ".join(dict.fromkeys(kinds))


def words_of(annotation: object) -> tuple[str, ...]:
    """The words of which a value is one, or a list made of them; empty where it is free."""
    for part in _members(annotation):
        if get_origin(part) is Literal:
            return tuple(str(word) for word in get_args(part))
        if get_origin(part) is tuple and get_args(part) and get_origin(get_args(part)[0]) is Literal:
            return tuple(str(word) for word in get_args(get_args(part)[0]))
    return ()


def table_fields(annotation: object) -> dict[str, object]:
    """Key -> field of a table that stands as a value, as file, layer and id; empty where the value is no table."""
    from pydantic import BaseModel

    for part in _members(annotation):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return {field.alias or name: field for name, field in part.model_fields.items()}
    return {}


def placeholder(annotation: object) -> str:
    """What stands for a value that has no default in a fresh survey file."""
    keys = tuple(table_fields(annotation))
    if keys:
        return f'{{ {keys[0]} = "..." }}'
    if get_origin(annotation) is dict:
        return "{ NAME = ... }"
    return "[...]" if _list_in(annotation) is not None and len(_members(annotation)) == 1 else "..."


def _members(annotation: object) -> tuple[object, ...]:
    """The types of which a value may be one, nothing left out."""
    if get_origin(annotation) in (dict, tuple, Literal) or not get_args(annotation):
        return (annotation,)
    return tuple(part for part in get_args(annotation) if part is not type(None))


def _list_in(annotation: object) -> object:
    return next((part for part in _members(annotation) if get_origin(part) is tuple), None)


def _plain(part: object) -> str:
    if get_origin(part) is tuple:
        inside = _plain(get_args(part)[0])
        return f"a list of {inside.removeprefix('a ').removeprefix('one ')}s" if inside in ("a number", "a whole number") else "a list of texts"
    if get_origin(part) is dict:
        return "a table { } of names and values"
    return {bool: "true or false", int: "a whole number", float: "a number", str: "a text"}.get(part, "")


def _listed(words: tuple[str, ...]) -> str:
    quoted = [json.dumps(word) for word in words]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + " or " + quoted[-1]
