"""From a walk of the key to what is told: names, how sure, and the steps with their evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .key import LEVELS, key_of
from .logic import WORDS, Answer
from .recorded import compare, read_recorded
from .soil import Soil
from .walk import Candidate, Tested, Walk, missing, suppositions, taken_as_designated, walk_key

ADVICE = "Advice from the record, no classification: a qualified pedologist who saw the soil decides."
SHOWN = 5
"""Names told before the rest is counted."""
TAKEN, PASSED, POSSIBLE = "taken", "passed over", "also possible"


@dataclass(frozen=True, slots=True)
class Step:
    """One question on the way to the leading name, or to one that stays possible."""

    level: str
    soil_class: str
    decision: str
    asks: str
    answer: str
    evidence: str
    source: str
    missing: str = ""


@dataclass(frozen=True, slots=True)
class Named:
    """What the record says of one pit's name. Text fields are ready to print; '' where there is nothing to say."""

    order: str = ""
    great_group: str = ""
    subgroup: str = ""
    sure: str = ""
    leads: tuple[str, ...] = ()
    alternatives: tuple[str, ...] = ()
    supposes: tuple[str, ...] = ()
    as_designated: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    agreement: str = ""
    agreement_why: str = ""
    steps: tuple[Step, ...] = ()


def name_soil(soil: Soil, recorded: str, system: str) -> Named:
    """Name one soil by the key of ``system`` and compare with the surveyor's name (``recorded``, '' = none)."""
    if not soil.natural:
        return Named(sure="not named: stripped or filled ground")
    if not any(layer.described for layer in (*soil.above, *soil.layers)):
        return Named(sure="not named: no horizons are described")
    walk = walk_key(key_of(system), soil)
    agreement, why = compare(read_recorded(recorded, system) if recorded else None, recorded, walk)
    if not walk.candidates:
        return Named(sure="not named: no class of the key fits what is recorded", agreement=agreement, agreement_why=why,
                     steps=tuple(_passed("order", tested) for tested in walk.orders))  # fmt: skip
    first = walk.leads[0]
    supposes = suppositions(first)
    levels = [_joined(one.names[number] for one in walk.leads) for number in range(len(LEVELS))]
    return Named(
        order=levels[0],
        great_group=levels[1],
        subgroup=levels[2],
        sure=_sure(walk, supposes),
        leads=tuple(dict.fromkeys(one.name for one in walk.leads)),
        alternatives=tuple(dict.fromkeys(one.name for one in walk.alternatives)),
        supposes=supposes,
        as_designated=taken_as_designated(first),
        missing=missing(walk),
        agreement=agreement,
        agreement_why=why,
        steps=tuple(_steps(first, walk)),
    )


def _sure(walk: Walk, supposes: Sequence[str]) -> str:
    """``decided``, ``decided if ...`` or ``open between ...``."""
    if len(walk.candidates) == 1 and any(chosen.judged.answer.is_open for chosen, _ in walk.candidates[0].steps):
        return f"open: no class but {walk.candidates[0].name} remains, and the record does not bear it out in full"
    if len(walk.candidates) == 1:
        return f"decided if {'; '.join(supposes)}" if supposes else "decided"
    names = list(dict.fromkeys(one.name for one in walk.candidates))
    lean = ", the record leans to the first" if len(walk.leads) == 1 else ""
    return f"open between {shortened(names)}{lean}"


def shortened(names: Sequence[str]) -> str:
    """The first names, and how many more there are."""
    if len(names) > SHOWN + 1:
        return ", ".join(names[:SHOWN]) + f" and {len(names) - SHOWN} more"
    return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + names[-1]


def _joined(names) -> str:
    return " or ".join(dict.fromkeys(names))


def _steps(first: Candidate, walk: Walk):
    """Classes passed over with the answer that decides; the class taken with every answer; what stays possible."""
    for level, (chosen, tested) in zip(LEVELS, first.steps, strict=True):
        place = tested.index(chosen)
        for one in tested[:place]:
            if not one.possible:
                yield _passed(level, one)
        for one in chosen.judged.asked or (chosen.judged.answer,):
            yield _step(level, chosen, TAKEN, one)
        for one in tested:
            if one.possible and one is not chosen:
                yield _step(level, one, POSSIBLE, one.judged.answer)


def _passed(level: str, tested: Tested) -> Step:
    return _step(level, tested, PASSED, tested.judged.answer)


def _step(level: str, tested: Tested, decision: str, answer: Answer) -> Step:
    return Step(level, tested.soil_class.name, decision, answer.asks, WORDS[answer.degree], answer.says,
                answer.source or tested.soil_class.source, answer.missing if answer.is_open else "")  # fmt: skip
