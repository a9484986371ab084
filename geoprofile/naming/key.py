"""The key of a system, read from its table once: classes in order, each with what it requires."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache
from inspect import signature

from ..vocabulary.tables import table
from .criteria import CRITERIA
from .logic import YES, Answer, all_of, any_of, negated
from .soil import Soil

LEVELS = ("order", "great group", "subgroup")


@dataclass(frozen=True, slots=True)
class Judged:
    """The answer that decides a requirement, and every single question that was asked for it."""

    answer: Answer
    asked: tuple[Answer, ...]


class Questions:
    """The questions put to one soil; each is asked once."""

    def __init__(self, soil: Soil) -> None:
        self.soil = soil
        self.known: dict[int, Answer] = {}


Requirement = Callable[[Questions], Judged]


@dataclass(frozen=True)
class SoilClass:
    """One class of the key. ``members`` are the classes of the next level, in key order."""

    level: str
    name: str
    code: str
    source: str
    requires: Requirement
    members: tuple[SoilClass, ...] = field(default=())


@dataclass(frozen=True)
class Key:
    title: str
    orders: tuple[SoilClass, ...]

    @property
    def subgroups(self) -> tuple[SoilClass, ...]:
        return tuple(sub for order in self.orders for group in order.members for sub in group.members)


@cache
def key_of(system: str) -> Key:
    """The key of a system (``canadian``). Raises KeyError where there is none, ValueError where its table is wrong."""
    content = table(f"soil_names_{system}")
    reader = _Reader(content)
    groups: dict[str, list[SoilClass]] = {}
    for entry in content["great_group"]:
        members = [
            reader.soil_class("subgroup", sub, entry["name"]) for sub in content["subgroup"] if entry["name"] in sub["of"]
        ]
        groups.setdefault(entry["order"], []).append(reader.soil_class("great group", entry, members=tuple(members)))
    orders = [reader.soil_class("order", entry, members=tuple(groups[entry["name"]])) for entry in content["order"]]
    return Key(content["title"], tuple(orders))


class _Reader:
    def __init__(self, content: dict) -> None:
        self.defined = content["define"]
        self.sources = content["sources"]
        self.leaves: dict[str, int] = {}

    def soil_class(self, level: str, entry: dict, of: str = "", members: tuple[SoilClass, ...] = ()) -> SoilClass:
        source = self.sources[entry["source"]]
        name = entry["name"].format(of) if of else entry["name"]
        return SoilClass(level, name, entry.get("code", ""), source, self.requirement(entry["requires"], source), members)

    def requirement(self, spec: dict, source: str) -> Requirement:
        source = self.sources[spec["source"]] if "source" in spec else source
        if not spec:
            return lambda _: Judged(Answer(YES, "no class before it holds surely", "what the classes before it leave", source), ())
        if "all" in spec or "any" in spec:
            combine = all_of if "all" in spec else any_of
            parts = [self.requirement(part, source) for part in spec.get("all", spec.get("any"))]
            return lambda questions: _combined(questions, parts, combine)
        if "not" in spec:
            inner = self.requirement(spec["not"], source)
            return lambda questions: _negated(inner(questions))
        if spec["is"] in self.defined:
            return self.requirement(self.defined[spec["is"]], source)
        return self.leaf(spec, source)

    def leaf(self, spec: dict, source: str) -> Requirement:
        if spec["is"] not in CRITERIA:
            raise ValueError(f"the key asks {spec['is']!r}, which is no question")
        asks, function = CRITERIA[spec["is"]]
        limits = {name: value for name, value in spec.items() if name not in ("is", "source")}
        number = self.leaves.setdefault(f"{spec['is']} {sorted(limits.items())}", len(self.leaves))
        defaults = {name: one.default for name, one in signature(function).parameters.items() if one.default is not one.empty}
        text = asks.format(**(defaults | limits))

        def ask(questions: Questions) -> Judged:
            answer = questions.known.get(number)
            if answer is None:
                answer = replace(function(questions.soil, **limits), asks=text, source=source)
                questions.known[number] = answer
            return Judged(answer, (answer,))

        return ask


def _combined(questions: Questions, parts: list[Requirement], combine: Callable) -> Judged:
    judged: list[Judged] = []

    def asking(part: Requirement) -> Callable[[], Answer]:
        def ask() -> Answer:
            judged.append(part(questions))
            return judged[-1].answer

        return ask

    answer, _ = combine(asking(part) for part in parts)
    return Judged(answer, tuple(one for part in judged for one in part.asked))


def _negated(judged: Judged) -> Judged:
    return Judged(negated(judged.answer), tuple(negated(one) for one in judged.asked))
