"""The letter t against the clay that was measured: the three-part rule of the survey's convention.

The rule asks for an eluvial horizon above, of the same material and not only a plough layer; where there is none,
clay skins decide. An A without an E under it may or may not be eluvial: against it the finding is a note. Field estimates
of clay are no measurement: two of the three fractions must be given.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..problems import Problem
from ..vocabulary.clay_increase import clay_rule, least_illuvial_clay
from ..vocabulary.designations import Designation
from ..vocabulary.texture import SUM_TOLERANCE
from .profiles import Profiles, rounding

FRACTIONS = ("sand_percent", "silt_percent", "clay_percent")


def check_clay(all_: Profiles) -> Iterator[Problem]:
    """One problem a pit and material whose richest t does not reach the clay asked for, whatever the rounding."""
    clay = measured_clay(all_)
    illuvial = all_.flags(_is_illuvial) & np.isfinite(clay)
    eluvial = all_.flags(lambda one: _is_eluvial(one, all_.convention)) & np.isfinite(clay)
    if not (illuvial.any() and eluvial.any()):
        return
    rule, half = clay_rule(all_.convention), rounding(clay)
    ploughed = all_.flags(lambda one: one.has("p"))
    pale = all_.flags(lambda one: one.master != "A" or one.has("e", weak=True))
    key = all_.pit * 1000 + np.minimum(all_.material, 999)
    starts = np.flatnonzero(np.append(True, key[1:] != key[:-1]))
    for start, stop in zip(starts, np.append(starts[1:], len(key))):
        rows = np.arange(start, stop)
        bs, es = rows[illuvial[rows]], rows[eluvial[rows]]
        es = es[es < bs[0]] if len(bs) else es
        if not len(bs) or not len(es) or ploughed[bs[0] - 1]:
            continue
        truly = es[pale[es]]
        es = truly if len(truly) else es
        poorest = es[np.argmin(clay[es])]
        base = all_.lower[poorest]
        near = bs[all_.upper[bs] <= base + rule.within_cm] if np.isfinite(base) else bs
        if not len(near):
            continue
        richest = near[np.argmax(clay[near])]
        needed = float(least_illuvial_clay(clay[poorest] - half, all_.convention))
        if clay[richest] + half < needed:
            asked = float(least_illuvial_clay(clay[poorest], all_.convention))
            yield all_.problem(
                bs[0], "warning" if pale[poorest] else "note", "clay increase", f"t is written, but the clay of {all_.span(richest)} does not pass that of {all_.span(poorest)} by the rule",
                field="clay_percent", found=f"{clay[poorest]:g} % above, {clay[richest]:g} % below",
                allowed=f"{asked:g} % or more, as for {rule.name}",
                remedy="look for clay skins and at the fractions" + ("; write Btj or Bm if the increase is not there" if all_.convention == "canadian" else "; leave t out if neither shows"),
            )  # fmt: skip


def measured_clay(all_: Profiles) -> np.ndarray:
    """Clay, % of fine earth (n,), NaN where it is an estimate (given alone) or the fractions do not sum to 100."""
    sand, silt, clay = (all_.column(name) for name in FRACTIONS)
    given = np.isfinite(sand).astype(int) + np.isfinite(silt) + np.isfinite(clay)
    with np.errstate(invalid="ignore"):
        sound = (given == 2) | (np.abs(sand + silt + clay - 100.0) <= SUM_TOLERANCE + 1e-9)
    return np.where((given >= 2) & sound, np.where(np.isfinite(clay), clay, 100.0 - sand - silt), np.nan)


def _is_illuvial(one: Designation) -> bool:
    return not one.buried and one.relation != "lamellae" and any(part.master == "B" and any(suffix.letters == "t" and not suffix.weak for suffix in part.suffixes) for part in one.parts)


def _is_eluvial(one: Designation, convention: str) -> bool:
    """Canadian: a letter e. USDA and WRB: E, or an A above the B that is not ploughed."""
    if one.buried or one.organic or one.has("p") or one.relation in ("combination", "lamellae"):
        return False
    if convention == "canadian":
        return one.master == "A" and one.has("e", weak=True)
    return one.master in ("E", "A", "AE", "EA")
