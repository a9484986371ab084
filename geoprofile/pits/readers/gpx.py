"""Waypoints of a GPX file (GPX 1.1 schema, Topografix 2004).

Heights of a hand-held receiver refer to its own datum and are not taken as the
pit's elevation (R22). A file without waypoints names what it does hold (G16).
"""

from __future__ import annotations

from pathlib import Path

from ...errors import InputError
from .raw import RawTable
from .vector import features_table


class Gpx:
    """Waypoints of a GPX file."""

    suffixes = (".gpx",)

    def read(self, path: Path, *, sheet: str | None = None, header_row: int = 1) -> RawTable:
        import fiona

        path = Path(path)
        try:
            layers = {name: self._features(fiona, path, name) for name in fiona.listlayers(path)}
        except Exception as error:  # fiona raises several kinds, none of them public in one place
            raise InputError("the GPX file cannot be read", where=str(path), found=str(error),
                             remedy="export the waypoints again from the receiver") from error
        filled = [name for name, (features, _) in layers.items() if features]
        layer = sheet or "waypoints"
        if layer not in layers:
            raise InputError("a GPX file has no such layer", where=str(path), found=layer, allowed=", ".join(layers))
        features, fields = layers[layer]
        if not features:
            raise InputError(
                f"the GPX file has no {layer.replace('_', ' ')}", where=str(path),
                found="data in: " + ", ".join(filled) if filled else "nothing",
                remedy="save the pits as waypoints" + (", or name a layer of points" if filled else ""),
            )
        used = [name for name in fields if any(feature.properties[name] not in (None, "") for feature in features)]
        return features_table(features, used or fields[:1], "EPSG:4326", layer, path)

    @staticmethod
    def _features(fiona, path: Path, layer: str):
        with fiona.open(path, layer=layer) as source:
            return list(source), list(source.schema["properties"])


READER = Gpx()
