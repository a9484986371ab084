"""How a question of the key is registered, and the answers that many questions share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ..logic import NO, NOT_SEEN, YES, Answer
from ..soil import Soil, Span

Criterion = Callable[..., Answer]
CRITERIA: dict[str, tuple[str, Criterion]] = {}
"""Name in the tables -> (the question in words with its limits in braces, the function)."""


def question(asks: str) -> Callable[[Criterion], Criterion]:
    """Register a function ``(soil, **limits) -> Answer`` under its name."""

    def register(function: Criterion) -> Criterion:
        CRITERIA[function.__name__] = (asks, function)
        return function

    return register


def yes(says: str, as_designated: str = "") -> Answer:
    return Answer(YES, says, as_designated=as_designated)


def no(says: str) -> Answer:
    return Answer(NO, says)


def thick_enough(span: Span, limit: float, what: str, as_designated: str = "") -> Answer:
    """Whether a thickness reaches a limit, with the layers counted."""
    degree = span.at_least(limit)
    answer = Answer(degree, f"{what}: {span.text}", as_designated=as_designated)
    if answer.is_open:
        where = "below what was seen" if span.unseen and not span.layers else "to its base"
        return replace(answer, missing=f"the thickness of the {what}, {where} (limit {limit:g} cm)")
    return answer


def absent_to(soil: Soil, depth: float, what: str) -> Answer:
    """A feature that no designation shows: no where the soil was described to ``depth``, else no as far as seen."""
    if soil.seen_to(depth):
        return no(f"no {what} designated to {depth:g} cm")
    return Answer(
        NOT_SEEN, f"no {what} designated; described to {soil.described_to:g} cm",
        supposes=f"no {what} between {soil.described_to:g} and {depth:g} cm",
    )  # fmt: skip
