"""The trade's words as data: one TOML file a subject, its source in the header. Read once, when first asked for."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def table(name: str) -> dict:
    """The content of ``tables/<name>.toml``. Callers must not change it.

    Raises KeyError, naming the tables there are, when there is none of that name.
    """
    file = files(__package__) / f"{name}.toml"
    if not file.is_file():
        raise KeyError(f"there is no vocabulary table {name!r}; there are {', '.join(table_names())}")
    return tomllib.loads(file.read_text(encoding="utf-8"))


@cache
def table_names() -> tuple[str, ...]:
    """Names of all tables, sorted."""
    return tuple(sorted(item.name[:-5] for item in files(__package__).iterdir() if item.name.endswith(".toml")))
