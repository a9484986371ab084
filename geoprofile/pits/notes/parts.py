"""What is said of a part of a horizon: ``slightly effervescent in the lower part``, ``mottles in lower 2 inches``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .lexicon import UNIT_KINDS, Item

if TYPE_CHECKING:
    from .horizon import Horizon

CM = {"unit_inch": 2.54, "unit_cm": 1.0, "unit_mm": 0.1, "unit_m": 100.0, "unit_ft": 30.48}


def part_said(items: tuple[Item, ...]) -> tuple[str, tuple[Item, ...]]:
    """(``lower part``, ``lower 5 cm``; '' where nothing is said of a part, the items without it).

    ``below 12 inches`` is a depth from the surface and not of the horizon: of that no more than the lower part is known.
    """
    for at, item in enumerate(items[:-1]):
        first = next((before for before in range(at, -1, -1) if "preposition" in items[before].values), at)
        where, behind = item.values.get("place", ""), items[at + 1].values
        if where and "portion" in behind:
            portion = str(behind["portion"])
            return f"{where} {portion if portion in ('half', 'third', 'quarter') else 'part'}", items[:first] + items[at + 2 :]
        units = [kind for kind in UNIT_KINDS if at + 2 < len(items) and kind in items[at + 2].values]
        if where and "number" in behind and units:
            return f"{where} {round(behind['number'] * CM[units[0]], 4):g} cm", items[:first] + items[at + 3 :]
        if "below" in item.values and any("number" in one.values for one in items[at:]):
            return "lower part", items[:at]
    return "", items


def settle_parts(horizon: Horizon, cells: dict[str, str]) -> None:
    """Two parts of a horizon that fizz differently: what fizzes stands, and begins where the upper of them does."""
    there, before = horizon.cells, horizon.cells.get("effervescence part", "")
    if not before or cells.get("effervescence") in (None, "none"):
        return
    if there["effervescence"] == "none":
        horizon.left += [(one.start, one.end) for one in horizon.found if one.what in ("effervescence", "calcareous")]
        horizon.found = [one for one in horizon.found if one.what not in ("effervescence", "calcareous")]
        del there["effervescence"], there["effervescence part"]
        if before.startswith("upper"):
            cells.setdefault("effervescence part", "lower part")
    elif cells.get("effervescence part", "").startswith("upper"):
        there["effervescence part"] = cells["effervescence part"]
