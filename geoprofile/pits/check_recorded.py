"""The soil name given by the surveyor against carbonates, reaction, frost and drainage of the same record (Canadian names only).

A name is advisory: every finding is a question. Sources: Canadian System of Soil Classification 1998: chapter 5 with
the depth to carbonates that follows from its subgroups (Rego, Calcareous, Orthic, Eluviated), chapter 3 (permafrost),
chapter 4 (pH 5.5 of Brunisols, partly from memory), chapter 7.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from ..problems import Problem
from .check_acid import Lime, ph_at_least, ph_at_most
from .check_depths import SNAP_CM
from .profiles import Profiles

B_CM = 5.0
"""A B this thick and free of carbonate makes an Orthic Chernozem; less is Rego."""

BRUNISOL_PH, WATER_READS_HIGHER = 5.5, 0.5
"""Eutric and Melanic from this pH (CaCl2); pH in water reads about this much higher (common practice, no source)."""

UPPER_B_CM, FROST_CM = 25.0, 100.0
_WORDS = {"rego": "rego", "calcareous": "calcareous", "orthic": "orthic", "eluviated": "eluviated"}
_CODES = {"R": "rego", "CA": "calcareous", "O": "orthic", "E": "eluviated"}


@lru_cache(maxsize=4096)
def chernozem_subgroup(name: str) -> str:
    """rego, calcareous, orthic or eluviated where the name is such a Chernozem (``Orthic Black Chernozem``, ``GLCA.DBC``); else ''."""
    code = re.match(r"\s*(?:GL)?(R|CA|O|E)\.(?:BC|DBC|BLC|DGC)\b", name)
    if code:
        return _CODES[code.group(1)]
    plain = name.casefold()
    if "chernozem" not in plain or any(word in plain for word in ("vertic", "solonetzic")):
        return ""
    named = [meant for word, meant in _WORDS.items() if re.search(rf"\b{word}\b", plain)]
    return named[0] if len(named) == 1 else ""


def check_recorded(all_: Profiles) -> Iterator[Problem]:
    """Recorded soil against the rest of the record."""
    if all_.convention != "canadian":
        return
    recorded = all_.pit_text("recorded_soil")
    if not (recorded != "").any():
        return
    yield from _lime(all_, recorded)
    yield from _reaction(all_, recorded)
    yield from _frost(all_, recorded)
    yield from _drainage(all_, recorded)


def _lime(all_: Profiles, recorded: np.ndarray) -> Iterator[Problem]:
    subgroups = np.array([chernozem_subgroup(name) for name in recorded], dtype=object)
    if not (subgroups != "").any():
        return
    lime, counted = Lime(all_), all_.mineral & all_.flags(lambda one: not one.buried)
    rest = counted & all_.flags(lambda one: not one.master.startswith("A"))
    base_low = all_.least_by_pit(np.where(np.isnan(all_.column("upper_low_cm")), all_.upper, all_.column("upper_low_cm")), rest)
    base_high = all_.least_by_pit(np.where(np.isnan(all_.column("upper_high_cm")), all_.upper, all_.column("upper_high_cm")), rest)
    free = lime.quiet & ~lime.limy & counted
    limy = lime.limy & counted & ~all_.below(free)  # dust or wash over a horizon that is free of it does not count
    top_low = all_.least_by_pit(np.where(np.isnan(all_.column("upper_low_cm")), all_.upper, all_.column("upper_low_cm")), limy)
    top_high = all_.least_by_pit(np.where(np.isnan(all_.column("upper_high_cm")), all_.upper, all_.column("upper_high_cm")), limy)
    true_b = counted & all_.flags(lambda one: one.master == "B")
    thickness = np.where(true_b & np.isfinite(all_.upper), np.where(np.isnan(all_.lower), np.inf, all_.lower) - all_.upper, 0.0)
    b_cm = np.bincount(all_.pit, thickness, len(all_.names))
    free_b = all_.any_by_pit(free & true_b)
    for pit in np.flatnonzero(subgroups != ""):
        what, base, top = subgroups[pit], base_high[pit], top_low[pit]
        if not np.isfinite(base):
            continue
        found = f"first carbonates {_cm(top_low[pit], top_high[pit])}; A down to {_cm(base_low[pit], base_high[pit])}"
        if what in ("orthic", "eluviated") and top_high[pit] < base_low[pit] + B_CM - SNAP_CM:
            says = "Calcareous" if top_high[pit] >= base_low[pit] - SNAP_CM and b_cm[pit] >= B_CM else "Rego, or eroded"
            fault = "carbonates begin within 5 cm of the A"
        elif what == "calcareous" and top > base + B_CM + SNAP_CM and (np.isfinite(top) or free_b[pit]) and b_cm[pit] >= B_CM:
            says, fault = "Orthic or deeper", "the B is free of carbonates"
        elif what == "rego" and b_cm[pit] > B_CM + SNAP_CM:
            says = "Calcareous" if top_high[pit] <= base + B_CM else "Orthic or deeper"
            fault = f"a B of {b_cm[pit]:g} cm is described" if np.isfinite(b_cm[pit]) else "a B is described"
        else:
            continue
        yield all_.pit_problem(pit, "warning", "recorded soil", f"the soil is recorded as {recorded[pit]}, but {fault}", field="recorded_soil", found=found,
                               allowed=f"by the depth to carbonates: {says}", remedy="look at the acid test and at the name")


def _cm(low: float, high: float) -> str:
    if not np.isfinite(low):
        return "not seen"
    return f"{low:g} cm" if not high > low else f"{low:g} to {high:g} cm"


def _reaction(all_: Profiles, recorded: np.ndarray) -> Iterator[Problem]:
    """Brunisols: pH of the upper 25 cm of the B."""
    base = np.array([bool(re.search(r"\b(eutric|melanic)\b.*brunisol|\.(?:MB|EB)\b", name, re.IGNORECASE)) for name in recorded], bool)
    acid = np.array([bool(re.search(r"\b(dystric|sombric)\b.*brunisol|\.(?:SB|DYB)\b", name, re.IGNORECASE)) for name in recorded], bool)
    if not (base | acid).any():
        return
    b = all_.mineral & all_.flags(lambda one: one.master == "B" and not one.buried)
    first = all_.least_by_pit(all_.upper, b)[all_.pit]
    with np.errstate(invalid="ignore"):
        tested = b & (all_.upper < first + UPPER_B_CM)
        (most, said), (least, _) = ph_at_most(all_), ph_at_least(all_)
        for rows, called, limit in (
            (tested & base[all_.pit] & (most < BRUNISOL_PH), "Eutric and Melanic", f"pH {BRUNISOL_PH:g} or more"),
            (tested & acid[all_.pit] & (least > BRUNISOL_PH + WATER_READS_HIGHER), "Dystric and Sombric", f"pH below {BRUNISOL_PH:g} in CaCl2; in water about {WATER_READS_HIGHER:g} more"),
        ):
            for row in np.flatnonzero(rows):
                yield all_.problem(row, "warning", "recorded soil", f"the soil is recorded as {recorded[all_.pit[row]]}, but {all_.span(row)} is {said[row]}", field="recorded_soil",
                                   found=said[row], allowed=f"{called} Brunisols: {limit} in the upper {UPPER_B_CM:g} cm of the B", remedy="look at the reaction and at the name")


def _frost(all_: Profiles, recorded: np.ndarray) -> Iterator[Problem]:
    frozen = all_.flags(lambda one: one.known and one.has("z"))
    top = all_.least_by_pit(all_.upper, frozen)
    for pit in np.flatnonzero((top <= FROST_CM) & (recorded != "")):
        if not re.search(r"cryosol|\.(?:TC|SC|OC)\b", recorded[pit], re.IGNORECASE):
            yield all_.pit_problem(pit, "warning", "recorded soil", f"the soil is recorded as {recorded[pit]}, but it is frozen from {top[pit]:g} cm", field="recorded_soil",
                                   found=f"frozen from {top[pit]:g} cm", allowed=f"with permafrost within {FROST_CM:g} cm it is a Cryosol today",
                                   remedy="is it an older name, or frost of the season? say so in the remarks")


def _drainage(all_: Profiles, recorded: np.ndarray) -> Iterator[Problem]:
    drainage = all_.pit_terms("drainage", "drainage")
    for pit in np.flatnonzero(recorded != ""):
        if drainage[pit] is None or not re.search(r"gleysol(?!ic)|\.(?:HG|LG|G)\b", recorded[pit], re.IGNORECASE):
            continue
        if drainage[pit].name in ("very rapidly", "rapidly", "well", "moderately well"):
            yield all_.pit_problem(pit, "note", "recorded soil", f"the soil is recorded as {recorded[pit]}, but as {drainage[pit].name} drained", field="drainage",
                                   found=drainage[pit].name, allowed="Gleysols are poorly or very poorly drained (our inference)", remedy="look at the drainage class and at the name")
