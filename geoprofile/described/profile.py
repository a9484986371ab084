"""One pit as the attributes see it: horizons in order, what was tested and how deep, where the soil ends.

Built by ``from_frames.py``; nothing here decides what an attribute means.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ..vocabulary.designations import Designation

GAP_CM = 0.5
"""Rows further apart than this leave a layer that nobody described, cm."""
SHALLOW_TOOLS = ("auger", "core", "probe")
"""With these, rock cannot be told from a stone."""
NOT_NATURAL = ("stripped ground", "filled ground")


@dataclass(frozen=True, slots=True)
class Horizon:
    """One horizon, or a layer that nobody described (``described`` False). Depths in cm from the datum; None = not known."""

    designation: Designation | None
    upper: float
    lower: float | None
    upper_low: float
    upper_high: float
    lower_low: float | None
    lower_high: float | None
    thickness_low: float | None = None
    thickness_high: float | None = None
    ends_hole: bool = False
    """The lower depth is where observation ended, not a boundary."""
    unread_below: bool = False
    """A row of the source that could not be used follows."""
    effervescent: bool | None = None
    mottled: bool | None = None
    effervescence_part: str = ""
    """Which part of the horizon effervesces, as ``lower part``; '' = all of it."""
    mottles_part: str = ""
    moist: tuple[str, float, float] | None = None
    """Hue, value, chroma of the moist soil."""
    dry: tuple[str, float, float] | None = None
    mottle_abundance: str | None = None
    """In the words of the vocabulary; None = not described."""
    mottle_contrast: str | None = None
    texture: str | None = None
    """Name of the texture class."""
    structure_kind: str | None = None
    ec: float | None = None
    ec_extract: str = ""
    row: int = -1
    """Row in ``Profile.columns``; -1 for a layer nobody described."""
    kinds: Mapping[str, bool | None] = field(default_factory=dict)
    """Answers of ``meanings.toml`` for the designation."""

    @property
    def described(self) -> bool:
        return self.designation is not None and bool(self.designation.text)

    @property
    def name(self) -> str:
        return self.designation.text if self.described else "a layer not described"


@dataclass(frozen=True, slots=True)
class Profile:
    """One pit.

    ``soil`` are the horizons that count: from the mineral surface (from the
    organic surface in organic soils) to the first buried horizon, with layers
    nobody described filled in. ``above`` are organic horizons over a mineral
    soil. ``below`` are the first buried horizon and all under it; none where the
    mantle over it is too thin to be a soil of its own (``meanings.toml``).
    """

    pit_id: str
    convention: str
    kind: str
    datum: str
    soil: tuple[Horizon, ...]
    above: tuple[Horizon, ...]
    below: tuple[Horizon, ...]
    described_to: float | None
    """Depth to which horizons were described, cm."""
    observed_to: float | None
    """Depth observed, described or not, cm."""
    stopped_by: str
    acid_to: float | None
    ec_to: float | None
    mottles_to: float | None
    organic_above: float | None
    datum_shift: float
    drainage: str
    land_use: str
    parent_material: str
    columns: Mapping[str, np.ndarray]
    """Measured columns of all horizons of the survey; a horizon's values are at its ``row``."""

    @property
    def is_natural(self) -> bool:
        return self.datum not in NOT_NATURAL

    @property
    def is_organic(self) -> bool:
        return self.datum == "organic surface"

    @property
    def buried_at(self) -> float | None:
        """Depth of the first buried horizon."""
        return self.below[0].upper if self.below else None

    @property
    def reach(self) -> float:
        """Depth to which the soil that counts was described, cm; 0 where nothing was."""
        if self.below:
            return self.below[0].upper
        return max(self.described_to or 0.0, 0.0) if self.soil else 0.0

    @property
    def rock_stopped(self) -> bool:
        """Rock ended the hole, and someone could see that it was rock."""
        return self.stopped_by == "rock" and self.kind in ("pit", "exposure")

    @property
    def ends_known(self) -> bool:
        """What follows the last horizon of ``soil`` is known: a buried soil or rock. Ground that was only dug through is not described."""
        return bool(self.below) or self.rock_stopped

    @property
    def base_is_boundary(self) -> bool:
        """The base of the last horizon of ``soil`` is a boundary and not only where observation ended."""
        if self.below or self.rock_stopped:
            return True
        if not self.soil or self.described_to is None or self.soil[-1].ends_hole:
            return False
        return self.observed_to > self.described_to + GAP_CM

    @property
    def all_horizons(self) -> tuple[Horizon, ...]:
        return self.above + self.soil + self.below

    def value(self, horizon: Horizon, column: str) -> float | None:
        """A measured value of a horizon, None where there is none."""
        if horizon.row < 0 or column not in self.columns:
            return None
        number = float(self.columns[column][horizon.row])
        return None if number != number else number
