"""``geoprofile explain``: what a word, attribute, setting, method or designation means, and where that comes from."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Annotated

import typer

from .shared import JsonOption, print_json, say


def explain(
    word: Annotated[str, typer.Argument(help="A word, attribute, setting (as grid.cell_m), method, check (or checks for all) or designation.")],
    convention: Annotated[str, typer.Option("--convention", help="canadian, usda or wrb, for designations.")] = "canadian",
    as_json: JsonOption = False,
) -> int:
    """Tell what a term, attribute, setting, method or horizon designation means and where it comes from."""
    from ..errors import SettingsError

    wanted = word.strip()
    entries = [
        entry for key, entry in _everything() if key.lower() in (wanted.lower(), wanted.lower().replace(" ", "_"))
    ]
    entries += list(_designation(wanted, convention))
    if not entries:
        names = sorted({key for key, _ in _everything()})
        near = get_close_matches(wanted.lower().replace(" ", "_"), names, 5, 0.4)
        raise SettingsError(
            f"there is nothing called {wanted!r} to explain",
            allowed="an attribute, a setting such as grid.cell_m, a method, a word such as at_least, checks, a designation such as Btnj",
            remedy=("did you mean " + ", ".join(near) + "?") if near else "see: geoprofile commands",
        )
    if as_json:
        print_json({"ok": True, "word": wanted, "entries": entries})
        return 0
    for entry in entries:
        say(f"{entry['name']} ({entry['kind']})", False)
        for label in ("means", "allowed", "default", "source"):
            if entry.get(label):
                say(f"  {label + ':':<9}{entry[label]}", False)
    return 0


def _everything() -> Iterator[tuple[str, dict]]:
    yield from _words()
    yield from _checks()
    yield from _settings()
    yield from _plugins()


def _words() -> Iterator[tuple[str, dict]]:
    from ..vocabulary.tables import table

    for name, entry in table("glossary").items():
        yield name, {"name": name.replace("_", " "), "kind": "word", **entry}


def _checks() -> Iterator[tuple[str, dict]]:
    """Each check of descriptions under its name, and all of them under ``checks``."""
    from ..vocabulary.checks import checks, switchable

    for check in checks():
        entry = {"name": check.name, "kind": f"check of descriptions, {check.severity}", "means": check.looks_at, "source": check.source}
        if check.name in switchable():
            entry["allowed"] = f'switch it off with checks_off = ["{check.name}"] in [pits]'
        yield check.name.replace(" ", "_"), entry
        yield "checks", {name: text for name, text in entry.items() if name != "allowed"}


def _settings() -> Iterator[tuple[str, dict]]:
    from ..settings import SurveyFile
    from .start import keys_of

    for key, field, default in keys_of(SurveyFile):
        entry = {"name": key, "kind": "setting", "means": field.description or "", "default": default}
        yield key, entry
        yield key.rsplit(".", 1)[-1], entry


def _plugins() -> Iterator[tuple[str, dict]]:
    from ..registry import plugins

    for name, plugin in plugins("geoprofile.attributes").loaded.items():
        definition = plugin.definition
        yield name, {
            "name": f"{name}: {definition.title} ({definition.unit})", "kind": "attribute",
            "means": definition.help, "source": definition.source,
        }  # fmt: skip
    for name, plugin in plugins("geoprofile.methods").loaded.items():
        uses = "uses bounds (at least, at most)" if plugin.uses_bounds else "cannot use bounds (at least, at most)"
        help_text = " ".join((plugin.__doc__ or type(plugin).__doc__ or "").strip().split("\n\n")[0].split())
        yield name, {"name": name, "kind": "method", "means": f"{plugin.title}; {uses}. {help_text}"}
    for group, kind, member in (("geoprofile.readers", "reader", "suffixes"), ("geoprofile.writers", "writer", "what")):
        for name, plugin in plugins(group).loaded.items():
            told = getattr(plugin, member)
            yield name, {"name": name, "kind": kind, "means": told if isinstance(told, str) else "reads " + ", ".join(told)}


def _designation(text: str, convention: str) -> Iterator[dict]:
    from ..vocabulary.designations import parse_designation

    if not text[:1].isupper() and not text[:1].isdigit():
        return
    parsed = parse_designation(text, convention)
    if not parsed.known:
        return
    from ..attributes.explain import explain_designation

    yield {"name": parsed.text, "kind": f"horizon designation, {convention} convention",
           "means": explain_designation(text, convention)}  # fmt: skip
