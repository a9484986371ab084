"""What a product says of itself: a few lines for people and a small document for programs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ..problems import counted
from ..products import Attributes, Outputs, Pits, Salvage, SoilNames, Surfaces, Terrain, Zones


def summary_lines(product: object, *, notes: bool = True) -> Iterator[str]:
    """Lines for people, without a heading; ``notes`` = also every choice made on the way."""
    yield from _headlines(product, notes)
    if notes and not isinstance(product, SoilNames):
        yield from product.notes


def _headlines(product: object, notes: bool) -> Iterator[str]:
    match product:
        case Pits():
            placed = int(product.pits.geometry.notna().sum())
            yield (
                f"{counted(len(product.pits), 'pit')}, {placed} with a place; {counted(len(product.horizons), 'horizon')}; "
                f"{counted(len(product.readings), 'direct reading')}"
            )
        case Attributes():
            width = max((len(d.title) for d in product.definitions), default=0)
            for definition, counts in _status_counts(product):
                told = ", ".join(f"{number} {status.replace('_', ' ')}" for status, number in counts.items())
                yield f"{definition.title:<{width}}  {told}"
                if notes and counts.get("unknown"):
                    yield from (f"{'':<{width}}    {line}" for line in _silent(product, definition.name))
        case SoilNames():
            yield from product.notes if notes else product.notes[:3]
        case Terrain():
            grid = product.grid
            yield f"{grid.width} x {grid.height} cells of {grid.cell_m:g} m in {grid.crs}: {', '.join(product.rasters)}"
        case Surfaces():
            for surface in product.surfaces:
                yield f"{surface.title}: {surface.method_title}, {counted(surface.pits_used, 'pit')}; {surface.score or 'not scored'}"
                if notes:
                    yield from (f"  {note}" for note in surface.notes)
                else:  # what nobody may miss; that there is no skill is in the score
                    yield from (f"  caution: {caution}" for caution in surface.cautions if not caution.startswith("no spatial skill"))
            for one in product.classes:
                yield f"{one.title}: probabilities of {len(one.classes)} classes, {counted(one.pits_used, 'pit')}; {one.score or 'not scored'}"
                if notes:
                    yield from (f"  {note}" for note in one.notes)
            yield from _refused(product, notes)
        case Zones():
            if len(product.zones):
                yield f"{counted(len(product.zones), 'zone')}, {product.zones['area_ha'].sum():.2f} ha"
            yield f"tables: {', '.join(product.tables if notes else _groupings(product)) or 'none'}"
        case Salvage():
            yield from _lifts(product, notes)
        case Outputs():
            for file in product.files:
                if notes or "/" not in file.path:
                    yield f"{file.path}: {file.what}"
            if not notes:
                folders = Counter(file.path.split("/")[0] for file in product.files if "/" in file.path)
                yield from (f"{folder}/: {counted(count, 'file')}" for folder, count in folders.items())


def _refused(product: Surfaces, notes: bool) -> Iterator[str]:
    """What was not drawn and why; a way out that is the same for several attributes is said once."""
    likely = {surface.attribute for surface in product.presences}
    for refusal in product.refusals:
        way = "not drawn, probability that it is there shown" if refusal.attribute in likely else "not drawn"
        yield f"{refusal.attribute}: {way}: {refusal.reason}"
    for remedy, names in _by_remedy(product).items():
        yield f"{', '.join(names) if len(names) < len(product.refusals) else 'all of these'}: {remedy}"
    if notes:
        for surface in product.presences:
            yield f"{surface.title}, probability that it is there: {surface.method_title}, {counted(surface.pits_used, 'pit')}; {surface.score or 'not scored'}"


def _by_remedy(product: Surfaces) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for refusal in product.refusals:
        if refusal.remedy:
            found.setdefault(refusal.remedy, []).append(refusal.attribute)
    return found


def _silent(product: Attributes, name: str) -> Iterator[str]:
    """How many pits say nothing of an attribute, by cause."""
    from ..attributes.explain import silence

    for row in silence(product, name).itertuples():
        yield f"{row.pits} say nothing: {row.cause}"


def _groupings(product: Zones) -> list[str]:
    """Tables without their companions: zones, not zone_attributes, zone_presence ... beside it."""
    known = set(product.tables)
    return [name for name in product.tables if not any(
        name != other and name.startswith(f"{stem}_") for other in known for stem in (other, other.removesuffix("s"), STEMS.get(other, other))
    )]  # fmt: skip


STEMS = {"strata": "stratum"}


def _lifts(product: Salvage, notes: bool) -> Iterator[str]:
    """A line an area and lift; a lift that is nowhere thicker than nothing is said once, with the areas.

    The sum is the stage's own note: it knows what was not covered, and the interval of the total.
    """
    for lift, rows in product.lifts.groupby("lift", sort=False):
        bare = rows[(rows["mean_cm"] == 0) & ~(rows["high90_cm"] > 0)]
        for row in rows[~rows["polygon_id"].isin(bare["polygon_id"])].itertuples():
            yield f"{row.polygon_id}, {lift}: {_salvage_text(row)}"
        if len(bare):
            yield f"{', '.join(bare['polygon_id'])}: no {lift}"
        if len(rows) > 1 and not notes:
            yield from (f"in all, {note}" for note in product.notes if note.startswith(f"{lift}: "))


def _salvage_text(row) -> str:
    if row.mean_cm != row.mean_cm:
        return f"{row.area_ha:.2f} ha, depth not known ({row.basis})"
    text = f"{row.area_ha:.2f} ha, mean {row.mean_cm:.1f} cm"
    if row.low90_cm == row.low90_cm:
        text += f" (90 % {row.low90_cm:.1f} to {row.high90_cm:.1f})"
    return text + f", bank volume {row.bank_volume_m3:,.0f} m3; {row.not_covered_ha:.2f} ha not covered"


def _status_counts(product: Attributes):
    counted = product.values.groupby(["attribute", "status"]).size()
    for definition in product.definitions:
        if definition.name in counted.index.get_level_values(0):
            yield definition, counted[definition.name].sort_values(ascending=False).to_dict()


def summary_document(product: object) -> dict:
    """The same for ``--json``: counts, names, record id, notes."""
    document: dict = {"record": product.record.id, "notes": list(product.notes)}
    match product:
        case Pits():
            document |= {
                "pits": len(product.pits),
                "pits_with_place": int(product.pits.geometry.notna().sum()),
                "horizons": len(product.horizons),
                "readings": len(product.readings),
            }
        case Attributes():
            document["attributes"] = {definition.name: counts for definition, counts in _status_counts(product)}
        case SoilNames():
            names = product.names
            document |= {
                "named": int((names["subgroup"] != "").sum()),
                "sure": {key: int(n) for key, n in names["sure"].str.split(" ").str[0].value_counts().items()},
                "agreement": {key: int(n) for key, n in names["agreement"].value_counts().items() if key},
            }
        case Terrain():
            grid = product.grid
            document |= {
                "grid": {"crs": grid.crs, "cell_m": grid.cell_m, "height": grid.height, "width": grid.width},
                "rasters": {name: raster.path for name, raster in product.rasters.items()},
            }
        case Surfaces():
            document |= {
                "surfaces": [
                    {
                        "attribute": s.attribute, "method": s.method, "pits_used": s.pits_used, "model": s.model,
                        "score": s.score, "notes": list(s.notes), "cautions": list(s.cautions),
                    }
                    for s in product.surfaces
                ],
                "not_mapped": [
                    {"attribute": r.attribute, "reason": r.reason, "remedy": r.remedy} for r in product.refusals
                ],
                "presence_only": [
                    {"attribute": s.attribute, "pits_used": s.pits_used, "raster": s.presence, "score": s.score}
                    for s in product.presences
                ],
                "classes": [
                    {"column": c.column, "classes": list(c.classes), "pits_used": c.pits_used, "score": c.score, "notes": list(c.notes)}
                    for c in product.classes
                ],
                "rasters": {name: raster.path for name, raster in product.rasters.items()},
            }  # fmt: skip
        case Zones():
            document |= {
                "zones": len(product.zones),
                "area_ha": round(float(product.zones["area_ha"].sum()), 4) if len(product.zones) else 0.0,
                "tables": {name: len(table) for name, table in product.tables.items()},
            }
        case Salvage():
            document["lifts"] = [
                {name: _plain(value) for name, value in row.items() if name != "geometry"}
                for row in product.lifts.to_dict("records")
            ]
        case Outputs():
            document["files"] = [{"path": f.path, "what": f.what, "sha256": f.sha256} for f in product.files]
    problems = getattr(product, "problems", None)
    if problems is not None:
        document["problems"] = {key: int(n) for key, n in problems["severity"].value_counts().items()}
    return document


def _plain(value):
    """NaN is not JSON: null instead."""
    if isinstance(value, float) and value != value:
        return None
    return value.item() if hasattr(value, "item") else value


def problem_lines(problems, *, most: int = 12) -> Iterator[str]:
    """Problems by severity and check, each check with its count and first cases."""
    if not len(problems):
        yield "no problems"
        return
    for severity in ("error", "warning", "note"):
        of_kind = problems[problems["severity"] == severity]
        for check, group in of_kind.groupby("check", sort=False):
            pits = [str(pit) for pit in dict.fromkeys(group["pit_id"].dropna()) if pit]
            named = ", ".join(pits[:most]) + (f" and {len(pits) - most} more" if len(pits) > most else "")
            first = group.iloc[0]
            yield f"{severity}: {str(check).replace('_', ' ')} ({len(group)})" + (f": {named}" if named else "")
            yield f"    {first['what']}" + (f" [{first['found']}]" if _said(first["found"]) else "") + _place(first)
            if _said(first["remedy"]):
                yield f"    do: {first['remedy']}"


def _place(problem) -> str:
    """Where the first of a kind stands: ' (pits.xlsx, horizons, row 70)'; empty where it is about no row."""
    import pandas as pd

    row = problem["row"]
    parts = [problem["file"], problem["sheet"], "" if pd.isna(row) else f"row {row}"]
    known = [part for part in parts if _said(part)]
    return f" ({', '.join(known)})" if known else ""


def _said(value: object) -> bool:
    return isinstance(value, str) and value != ""
