"""Zones and tables: draft polygons, and what the pits say by zone, stratum, parcel, recorded soil and route.

The story: what belongs together on the ground is drawn as zones (class limits on a
surface, landform elements or terrain clusters). Then every pit is put into exactly
one zone, stratum and parcel, and the tables tell what the pits of each say, with
their bounds. Tables come even when there is nothing to draw zones from.
"""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..blocks import workers
from ..context import Context
from ..layers import read_lines, read_polygons
from ..memory import give_back
from ..overlay import PLACE_RULE, shared_land
from ..problems import problems_frame
from ..products import Attributes, Pits, Surfaces, Terrain, Zones
from ..record import Record
from ..settings.zones import ZonesSettings
from . import summary
from .draft import NOT_BACKED, Draft, draft_classes
from .drawing import LandKept, draw, land_kept
from .elements import by_landform_element
from .findings import Findings
from .legibility import MapScale, legibility_warnings, map_scale
from .limits import BELOW_RULE, asked_limits, pits_below
from .merged_away import classes_merged_away, with_merged_away
from .outlines import outline_zones
from .parcels import MEAN_RULE, SHARE_RULE, parcel_classes, parcel_surfaces
from .places import group_of_pits, left_out_in, natural_pits, pits_of_survey
from .presence import PRESENCE_RULE, presence_shares
from .route import along_route, joined_line
from .survey_groups import recorded_soils, whole_survey
from .tables import Grouping, group_tables, hectares

LEAST_KEPT = 0.75
"""Less of the land than this keeping its class is a warning (common practice, no source)."""
CAUTION = (
    "zones and tables are for use at the stated scale: enlarging a map adds no accuracy, and what lies between pits is "
    "inferred; decisions on the ground need a look on the ground and a licensed practitioner's review"
)


def draw_zones(
    pits: Pits,
    attributes: Attributes,
    terrain: Terrain | None,
    surfaces: Surfaces | None,
    settings: ZonesSettings,
    context: Context,
    record: Record,
) -> Zones:
    """Draft zones (MultiPolygons that tile the mapped area) and one pair of tables a grouping.

    ``tables``: ``whole_survey``, ``zones``, ``strata``, ``recorded_soils``, ``landform_elements``, ``parcels`` (one row a
    group: hectares, pits); ``zone_attributes`` ... (one row a group and attribute); ``zone_presence`` ...
    (share of pits with a feature); ``zone_pits_below`` ... (pits below stated limits); ``parcel_classes``,
    ``parcel_surfaces``, ``parcel_limits``; ``route`` (one row a pit by chainage), ``routes`` and
    ``route_attributes``; ``pit_places`` (one row a pit: its zone, stratum, parcel, soil, landform element).

    Raises InputError where a layer named in the settings cannot be used. What cannot be drawn
    for lack of a surface or terrain is a problem in the product, not an error.
    """
    findings = Findings()
    area = _survey_area(context)
    own_pits = natural_pits(pits, attributes, findings)
    survey_pits = pits_of_survey(own_pits, attributes, area, findings)

    with context.progress.task("drawing zones") as task:
        draft, zones, merged_away = None, _no_zones(context.survey.crs), None
        if settings.draft is not None:
            draft = draft_classes(settings.draft, attributes, terrain, surfaces, settings, context, findings)
        if draft is not None:
            give_back()
            scale = map_scale(settings, context.survey.map_scale, draft.grid.cell_m)
            zones, merged_away = _zones(draft, area, scale, settings, context, findings)
        task.advance()
    give_back()

    parcels, strata = _layer(context, settings.parcels, "parcels"), _layer(context, context.survey.strata, "strata")
    for one, other, m2 in shared_land(strata.geometry.values) if strata is not None else ():
        findings.problem(
            "warning", "overlap", "two strata overlap: the land between them is in the hectares of both, its cells and pits in the first",
            found=f"{strata['stratum_id'].iloc[one]} and {strata['stratum_id'].iloc[other]}: {m2 / 10_000:.4f} ha",
            remedy="cut one of them back",
        )  # fmt: skip
    if strata is not None and area is not None:  # sums end at the survey's outline
        strata["area_ha"] = hectares(shapely.area(shapely.intersection(strata.geometry.values, area)))
    groupings = []
    if len(zones):
        told = zones.drop(columns=["geometry", "code"])
        groupings.append(
            Grouping("zone_id", "zone", "zones", told, group_of_pits(own_pits, zones, "zone_id", "zones", findings),
                     left_out_in(survey_pits.left_out, zones, "zone_id"))  # fmt: skip
        )
    for frame, key, singular, plural in (
        (strata, "stratum_id", "stratum", "strata"),
        (parcels, "parcel_id", "parcel", "parcels"),
    ):
        if frame is not None:
            told = pd.DataFrame({key: frame[key], "area_ha": frame["area_ha"]})
            groupings.append(
                Grouping(key, singular, plural, told, group_of_pits(own_pits, frame, key, plural, findings),
                         left_out_in(survey_pits.left_out, frame, key))  # fmt: skip
            )
    groupings += [whole_survey(survey_pits, area), recorded_soils(pits, survey_pits)]
    elements = by_landform_element(survey_pits, terrain, area, context, findings)
    give_back()
    if elements is not None:
        groupings.append(elements)

    tables: dict[str, pd.DataFrame] = {}
    limits = asked_limits(settings, surfaces)
    for grouping in groupings:
        tables |= group_tables(grouping, attributes)
        below = pits_below(grouping, attributes, limits)
        if len(below):
            tables[f"{grouping.singular}_pits_below"] = below
            findings.note(BELOW_RULE)
        shares = presence_shares(grouping, attributes)
        if len(shares):
            tables[f"{grouping.singular}_presence"] = shares
            findings.note(PRESENCE_RULE)
        context.progress.check()
    tables["pit_places"] = _pit_places(own_pits, groupings)
    if parcels is not None:
        tables |= _parcel_tables(parcels, draft, surfaces, settings, context, findings)
    route = None
    if settings.route is not None:
        route, more = _route_tables(own_pits, attributes, settings, context, findings)
        tables |= more
    if len(zones):
        empty = tables["zones"].loc[tables["zones"]["pits"] == 0, "name"].tolist()
        if empty:
            findings.note("zones with no pit inside (nothing there was seen): " + "; ".join(empty))
        tables["zones"] = with_merged_away(tables["zones"], merged_away)
    findings.note(PLACE_RULE)
    findings.note(summary.RULE)
    findings.note(CAUTION)
    return Zones(
        record, zones, {name: table for name, table in tables.items() if len(table.columns)},
        problems_frame(findings.problems), _as_layer(parcels), _as_layer(strata), route, tuple(findings.notes),
    )  # fmt: skip


def _survey_area(context: Context) -> shapely.Geometry | None:
    source = context.survey.area_source
    if source is None:
        return None
    frame = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="the survey area")
    return shapely.union_all(frame.geometry.values)


def _layer(context: Context, source, what: str) -> gpd.GeoDataFrame | None:
    """Polygons of the user's with their id column named after what they are, and hectares."""
    if source is None:
        return None
    frame = read_polygons(context.path(source.file), source.layer, id=source.id, crs=context.survey.crs, what=what)
    key = {"parcels": "parcel_id", "strata": "stratum_id"}[what]
    return gpd.GeoDataFrame(
        {key: frame["id"], "area_ha": hectares(frame.geometry.area)}, geometry=frame.geometry, crs=frame.crs
    )


def _as_layer(frame: gpd.GeoDataFrame | None) -> gpd.GeoDataFrame | None:
    """The user's polygons as they are drawn: their id column is called ``id`` there."""
    return None if frame is None else frame.rename(columns={"parcel_id": "id", "stratum_id": "id"})


def _zones(draft: Draft, area, scale: MapScale, settings: ZonesSettings, context: Context, findings: Findings) -> tuple[gpd.GeoDataFrame, pd.DataFrame]:
    """The zones, and the classes that no zone was left of (of :mod:`.merged_away`)."""
    with workers(context.run, context.output) as crew:
        drawing, drawn_on = draw(draft, area, scale, crew)
        outlines = outline_zones(
            drawing, least_m2=scale.least_area_ha * 10_000, smoothing_m=scale.smoothing_m,
            most_change=settings.most_area_change_percent / 100, kept_apart=draft.kept_apart,
        )  # fmt: skip
        kept = land_kept(draft, drawing, crew) if len(outlines.shapes) else LandKept(1.0, {})
    final = shapely.area(outlines.shapes)
    merged_away = classes_merged_away(draft, outlines.codes.tolist(), kept)
    zones = gpd.GeoDataFrame(
        {
            "zone_id": pd.Series([str(code) for code in outlines.codes], dtype="str"),
            "code": pd.Series(outlines.codes, dtype="Int64"),
            "name": pd.Series([draft.names[code] for code in outlines.codes.tolist()], dtype="str"),
            "from": pd.Series([draft.drawn_from] * len(final), dtype="str"),
            "area_ha": hectares(final),
            "area_by_cells_ha": hectares([kept.by_cells_m2[code] for code in outlines.codes.tolist()]),
            "area_percent": np.round(100 * final / final.sum(), 2) if len(final) else [],
            "parts": pd.Series([len(shape.geoms) for shape in outlines.shapes], dtype="Int64"),
            "smoothing_changed_area_percent": np.round(100 * (final / outlines.unsmoothed_m2 - 1), 3),
        },
        geometry=outlines.shapes, crs=draft.grid.crs,
    )  # fmt: skip
    if not len(zones):
        findings.refuse(
            "no cell of the survey area has a class", "check that the survey area and the elevation raster overlap"
        )
        return zones, merged_away
    findings.note(scale.sentence)
    findings.note(drawn_on)
    findings.note(
        f"{outlines.merged} areas smaller than {scale.least_area_ha:g} ha went to the neighbour they share the longest edge with; "
        f"{100 * kept.share:.0f} % of the land keeps its class. Land {NOT_BACKED} is never merged into a class"
    )
    if len(merged_away):
        findings.note(
            "classes with no part of at least that area, so that no zone is left of them: "
            + "; ".join(f"{one.name}, {one.area_by_cells_ha:.2f} ha by cells" for one in merged_away.itertuples())
        )
    if kept.share < LEAST_KEPT:
        findings.problem(
            "warning", "zones too coarse",
            f"the classes change over shorter distances than zones of {scale.least_area_ha:g} ha can show",
            found=f"{100 * kept.share:.0f} % of the land keeps its class after small areas were merged",
            allowed=f"at least {100 * LEAST_KEPT:.0f} %",
            remedy="state a larger map scale or a smaller least_area_ha, smooth the terrain more (terrain.analysis_scale_m), "
            "or draw fewer classes",
        )  # fmt: skip
    worst = float(np.abs(zones["smoothing_changed_area_percent"]).max())
    findings.note(
        f"shared outlines were simplified once for both sides with a tolerance of {outlines.smoothing_m:g} m; no zone's area "
        f"changed by more than {worst:.2f} %, the survey's outline not at all"
        if outlines.smoothing_m
        else f"outlines follow the edges of the {'cells' if drawing.side == 1 else 'squares'}"
    )
    findings.note(f"zones cover {final.sum() / 10_000:.2f} ha")
    if area is not None:
        findings.note("cells that the survey's outline cuts and that have no class take that of the nearest cell")
    if outlines.outside_m2 > 100:
        findings.note(
            f"{outlines.outside_m2 / 10_000:.2f} ha of the survey area are in no zone: the grid does not cover them or "
            "they have no estimate"
        )
    legibility_warnings(zones[~zones["code"].isin(draft.kept_apart)], scale, findings)
    return zones, merged_away


def _no_zones(crs: str) -> gpd.GeoDataFrame:
    texts = {name: pd.Series([], dtype="str") for name in ("zone_id", "name", "from")}
    return gpd.GeoDataFrame(
        {"zone_id": texts["zone_id"], "code": pd.Series([], dtype="Int64"), "name": texts["name"], "from": texts["from"],
         "area_ha": pd.Series([], dtype=float)},
        geometry=[], crs=crs,
    )  # fmt: skip


def _pit_places(own_pits: gpd.GeoDataFrame, groupings: list[Grouping]) -> pd.DataFrame:
    table = pd.DataFrame({"pit_id": own_pits["pit_id"].astype("str")})
    for grouping in (one for one in groupings if one.key != "survey"):
        table[grouping.key] = grouping.of_pit.reindex(table["pit_id"]).fillna("").astype("str").to_numpy()
    return table


def _parcel_tables(parcels, draft, surfaces, settings, context, findings) -> dict[str, pd.DataFrame]:
    tables = {}
    if draft is not None:
        tables["parcel_classes"] = parcel_classes(parcels, draft)
        give_back()
    if surfaces is not None and surfaces.surfaces:
        tables["parcel_surfaces"], tables["parcel_limits"] = parcel_surfaces(
            parcels, surfaces, settings.draft, settings.seed, context
        )
        findings.note(MEAN_RULE)
        findings.note(SHARE_RULE)
        partial = tables["parcel_surfaces"].query("off_the_map_percent > 0.05")["parcel_id"].unique().tolist()
        if partial:
            findings.note(
                "parcels that lie partly off the map; their numbers are for the part on it: " + ", ".join(partial)
            )
    return tables


def _route_tables(own_pits, attributes, settings, context, findings):
    source = settings.route
    lines = read_lines(context.path(source.file), source.layer, id=source.id, crs=context.survey.crs, what="the route")
    routes = joined_line(lines, findings)
    table = along_route(own_pits, routes, attributes, settings.route_within_m, findings)
    groups = pd.DataFrame({"route_id": routes["id"], "length_m": np.round(shapely.length(routes.geometry.values), 2)})
    of_pit = pd.Series(table["route_id"].to_numpy(), index=pd.Index(table["pit_id"], dtype="str"), dtype="str")
    grouped = group_tables(Grouping("route_id", "route", "routes", groups, of_pit), attributes)
    findings.note(
        f"along the route: pits no farther than {settings.route_within_m:g} m; chainage from the line's first point; "
        "left and right as it is walked; each pit's stretch reaches half-way to the next"
    )
    return routes, {"route": table, **grouped}
