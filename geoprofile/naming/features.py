"""What designations and recorded properties of USDA and WRB records support, and no more: no class is claimed.

The features are data (``soil_features.toml``); the increase of clay, the dark surface and rock are looked at here.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..described.profile import Horizon, Profile
from ..vocabulary.tables import table
from .naming import Named, Step

LEVEL = "feature"
DESIGNATED, SUPPORTED, CONTRADICTED = "designated", "supported by what was measured", "not borne out by what was measured"


def name_features(profile: Profile) -> Named:
    """The features that a record supports, as steps; no order, great group or subgroup."""
    if not profile.is_natural:
        return Named(sure="not named: stripped or filled ground")
    if not any(row.described for row in profile.all_horizons):
        return Named(sure="not named: no horizons are described")
    steps = tuple(_steps(profile))
    found = "; ".join(f"{step.soil_class} ({step.answer})" for step in steps)
    return Named(
        sure=f"no name is claimed; the record supports: {found}" if found else "no name is claimed; no diagnostic feature is designated",
        missing=tuple(dict.fromkeys(step.missing for step in steps if step.missing)),
        steps=steps,
    )


def _steps(profile: Profile) -> Iterator[Step]:
    content = table("soil_features")
    convention = "usda" if profile.convention == "usda" else "wrb"
    source = content["sources"][convention]
    yield from _dark_surface(profile, content["dark_surface"], source)
    for entry in content["feature"]:
        letters = entry["letters"][convention] if isinstance(entry["letters"], dict) else entry["letters"]
        rows = [row for row in profile.soil if row.described and _shows(row, entry, letters)]
        if not rows:
            continue
        answer, evidence = DESIGNATED, ", ".join(_place(row) for row in rows)
        if entry["name"] == "illuvial clay":
            answer, more = _clay(profile, rows[0], content["clay_increase"][convention])
            evidence += more
        if "at_least_cm" in entry:
            thick = sum(_thickness(row) for row in rows)
            bound = "at least " if rows[-1].lower is None or rows[-1].ends_hole else ""
            evidence += f"; {bound}{thick:g} cm together (the diagnostic asks {entry['at_least_cm']} cm)"
            if thick < entry["at_least_cm"] and not bound:
                answer = CONTRADICTED
        yield Step(LEVEL, entry["claims"][convention], "feature", entry["name"], answer, evidence, source, entry["asks"])
    yield from _rock(profile, source)


def _shows(row: Horizon, entry: dict, letters: list[str]) -> bool:
    return not row.designation.buried and any(
        part.master in entry["on"]
        and any(suffix.letters in letters and not suffix.weak for suffix in part.suffixes)
        and not any(suffix.letters in entry.get("without", ()) for suffix in part.suffixes)
        for part in row.designation.parts
    )


def _clay(profile: Profile, first: Horizon, increase: list[dict]) -> tuple[str, str]:
    """Whether the measured clay bears the t out, against the eluvial (else the nearest) horizon above in one material."""
    above = [row for row in profile.soil if row.described and row.upper < first.upper]
    eluvial = [row for row in above if row.kinds.get("eluvial")] or above
    over = eluvial[-1] if eluvial else None
    if over is None or over.designation.discontinuity != first.designation.discontinuity:
        return DESIGNATED, "; no horizon of the same material above to compare clay with"
    one, two = profile.value(over, "clay_percent"), profile.value(first, "clay_percent")
    if one is None or two is None:
        return DESIGNATED, "; clay not measured in both"
    step = next(step for step in increase if one < step["below"])
    need = round(one * step["times"] + step["plus"], 2)
    said = f"; clay {one:g} % in {over.name}, {two:g} % in {first.name} (needs {need:g} %)"
    return (SUPPORTED if two >= need else CONTRADICTED), said


def _dark_surface(profile: Profile, limits: dict, source: str) -> Iterator[Step]:
    rows: list[Horizon] = []
    for row in profile.soil:
        if not row.described or row.designation.master != "A":
            break
        moist, dry = row.moist, row.dry
        if moist is None and dry is None:
            break
        if moist and (moist[1] > limits["moist_value"] or moist[2] > limits["moist_chroma"]):
            break
        if dry and dry[1] > limits["dry_value"]:
            break
        rows.append(row)
    if rows:
        thick = sum(_thickness(row) for row in rows)
        states = "moist and dry" if all(row.moist and row.dry for row in rows) else "moist" if all(row.moist for row in rows) else "one state"
        yield Step(LEVEL, "mollic-like colours", "feature", "a dark surface", f"colours recorded {states}",
                   f"{', '.join(_place(row) for row in rows)}: {thick:g} cm dark enough", source, limits["asks"])  # fmt: skip


def _rock(profile: Profile, source: str) -> Iterator[Step]:
    for row in profile.soil:
        for kind, claims in (("hard_rock", "lithic contact possible"), ("soft_rock", "paralithic contact possible")):
            if row.kinds.get(kind):
                yield Step(LEVEL, claims, "feature", "rock", DESIGNATED, f"{row.name} from {row.upper:g} cm", source,
                           "cracks closer than 10 cm, and hardness")  # fmt: skip
                return


def _thickness(row: Horizon) -> float:
    return max((row.lower if row.lower is not None else row.upper) - row.upper, 0.0)


def _place(row: Horizon) -> str:
    return f"{row.name} {row.upper:g}-{row.lower:g} cm" if row.lower is not None else f"{row.name} {row.upper:g}+ cm"
