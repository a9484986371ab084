"""Which attributes are mapped, by which method, with which settings: every default filled in."""

from __future__ import annotations

from difflib import get_close_matches

from ..errors import SettingsError
from ..products import AttributeDefinition
from ..registry import plugins
from ..settings.surfaces import SurfacesSettings
from .methods.contract import MethodSettings

NUMERIC_KINDS = ("depth", "thickness", "average")


def chosen(settings: SurfacesSettings, definitions: tuple[AttributeDefinition, ...]) -> tuple[AttributeDefinition, ...]:
    """Definitions to map, in the order of ``use`` or of the attributes; an unknown name is a mistake in the settings."""
    by_name = {definition.name: definition for definition in definitions}
    wrong = []
    for key, names in (("surfaces.use", settings.use or ()), ("surfaces.for", tuple(settings.for_))):
        for name in names:
            if name not in by_name:
                near = get_close_matches(name, by_name, 1)
                wrong.append(
                    SettingsError(
                        "no attribute of this name was derived", where=key, found=name, allowed=", ".join(by_name),
                        remedy=f"did you mean {near[0]!r}?" if near else "choose one of these, or derive it ([attributes] use)",
                    )
                )  # fmt: skip
    if wrong:
        first, *rest = wrong
        raise SettingsError(first.what, where=first.where, found=first.found, allowed=first.allowed, remedy=first.remedy,
                            others=tuple(rest))  # fmt: skip
    return definitions if settings.use is None else tuple(by_name[name] for name in dict.fromkeys(settings.use))


def settings_for(name: str, settings: SurfacesSettings) -> MethodSettings:
    """[surfaces.for.NAME] over [surfaces] over the defaults."""
    own = settings.for_.get(name)

    def value(key: str, default):
        for source in (own, settings):
            if getattr(source, key, None) is not None:
                return getattr(source, key)
        return default

    if value("reach_azimuth_degrees", None) is not None and value("reach_ratio", None) is None:
        raise SettingsError(
            "a direction of longer reach needs how much longer it is", where=f"surfaces, attribute {name}",
            found="reach_azimuth_degrees without reach_ratio", remedy="set reach_ratio, as 0.5; or leave both out: they are then fitted",
        )  # fmt: skip
    drift = tuple(dict.fromkeys(value("drift", ())))
    plain = MethodSettings()
    return MethodSettings(
        method=value("method", plain.method),
        drift=drift,
        model=value("model", plain.model),
        residual=value("fit", "residual_maximum_likelihood") == "residual_maximum_likelihood",
        nugget_is_error=value("nugget", "short_distance") == "measurement_error",
        less_than_cm=tuple(sorted(set(value("less_than_cm", ())))),
        more_than_cm=tuple(sorted(set(value("more_than_cm", ())))),
        less_than=tuple(value("less_than", ())),
        more_than=tuple(value("more_than", ())),
        power=value("power", plain.power),
        coordinates=value("coordinates", plain.coordinates),
        reach_m=value("reach_m", None),
        between_up_to=value("between_up_to_cm", plain.between_up_to),
        least_presence=value("least_presence", plain.least_presence),
        show_unbacked=value("show_unbacked", plain.show_unbacked),
        transform=value("transform", plain.transform),
        absent_as=value("absent_as", plain.absent_as),
        azimuth=value("reach_azimuth_degrees", plain.azimuth),
        reach_ratio=value("reach_ratio", plain.reach_ratio),
        reach=value("reach", plain.reach),
        nearest_pits=value("nearest_pits", plain.nearest_pits),
        pits_within_m=value("pits_within_m", plain.pits_within_m),
    )


def method_of(choice: MethodSettings, attribute: str) -> object:
    """The installed method; refuses drift kriging without drift."""
    method = plugins("geoprofile.methods").get(choice.method)
    if getattr(method, "needs_drift", getattr(method, "uses_drift", False)) and not choice.drift:
        raise SettingsError(
            f"the method {choice.method} needs drift", where=f"surfaces, attribute {attribute}",
            remedy='name terrain rasters, as drift = ["relative_elevation"]; or choose bounded_kriging',
        )  # fmt: skip
    return method


def methods_with_bounds() -> list[str]:
    """Names of installed methods that can use observations that are only bounds."""
    return [name for name, method in plugins("geoprofile.methods").loaded.items() if method.uses_bounds]
