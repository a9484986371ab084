"""Soil names in the outputs: beside the pits, in tables and layers of their own, and as a line that says it is advice."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

from geoprofile.outputs import frames
from geoprofile.outputs.geopackage_layers import LAYERS, layers_of
from geoprofile.outputs.map_pits import pits_plain
from geoprofile.outputs.map_places import Places
from geoprofile.outputs.report import write
from geoprofile.outputs.report_soils import soil_rows
from geoprofile.outputs.tables import tables_of
from geoprofile.outputs.web_map import extent
from geoprofile.problems import problems_frame
from geoprofile.products import SOIL_NAME_COLUMNS, SOIL_NAME_STEP_COLUMNS, SoilNames, typed
from geoprofile.record import Record


@pytest.fixture
def named(make_bundle):
    """A bundle whose first pit is decided, second open between five and the rest not named."""
    bundle = make_bundle()
    ids = list(bundle.pits.pits["pit_id"])
    names = [{"pit_id": pit, "system": "canadian", "subgroup": "", "sure": "not named: no horizons are described"} for pit in ids]
    names[0] |= {"subgroup": "Orthic Gray Luvisol", "sure": "decided", "agreement": "agrees"}
    names[1] |= {"subgroup": "A or B or C or D or E", "sure": "open between A, B, C, D and E"}
    steps = [{"pit_id": ids[0], "step": 1, "level": "order", "soil_class": "Luvisolic", "decision": "taken"}]
    product = SoilNames(
        Record("soil_names", {}),
        typed(pd.DataFrame(names).fillna(""), SOIL_NAME_COLUMNS),
        typed(pd.DataFrame(steps), SOIL_NAME_STEP_COLUMNS),
        problems_frame([]),
        ("advice",),
    )
    return replace(bundle, soil_names=product)


def test_names_stand_beside_the_pits_and_in_tables_of_their_own(named):
    tables = tables_of(named)
    assert list(tables["pits"]["named_soil"])[:2] == ["Orthic Gray Luvisol", "A or B or C or D or E"]
    assert len(tables["soil_names"]) == len(named.pits.pits) and list(tables["soil_name_evidence"]["soil_class"]) == ["Luvisolic"]
    layers = {layer.name: layer for layer in layers_of(named)}
    assert {"soil_names", "soil_name_evidence"} <= set(layers) <= set(LAYERS)
    assert layers["pits"].columns["named_soil"].help.startswith("advice")


def test_the_line_about_a_pit_is_short_and_says_that_it_is_advice(named):
    lines = list(frames.named_lines(named).values())
    assert lines == ["Orthic Gray Luvisol (decided; advisory)", "A or B or C or 2 more (open; advisory)"]
    plain = pits_plain(named, Places.of(named.pits.pits.crs, extent(named)))
    field = next(one for one in plain["fields"] if one["name"] == "named_soil")
    assert field["label"] == "Named from the record" and plain["words"][field["cells"][0]] == lines[0]


def test_the_report_counts_great_groups_and_lists_the_pits_where_the_record_says_otherwise(named):
    names = named.soil_names.names.copy()
    names.loc[0, "great_group"] = "Gray Luvisol"
    told = ["subgroup", "great_group", "sure", "agreement", "recorded_soil", "agreement_why"]
    names.loc[1, told] = ["A or B", "G", "open between A and B", "differs", "#panic[x]", "no Bt"]
    names.loc[2, told] = ["Dark Gray Luvisol", "Gray Luvisol", "decided if the Bt goes on", "agrees at order", "Luvisol", ""]
    soils = soil_rows(replace(named, soil_names=replace(named.soil_names, names=names)))
    assert soils["groups"] == [
        ["Gray Luvisol", "2", "1", "1", "0", "2", "0", "0", "0"], ["G", "1", "0", "0", "1", "0", "0", "1", "0"],
    ]  # fmt: skip
    assert len(soils["headings"]) == len(soils["groups"][0])
    assert soils["differing"] == [[names["pit_id"][1], "#panic[x]", "A or B", "no Bt"]]
    assert (soils["unnamed"], soils["more"], soils["more_differing"]) == (len(names) - 3, 0, 0)


def test_the_report_has_the_soils_on_a_page(named):
    write(named)
    assert (named.context.output / "report.pdf").read_bytes().startswith(b"%PDF")


def test_a_survey_that_names_no_soils_has_none_of_it(make_bundle):
    bundle = make_bundle()
    assert soil_rows(bundle) is None
    assert "soil_names" not in tables_of(bundle) and "named_soil" not in tables_of(bundle)["pits"]
    assert "soil_names" not in [layer.name for layer in layers_of(bundle)]
