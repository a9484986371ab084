"""Every profile held against itself, its crew and the convention; faults are listed, nothing is changed.

Depths are those from the datum (see ``datum.py``). A fault that many rows share,
such as one unknown designation, is listed once with its count.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.designations import Designation, nearest_designation, parse_designation
from .check_crews import check_crews
from .check_values import check_values
from .places import place_of

SNAP_CM = 0.5
"""Gaps and overlaps up to this are rounding, cm (R23)."""

DEEPEST_CM = 300.0
"""Deeper than this is asked about: is the unit right? (common practice, no source)"""


def check_profiles(pits: pd.DataFrame, horizons: pd.DataFrame, convention: str) -> list[Problem]:
    """All faults of profiles.

    Parameters
    ----------
    pits, horizons : frames with the columns of ``products.PIT_COLUMNS`` and
        ``HORIZON_COLUMNS``, as far as present; depths in cm from the datum.
    convention : canadian, usda or wrb.

    Returns
    -------
    list of Problem: depths (order, overlap, gap, inverted, zero thickness, R23),
    designations, colours, fractions, ends of holes, crews, stones and rock.
    """
    if not len(horizons):
        return []
    profiles = Profiles(pits, horizons, convention)
    checks: tuple[Callable[[Profiles], Iterator[Problem]], ...] = (
        _repeated, _missing_depths, _inverted, _order, _overlaps_and_gaps, _surface, _too_deep, _designations, _old_subdivisions,
        _materials, _ends, check_values, check_crews,
    )  # fmt: skip
    return [problem for check in checks for problem in check(profiles)]


def ends_of_holes(horizons: pd.DataFrame, pits: pd.DataFrame | None = None) -> np.ndarray:
    """Whether a row's lower depth is only where observation ended: bool (n,).

    True for the deepest row of a pit with a lower depth, unless the pit was observed
    to more than ``SNAP_CM`` below it (``observed_to_cm``): then something else begins there.
    """
    pit, names = pd.factorize(horizons["pit_id"].astype("str"))
    lower = horizons["lower_cm"].to_numpy(dtype=float)
    deepest = np.full(len(names), -np.inf)
    reach = np.fmax(lower, horizons["upper_cm"].to_numpy(dtype=float))
    np.fmax.at(deepest, pit, reach)
    ends = np.isfinite(lower) & (lower == deepest[pit])
    if pits is not None and "observed_to_cm" in pits:
        known = dict(zip(pits["pit_id"].astype("str"), pits["observed_to_cm"].astype(float)))
        observed = np.array([known.get(str(name), np.nan) for name in names])[pit]
        with np.errstate(invalid="ignore"):
            ends &= ~(observed > lower + SNAP_CM)
    return ends


class Profiles:
    """Horizons in order of depth as arrays, with each designation read once."""

    def __init__(self, pits: pd.DataFrame, horizons: pd.DataFrame, convention: str) -> None:
        self.convention = convention
        self.pits = pits.set_index(pits["pit_id"].astype("str"), drop=False) if "pit_id" in pits else pits
        upper = horizons["upper_cm"].to_numpy(dtype=float)
        pit, names = pd.factorize(horizons["pit_id"].astype("str"))
        self.in_file_order = (pit, upper)
        self.as_given = horizons
        lower = horizons["lower_cm"].to_numpy(dtype=float)
        named = pd.factorize(horizons["designation"].fillna("").astype("str"))[0]
        order = np.lexsort((named, lower, upper, pit))
        keys = np.nan_to_num(np.stack([pit, named, upper, lower])[:, order], nan=-9e9)
        again = np.append(False, (keys[:, 1:] == keys[:, :-1]).all(axis=0))
        self.repeated = order[again]
        """Positions in ``as_given`` of rows that repeat another row of their pit; left out of all other checks."""
        order = order[~again]
        self.frame = horizons.iloc[order]
        self.pit, self.names = pit[order], np.asarray(names, dtype=object)
        self.upper, self.lower = upper[order], self.frame["lower_cm"].to_numpy(dtype=float)
        codes, uniques = pd.factorize(self.frame["designation"].fillna("").astype("str"))
        self.codes, self.texts = codes, [str(text) for text in uniques]
        self.designations: list[Designation] = [parse_designation(text, convention) for text in self.texts]
        self.same_pit = np.append(self.pit[1:] == self.pit[:-1], False)
        """Whether the next row is of the same pit."""

    def flags(self, of: Callable[[Designation], bool]) -> np.ndarray:
        """One flag per row from its designation."""
        return np.array([of(one) for one in self.designations], dtype=bool)[self.codes]

    def column(self, name: str) -> np.ndarray:
        """A number column (n,), NaN where there is none."""
        if name not in self.frame:
            return np.full(len(self.frame), np.nan)
        return self.frame[name].to_numpy(dtype=float)

    def pit_column(self, name: str) -> np.ndarray:
        """A column of the pits, one value a pit in the order of ``names``; missing where there is none."""
        if name not in self.pits:
            return np.full(len(self.names), np.nan, dtype=object)
        column = self.pits[name]
        return column[~column.index.duplicated()].reindex(self.names).to_numpy(dtype=object)

    def any_by_pit(self, flags: np.ndarray) -> np.ndarray:
        return np.bincount(self.pit, flags, len(self.names)) > 0

    def problem(self, row: int, severity: str, check: str, what: str, **fields: str) -> Problem:
        """A problem with the place of one row (position in order of depth)."""
        return Problem(severity, check, what, **place_of(self.frame.iloc[row]), **fields)

    def pit_problem(self, pit: int, severity: str, check: str, what: str, **fields: str) -> Problem:
        """A problem with the place of a pit: its row in the pits table, else its first horizon."""
        name = str(self.names[pit])
        if name in self.pits.index:
            found = self.pits.loc[name]
            found = found.iloc[0] if isinstance(found, pd.DataFrame) else found
        else:
            found = self.frame.iloc[int(np.argmax(self.pit == pit))]
        return Problem(severity, check, what, **place_of(found), **fields)

    def name_of(self, row: int) -> str:
        return self.texts[self.codes[row]] or "horizon without designation"

    def span(self, row: int) -> str:
        lower = "" if np.isnan(self.lower[row]) else f"{self.lower[row]:g}"
        return f"{self.name_of(row)} {self.upper[row]:g}-{lower}" if np.isfinite(self.upper[row]) else self.name_of(row)


def _repeated(all_: Profiles) -> Iterator[Problem]:
    rows = all_.as_given.iloc[np.sort(all_.repeated)]
    for _, of_pit in rows.groupby(rows["pit_id"].astype("str"), sort=False):
        yield Problem("warning", "repeated", f"{_horizons(len(of_pit))} of this pit listed twice, with the same designation and depths",
                      field="pit_id", remedy="remove one copy, or give the second pit an id of its own",
                      **place_of(of_pit.iloc[0]))  # fmt: skip


def _horizons(count: int) -> str:
    return "one horizon" if count == 1 else f"{count} horizons"


def _missing_depths(all_: Profiles) -> Iterator[Problem]:
    for row in np.flatnonzero(np.isnan(all_.upper)):
        yield all_.problem(row, "error", "missing depth", f"{all_.name_of(row)} has no upper depth",
                           field="upper_cm", remedy="add the depth; the horizon is not used")  # fmt: skip
    # rows without an upper depth sort last within their pit and must not stand for a next horizon
    followed = all_.same_pit & np.append(np.isfinite(all_.upper[1:]), False)
    for row in np.flatnonzero(np.isnan(all_.lower) & np.isfinite(all_.upper) & followed):
        yield all_.problem(row, "warning", "missing depth",
                           f"{all_.span(row)} has no lower depth, yet {all_.span(row + 1)} follows",
                           field="lower_cm", remedy=f"write {all_.upper[row + 1]:g} if it reaches down to it")  # fmt: skip


def _inverted(all_: Profiles) -> Iterator[Problem]:
    with np.errstate(invalid="ignore"):
        inverted, none = all_.lower < all_.upper, all_.lower == all_.upper
    for row in np.flatnonzero(inverted):
        yield all_.problem(row, "error", "inverted", f"{all_.name_of(row)} ends above where it begins",
                           field="lower_cm", found=f"{all_.upper[row]:g}-{all_.lower[row]:g}",
                           remedy="exchange or correct the two depths")  # fmt: skip
    for row in np.flatnonzero(none):
        yield all_.problem(row, "error", "zero thickness", f"{all_.name_of(row)} has no thickness",
                           field="lower_cm", found=f"{all_.upper[row]:g}-{all_.lower[row]:g}",
                           remedy="correct the depths, or leave out a horizon that is not there")  # fmt: skip


def _order(all_: Profiles) -> Iterator[Problem]:
    pit, upper = all_.in_file_order
    with np.errstate(invalid="ignore"):
        back = (pit[1:] == pit[:-1]) & (upper[1:] < upper[:-1])
    for row in np.flatnonzero(back) + 1:
        yield Problem("note", "order", "horizons are not written from top to bottom: they were put in order of depth",
                      field="upper_cm", found=f"{upper[row]:g} cm follows {upper[row - 1]:g} cm",
                      **place_of(all_.as_given.iloc[row]))  # fmt: skip


def _overlaps_and_gaps(all_: Profiles) -> Iterator[Problem]:
    """Between neighbours; limits of wavy boundaries count (``100-120/130`` meets ``125``)."""
    low, high = (np.where(np.isnan(one), all_.lower, one) for one in (all_.column("lower_low_cm"), all_.column("lower_high_cm")))
    next_low = np.append(np.where(np.isnan(all_.column("upper_low_cm")), all_.upper, all_.column("upper_low_cm"))[1:], np.nan)
    next_high = np.append(np.where(np.isnan(all_.column("upper_high_cm")), all_.upper, all_.column("upper_high_cm"))[1:], np.nan)
    with np.errstate(invalid="ignore"):
        sound = all_.same_pit & (all_.lower > all_.upper)
        overlap = sound & (np.fmin(low, all_.lower) > next_high + SNAP_CM)
        gap = sound & (np.fmax(high, all_.lower) < next_low - SNAP_CM)
    for row in np.flatnonzero(overlap):
        twice = all_.upper[row] == all_.upper[row + 1]
        what = (f"{all_.span(row)} and {all_.span(row + 1)} begin at the same depth" if twice
                else f"{all_.span(row)} reaches below the top of {all_.span(row + 1)}")  # fmt: skip
        yield all_.problem(row + 1, "warning", "overlap", what, field="upper_cm",
                           found=f"{min(all_.lower[row], np.nan_to_num(all_.lower[row + 1], nan=np.inf)) - all_.upper[row + 1]:g} cm twice",
                           allowed=f"{SNAP_CM:g} cm", remedy="correct the depths; a depth counted twice makes averages wrong")  # fmt: skip
    for row in np.flatnonzero(gap):
        yield all_.problem(row + 1, "warning", "gap", f"nothing is described between {all_.span(row)} and {all_.span(row + 1)}",
                           field="upper_cm", found=f"{all_.upper[row + 1] - all_.lower[row]:g} cm", allowed=f"{SNAP_CM:g} cm",
                           remedy="add the missing horizon or correct the depths")  # fmt: skip


def _surface(all_: Profiles) -> Iterator[Problem]:
    first = np.append(True, all_.pit[1:] != all_.pit[:-1])
    with np.errstate(invalid="ignore"):
        late = first & (all_.upper > SNAP_CM)
        above = (all_.upper < 0) & ~all_.flags(lambda one: one.organic or not one.parts or one.master == "W")
    for row in np.flatnonzero(late):
        yield all_.problem(row, "warning", "surface", f"the first horizon described, {all_.span(row)}, does not start at the surface",
                           field="upper_cm", found=f"{all_.upper[row]:g} cm", allowed="0 cm, or organic layers above it",
                           remedy="add what lies above, or correct the depths")  # fmt: skip
    for row in np.flatnonzero(above):
        yield all_.problem(row, "warning", "surface", f"{all_.span(row)} lies above the mineral surface, yet is not organic",
                           field="upper_cm", remedy="check the depths, and how organic layers are counted in this pit")  # fmt: skip


def _too_deep(all_: Profiles) -> Iterator[Problem]:
    deepest = np.full(len(all_.names), -np.inf)
    np.fmax.at(deepest, all_.pit, np.fmax(all_.upper, all_.lower))
    for pit in np.flatnonzero(deepest > DEEPEST_CM):
        yield all_.pit_problem(pit, "warning", "unit", f"the deepest horizon reaches {deepest[pit]:g} cm",
                               field="lower_cm", allowed=f"{DEEPEST_CM:g} cm without being asked about",
                               remedy="check that the unit of depths is right")  # fmt: skip


def _designations(all_: Profiles) -> Iterator[Problem]:
    written = all_.frame["designation_as_written"] if "designation_as_written" in all_.frame else None
    counts = np.bincount(all_.codes, minlength=len(all_.texts))
    first_rows = pd.Series(np.arange(len(all_.codes))).groupby(all_.codes).first().to_numpy()
    for code, one in enumerate(all_.designations):
        row, also = int(first_rows[code]), _also(int(counts[code]))
        if not one.text:
            yield all_.problem(row, "warning", "designation", f"a horizon has no designation{also}", field="designation",
                               remedy="add it; attributes that rest on designations are not known there")  # fmt: skip
        elif not one.known:
            near = nearest_designation(one.as_written, all_.convention)
            why = "; ".join(one.notes) or f"not understood: {', '.join(one.unknown)}"
            yield all_.problem(row, "warning", "designation", f"{one.as_written} is not a designation of this convention{also}",
                               field="designation", found=why,
                               remedy=f"did you mean {near}?" if near and near != one.as_written else "correct it")  # fmt: skip
        elif one.notes:
            yield all_.problem(row, "note", "designation", "; ".join(one.notes) + also, field="designation")
    if written is not None:
        yield from _read_otherwise(all_, written)


def _read_otherwise(all_: Profiles, written: pd.Series) -> Iterator[Problem]:
    """Notes of parsing what was written, where the frame already holds the normal form."""
    codes, uniques = pd.factorize(written.fillna("").astype("str"))
    first_rows = pd.Series(np.arange(len(codes))).groupby(codes).first().to_numpy()
    counts = np.bincount(codes, minlength=len(uniques))
    for code, text in enumerate(uniques):
        one = parse_designation(str(text), all_.convention)
        if one.known and one.notes and all_.texts[all_.codes[first_rows[code]]] != str(text):
            yield all_.problem(int(first_rows[code]), "note", "designation", "; ".join(one.notes) + _also(int(counts[code])), field="designation")


def _also(count: int) -> str:
    return "" if count == 1 else f" (in {count} horizons; this is the first)"


def _old_subdivisions(all_: Profiles) -> Iterator[Problem]:
    """A2 with no A1: before 1981, USDA descriptions called an E so."""
    if all_.convention != "usda":
        return
    second = all_.any_by_pit(all_.flags(lambda one: one.text == "A2"))
    first = all_.any_by_pit(all_.flags(lambda one: one.master == "A" and one.number != "2"))
    for pit in np.flatnonzero(second & ~first):
        yield all_.pit_problem(pit, "warning", "designation", "A2 without another A: before 1981 an E was called A2",
                               field="designation", remedy="write E if an eluvial horizon is meant; it is read as an A")  # fmt: skip


def _materials(all_: Profiles) -> Iterator[Problem]:
    numbers = np.array([one.discontinuity for one in all_.designations])[all_.codes]
    known = all_.flags(lambda one: one.known and not one.buried)
    back = all_.same_pit & known & np.append(known[1:], False) & np.append(numbers[1:] < numbers[:-1], False)
    for row in np.flatnonzero(back):
        yield all_.problem(row + 1, "warning", "discontinuity",
                           f"{all_.name_of(row + 1)} follows {all_.name_of(row)}: the number of the material goes back",
                           field="designation", remedy="materials are numbered from the top; correct the numbers")  # fmt: skip


def _ends(all_: Profiles) -> Iterator[Problem]:
    ends = all_.frame["lower_is_end"].to_numpy(dtype=bool) if "lower_is_end" in all_.frame else np.zeros(len(all_.frame), bool)
    rows = np.flatnonzero(ends)
    if len(rows):
        pits = len(np.unique(all_.pit[rows]))
        yield Problem(
            "note", "end of the hole", f"in {pits} pits the lower depth of the last horizon is only where observation ended, not a boundary",
            field="lower_cm", found=f"first: pit {all_.names[all_.pit[rows[0]]]}, {all_.span(rows[0])}",
            remedy="thicknesses and depths that depend on it read: at least",
        )  # fmt: skip
    observed = pd.to_numeric(pd.Series(all_.pit_column("observed_to_cm")), errors="coerce").to_numpy(dtype=float)
    deepest = np.full(len(all_.names), -np.inf)
    np.fmax.at(deepest, all_.pit, np.fmax(all_.upper, all_.lower))
    with np.errstate(invalid="ignore"):
        short = deepest > observed + SNAP_CM
    for pit in np.flatnonzero(short):
        yield all_.pit_problem(pit, "warning", "depth observed",
                               f"horizons reach {deepest[pit]:g} cm, the depth observed is {observed[pit]:g} cm",
                               field="observed_to_cm", remedy="correct one of them")  # fmt: skip
    for name, what in (("acid_to_cm", "tested with acid"), ("ec_to_cm", "tested for salts"), ("mottles_to_cm", "looked over for mottles")):
        tested = pd.to_numeric(pd.Series(all_.pit_column(name)), errors="coerce").to_numpy(dtype=float)
        with np.errstate(invalid="ignore"):
            beyond = tested > np.fmax(observed, deepest) + SNAP_CM
        for pit in np.flatnonzero(beyond):
            yield all_.pit_problem(pit, "warning", "depth observed", f"{what} to {tested[pit]:g} cm, deeper than the pit",
                                   field=name, allowed=f"{np.fmax(observed[pit], deepest[pit]):g} cm", remedy="correct one of them")  # fmt: skip
