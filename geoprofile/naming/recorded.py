"""The surveyor's name read against the key: which class it means, and where the record leaves it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from .key import Key, SoilClass, key_of
from .logic import RATHER
from .walk import Walk

AGREES = "agrees"
SPELLINGS = (("chernozemic", "chernozem"), ("grey", "gray"), ("luvisolic", "luvisol"), ("vertisolic", "vertisol"))
"""Older and adjective forms of a class in a surveyor's name, tried where the name as written is in no key."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """A surveyor's name: the classes it names, from the order down as far as it goes; ``rest`` the words left over."""

    classes: tuple[SoilClass, ...]
    rest: str = ""


@lru_cache(maxsize=4096)
def read_recorded(text: str, system: str) -> Recorded | None:
    """The classes a name or published code (O.BLC) means; None where the key has no such name."""
    key = key_of(system)
    forms = [_plain(text)]
    for old, new in SPELLINGS:
        forms.append(re.sub(rf"\b{old}\b", new, forms[-1]))
    hits = [
        (len(path), len(name), -number, form, name)
        for number, form in enumerate(dict.fromkeys(forms))
        for name, path in _names(key).items()
        if name in form and re.search(rf"(?<!\w){re.escape(name)}(?!\w)", form)
    ]
    if not hits:
        return None
    *_, form, name = max(hits)
    return Recorded(_names(key)[name], " ".join(form.replace(name, " ").split()))


def _plain(text: object) -> str:
    """Small letters and single spaces; a hyphen is a space."""
    return " ".join(re.sub(r"[^\w. ]", " ", str(text)).casefold().split())


@cache
def _names(key: Key) -> dict[str, tuple[SoilClass, ...]]:
    found: dict[str, tuple[SoilClass, ...]] = {}
    for order in key.orders:
        found[_plain(order.name)] = (order,)
        for group in order.members:
            found[_plain(group.name)] = (order, group)
            for sub in group.members:
                path = (order, group, sub) if sub.name != group.name else (order, group)
                found[_plain(sub.name)] = path
                if sub.code:
                    found[_plain(f"{sub.code}.{group.code}")] = path
    return found


def compare(recorded: Recorded | None, text: str, walk: Walk) -> tuple[str, str]:
    """(agreement, why) of the surveyor's name and the walk."""
    if not text:
        return "", ""
    if recorded is None:
        return "not compared", "the key has no such name"
    wanted = tuple(one.name for one in recorded.classes)
    depth = len(wanted)
    leads = [one.names for one in walk.leads]
    matches = [names for names in leads if names[:depth] == wanted]
    level = recorded.classes[-1].level
    if matches:
        said = AGREES if depth == 3 else f"agrees at {level}"
        if len({names[:depth] for names in leads}) > 1:
            return f"{said}, first with others", ""
        return said, "" if depth == 3 else f"the surveyor names the {level} only"
    if any(one.names[:depth] == wanted for one in walk.alternatives):
        return "among the alternatives", _against(recorded, walk)
    for part in range(depth - 1, 0, -1):
        if any(names[:part] == wanted[:part] for names in leads):
            level = recorded.classes[part - 1].level
            return f"agrees at {level}", _against(recorded, walk)
    return "differs", _against(recorded, walk)


def _against(recorded: Recorded, walk: Walk) -> str:
    """The step at which the record leaves the surveyor's name."""
    if not walk.orders:
        return ""
    level = walk.orders
    for wanted in recorded.classes:
        tested = next((one for one in level if one.soil_class.name == wanted.name), None)
        if tested is None:
            before = level[-1]
            return f"{before.soil_class.name} comes before {wanted.name} in the key and holds: {before.judged.answer.says}"
        answer = tested.judged.answer
        if not tested.possible:
            return f"{wanted.name} asks {answer.asks}; {answer.says}"
        if answer.degree < 0:
            return f"{wanted.name} asks {answer.asks}; the record leans against it: {answer.says}"
        earlier = next((one for one in level[: level.index(tested)] if one.judged.answer.degree >= RATHER), None)
        if earlier is not None:
            return f"the record leans to {earlier.soil_class.name}, which comes first in the key: {earlier.judged.answer.says}"
        below = _level_below(walk, level, wanted)
        if below is None:
            return ""
        level = below
    return ""


def _level_below(walk: Walk, level, wanted: SoilClass):
    """The classes tested below ``wanted`` on any possible way."""
    for one in walk.candidates:
        for (chosen, tested), (_, below) in zip(one.steps, one.steps[1:]):
            if chosen.soil_class is wanted and tuple(level) == tested:
                return below
    return None
