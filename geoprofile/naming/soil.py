"""The soil as the rules see it: layers with bounds, colours and values, and how deep it was seen.

Everything here is hashable: two pits that the rules cannot tell apart are named once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from ..described.profile import NOT_NATURAL, Horizon, Profile
from .logic import NO, OPEN, YES
from .symbols import Symbol, symbol

INFINITE = math.inf
Colour = tuple[str, float, float]
"""Hue, value, chroma."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer, depths in cm from the mineral surface (organic layers over mineral soil negative).

    ``thick_low`` and ``thick_high`` bound its thickness; the last layer of a pit that ended in it has no upper bound.
    """

    text: str
    upper: float
    lower: float
    thick_low: float
    thick_high: float
    moist: Colour | None = None
    dry: Colour | None = None
    clay: float | None = None
    ph: float | None = None
    organic_carbon: float | None = None
    mottles: str | None = None
    contrast: str | None = None
    structure: str | None = None
    texture: str | None = None
    effervescent: bool | None = None
    described: bool = True

    @property
    def symbol(self) -> Symbol:
        return symbol(self.text)

    @property
    def name(self) -> str:
        return self.text if self.described else "a layer not described"

    @property
    def place(self) -> str:
        """``Bt 16-45 cm``."""
        end = f"{self.lower:g}" if self.thick_high < INFINITE else f"{self.lower:g}+" if self.lower > self.upper else "+"
        return f"{self.name} {abs(self.upper):g}-{end} cm" if end != "+" else f"{self.name} {self.upper:g}+ cm"


@dataclass(frozen=True, slots=True)
class Span:
    """A summed thickness: at least ``low``, at most ``high``, ``usual`` as drawn, in cm; and the layers it counts."""

    low: float
    high: float
    usual: float
    layers: tuple[Layer, ...] = ()
    unseen: bool = False
    """More may lie below what was seen."""

    def at_least(self, limit: float) -> int:
        """Degree of: the thickness is at least ``limit``. Thickness not seen leans to nothing."""
        if self.low >= limit:
            return YES
        if self.high < limit:
            return NO
        if not self.layers and self.unseen:
            return OPEN
        return 1 if self.usual >= limit else OPEN if self.unseen or self.high == INFINITE else -1

    @property
    def text(self) -> str:
        names = ", ".join(layer.place for layer in self.layers) or "none"
        amount = f"{self.low:g} cm" if self.low == self.high else (
            f"at least {self.low:g} cm" if self.high == INFINITE else f"{self.low:g} to {self.high:g} cm"
        )
        return f"{names}: {amount}" if self.layers else names


@dataclass(frozen=True, slots=True)
class Soil:
    """One pit. ``layers`` run down from the mineral surface (from the organic surface where ``organic``)."""

    layers: tuple[Layer, ...]
    above: tuple[Layer, ...]
    organic: bool
    natural: bool
    described_to: float
    ends_at_boundary: bool
    stopped_by: str
    drainage: str
    wooded: bool
    temperature: float | None
    """Mean annual soil temperature that the survey file states, degrees C."""

    @property
    def reached_parent(self) -> bool:
        """A C or rock was met: no B goes on unseen below."""
        return any(layer.described and layer.symbol.is_parent and not layer.symbol.buried for layer in self.layers)

    @property
    def forest_floor(self) -> bool:
        return any(set(layer.symbol.master) & set("LFH") for layer in self.above)

    @property
    def mineral(self) -> tuple[Layer, ...]:
        """Described mineral layers that are not buried, nor below a buried one."""
        ready = []
        for layer in self.layers:
            if layer.described and layer.symbol.buried:
                break
            if layer.described and not layer.symbol.organic:
                ready.append(layer)
        return tuple(ready)

    def find(self, wanted: Callable[[Layer], bool]) -> tuple[Layer, ...]:
        return tuple(layer for layer in self.mineral if wanted(layer))

    def seen_to(self, depth: float) -> bool:
        """Whether horizons were described to ``depth``, or to rock."""
        return self.described_to >= depth or any(layer.symbol.master == "R" for layer in self.layers)

    def span(self, wanted: Callable[[Layer], int], *, upper: float = 0.0, lower: float = INFINITE,
             unseen: bool = False) -> Span:  # fmt: skip
        """Thickness of the layers that answer YES, and of those that may, within ``upper`` to ``lower``."""
        low = high = usual = 0.0
        counted = []
        for layer in self.mineral:
            degree = wanted(layer)
            if degree == NO or layer.upper >= lower or layer.lower <= upper and layer.thick_high < INFINITE:
                continue
            part = max(min(layer.lower, lower) - max(layer.upper, upper), 0.0)
            cut = layer.lower > lower or layer.upper < upper
            counted.append(layer)
            high += min(layer.thick_high, lower - max(layer.upper, upper))
            usual += part
            if degree == YES:
                low += min(part, layer.thick_low) if cut or layer.thick_low < part else layer.thick_low
        if unseen:
            high = INFINITE
        return Span(low, high, usual, tuple(counted), unseen)


def soil_of(profile: Profile, temperature: float | None) -> Soil:
    """A Profile in the form that the rules see."""
    rows = [*profile.soil, *profile.below]
    layers = tuple(_layer(profile, row, row is rows[-1]) for row in rows)
    return Soil(
        layers=layers,
        above=tuple(_layer(profile, row, False) for row in profile.above),
        organic=profile.is_organic,
        natural=profile.datum not in NOT_NATURAL,
        described_to=max(profile.described_to or 0.0, 0.0),
        ends_at_boundary=profile.base_is_boundary,
        stopped_by=profile.stopped_by,
        drainage=profile.drainage,
        wooded=any(word in profile.land_use for word in ("bush", "forest", "wood")),
        temperature=temperature,
    )


def _layer(profile: Profile, row: Horizon, last: bool) -> Layer:
    lower = row.lower if row.lower is not None else max(row.upper, profile.described_to or row.upper)
    open_below = row.lower is None or row.ends_hole or (last and not profile.base_is_boundary)
    low = max((row.lower_low if row.lower_low is not None else lower) - row.upper_high, 0.0)
    high = INFINITE if open_below else (row.lower_high if row.lower_high is not None else lower) - row.upper_low
    if row.thickness_low is not None:
        low = row.thickness_low
    if row.thickness_high is not None and not open_below:
        high = max(row.thickness_high, low)
    return Layer(
        text=row.designation.text if row.described else "",
        upper=row.upper,
        lower=lower,
        thick_low=round(low, 3),
        thick_high=round(high, 3),
        moist=row.moist,
        dry=row.dry,
        clay=profile.value(row, "clay_percent"),
        ph=profile.value(row, "ph"),
        organic_carbon=profile.value(row, "organic_carbon_percent"),
        mottles=row.mottle_abundance,
        contrast=row.mottle_contrast,
        structure=row.structure_kind,
        texture=row.texture,
        effervescent=row.effervescent,
        described=row.described,
    )
