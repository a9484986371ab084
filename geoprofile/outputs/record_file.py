"""Writer ``record``: record.json, which leads from a number on the map back to the files behind it."""

from __future__ import annotations

import json
import math
from dataclasses import asdict

from ..products import OutputFile
from .bundle import Bundle
from .frames import products_of
from .placing import write_file

what = "record.json: settings, inputs with hashes, versions and notes of each product"


def write(bundle: Bundle) -> tuple[OutputFile, ...]:
    """Write record.json as strict JSON (RFC 8259: no NaN, no Infinity), keys sorted, no clock."""
    survey = bundle.context.survey
    content = {
        "format": 1,
        "survey": {"name": survey.name, "crs": survey.crs, "convention": survey.convention, "map_scale": survey.map_scale},
        "publish": bundle.settings.model_dump(mode="json"),
        "products": {name: _product(product) for name, product in products_of(bundle).items()},
    }
    text = json.dumps(_strict(content), indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False, default=str)
    return (write_file(bundle.context, "record.json", (text + "\n").encode("utf-8", "replace"), what),)


def _product(product: object) -> dict:
    found = {"record_id": product.record.id, **asdict(product.record), "notes": list(product.notes)}
    problems = product.problems["severity"].value_counts()
    found["problems"] = {severity: int(count) for severity, count in problems.items()}
    if hasattr(product, "rasters"):
        found["rasters"] = {
            key: {"path": raster.path, "sha256": raster.sha256, "title": raster.title, "unit": raster.unit}
            for key, raster in product.rasters.items()
        }
    if hasattr(product, "surfaces"):
        found["surfaces"] = [asdict(surface) for surface in product.surfaces]
        found["classes"] = [asdict(one) for one in product.classes]
        found["not_mapped"] = [asdict(refusal) for refusal in product.refusals]
    return found


def _strict(value: object) -> object:
    """The value with every number that JSON cannot hold as text, never as null: nothing is lost."""
    if isinstance(value, dict):
        return {str(key): _strict(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_strict(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value
