"""What every reader of the map is told before using it.

Common practice, no source. Local codes and licensed practice come first.
"""

from __future__ import annotations

from .bundle import Bundle

INVENTED = "Everything here is invented: the ground, the pits, the names. It describes no real place."
NO_SCALE = "The survey file states no scale of use. Zooming in adds no detail."
BETWEEN_PITS = (
    "Away from pits every value is an estimate. "
    "Read its 90 % interval and whether the pits back it before relying on it."
)
BURIED_LINES = (
    "Have pipes and cables located before breaking ground, by hand auger too, and follow what their owners require."
)
PIT_ENTRY = (
    "Stay out of any excavation that is not sloped, shored or otherwise made safe as the local code requires. "
    "Walls fail without warning."
)
STRIPPING = (
    "Depths vary inside a polygon. Watch the colour of the ground while stripping and stop where the subsoil shows."
)
CLEAN_SOIL = (
    "Soil on boots, tools and machines carries disease between fields, clubroot among it. "
    "Clean them as local rules say."
)
PRACTICE = (
    "This map informs decisions. It replaces neither a site visit, nor a permit's conditions, "
    "nor the judgement of a licensed practitioner."
)


def cautions(bundle: Bundle) -> list[dict[str, str]]:
    """Title and text of each caution, in the order in which they are read."""
    survey = bundle.context.survey
    scale = f"1:{survey.map_scale:,}".replace(",", " ") if survey.map_scale else ""
    found = [
        ("Invented", INVENTED if "invented" in survey.name.lower() else ""),
        ("Scale of use", f"Meant for {scale} or smaller. Zooming in makes no line sharper." if scale else NO_SCALE),
        ("Between pits", BETWEEN_PITS),
        ("Buried lines", BURIED_LINES),
        ("Pit entry", PIT_ENTRY),
        ("Stripping", STRIPPING if bundle.salvage is not None else ""),
        ("Clean soil off", CLEAN_SOIL),
        ("Professional practice", PRACTICE),
    ]
    return [{"title": title, "text": text} for title, text in found if text]
