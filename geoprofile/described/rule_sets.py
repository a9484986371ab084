"""How a value says which topsoil rule set it rests on: the title for people, the key for the survey file."""

from __future__ import annotations

from collections.abc import Iterable

_OPENING = "rule set "


def rule_set_words(key: str, title: str) -> str:
    """``rule set A and E horizons (a_and_e)``: the evidence of a thickness of topsoil."""
    return f"{_OPENING}{title} ({key})"


def rule_set_title(key: str, evidence: Iterable[str]) -> str:
    """The title of the rule set ``key`` where one of the texts was written under it; empty where none was."""
    ending = f" ({key})"
    found = (text for text in evidence if text.startswith(_OPENING) and text.endswith(ending))
    return next((text[len(_OPENING) : -len(ending)] for text in found), "")
