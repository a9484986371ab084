"""Walking down a profile: where a feature first comes, how thick it is in all.

Each horizon answers yes (True), no (False) or does not say (None). What does
not say widens the interval; it is never taken for a no.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..described.parts import begin_of
from ..described.profile import Horizon, Profile
from ..intervals import Interval, absent_depth, absent_thickness, at_least, at_surface, between, measured, unknown

Answers = Sequence[bool | None]


def answers_of(profile: Profile, kind: str) -> list[bool | None]:
    """The answers of one meaning, horizon by horizon."""
    return [horizon.kinds[kind] for horizon in profile.soil]


def met(profile: Profile, kind: str) -> bool:
    """Whether any horizon that counts is of this kind."""
    return any(horizon.kinds[kind] for horizon in profile.soil)


def depth_of_first(
    profile: Profile, answers: Answers, *, reach: float | None = None, absent: bool = False,
    parts: Sequence[str] = (),
) -> Interval:
    """The upper depth of the first yes.

    Parameters
    ----------
    answers : one a horizon of ``profile.soil``.
    reach : depth to which "no" is known when nobody said yes, cm; default the profile's.
    absent : without a yes, the feature is absent and not only deeper.
    parts : one a horizon, the part of it that the yes is of (``lower part``); '' = all of it. See ``described/parts.py``.

    Returns
    -------
    Interval: measured or between (wavy top, or a layer above that does not say);
    at_surface; at least the top of the first layer that does not say; at least
    ``reach``; absent; unknown where nothing is known from the surface on.
    """
    doubt = None
    for number, (horizon, answer) in enumerate(zip(profile.soil, answers)):
        if answer:
            return _top(horizon, doubt, parts[number] if parts else "")
        if answer is None and doubt is None:
            doubt = horizon.upper
    if doubt is not None:
        return at_least(doubt, "not_described") if doubt > 0 else unknown()
    if absent:
        return absent_depth()
    reach = profile.reach if reach is None else reach
    return at_least(reach, "not_seen") if reach > 0 else unknown()


def _top(horizon: Horizon, doubt: float | None, part: str = "") -> Interval:
    begin = begin_of(horizon, part)
    low = max(horizon.upper_low if begin is None else begin[0], 0.0)
    if begin and begin[1] is None:  # in the lower part of a horizon whose base nobody saw
        return at_least(max(low if doubt is None else min(doubt, low), 0.0))
    high = max(horizon.upper_high if begin is None else begin[1], low)
    if doubt is not None and doubt < low:
        return between(max(doubt, 0.0), high)
    return at_surface() if high <= 0 else between(low, high)


def thickness_of(
    profile: Profile, answers: Answers, *, whole: Callable[[Horizon], bool] = lambda horizon: True,
    layers: Sequence[Horizon] | None = None, base_is_boundary: bool | None = None,
) -> Interval | None:
    """The summed thickness of all that says yes; None where nothing does.

    Horizons that follow each other are taken from the top of the first to the
    base of the last, so that boundaries inside do not add to the spread. Layers
    that do not say, and yes-layers for which ``whole`` is False (lamellae), add
    to the high limit only. A yes-layer at the end of the hole gives at_least.
    """
    layers = profile.soil if layers is None else layers
    bounded = profile.base_is_boundary if base_is_boundary is None else base_is_boundary
    low = high = 0.0
    seen, open_below = False, False
    n = 0
    while n < len(layers):
        if not answers[n]:
            if answers[n] is None:
                high += (layers[n].lower or layers[n].upper) - layers[n].upper
                open_below |= n == len(layers) - 1 and not bounded
            n += 1
            continue
        first = n
        alone = _stands_alone(layers[n], whole)
        while (not alone and n + 1 < len(layers) and answers[n + 1] and not _stands_alone(layers[n + 1], whole)
               and layers[n + 1].upper <= (layers[n].lower or layers[n].upper) + 0.5):  # fmt: skip
            n += 1
        thin, thick = _group(layers[first], layers[n], whole)
        low, high, seen = low + thin, high + thick, True
        open_below |= n == len(layers) - 1 and not bounded
        n += 1
    if not seen:
        return None
    if open_below:
        return at_least(low)
    return measured(low) if low == high else between(low, high)


def _stands_alone(horizon: Horizon, whole: Callable[[Horizon], bool]) -> bool:
    return horizon.thickness_low is not None or horizon.thickness_high is not None or not whole(horizon)


def _group(first: Horizon, last: Horizon, whole: Callable[[Horizon], bool]) -> tuple[float, float]:
    base_low = last.lower_low if last.lower_low is not None else last.upper_low
    base_high = last.lower_high if last.lower_high is not None else last.upper_high
    if first is last and _stands_alone(first, whole):
        thick = first.thickness_high if first.thickness_high is not None else max(base_high - first.upper_low, 0.0)
        exact = max((first.lower if first.lower is not None else first.upper) - first.upper, 0.0)
        thin = first.thickness_low if first.thickness_low is not None else min(exact, thick)
        return (thin if whole(first) else 0.0), max(thick, thin)
    return max(base_low - first.upper_high, 0.0), max(base_high - first.upper_low, 0.0)


def thickness_or(profile: Profile, found: Interval | None, answers: Answers, *, ended_above: bool) -> Interval:
    """What is said where nothing said yes: from 0 without limit, 0, between 0 and what is doubtful, or nothing.

    ``ended_above``: the pit ended where the layer could still follow.
    """
    if found is not None:
        return found
    if not profile.soil or all(answer is None for answer in answers):
        return unknown()
    doubtful = [horizon for horizon, answer in zip(profile.soil, answers) if answer is None]
    if ended_above or any(horizon.lower is None for horizon in doubtful):
        return at_least(0, "not_described" if doubtful else "not_seen")
    if any(horizon.described for horizon in doubtful):
        return unknown()
    missing = sum((horizon.lower or horizon.upper) - horizon.upper for horizon in doubtful)
    return between(0, missing, "not_described") if missing else absent_thickness()
