"""Why a place cannot be used, in a line that people can read."""

from __future__ import annotations

from .. import environment as _environment  # noqa: F401  # before any geospatial library

NO_PLACE = "0, 0 stands where no place was written"


def why_nowhere(x: float, y: float, source: str, survey: str) -> str:
    """Why a place cannot be brought into the survey's system, in one line."""
    if x == y == 0:
        return NO_PLACE
    from pyproj import CRS

    system = CRS.from_user_input(source)
    if system.is_geographic and abs(y) > 90:
        return f"{y:g} is no latitude"
    if system.is_geographic and abs(x) > 360:
        return f"{x:g} is no longitude"
    return f"{x:g}, {y:g} in {short_name(source)} lies outside of what {short_name(survey)} can hold"


def short_name(system: str) -> str:
    """A coordinate system as people call it: its code, else its name; never pages of definition."""
    if len(system) < 40:
        return system
    from pyproj import CRS

    crs = CRS.from_user_input(system)
    code = crs.to_authority()
    return ":".join(code) if code else crs.name
