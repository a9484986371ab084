"""What a plan says in words: totals, how they came about, and what nobody may miss."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from ..areal import ArealMean
from ..problems import Problem
from ..settings.salvage import SalvageSettings
from .planned_cut import is_planned
from .volumes import area_weighted_mean, bank_volume_m3

FAR = "the mean of pits of the whole survey, not of that land: too few pits lie inside or in the same stratum"


@dataclass(frozen=True)
class Heed:
    """What nobody who uses a lift's depths may miss: cautions of its surface (``title``), and polygons of a depth from elsewhere."""

    lift: str
    title: str
    cautions: tuple[str, ...] = ()
    far: tuple[str, ...] = ()


def warnings_of(heeds: Iterable[Heed]) -> tuple[list[str], list[Problem]]:
    """A note for each lift; a problem for each caution and one for depths from elsewhere, which name the lifts."""
    notes, by_caution, elsewhere = [], {}, []
    for one in heeds:
        for caution in one.cautions:
            notes.append(f"caution: {one.lift}: of its surface ({one.title}): {caution}")
            by_caution.setdefault(caution, []).append(one.lift)
        if one.far:
            notes.append(f"caution: {one.lift}: the depth of {', '.join(one.far)} is {FAR}")
            elsewhere.append(f"{one.lift}: {', '.join(one.far)}")
    problems = [
        Problem("warning", "surface of a lift", f"depths and volumes of {', '.join(lifts)} rest on a surface with a caution", found=caution,
                remedy="do not tell the areas apart by their depths; hold to the intervals, and dig more pits where it matters")
        for caution, lifts in by_caution.items()
    ]  # fmt: skip
    if elsewhere:
        problems.append(
            Problem("warning", "depth from elsewhere", f"the depth of areas to be stripped is {FAR}", found="; ".join(elsewhere),
                    remedy="dig pits inside these areas before their depths and volumes are used")
        )  # fmt: skip
    return notes, problems


def totals(frame: gpd.GeoDataFrame, together: dict[str, ArealMean | None]) -> list[str]:
    """A sentence a lift. ``together``: mean depth of all polygons by lift, where a model gives its interval."""
    notes = []
    for lift, part in frame.groupby("lift", sort=False):
        known = part[part["bank_volume_m3"].notna() & (part["covered_percent"] > 0)]
        if known.empty:
            notes.append(f"{lift}: {part['area_ha'].sum():.2f} ha, depth not known")
            continue
        covered = known["area_ha"] - known["not_covered_ha"]
        mean = area_weighted_mean(known["mean_cm"].to_numpy(), covered.to_numpy())
        missing = part["area_ha"].sum() - covered.sum()
        text = (f"{lift}: {known['bank_volume_m3'].sum():,.0f} m3 bank volume on {covered.sum():.2f} ha, "
                f"area-weighted mean {mean:.1f} cm")  # fmt: skip
        if missing > 0.00005:
            text += f"; {missing:.2f} ha are not covered and not in the volume"
        # intervals of polygons are not added up: their errors are neither independent nor one
        if together.get(lift) is not None and len(known) > 1:
            low, high = (bank_volume_m3(depth, covered.sum()) for depth in (together[lift].low90, together[lift].high90))
            text += f"; 90 % interval of the total {low:,.0f} to {high:,.0f} m3, from the errors of all areas together"
        notes.append(text)
    return notes + _planned_total(frame)


def _planned_total(frame: pd.DataFrame) -> list[str]:
    if "planned_cut_m3" not in frame:
        return []
    cut = frame[frame["planned_cut_m3"].notna()]
    if cut.empty:
        return ["planned cut: no depth is known"]
    text = (f"planned cut: {cut['planned_cut_m3'].sum():,.0f} m3 in place by the column strip_depth_cm; expected in it "
            f"{cut['planned_subsoil_m3'].sum():,.0f} m3 of subsoil, and {cut['planned_left_behind_m3'].sum():,.0f} m3 of topsoil stay behind")  # fmt: skip
    if "recovered_bank_m3" in cut:
        text += f"; after losses {cut['recovered_bank_m3'].sum():,.0f} m3 in place"
    if "loose_volume_m3" in cut:
        text += f", {cut['loose_volume_m3'].sum():,.0f} m3 loose"
    return [text]


def method_notes(frame: gpd.GeoDataFrame, settings: SalvageSettings) -> list[str]:
    """How depths, intervals and what was asked for besides came about."""
    notes = ["volumes are bank volumes (in place), of the covered part only"]
    mapped = frame["basis"].str.startswith("surface by")
    if mapped.any():
        notes.append(
            "where there is a surface: depth by the exact share of each cell inside the polygon; the interval holds if "
            "the surface's model does, whose own uncertainty is not in it"
        )
    if (~mapped).any():
        notes.append(
            "where there is no surface: depth from the pits named in the column basis; the whole polygon counts as covered"
        )
    if settings.more_than_m3 is not None:
        notes.append(
            f"probability_more is the probability that the topsoil of a polygon holds more than {settings.more_than_m3:g} m3 in place"
        )
    notes.append(_least_lift(settings))
    if is_planned(settings):
        rounded = f"the mean rounded {settings.rounding} to {settings.round_to_cm:g} cm" if settings.round_to_cm else "the mean"
        least = f", at least the minimum lift of {settings.minimum_lift_cm:g} cm" if settings.minimum_lift_cm else ""
        notes.append(
            f"strip_depth_cm is {rounded}{least}; the planned volumes, and what is recovered of them, are of a cut of that depth; "
            "bank_volume_m3 and its interval are of the topsoil as it lies"
        )
    if settings.lost_percent is not None or settings.swell_factor is not None:
        of = "volume of the planned cut" if is_planned(settings) else "bank volume"
        notes.append(f"losses of {settings.lost_percent or 0:g} % were taken off the {of} first; what is left swells by "
                     f"{settings.swell_factor or 1:g} (loose volume)")  # fmt: skip
    if settings.flat_strip_cm:
        notes.append(
            f"flat strip of {settings.flat_strip_cm:g} cm: thinner_ha are the hectares expected to be thinner than that (the probability of each "
            "place, added up over the land), probably_thinner_ha those of places more likely thinner than not, surely_thinner_ha with 95 % "
            "probability"
        )
    if settings.flat_strip_cm or is_planned(settings):
        notes.append(
            "subsoil taken and topsoil left behind are what is expected; their limits take all errors as one, and reach to what is "
            "expected where that lies beyond them"
        )
    return notes


def _least_lift(settings: SalvageSettings) -> str:
    if settings.minimum_lift_cm:
        return (
            f"a minimum lift of {settings.minimum_lift_cm:g} cm was asked for: padded_with_subsoil_m3 is the subsoil that it adds to the planned cut"
        )
    return "no minimum lift: thin topsoil is not padded with subsoil"
