"""``geoprofile explain``: what a word, attribute, setting, method or designation means, and where that comes from."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Iterator
from difflib import get_close_matches
from itertools import chain
from typing import Annotated

import typer

from .explain_trade import (
    colour_entries,
    column_entries,
    glossary_entries,
    terrain_entries,
    trade_entries,
    words_of,
)
from .shared import JsonOption, print_json, say

LABELS = ("letters", "means", "limits", "words", "headings", "allowed", "default", "also", "source")
"""What is told of a word, in this order."""
INDENT = 12


def explain(
    word: Annotated[list[str], typer.Argument(help="What to explain, a term of several words or several of them: a word of the trade, code, attribute, setting (as grid.cell_m), method, check (or checks for all), designation or letter of one.")],
    convention: Annotated[str, typer.Option("--convention", help="canadian, usda or wrb: whose letters, words and codes.")] = "canadian",
    as_json: JsonOption = False,
) -> int:
    """Tell what a term, attribute, setting, method or horizon designation means and where it comes from."""
    from ..errors import SettingsError

    wanted = " ".join(" ".join(word).split())
    known = list(_everything())
    keys = _keys(wanted)
    entries = _entries(wanted, known, convention)
    words = wanted.split()
    if not entries and len(words) > 1:  # no term of several words: several words, if each of them is known
        each = [_entries(one, known, convention) for one in words]
        entries = list(chain(*each)) if all(each) else []
    entries = [_finished(entry, convention) for number, entry in enumerate(entries) if entry not in entries[:number]]
    if not entries:
        near = _near(keys[0], [key for key, _ in known])
        raise SettingsError(
            f"there is nothing called {wanted!r} to explain",
            allowed="an attribute, a setting such as grid.cell_m, a method, a word such as at_least or mottles, a term or code such as sbk, checks, "
            "a designation such as Btnj or a letter of one such as ca",
            remedy=("did you mean " + ", ".join(near) + "?") if near else "see: geoprofile commands",
        )
    see = _with_word(keys[0], sorted({key for key, entry in known if entry["kind"] not in ("word", "method") or key == entry["name"].lower().replace(" ", "_")}))
    if as_json:
        print_json({"ok": True, "word": wanted, "entries": entries, "see": see})
        return 0
    for entry in entries:
        say(f"{entry['name']} ({entry['kind']})", False)
        for label in LABELS:
            if entry.get(label):
                say(f"  {label + ':':<{INDENT - 2}}{_wrapped(entry[label])}", False)
    if see:
        say(f"see also: {', '.join(see)}", False)
    return 0


def _entries(wanted: str, known: list[tuple[str, dict]], convention: str) -> list[dict]:
    """All that is told of one term; letters and words of another convention where its own has none."""
    from ..vocabulary.conventions import CONVENTIONS

    keys = _keys(wanted)
    entries = [entry for key, entry in known if key.lower() in keys]
    entries += [*trade_entries(wanted, convention), *colour_entries(wanted)]
    return entries or [entry for other in CONVENTIONS if other != convention for entry in trade_entries(wanted, other)]


def _keys(word: str) -> tuple[str, ...]:
    """The word as a key, and its singular or plural."""
    key = word.lower().replace(" ", "_")
    return (key, key[:-1]) if key.endswith("s") else (key, key + "s")


def _with_word(key: str, names: list[str]) -> list[str]:
    """Names that have the word as one of theirs: solum -> solum_thickness, bc_in_solum."""
    return [name for name in names if key in name.replace(".", "_").split("_") and name.lower() != key and "." not in name][:6] if len(key) > 2 else []


def _near(key: str, names: list[str]) -> list[str]:
    """Names that share most words with an unknown one, else those that are spelled like it."""
    words = {form for part in key.split("_") if len(part) > 2 for form in (part, part + "s", part.removesuffix("s"))}
    names = sorted(set(names))
    shared = {name: len(words & set(name.lower().split("_"))) for name in names}
    most = max(shared.values(), default=0)
    return ([name for name in names if shared[name] == most][:5] if most else []) or get_close_matches(key, names, 5, 0.6)


def _finished(entry: dict, convention: str) -> dict:
    """The entry as it is told: words of its terms in the convention, and without what is empty."""
    kinds = entry.get("terms", ())
    told = {key: text for key, text in entry.items() if key != "terms" and text}
    return {**told, "words": words_of(kinds, convention)} if kinds else told


def _wrapped(text: str) -> str:
    """Long lines broken between words on a terminal; one line elsewhere, so that it can be searched."""
    if not sys.stdout.isatty():
        return text
    width = min(max(shutil.get_terminal_size().columns, 60), 110)
    return textwrap.fill(text, width, initial_indent=" " * INDENT, subsequent_indent=" " * INDENT).lstrip()


def _everything() -> Iterator[tuple[str, dict]]:
    yield from glossary_entries()
    yield from terrain_entries()
    yield from _checks()
    yield from _topsoil_rules()
    yield from _settings()
    yield from _plugins()
    yield from column_entries()


def _checks() -> Iterator[tuple[str, dict]]:
    """Each check of descriptions under its name, and all of them under ``checks``."""
    from ..vocabulary.checks import checks, switchable

    for check in checks():
        entry = {"name": check.name, "kind": f"check of descriptions, {check.severity}", "means": check.looks_at, "source": check.source}
        if check.name in switchable():
            entry["allowed"] = f'switch it off with checks_off = ["{check.name}"] in [pits]'
        yield check.name.replace(" ", "_"), entry
        yield "checks", {name: text for name, text in entry.items() if name != "allowed"}


def _topsoil_rules() -> Iterator[tuple[str, dict]]:
    """Each rule set of what counts as topsoil, and all of them under the keys that name one."""
    from ..attributes.topsoil_rules import topsoil_rules

    for rule in topsoil_rules().values():
        entry = {"name": f"{rule.name}: {rule.title}", "kind": "rule set of topsoil", "means": rule.help, "source": rule.source,
                 "limits": "A permit may say otherwise, and then the permit holds. Use it with [attributes] topsoil_rule or [salvage] rule."}  # fmt: skip
        for key in (rule.name, "rule_set", "topsoil_rule", "attributes.topsoil_rule", "salvage.rule"):
            yield key, entry


def _settings() -> Iterator[tuple[str, dict]]:
    from typing import get_origin

    from ..settings import SurveyFile
    from .shapes import allowed_values, table_fields
    from .shapes import words_of as words_of_a_setting
    from .start import keys_of, keys_of_named

    sections: dict[str, list[str]] = {}
    for key, field, _ in keys_of(SurveyFile):
        for inner, inner_field in table_fields(field.annotation).items():
            yield f"{key}.{inner}", {"name": f"{key}.{inner}", "kind": "setting", "means": inner_field.description or "",
                                     "allowed": allowed_values(inner_field.annotation)}  # fmt: skip
    for key, field, default in chain(keys_of(SurveyFile), keys_of_named(SurveyFile)):
        entry = {"name": key, "kind": "setting", "means": field.description or "", "allowed": allowed_values(field.annotation), "default": default}
        yield key, entry
        yield key.rsplit(".", 1)[-1], entry
        if ".NAME." not in key and get_origin(field.annotation) is not tuple:  # rasters that can be asked for are told as such
            yield from ((word, entry) for word in words_of_a_setting(field.annotation) if len(word) > 4)
        section = key.rpartition(".")[0]
        sections.setdefault(section, []).append(key.rpartition(".")[2])
    for section, keys in sections.items():
        if section and "." not in section:
            yield section, {"name": f"[{section}]", "kind": "section of the survey file", "means": "Keys: " + ", ".join(keys) + ".",
                            "allowed": f"geoprofile explain {section}.{keys[0]} tells of one key"}  # fmt: skip


def _plugins() -> Iterator[tuple[str, dict]]:
    from ..registry import plugins
    from ..vocabulary.tables import table

    for name, plugin in plugins("geoprofile.attributes").loaded.items():
        definition = plugin.definition
        yield name, {
            "name": f"{name}: {definition.title} ({definition.unit})", "kind": "attribute",
            "means": definition.help, "limits": table("attribute_limits").get(name, ""), "source": definition.source,
        }  # fmt: skip
    for name, plugin in plugins("geoprofile.methods").loaded.items():
        uses = "uses bounds (at least, at most)" if plugin.uses_bounds else "cannot use bounds (at least, at most)"
        help_text = " ".join((plugin.__doc__ or type(plugin).__doc__ or "").strip().split("\n\n")[0].split())
        for key in (name, plugin.title.replace(" ", "_")):  # under the title that a run prints, too
            yield key, {"name": name, "kind": "method", "means": f"{plugin.title}; {uses}. {help_text}"}
    for group, kind, member in (("geoprofile.readers", "reader", "suffixes"), ("geoprofile.writers", "writer", "what")):
        for name, plugin in plugins(group).loaded.items():
            told = getattr(plugin, member)
            yield name, {"name": name, "kind": kind, "means": told if isinstance(told, str) else "reads " + ", ".join(told)}
