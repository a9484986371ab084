"""Walking the key: the first class that holds, and every class that an open question leaves possible.

A name is possible when no class before it in the key surely holds and none of its own requirements surely fails. Its
cost is the number of open questions that must be answered against what the record leans to. The names of least cost
lead; the others are its alternatives.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .key import Judged, Key, Questions, SoilClass
from .logic import NOT_SEEN, RATHER, RATHER_NOT, SUPPOSED, YES, Answer
from .soil import Soil


@dataclass(frozen=True, slots=True)
class Tested:
    """One class as it was tested, in key order; ``possible`` and ``cost`` are those of choosing it at this level."""

    soil_class: SoilClass
    judged: Judged
    possible: bool
    cost: int


@dataclass(frozen=True, slots=True)
class Candidate:
    """A whole name: order, great group, subgroup, each with the classes tested before and after it at its level."""

    cost: int
    steps: tuple[tuple[Tested, tuple[Tested, ...]], ...]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(chosen.soil_class.name for chosen, _ in self.steps)

    @property
    def name(self) -> str:
        return self.names[-1]


@dataclass(frozen=True, slots=True)
class Walk:
    """Candidates by cost, then key order; ``orders`` are the orders as tested, also where no candidate is left."""

    candidates: tuple[Candidate, ...]
    orders: tuple[Tested, ...]

    @property
    def leads(self) -> tuple[Candidate, ...]:
        return tuple(one for one in self.candidates if one.cost == self.candidates[0].cost)

    @property
    def alternatives(self) -> tuple[Candidate, ...]:
        return self.candidates[len(self.leads) :]


def walk_key(key: Key, soil: Soil) -> Walk:
    """Put the key's questions to one soil."""
    questions = Questions(soil)
    orders = _test(key.orders, questions)
    found = _candidates(orders, questions, 0, ())
    return Walk(tuple(sorted(found, key=lambda one: one.cost)), orders)  # the sort is stable: key order stays


def _candidates(level: Sequence[Tested], questions: Questions, cost: int, steps: tuple) -> list[Candidate]:
    found: list[Candidate] = []
    for tested in level:
        if not tested.possible:
            continue
        path = (*steps, (tested, tuple(level)))
        members = tested.soil_class.members
        if members:
            found += _candidates(_test(members, questions), questions, cost + tested.cost, path)
        else:
            found.append(Candidate(cost + tested.cost, path))
    return found


def _test(classes: Sequence[SoilClass], questions: Questions) -> tuple[Tested, ...]:
    """Classes in key order to the first that surely holds."""
    level: list[Tested] = []
    against = 0
    for one in classes:
        judged = one.requires(questions)
        degree = judged.answer.degree
        level.append(Tested(one, judged, degree >= RATHER_NOT, against + (degree == RATHER_NOT)))
        if degree >= SUPPOSED:
            break
        against += degree == RATHER
    return tuple(level)


def suppositions(candidate: Candidate) -> tuple[str, ...]:
    """What the name takes for granted, in the order of the key."""
    said: list[str] = []
    for chosen, level in candidate.steps:
        for tested in level:
            if tested is chosen:
                said += [one.supposes for one in chosen.judged.asked if abs(one.degree) == SUPPOSED]
                break
            if tested.judged.answer.degree == NOT_SEEN:
                said.append(tested.judged.answer.supposes)
    return tuple(dict.fromkeys(text for text in said if text))


def taken_as_designated(candidate: Candidate) -> tuple[str, ...]:
    """What the name takes from designations without a measurement."""
    return tuple(dict.fromkeys(
        one.as_designated for chosen, _ in candidate.steps for one in chosen.judged.asked
        if one.degree == YES and one.as_designated
    ))  # fmt: skip


def missing(walk: Walk) -> tuple[str, ...]:
    """What would settle the open questions on the way to the leading names, in the order of the key."""
    said: list[str] = []
    for candidate in walk.leads:
        for _, level in candidate.steps:
            said += [one.missing for tested in level for one in _deciding(tested)]
    return tuple(dict.fromkeys(text for text in said if text))


def _deciding(tested: Tested) -> list[Answer]:
    """The open answers that keep a class open."""
    return [one for one in tested.judged.asked if one.is_open] if tested.judged.answer.is_open else []
