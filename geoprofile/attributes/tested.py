"""Tests that were made to a stated depth: acid, mottles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..described.profile import Profile


@dataclass(frozen=True)
class Tested:
    """Answers horizon by horizon, and the depth to which they hold, cm (0 = nothing was tested)."""

    answers: list[bool | None]
    reach: float


def as_tested(recorded: Sequence[bool | None], profile: Profile, stated_to: float | None) -> Tested:
    """What a test says horizon by horizon.

    A blank above the depth that the crew states as tested is a no: had there
    been something, it would be written. A blank elsewhere says nothing.
    ``stated_to`` 0 means: stated that no test was made.
    """
    written = [h.lower if h.lower is not None else h.upper for h, said in zip(profile.soil, recorded) if said is not None]
    unbroken = 0.0
    for horizon, said in zip(profile.soil, recorded):
        if said is None:
            break
        unbroken = horizon.lower if horizon.lower is not None else profile.reach
    stated = stated_to or 0.0
    reach = max(stated, unbroken) if (stated or written) else 0.0
    reach = min(reach, profile.reach) if profile.below else reach
    answers = [
        False if said is None and horizon.described and horizon.upper < stated else said
        for horizon, said in zip(profile.soil, recorded)
    ]
    if written and not reach:
        reach = max(written)
    return Tested(answers, reach)
