"""Profiles built from the frames of the pits, column by column, so that a thousand pits take a fraction of a second."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import get_args

import numpy as np
import pandas as pd

from ..errors import InputError
from ..products import HORIZON_COLUMNS, Pits, typed
from ..settings.survey import Convention
from ..vocabulary.designations import parse_designation
from ..vocabulary.munsell import parse_colour
from ..vocabulary.terms import find_term
from .meanings import answers, buried_limits, meanings
from .profile import GAP_CM, Horizon, Profile

CONVENTIONS = get_args(Convention)
NONE = "none"
"""The vocabulary's word for: looked for, not there."""


def build_profiles(pits: Pits, convention: str) -> Iterator[Profile]:
    """A Profile per pit, in the order of ``pits.pits``; a pit without horizons has none.

    A column ``convention`` of the pits table overrides the survey's convention pit by pit.
    """
    horizons = typed(pits.horizons, HORIZON_COLUMNS)
    order = np.lexsort((horizons["order"].fillna(0).to_numpy(dtype=np.int64), horizons["pit_id"].to_numpy(dtype=object)))
    horizons = horizons.iloc[order].reset_index(drop=True)
    ids = horizons["pit_id"].to_numpy(dtype=object)
    starts = np.flatnonzero(np.r_[True, ids[1:] != ids[:-1]]) if len(ids) else np.array([], int)
    stops = np.r_[starts[1:], len(ids)] if len(ids) else starts
    span = {ids[start]: (start, stop) for start, stop in zip(starts.tolist(), stops.tolist())}
    table = {name: _plain(horizons[name]) for name in _USED}
    table |= {name: _plain(horizons[name]) if name in horizons else [None] * len(horizons) for name in _WHERE_SAID}
    columns = {
        name: horizons[name].to_numpy(dtype=float, na_value=np.nan)
        for name in horizons.columns
        if pd.api.types.is_numeric_dtype(horizons[name]) and not pd.api.types.is_bool_dtype(horizons[name])
    }
    nothing = {name: None for name in meanings(convention)}
    facts = {name: _plain(pits.pits[name]) if name in pits.pits else [None] * len(pits.pits) for name in _FACTS}
    for number, pit_id in enumerate(facts["pit_id"]):
        fact = {name: values[number] for name, values in facts.items()}
        start, stop = span.get(pit_id, (0, 0))
        own = _own_convention(fact, convention)
        rows = [_horizon(table, row, own, nothing) for row in range(start, stop) if table["upper_cm"][row] is not None]
        yield _profile(fact, own, rows, columns, nothing)


def _own_convention(fact: dict, convention: str) -> str:
    own = fact["convention"] or convention
    if own not in CONVENTIONS:
        raise InputError("a pit names a convention that does not exist", where=f"pit {fact['pit_id']}", found=repr(own),
                         allowed=", ".join(CONVENTIONS), remedy="write one of these, or leave it empty")  # fmt: skip
    return own


_USED = (
    "designation", "upper_cm", "lower_cm", "upper_low_cm", "upper_high_cm", "lower_low_cm", "lower_high_cm",
    "thickness_low_cm", "thickness_high_cm", "lower_is_end", "boundary_form", "effervescence", "mottles",
    "colour_moist", "colour_dry", "ec_ds_m", "ec_extract", "mottle_contrast", "texture", "structure_kind",
)  # fmt: skip
_WHERE_SAID = ("effervescence_part", "mottles_part", "unread_below")
"""Columns that a table has only where somebody said so."""
_FACTS = (
    "pit_id", "kind", "observed_to_cm", "stopped_by", "acid_to_cm", "ec_to_cm", "mottles_to_cm", "datum",
    "datum_shift_cm", "organic_above_cm", "drainage", "land_use", "parent_material", "convention",
)  # fmt: skip


def _plain(column: pd.Series) -> list:
    """A column as Python values, None where missing."""
    missing = column.isna().to_numpy()
    values = column.astype(object).to_numpy()
    return [None if gone else value for gone, value in zip(missing.tolist(), values.tolist())]


def _horizon(table: dict[str, list], row: int, convention: str, nothing: dict) -> Horizon:
    text = table["designation"][row] or ""
    upper, lower = float(table["upper_cm"][row]), table["lower_cm"][row]
    lower = None if lower is None else float(lower)
    low, high = table["upper_low_cm"][row], table["upper_high_cm"][row]
    lower_low, lower_high = table["lower_low_cm"][row], table["lower_high_cm"][row]
    thin, thick = table["thickness_low_cm"][row], table["thickness_high_cm"][row]
    if thin is None and thick is None and table["boundary_form"][row] == "broken":
        thin = 0.0  # a broken horizon is missing in places
    return Horizon(
        designation=parse_designation(text, convention),
        upper=upper,
        lower=lower,
        upper_low=upper if low is None else float(low),
        upper_high=upper if high is None else float(high),
        lower_low=lower if lower_low is None else float(lower_low),
        lower_high=lower if lower_high is None else float(lower_high),
        thickness_low=None if thin is None else float(thin),
        thickness_high=None if thick is None else float(thick),
        ends_hole=bool(table["lower_is_end"][row]),
        unread_below=bool(table["unread_below"][row]),
        effervescent=_in_part(_is_there("effervescence", table["effervescence"][row], convention), table["effervescence_part"][row]),
        mottled=_in_part(_is_there("mottle_abundance", table["mottles"][row], convention), table["mottles_part"][row]),
        effervescence_part=table["effervescence_part"][row] or "",
        mottles_part=table["mottles_part"][row] or "",
        moist=_colour(table["colour_moist"][row]),
        dry=_colour(table["colour_dry"][row]),
        mottle_abundance=_word("mottle_abundance", table["mottles"][row], convention),
        mottle_contrast=_word("mottle_contrast", table["mottle_contrast"][row], convention),
        texture=_word("texture", table["texture"][row], convention),
        structure_kind=_word("structure_kind", table["structure_kind"][row], convention),
        ec=table["ec_ds_m"][row],
        ec_extract=table["ec_extract"][row] or "",
        row=row,
        kinds=answers(text, convention) if text else nothing,
    )


@lru_cache(maxsize=4096)
def _is_there(kind: str, text: str | None, convention: str) -> bool | None:
    """Whether a word says that the thing is there; None where nothing was written."""
    word = _word(kind, text, convention)
    return None if word is None else word != NONE


def _in_part(there: bool | None, part: str | None) -> bool | None:
    """What is not there in a part of a horizon says nothing of the rest of it."""
    return None if there is False and part else there


@lru_cache(maxsize=4096)
def _word(kind: str, text: str | None, convention: str) -> str | None:
    """The vocabulary's word for what was written, else what was written; None where nothing was."""
    if text is None or not text.strip():
        return None
    term = find_term(kind, text, convention)
    return term.name if term else text.strip().lower()


def _colour(text: str | None) -> tuple[str, float, float] | None:
    colour = parse_colour(text) if text else None
    return None if colour is None else (colour.hue, colour.value, colour.chroma)


def _profile(fact: dict, convention: str, rows: list[Horizon], columns: Mapping, nothing: dict) -> Profile:
    datum = fact["datum"] or "mineral surface"
    rows = _with_inherited_bounds(_with_unread(rows, convention, nothing))
    described_to = _described_to(rows, fact["observed_to_cm"])
    organic = datum == "organic surface"
    above = () if organic else tuple(row for row in rows if row.upper < 0)
    counted = rows if organic else [row for row in rows if row.upper >= 0]
    cut = _first_buried(counted, convention)
    observed = fact["observed_to_cm"]
    depths = [depth for depth in (observed, described_to) if depth is not None]
    return Profile(
        pit_id=fact["pit_id"],
        convention=convention,
        kind=fact["kind"] or "unknown",
        datum=datum,
        soil=_with_gaps(counted[:cut], nothing),
        above=above,
        below=tuple(counted[cut:]),
        described_to=described_to,
        observed_to=float(max(depths)) if depths else None,
        stopped_by=fact["stopped_by"] or "unknown",
        acid_to=fact["acid_to_cm"],
        ec_to=fact["ec_to_cm"],
        mottles_to=fact["mottles_to_cm"],
        organic_above=fact["organic_above_cm"],
        datum_shift=fact["datum_shift_cm"] or 0.0,
        drainage=fact["drainage"] or "",
        land_use=(fact["land_use"] or "").lower(),
        parent_material=(fact["parent_material"] or "").lower(),
        columns=columns,
    )


def _with_unread(rows: list[Horizon], convention: str, nothing: dict) -> list[Horizon]:
    """A layer that nobody described where a row could not be used.

    From the base of the row before it, or from its top where the base is not written either, to the top of the next row
    that was read; without end where none follows.
    """
    ready: list[Horizon] = []
    for number, row in enumerate(rows):
        ready.append(row)
        if row.unread_below:
            start = row.upper if row.lower is None else row.lower
            end = rows[number + 1].upper if number + 1 < len(rows) else None
            if end is None or end > start + GAP_CM:
                ready.append(Horizon(parse_designation("", convention), start, end, start, start, end, end, kinds=nothing))
    return ready


def _first_buried(rows: list[Horizon], convention: str) -> int:
    """Where a buried soil begins: its first horizon, if the mantle over it is thick enough to be a soil of its own."""
    first = next((n for n, row in enumerate(rows) if row.designation.buried), len(rows))
    if first < len(rows):
        mantle, thin = buried_limits(convention)
        over = rows[first].upper - max(rows[0].upper, 0.0)
        buried = sum((row.lower or row.upper) - row.upper for row in rows[first:] if row.designation.buried)
        if over < mantle and not (over >= thin and over >= buried / 2):
            return len(rows)
    return first


def _described_to(rows: list[Horizon], observed: float | None) -> float | None:
    if not rows:
        return None
    last = rows[-1]
    if last.lower is not None:
        return last.lower
    return max(float(observed), last.upper) if observed is not None else last.upper


def _with_inherited_bounds(rows: list[Horizon]) -> list[Horizon]:
    """A boundary's range may stand with the horizon above it only, or below it only: it belongs to both. An overlap is such a range."""
    ready = list(rows)
    for n in range(1, len(ready)):
        one, two = ready[n - 1], ready[n]
        if one.lower is None:
            ready[n - 1] = one = replace(one, lower=two.upper, lower_low=two.upper_low, lower_high=two.upper_high)
        if one.lower > two.upper + GAP_CM and (two.lower is None or two.lower > one.lower):
            # described twice: the boundary lies somewhere in what both claim
            ready[n - 1] = replace(one, lower_low=min(one.lower_low, two.upper_low))
            ready[n] = replace(two, upper_high=max(two.upper_high, one.lower_high))
        if one.lower != two.upper:
            continue
        if two.upper_low == two.upper_high and one.lower_low != one.lower_high:
            ready[n] = replace(two, upper_low=one.lower_low, upper_high=one.lower_high)
        elif one.lower_low == one.lower_high and two.upper_low != two.upper_high:
            ready[n - 1] = replace(one, lower_low=two.upper_low, lower_high=two.upper_high)
    return ready


def _with_gaps(rows: list[Horizon], nothing: dict) -> tuple[Horizon, ...]:
    ready: list[Horizon] = []
    depth = 0.0
    for row in rows:
        if row.upper > depth + GAP_CM:
            ready.append(Horizon(None, depth, row.upper, depth, depth, row.upper, row.upper, kinds=nothing))
        ready.append(row)
        depth = max(depth, row.lower if row.lower is not None else row.upper)
    return tuple(ready)
