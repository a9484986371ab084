"""What only a whole crew's pits show: depths counted from elsewhere, rounded plough depths, stones against rock."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.terms import find_term
from .profiles import Profiles

LEAST_PITS = 3
"""Pits of one crew before a habit is called one."""

LEAST_PLOUGHED = 5
SHARE = 2 / 3
NEAR_CM = 1.0
STONY_PERCENT = 50.0


def check_crews(all_: Profiles) -> Iterator[Problem]:
    """Habits of crews, and what ended a pit against what is described in it."""
    surveyor = np.array(["" if pd.isna(one) else str(one) for one in all_.pit_column("surveyor")], dtype=object)
    yield from _shifted(all_, surveyor)
    yield from _rounded_ap(all_, surveyor)
    yield from _rock(all_)


def _shifted(all_: Profiles, surveyor: np.ndarray) -> Iterator[Problem]:
    """Pits whose mineral soil starts as deep as the forest floor is thick, or below 0 and none is described."""
    first, litter = _first_mineral(all_), _forest_floor(all_)
    with np.errstate(invalid="ignore"):
        bush, bare = np.isfinite(first) & (litter > NEAR_CM), np.isfinite(first) & np.isnan(litter)
        as_deep = bush & (first > NEAR_CM) & (np.abs(first - litter) <= NEAR_CM)
        late = bare & (first > NEAR_CM)
    habits = (
        (
            as_deep,
            bush,
            "with a forest floor, the mineral soil starts as deep as the forest floor is thick: "
            "were depths counted from the top of the forest floor?",
        ),
        (
            late,
            bare,
            "without a described forest floor, the first horizon starts below 0: "
            "were depths counted from the top of a forest floor that was left out?",
        ),
    )
    for odd, among, question in habits:
        for crew in np.unique(surveyor[odd]):
            of_crew = among & (surveyor == crew)
            pits = np.flatnonzero(odd & of_crew)
            if len(pits) >= LEAST_PITS and len(pits) >= SHARE * of_crew.sum():
                depth = np.median(first[pits])
                yield all_.pit_problem(
                    pits[0],
                    "warning",
                    "shifted depths",
                    f"in {len(pits)} of {int(of_crew.sum())} pits of {_who(crew)} {question}",
                    field="upper_cm",
                    found=f"mineral soil from {depth:g} cm (median) in {_some(all_.names[pits])}",
                    allowed="mineral depths from the mineral surface",
                    remedy="ask the crew; if so, take the thickness of the forest floor off their mineral depths",
                )


def _first_mineral(all_: Profiles) -> np.ndarray:
    """Least upper depth of a mineral horizon, by pit; infinite where there is none."""
    mineral = all_.flags(lambda one: not one.organic and one.master != "W" and bool(one.parts))
    first = np.full(len(all_.names), np.inf)
    np.fmin.at(first, all_.pit[mineral], all_.upper[mineral])
    return first


def _forest_floor(all_: Profiles) -> np.ndarray:
    """Thickness of organic layers above 0 by pit: described, else told in the pits table, else NaN."""
    with np.errstate(invalid="ignore"):
        above = all_.flags(lambda one: one.organic and not one.buried) & (all_.upper < 0)
    top = np.full(len(all_.names), np.inf)
    np.fmin.at(top, all_.pit[above], all_.upper[above])
    told = pd.to_numeric(pd.Series(all_.pit_column("organic_above_cm")), errors="coerce").to_numpy(dtype=float)
    return np.where(np.isfinite(top), -top, told)


def _who(crew: str) -> str:
    return f"surveyor {crew}" if crew else "this survey"


def _some(names: np.ndarray) -> str:
    return ", ".join(str(name) for name in names[:8]) + (" ..." if len(names) > 8 else "")


def _rounded_ap(all_: Profiles, surveyor: np.ndarray) -> Iterator[Problem]:
    """Every plough layer of one surveyor equally deep: noted, not measured?"""
    ploughed = all_.flags(lambda one: one.master == "A" and one.has("p")) & np.isfinite(all_.lower)
    base = np.full(len(all_.names), -np.inf)
    np.fmax.at(base, all_.pit[ploughed], all_.lower[ploughed])
    for crew in np.unique(surveyor):
        pits = np.flatnonzero((surveyor == crew) & np.isfinite(base))
        if len(pits) >= LEAST_PLOUGHED and len(np.unique(base[pits])) == 1:
            yield all_.pit_problem(
                pits[0],
                "warning",
                "rounded depths",
                f"all {len(pits)} plough layers of {_who(crew)} end at {base[pits[0]]:g} cm: "
                "measured, or noted by habit?",
                field="lower_cm",
                remedy="ask the crew; salvage volumes rest on this depth",
            )


def _rock(all_: Profiles) -> Iterator[Problem]:
    """What ended the pit against what is described."""
    rock = all_.flags(
        lambda one: one.master == "R" or (one.master == "C" and one.has("r") and all_.convention == "usda")
    )
    has_rock = all_.any_by_pit(rock)
    ended = [
        find_term("stopped_by", str(one), all_.convention) if isinstance(one, str) and one else None
        for one in all_.pit_column("stopped_by")
    ]
    stopped = np.array([one.name if one else "" for one in ended], dtype=object)
    for pit in np.flatnonzero((stopped == "rock") & ~has_rock):
        yield all_.pit_problem(
            pit,
            "note",
            "rock",
            "the pit ended on rock, yet no rock is described as its last horizon",
            field="stopped_by",
            remedy="add the rock, or say stones: stones are not rock",
        )
    for pit in np.flatnonzero((stopped == "stones") & has_rock):
        yield all_.pit_problem(
            pit,
            "warning",
            "rock",
            "the pit ended on stones, yet rock is described",
            field="stopped_by",
            remedy="correct one of them: stones are not rock",
        )
    fragments = all_.column("coarse_fragments_percent")
    stoniness = [
        find_term("stoniness", str(one), all_.convention) if isinstance(one, str) and one else None
        for one in all_.pit_column("stoniness")
    ]
    free = np.array([one is not None and one.order == 1 for one in stoniness])
    with np.errstate(invalid="ignore"):
        stony = all_.any_by_pit((fragments >= STONY_PERCENT) & (all_.upper <= 0))
    for pit in np.flatnonzero(free & stony):
        yield all_.pit_problem(
            pit,
            "note",
            "stones",
            "the surface is noted as free of stones, yet the first horizon is half stones or more",
            field="stoniness",
            remedy="correct one of them",
        )
