"""record.json: strict, complete, without a clock."""

import json
from dataclasses import replace

from geoprofile.outputs.record_file import write
from geoprofile.record import Record


def strict(path):
    def refuse(name):
        raise AssertionError(f"{name} is not JSON")

    return json.loads(path.read_text(encoding="utf-8"), parse_constant=refuse)


def test_every_number_can_be_followed_back(make_bundle):
    bundle = make_bundle()
    (file,) = write(bundle)
    content = strict(bundle.context.output / file.path)
    assert list(content["products"]) == sorted(["pits", "attributes", "terrain", "surfaces", "zones", "salvage"])
    pits = content["products"]["pits"]
    assert pits["record_id"] == bundle.pits.record.id and pits["inputs"][0]["sha256"] == "0" * 64
    assert content["products"]["attributes"]["upstream"] == {"pits": bundle.pits.record.id}
    assert pits["problems"] == {"error": 1, "warning": 2}
    surfaces = content["products"]["surfaces"]
    assert surfaces["seed"] == 1 and surfaces["not_mapped"][0]["attribute"] == "clay_0_30"
    raster = bundle.surfaces.rasters["reliability"]
    assert surfaces["rasters"]["reliability"] == {"path": raster.path, "sha256": raster.sha256, "title": raster.title, "unit": ""}


def test_numbers_that_json_cannot_hold_are_text(make_bundle):
    """W10: strict JSON, and nothing becomes null on the way."""
    bundle = make_bundle(only=True)
    record = Record("pits", {"a": float("nan"), "b": [float("inf"), 1.5], "c": {"d": -float("inf")}})
    bundle = replace(bundle, pits=replace(bundle.pits, record=record))
    (file,) = write(bundle)
    assert strict(bundle.context.output / file.path)["products"]["pits"]["settings"] == {"a": "nan", "b": ["inf", 1.5], "c": {"d": "-inf"}}
