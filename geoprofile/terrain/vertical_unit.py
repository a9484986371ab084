"""The unit of elevation: told by the band, by the system's vertical axis or by the survey file, else asked for (T10).

A projected system in metres says nothing about elevations: many rasters in UTM
hold feet. So it is not taken as an answer.
"""

from __future__ import annotations

from ..errors import InputError

METRES = 1.0
FOOT = 0.3048
US_SURVEY_FOOT = 1200 / 3937

UNIT_WORDS = {
    "m": METRES, "metre": METRES, "metres": METRES, "meter": METRES, "meters": METRES,
    "ft": FOOT, "foot": FOOT, "feet": FOOT, "international foot": FOOT, "international feet": FOOT,
    "us survey foot": US_SURVEY_FOOT, "us survey feet": US_SURVEY_FOOT, "foot_us": US_SURVEY_FOOT,
    "us-ft": US_SURVEY_FOOT, "us_survey_foot": US_SURVEY_FOOT, "ftus": US_SURVEY_FOOT,
}  # fmt: skip
NAMES = {METRES: "metres", FOOT: "feet of 0.3048 m", US_SURVEY_FOOT: "US survey feet"}


def metres_per_unit(tag: str, crs, setting: str | None, where: str) -> tuple[float, str]:
    """Factor to metres and the sentence that states it.

    Parameters
    ----------
    tag : unit of the band as the file gives it; empty = none.
    crs : pyproj CRS of the raster; only its vertical axis counts.
    setting : the survey file's elevation_unit; it wins over the file, and a disagreement is stated.
    """
    told = {f"band unit {tag!r}": UNIT_WORDS.get(" ".join(tag.lower().split()))} if tag else {}
    vertical = [axis for axis in crs.axis_info if axis.direction in ("up", "down")]
    if vertical:
        told[f"vertical axis of {crs.name}"] = float(vertical[0].unit_conversion_factor)
    if setting is not None:
        factor = UNIT_WORDS[setting]
        against = [how for how, value in told.items() if value is not None and abs(value / factor - 1) > 1e-3]
        doubt = f"; the raster itself says otherwise ({', '.join(against)}), the survey file was followed" if against else ""
        return factor, f"elevation is in {NAMES[factor]} (terrain.elevation_unit){_converted(factor)}{doubt}"
    known = {how: value for how, value in told.items() if value is not None}
    if len({round(value, 6) for value in known.values()}) == 1:
        how, factor = next(iter(known.items()))
        name = next((NAMES[value] for value in NAMES if abs(value / factor - 1) < 1e-9), f"units of {factor:g} m")
        return factor, f"elevation is in {name} ({how}){_converted(factor)}"
    raise InputError(
        "the unit of elevation is not known", where=where,
        found="; ".join(told) or "no band unit, no vertical axis",
        allowed="m, ft",
        remedy='ask who made the raster, then set elevation_unit = "m" or "ft" under [terrain]: '
               "feet taken as metres make every slope about three times too steep",
    )  # fmt: skip


def _converted(factor: float) -> str:
    return "" if factor == METRES else f", converted once by {factor:.9g}"
