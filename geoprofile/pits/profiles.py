"""Horizons of all pits in order of depth, as arrays, with each designation read once: what the checks look at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.designations import Designation, parse_designation
from ..vocabulary.munsell import parse_colour
from ..vocabulary.terms import Term, find_term
from .places import place_of


@dataclass(frozen=True)
class Colours:
    """Munsell colours of the horizons as arrays (n,); NaN where none could be read. ``hue`` is the place on the circle, NaN also for neutral."""

    hue: np.ndarray
    value: np.ndarray
    chroma: np.ndarray

    @property
    def known(self) -> np.ndarray:
        return np.isfinite(self.value)


class Profiles:
    """Horizons in order of depth as arrays, with each designation read once."""

    def __init__(self, pits: pd.DataFrame, horizons: pd.DataFrame, convention: str) -> None:
        self.convention = convention
        self.pits = pits.set_index(pits["pit_id"].astype("str"), drop=False) if "pit_id" in pits else pits
        upper = horizons["upper_cm"].to_numpy(dtype=float)
        pit, names = pd.factorize(horizons["pit_id"].astype("str").fillna(""))
        self.as_given = horizons
        rows = horizons["row"].to_numpy(dtype=float, na_value=np.nan) if "row" in horizons else np.arange(len(horizons))
        self.by_row = np.argsort(rows, kind="stable")
        """Positions in ``as_given`` in the order of the file."""
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
        self.rows_by_designation = np.split(np.argsort(codes, kind="stable"), np.cumsum(np.bincount(codes))[:-1])
        """Positions of the rows of each designation, in order of depth within pits."""
        self._texts: dict[str, np.ndarray] = {}
        self.same_pit = np.append(self.pit[1:] == self.pit[:-1], False)
        """Whether the next row is of the same pit."""

    # what rows say

    def flags(self, of: Callable[[Designation], bool]) -> np.ndarray:
        """One flag per row from its designation."""
        return np.array([of(one) for one in self.designations], dtype=bool)[self.codes]

    def column(self, name: str) -> np.ndarray:
        """A number column (n,), NaN where there is none."""
        if name not in self.frame:
            return np.full(len(self.frame), np.nan)
        return self.frame[name].to_numpy(dtype=float)

    def text(self, name: str) -> np.ndarray:
        """A text column (n,) of objects, '' where nothing is written."""
        if name not in self._texts:
            blank = np.full(len(self.frame), "", dtype=object)
            self._texts[name] = self.frame[name].fillna("").astype("str").str.strip().to_numpy(dtype=object) if name in self.frame else blank
        return self._texts[name]

    def terms(self, kind: str, name: str) -> np.ndarray:
        """The term of each row (n,) of objects, None where nothing is written or no table knows it."""
        codes, uniques = pd.factorize(self.text(name))
        found = np.empty(len(uniques), dtype=object)
        for position, text in enumerate(uniques):
            found[position] = find_term(kind, str(text), self.convention) if text else None
        return found[codes]

    def term_names(self, kind: str, name: str) -> np.ndarray:
        """Names of the terms of each row; '' where there is none."""
        return np.array([one.name if one else "" for one in self.terms(kind, name)], dtype=object)

    @cached_property
    def moist(self) -> Colours:
        return self._colours("colour_moist")

    @cached_property
    def dry(self) -> Colours:
        return self._colours("colour_dry")

    def _colours(self, name: str) -> Colours:
        codes, uniques = pd.factorize(self.text(name))
        table = np.full((len(uniques), 3), np.nan)
        for position, text in enumerate(uniques):
            colour = parse_colour(str(text)) if text else None
            if colour:
                table[position] = colour.hue_step, colour.value, colour.chroma
        return Colours(*table[codes].T)

    @cached_property
    def mineral(self) -> np.ndarray:
        """Mineral soil: neither organic, nor rock, water or without a designation that could be read."""
        return self.flags(lambda one: bool(one.parts) and not one.organic and one.master not in ("R", "W", "M", "I"))

    @cached_property
    def material(self) -> np.ndarray:
        """Number of the material of each row; 1 is the uppermost."""
        return np.array([one.discontinuity for one in self.designations], dtype=int)[self.codes]

    # what pits say

    def pit_column(self, name: str) -> np.ndarray:
        """A column of the pits, one value a pit in the order of ``names``; missing where there is none."""
        if name not in self.pits:
            return np.full(len(self.names), np.nan, dtype=object)
        column = self.pits[name]
        return column[~column.index.duplicated()].reindex(self.names).to_numpy(dtype=object)

    def pit_text(self, name: str) -> np.ndarray:
        return np.array([one.strip() if isinstance(one, str) else "" for one in self.pit_column(name)], dtype=object)

    def pit_numbers(self, name: str) -> np.ndarray:
        return pd.to_numeric(pd.Series(self.pit_column(name)), errors="coerce").to_numpy(dtype=float)

    def pit_terms(self, kind: str, name: str) -> list[Term | None]:
        return [find_term(kind, text, self.convention) if text else None for text in self.pit_text(name)]

    def any_by_pit(self, flags: np.ndarray) -> np.ndarray:
        return np.bincount(self.pit, flags, len(self.names)) > 0

    @cached_property
    def _starts(self) -> np.ndarray:
        return np.searchsorted(self.pit, np.arange(len(self.names) + 1))

    def rows_of(self, pit: int) -> np.ndarray:
        """Rows of a pit, from top to bottom."""
        return np.arange(self._starts[pit], self._starts[pit + 1])

    def least_by_pit(self, values: np.ndarray, flags: np.ndarray) -> np.ndarray:
        """Least of ``values`` over the flagged rows of each pit; infinite where there is none."""
        least = np.full(len(self.names), np.inf)
        np.fmin.at(least, self.pit[flags], values[flags])
        return least

    def greatest_by_pit(self, values: np.ndarray, flags: np.ndarray) -> np.ndarray:
        """Greatest of ``values`` over the flagged rows of each pit; minus infinity where there is none."""
        most = np.full(len(self.names), -np.inf)
        np.fmax.at(most, self.pit[flags], values[flags])
        return most

    @cached_property
    def deepest(self) -> np.ndarray:
        """Greatest depth written for a horizon of each pit, cm; minus infinity where there is none."""
        return self.greatest_by_pit(np.fmax(self.upper, self.lower), np.ones(len(self.pit), bool))

    def above(self, flags: np.ndarray) -> np.ndarray:
        """Whether a flagged row of the same pit lies above the row."""
        return self._seen(self.pit, flags)

    def below(self, flags: np.ndarray) -> np.ndarray:
        """Whether a flagged row of the same pit lies below the row."""
        return self._seen(self.pit[::-1], flags[::-1])[::-1]

    @staticmethod
    def _seen(pit: np.ndarray, flags: np.ndarray) -> np.ndarray:
        before = np.cumsum(flags) - flags
        first = np.append(True, pit[1:] != pit[:-1])
        at_first = np.maximum.accumulate(np.where(first, np.arange(len(pit)), 0))
        return before - before[at_first] > 0

    # what is told of them

    def problem(self, row: int, severity: str, check: str, what: str, **fields: str) -> Problem:
        """A problem with the place of one row (position in order of depth)."""
        places = self._places
        number = places["row"][row]
        return Problem(severity, check, what, pit_id=places["pit_id"][row], file=places["file"][row], sheet=places["sheet"][row],
                       row=None if np.isnan(number) else int(number), **fields)

    @cached_property
    def _places(self) -> dict[str, np.ndarray]:
        rows = self.frame["row"].to_numpy(dtype=float, na_value=np.nan) if "row" in self.frame else np.full(len(self.frame), np.nan)
        return {"row": rows, **{name: self.text(name) for name in ("pit_id", "file", "sheet")}}

    def pit_problem(self, pit: int, severity: str, check: str, what: str, **fields: str) -> Problem:
        """A problem with the place of a pit: its row in the pits table, else its first horizon."""
        name = str(self.names[pit])
        if name in self.pits.index:
            found = self.pits.loc[name]
            found = found.iloc[0] if isinstance(found, pd.DataFrame) else found
        else:
            found = self.frame.iloc[int(np.argmax(self.pit == pit))]
        return Problem(severity, check, what, **place_of(found), **fields)

    def some_pits(self, rows: np.ndarray, most: int = 12) -> str:
        """Names of the pits of some rows, in order, with what was left out counted."""
        names = list(dict.fromkeys(str(self.names[pit]) for pit in self.pit[rows]))
        return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")

    def name_of(self, row: int) -> str:
        return self.texts[self.codes[row]] or "horizon without designation"

    def span(self, row: int) -> str:
        lower = "" if np.isnan(self.lower[row]) else f"{self.lower[row]:g}"
        return f"{self.name_of(row)} {self.upper[row]:g}-{lower}" if np.isfinite(self.upper[row]) else self.name_of(row)


def rounding(values: np.ndarray) -> float:
    """Half of the last digit that a column of numbers is given to: 0.5 where all are whole, 0.05 with one decimal."""
    known = values[np.isfinite(values)]
    for decimals in (0, 1):
        if np.allclose(known, np.round(known, decimals), atol=1e-9, rtol=0):
            return 0.5 / 10**decimals
    return 0.005
