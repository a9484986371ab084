"""What the columns of the tables mean: those that no contract of ``products.py`` describes.

``MEANINGS`` holds for a column wherever it stands; ``IN_TABLES`` where it means something of its own there. Both
are looked up by ``columns.describe``, with the unit's ending of a name (``_cm``) taken off where the whole name is not known.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """How a column is shown. ``heading`` carries the unit."""

    title: str
    unit: str = ""
    help: str = ""

    @property
    def heading(self) -> str:
        return f"{self.title} ({self.unit})" if self.unit else self.title


_LOW90, _HIGH90 = "Low of the 90 % interval", "High of the 90 % interval"
_ENDS = "with 90 % probability the truth lies between low and high"
_BOUNDS = "that the bounds allow, with no assumption: each pit at its {} limit"
_ENDS_TELL_NOTHING = (
    "an estimate, not what the pits say: holds only if where a pit ended has nothing to do with the depth sought (Turnbull 1976)"
)
_OF_BACKED = "of the land with an estimate"
_ONLY_UNBOUNDED = "empty where a pit says only at least, at most or between"

MEANINGS = {
    # horizons
    "unread_below": Column("A row below was not read", "", "a row that could not be used follows in the source (see problems): what lies below is not known"),
    "effervescence_part": Column("Effervescence in", "", "the part of the horizon that effervesces"),
    "mottles_part": Column("Mottles in", "", "the part of the horizon that is mottled"),
    # pits of a group
    "pits_left_out": Column("Pits left out", "", "pits there that are not counted; which and why stands beside it"),
    "left_out": Column("Which were left out", "", "pits that are not counted, by the reason: on stripped or filled ground, outside the survey area"),
    "pits_without_place": Column("Pits without a place", "", "counted, though it is not known whether they lie in the area"),
    "pit_ids": Column("Pits by id", "", "the pits that are counted"),
    "survey": Column("Survey", "", "all pits of the survey area together"),
    "zone_id": Column("Zone", "", "number of the zone; one a class"),
    "stratum_id": Column("Stratum", "", "id of the stratum in the layer that was given"),
    "parcel_id": Column("Parcel", "", "id of the parcel in the layer that was given"),
    "polygon_id": Column("Area", "", "id of the polygon in the layer that was given"),
    "route_id": Column("Route", "", "id of the line in the layer that was given; a part that does not meet the others has a number behind"),
    "landform_element": Column("Landform element", "", "shape of the ground and place on the slope, from the terrain; geoprofile explain tells each"),
    "name": Column("Name", "", "name of the zone: the class it was drawn from, limits in the attribute's unit"),
    "class": Column("Class", "", "a value equal to a limit belongs to the class above it"),
    "title": Column("Title", "", "the attribute in words"),
    "from": Column("Drawn from", "", "the surface, landform elements or clusters whose classes the zones are"),
    "code": Column("Code", "", "number of the class"),
    # land
    "area_ha": Column("Area", "ha", "hectares of the polygon"),
    "area_percent": Column("Share of the area", "%", "of all zones together"),
    "area_by_cells_ha": Column(
        "Area of the class by cells", "ha",
        "the class's land before small parts were merged into their neighbours and outlines were smoothed: what it differs by from "
        "the area was moved between classes; a class with cells and no area was merged away",
    ),
    "share_percent": Column("Share", "%", "of the parcel"),
    "backed_ha": Column("Land with an estimate", "ha", "land whose estimate the pits back; the shares below a limit are of it"),
    "backed_percent": Column("Backed by the pits", "%", "share of the parcel with an estimate that the pits back"),
    "not_backed_percent": Column("Not backed by the pits", "%", "share of the parcel on the map without an estimate"),
    "off_the_map_percent": Column("Off the map", "%", "share of the parcel beyond the map"),
    "effective_cells": Column("Cells with an estimate", "", "cells of the surface in the parcel, those on its line by their share"),
    "covered_percent": Column("Covered", "%", "share of the area with an estimate or pits; volumes are of it"),
    "not_covered_ha": Column("Not covered", "ha", "land that no estimate and no pit tells of; no volume is given for it"),
    # what pits say of an attribute
    "mean": Column("Mean", "", f"mean of the pits; {_ONLY_UNBOUNDED}"),
    "sd": Column("Standard deviation", "", f"of the pits; {_ONLY_UNBOUNDED}"),
    "least": Column("Least", "", f"least of the pits; {_ONLY_UNBOUNDED}"),
    "most": Column("Most", "", f"greatest of the pits; {_ONLY_UNBOUNDED}"),
    "median_low": Column("Median, low limit", "", f"least median {_BOUNDS.format('low')}"),
    "median_high": Column("Median, high limit", "", f"greatest median {_BOUNDS.format('high')}; empty = none, read: at least the low limit"),
    "mean_low": Column("Mean, low limit", "", f"least mean {_BOUNDS.format('low')}"),
    "mean_high": Column("Mean, high limit", "", f"greatest mean {_BOUNDS.format('high')}; empty = none, read: at least the low limit"),
    "median_if_ends_tell_nothing_low": Column("Median if the ends of pits tell nothing, low limit", "", _ENDS_TELL_NOTHING),
    "median_if_ends_tell_nothing_high": Column("Median if the ends of pits tell nothing, high limit", "", f"{_ENDS_TELL_NOTHING}; empty = not reached"),
    "present": Column("Present", "", "pits where it was seen"),
    "not_seen": Column("Not seen", "", "pits that ended before it could show; they say neither yes nor no"),
    "not_described": Column("Not described", "", "pits that say nothing of it"),
    "present_percent": Column("Present", "%", "share of the pits that say yes or no"),
    # limits
    "limit": Column("Limit", "", "a value equal to the limit is not below it"),
    "below": Column("Below", "", "pits surely below the limit"),
    "not_below": Column("Not below", "", "pits surely not below the limit; where it is absent there is no depth, which is not below"),
    "share_least_percent": Column("Share below, at least", "%", "of the pits, the undecided taken as not below"),
    "share_most_percent": Column("Share below, at most", "%", "of the pits, the undecided taken as below"),
    "expected_below_ha": Column(
        "Expected below the limit", "ha", "hectares to plan with: mean share by simulation, else by probability, times the land with an estimate; its 90 % interval stands beside it"
    ),
    "low90_ha": Column(_LOW90, "ha", f"of the hectares below the limit: {_ENDS}; empty = not known"),
    "high90_ha": Column(_HIGH90, "ha", f"of the hectares below the limit: {_ENDS}; empty = not known"),
    "below_by_simulation_percent": Column("Below by simulation", "%", f"{_OF_BACKED}: mean share of what the land may be, given the pits"),
    "below_by_probability_percent": Column("Below by probability", "%", f"{_OF_BACKED}: mean of the mapped probability; empty = none was mapped for this limit"),
    "below_by_estimate_percent": Column("Below by estimate", "%", f"{_OF_BACKED}: share whose estimate is below. Estimates smooth extremes away: too small where such land is rare"),
    "below_by_estimate_ha": Column(
        "Below by estimate", "ha", "land whose estimate is below the limit, as the map draws it. Estimates smooth extremes away, so this is too small where "
        "such land is rare and too large where it is common: plan with the expected hectares",
    ),
    "low90": Column(_LOW90, "", _ENDS),
    "high90": Column(_HIGH90, "", _ENDS),
    # means of parcels
    "mean_estimate": Column("Mean of the land", "", "mean estimate of the land with one, in the unit beside it"),
    "mean_low90": Column("Mean, low of the 90 % interval", "", f"{_ENDS}; of the mean of the land, not of a place"),
    "mean_high90": Column("Mean, high of the 90 % interval", "", f"{_ENDS}; of the mean of the land, not of a place"),
    "interval": Column("What the interval rests on", "", "how the 90 % interval was made, or why there is none"),
    # route
    "chainage_m": Column("Chainage", "m", "distance along the line from its first point to the place nearest the pit"),
    "offset_m": Column("Offset", "m", "distance of the pit from the line"),
    "side": Column("Side", "", "left or right as the line is walked, or on the line"),
    "from_m": Column("From", "m", "chainage where the stretch nearer to this pit than to the next begins"),
    "to_m": Column("To", "m", "chainage where that stretch ends"),
    "length_m": Column("Length", "m", "length of the line"),
    # salvage
    "pits_inside": Column("Pits inside", "", "natural pits in the area"),
    "basis": Column("What it rests on", "", "the surface or the pits that the mean depth is from, and how its interval was made"),
    "low90_cm": Column(_LOW90, "cm", f"of the mean depth: {_ENDS}"),
    "high90_cm": Column(_HIGH90, "cm", f"of the mean depth: {_ENDS}"),
    "low90_m3": Column(_LOW90, "m3", f"of the bank volume: {_ENDS}"),
    "high90_m3": Column(_HIGH90, "m3", f"of the bank volume: {_ENDS}"),
    "probability_more": Column("Probability of more than that", "share, 0 to 1", "that the topsoil of the area is more than the volume asked for"),
    # problems, surfaces, scores, notes
    "field": Column("Source field", "", "the column of the source it is about"),
    "remedy": Column("What to do", "", "what settles it"),
    "method": Column("Method", "", "how the surface was made"),
    "model": Column("Model", "", "the fitted model in words, with units; empty = none"),
    "remark": Column("Remark", "", "what to know of the figure"),
    "reason": Column("Why", "", "why it was not drawn"),
    "given_instead": Column("What is given instead", "", "where to look for what the pits say of it"),
    "shows": Column("What it shows", "", "estimate, end of its interval, probability, or whether the pits back it"),
    "meaning": Column("Meaning", "", "what the attribute is and how it is derived"),
    "kind": Column("Kind", "", "depth, thickness or average"),
    "source": Column("Source", "", "where the rule is printed"),
    "note": Column("Note", "", "a choice made on the way, or what to know of a result"),
    "x_m": Column("X", "m", "easting in the survey's coordinate system; empty = the place is not known"),
    "y_m": Column("Y", "m", "northing in the survey's coordinate system; empty = the place is not known"),
    # composition of edited polygons
    "map_unit": Column("Map unit", "", "the unit that the edited polygon was given"),
    "polygons": Column("Polygons", "", "how many polygons the unit has"),
    "pits_with_a_soil": Column("Pits with a soil", "", "pits there whose surveyor gave a soil; shares are of them"),
    "term": Column("In words", "", "how much of the unit the soil is, as a term"),
}
"""By name, or by name without the ending of its unit."""

_SHARE_OF_PITS = "of the share, as the pits tell it of the group's land (Clopper & Pearson 1934); holds for pits placed at random"
_BELOW = "pits that say something of it: the unknown are not among them"
_SHARE_OF_LAND = "of the share of the land below the limit, by simulation"
_OF_PITS = {
    "mean": MEANINGS["mean"].help,
    "pits": "pits of the group that the attribute was asked of, those where it is not known too",
    "text": "what the pits say in words: values, then bounds, absent and unknown, each with its number of pits",
}

IN_TABLES = {
    "zones": {
        "area_ha": "hectares of the drawn zone, after parts too small for the map's scale were merged into neighbours and outlines smoothed; "
        "not the same as the hectares of the class by cells, as the classes by parcel count them",
        "left_out": "pits in the zone that are not counted, and why",
    },
    "parcel_classes": {
        "area_ha": "hectares of the class in the parcel by cells, before small parts were merged and outlines smoothed; zones of the same name cover "
        "other hectares",
    },
    "strata": {"area_ha": "hectares of the stratum within the survey area"},
    "parcels": {"area_ha": "hectares of the whole parcel"},
    "whole_survey": {"area_ha": "hectares of the survey area", "pits": "pits in the survey area, and those whose place is not known"},
    "landform_elements": {"area_ha": "hectares of the element within the survey area, by cells"},
    "salvage": {"area_ha": "hectares of the area to be stripped", "mean_cm": "mean depth over the covered part of the area"},
    "parcel_limits": {"low90_percent": f"{_SHARE_OF_LAND}: {_ENDS}", "high90_percent": f"{_SHARE_OF_LAND}: {_ENDS}"},
    "_pits_below": {
        "pits": _BELOW,
        "low90_percent": f"{_SHARE_OF_PITS}; allows for the undecided",
        "high90_percent": f"{_SHARE_OF_PITS}; allows for the undecided",
    },
    "_presence": {"low90_percent": _SHARE_OF_PITS, "high90_percent": _SHARE_OF_PITS, "absent": "pits where it was looked for and is not there"},
    "_attributes": _OF_PITS,
    "_attributes_other_units": _OF_PITS,
    "readings": {"attribute": "name of the attribute read directly in the field"},
    "attribute_definitions": {"unit": "of the attribute; empty = it has none"},
}
"""By table, or by the end of its name: column -> what it means there."""

CARRIED = "a column of the source, carried along as it stands"
OF_SOURCES = frozenset({"pits", "horizons", "readings"})
"""Tables to which the survey's own columns are added; they get CARRIED where nothing else is known of them."""
