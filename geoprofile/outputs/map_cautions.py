"""What every reader of the map is told before using it."""

from __future__ import annotations

from .bundle import Bundle


def cautions(bundle: Bundle) -> list[dict[str, str]]:
    """Title and sentence of each caution; common practice, no source. Local codes and licensed practice come first."""
    survey = bundle.context.survey
    found = []
    if "invented" in survey.name.lower():
        found.append(("Invented", "Everything here is invented: the ground, the pits, the names. It describes no real place."))
    if survey.map_scale:
        scale = f"1:{survey.map_scale:,}".replace(",", " ")
        found.append(("Scale of use", f"Meant for {scale} or smaller. Zooming in adds no detail, and no line is sharper than that."))
    else:
        found.append(("Scale of use", "The survey file states no scale of use. Zooming in adds no detail."))
    found += [
        ("Between pits", "Away from pits every value is an estimate. Read its 90 % interval and whether the pits back it before relying on it."),
        ("Buried lines", "Have pipes and cables located before breaking ground, by hand auger too, and follow what their owners require."),
        ("Pit entry", "Stay out of any excavation that is not sloped, shored or otherwise made safe as the local code requires. Walls fail without warning."),
    ]
    if bundle.salvage is not None:
        found.append(
            ("Stripping", "Depths vary inside a polygon. Watch the colour of the ground while stripping and stop where the subsoil shows.")
        )
    found += [
        ("Clean soil off", "Soil on boots, tools and machines carries disease between fields, clubroot among it. Clean them as local rules say."),
        ("Professional practice", "This map informs decisions. It replaces neither a site visit, nor a permit's conditions, nor the judgement of a licensed practitioner."),
    ]  # fmt: skip
    return [{"title": title, "text": text} for title, text in found]
