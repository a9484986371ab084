"""Attributes of one's own: readable names and units where the survey file gives none."""

from __future__ import annotations

import pytest

from geoprofile.attributes.new_attributes import new_attribute
from geoprofile.products import HORIZON_COLUMNS
from geoprofile.settings.attributes import NewAttribute

COLUMNS = [*HORIZON_COLUMNS, "nitrate_mg_kg"]


@pytest.mark.parametrize(
    ("new", "title", "unit"),
    [
        ({"kind": "average", "of": "clay_percent", "upper_cm": 0, "lower_cm": 30}, "Clay, 0 to 30 cm", "%"),
        ({"kind": "average", "of": "organic_carbon_percent", "upper_cm": 0, "lower_cm": 7.5}, "Organic carbon, 0 to 7.5 cm", "%"),
        ({"kind": "average", "of": "ec_ds_m", "upper_cm": 0, "lower_cm": 60}, "Electrical conductivity, 0 to 60 cm", "dS/m"),
        ({"kind": "average", "of": "ph", "upper_cm": 0, "lower_cm": 15}, "pH, 0 to 15 cm", ""),
        ({"kind": "average", "of": "bulk_density", "upper_cm": 0, "lower_cm": 15}, "Bulk density, 0 to 15 cm", "Mg/m3"),
        ({"kind": "average", "of": "nitrate_mg_kg", "upper_cm": 0, "lower_cm": 30}, "Nitrate, 0 to 30 cm", "mg/kg"),
        ({"kind": "average", "of": "clay_percent", "upper_cm": 0, "lower_cm": 30, "unit": "g/kg", "title": "Mine"}, "Mine", "g/kg"),
        ({"kind": "depth_to", "of": "sar", "at_least": 8}, "Depth to sodium adsorption ratio of at least 8", "cm"),
        ({"kind": "depth_to", "of": "ec_ds_m", "at_least": 4}, "Depth to electrical conductivity of at least 4 dS/m", "cm"),
        ({"kind": "depth_to", "of": "Cca"}, "Depth to Cca", "cm"),
        ({"kind": "thickness", "of": "*k"}, "Thickness of horizons like *k", "cm"),
    ],
)
def test_a_new_attribute_is_named_by_what_it_is(new, title, unit):
    definition = new_attribute("mine", NewAttribute(**new), "canadian", COLUMNS).definition
    assert (definition.title, definition.unit) == (title, unit)
