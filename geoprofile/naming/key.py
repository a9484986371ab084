"""The key of a system, read from its table once: classes in order, each with what it requires."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache
from inspect import signature

from ..vocabulary.tables import table
from .criteria import CRITERIA
from .logic import YES, Answer, absence_of, all_of, any_of, negated
from .soil import Soil

LEVELS = ("order", "great group", "subgroup")
LEFT_OVER = "what the classes before it leave"


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
    asks: str
    """What it requires, in words."""
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
        return SoilClass(level, name, entry.get("code", ""), source, self.requirement(entry["requires"], source),
                         self.words(entry["requires"]), members)  # fmt: skip

    def requirement(self, spec: dict, source: str) -> Requirement:
        source = self.sources[spec["source"]] if "source" in spec else source
        if not spec:
            return lambda _: Judged(Answer(YES, "no class before it holds surely", LEFT_OVER, source), ())
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

    def words(self, spec: dict) -> str:
        """A requirement in words."""
        if not spec:
            return LEFT_OVER
        for word, join in (("all", "; and "), ("any", "; or ")):
            if word in spec:
                return join.join(self.words(part) for part in spec[word])
        if "not" in spec:
            return absence_of(self.words(spec["not"]))
        if spec["is"] in self.defined:
            return self.words(self.defined[spec["is"]])
        return _filled(spec)

    def leaf(self, spec: dict, source: str) -> Requirement:
        if spec["is"] not in CRITERIA:
            raise ValueError(f"the key asks {spec['is']!r}, which is no question")
        _, function = CRITERIA[spec["is"]]
        limits = _limits(spec)
        number = self.leaves.setdefault(f"{spec['is']} {sorted(limits.items())}", len(self.leaves))
        text = _filled(spec)

        def ask(questions: Questions) -> Judged:
            answer = questions.known.get(number)
            if answer is None:
                answer = replace(function(questions.soil, **limits), asks=text, source=source)
                questions.known[number] = answer
            return Judged(answer, (answer,))

        return ask


def _limits(spec: dict) -> dict:
    return {name: value for name, value in spec.items() if name not in ("is", "source")}


def _filled(spec: dict) -> str:
    """A question with its limits in place."""
    asks, function = CRITERIA[spec["is"]]
    defaults = {name: one.default for name, one in signature(function).parameters.items() if one.default is not one.empty}
    return asks.format(**(defaults | _limits(spec)))


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
