"""Styles of the GeoPackage's layers: QML for one common desktop GIS, SLD 1.1 (OGC 05-077r4) for the rest.

Text from data enters only through the XML library, so nothing in a name can
become markup.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from .palette import INK, PAPER, channels

SE = "http://www.opengis.net/se"
SLD = "http://www.opengis.net/sld"
OGC = "http://www.opengis.net/ogc"
for _prefix, _uri in (("se", SE), ("sld", SLD), ("ogc", OGC)):
    ET.register_namespace(_prefix, _uri)


@dataclass(frozen=True)
class Style:
    """How a layer looks.

    ``shape`` is point, line, polygon or table; ``categories`` pairs a value of
    ``by`` with its colour; ``label`` is the column whose text is drawn.
    """

    shape: str
    colour: str = INK
    by: str = ""
    categories: tuple[tuple[str, str], ...] = ()
    label: str = ""
    opacity: float = 1.0
    filled: bool = True


def qml(style: Style, aliases: Sequence[tuple[str, str]]) -> str:
    """The style with the fields' readable headings as QML."""
    root = ET.Element("qgis", version="3.28.0", styleCategories="AllStyleCategories", labelsEnabled="1" if style.label else "0")
    if style.shape != "table":
        root.append(_renderer(style))
        if style.label:
            root.append(_labels(style))
    fields = ET.SubElement(root, "aliases")
    for index, (name, alias) in enumerate(aliases):
        ET.SubElement(fields, "alias", index=str(index), field=name, name=alias)
    if style.label:
        ET.SubElement(root, "previewExpression").text = f'"{style.label}"'
    return "<!DOCTYPE qgis>\n" + _text(root)


def _renderer(style: Style) -> ET.Element:
    kind = "categorizedSymbol" if style.categories else "singleSymbol"
    renderer = ET.Element("renderer-v2", type=kind, forceraster="0", enableorderby="0", symbollevels="0")
    if not style.categories:
        ET.SubElement(renderer, "symbols").append(_symbol(style, style.colour, "0"))
        return renderer
    renderer.set("attr", style.by)
    categories = ET.SubElement(renderer, "categories")
    symbols = ET.SubElement(renderer, "symbols")
    for number, (value, colour) in enumerate(style.categories):
        ET.SubElement(
            categories, "category", value=value, label=value, symbol=str(number), render="true", type="string"
        )
        symbols.append(_symbol(style, colour, str(number)))
    return renderer


def _symbol(style: Style, colour: str, name: str) -> ET.Element:
    kind = {"point": "marker", "line": "line", "polygon": "fill"}[style.shape]
    symbol = ET.Element("symbol", type=kind, name=name, alpha="1", clip_to_extent="1", force_rhr="0")
    layer = ET.SubElement(
        symbol, "layer", {"class": {"marker": "SimpleMarker", "line": "SimpleLine", "fill": "SimpleFill"}[kind]},
        enabled="1", locked="0",
    )  # fmt: skip
    layer.set("pass", "0")
    options = {
        "marker": {
            "name": "circle", "color": _rgba(colour), "outline_color": _rgba(INK), "outline_width": "0.3",
            "outline_width_unit": "MM", "size": "2.6", "size_unit": "MM",
        },
        "line": {"line_color": _rgba(colour), "line_width": "0.8", "line_width_unit": "MM", "line_style": "solid"},
        "fill": {
            "color": _rgba(colour, style.opacity), "style": "solid" if style.filled else "no",
            "outline_color": _rgba(INK if style.filled else colour), "outline_style": "solid",
            "outline_width": "0.2" if style.filled else "0.5", "outline_width_unit": "MM",
        },
    }[kind]  # fmt: skip
    table = ET.SubElement(layer, "Option", type="Map")
    for key, value in options.items():
        ET.SubElement(table, "Option", name=key, value=value, type="QString")
    return symbol


def _labels(style: Style) -> ET.Element:
    labeling = ET.Element("labeling", type="simple")
    settings = ET.SubElement(labeling, "settings", calloutType="simple")
    text = ET.SubElement(
        settings, "text-style", fieldName=style.label, isExpression="0", fontFamily="DejaVu Sans", fontSize="8",
        fontSizeUnit="Point", textColor=_rgba(INK), textOpacity="1",
    )  # fmt: skip
    ET.SubElement(
        text, "text-buffer", bufferDraw="1", bufferSize="0.8", bufferSizeUnits="MM", bufferColor=_rgba(PAPER), bufferOpacity="0.9",
    )
    # 6 = around or over the middle as the shape allows: OrderedPositionsAroundPoint for points, 1 = over the middle else
    ET.SubElement(settings, "placement", placement="6" if style.shape == "point" else "1", dist="0.6", distUnits="MM")
    ET.SubElement(settings, "rendering", obstacle="1", displayAll="0", drawLabels="1")
    return labeling


def sld(style: Style, layer: str, title: str) -> str:
    """The style as Styled Layer Descriptor 1.1; empty for a table."""
    if style.shape == "table":
        return ""
    root = ET.Element(f"{{{SLD}}}StyledLayerDescriptor", version="1.1.0")
    named = ET.SubElement(root, f"{{{SLD}}}NamedLayer")
    ET.SubElement(named, f"{{{SE}}}Name").text = layer
    user = ET.SubElement(named, f"{{{SLD}}}UserStyle")
    ET.SubElement(user, f"{{{SE}}}Name").text = title
    kind = ET.SubElement(user, f"{{{SE}}}FeatureTypeStyle")
    for value, colour in style.categories or ((None, style.colour),):
        rule = ET.SubElement(kind, f"{{{SE}}}Rule")
        ET.SubElement(rule, f"{{{SE}}}Name").text = title if value is None else value
        if value is not None:
            equal = ET.SubElement(ET.SubElement(rule, f"{{{OGC}}}Filter"), f"{{{OGC}}}PropertyIsEqualTo")
            ET.SubElement(equal, f"{{{OGC}}}PropertyName").text = style.by
            ET.SubElement(equal, f"{{{OGC}}}Literal").text = value
        _se_symbol(rule, style, colour)
    if style.label:
        rule = ET.SubElement(kind, f"{{{SE}}}Rule")
        text = ET.SubElement(rule, f"{{{SE}}}TextSymbolizer")
        ET.SubElement(ET.SubElement(text, f"{{{SE}}}Label"), f"{{{OGC}}}PropertyName").text = style.label
        font = ET.SubElement(text, f"{{{SE}}}Font")
        _parameters(font, {"font-family": "DejaVu Sans", "font-size": "10"})
        _parameters(ET.SubElement(text, f"{{{SE}}}Fill"), {"fill": INK})
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + _text(root)


def _se_symbol(rule: ET.Element, style: Style, colour: str) -> None:
    edge = {"stroke": INK if style.filled else colour, "stroke-width": "0.7"}
    if style.shape == "point":
        graphic = ET.SubElement(ET.SubElement(rule, f"{{{SE}}}PointSymbolizer"), f"{{{SE}}}Graphic")
        mark = ET.SubElement(graphic, f"{{{SE}}}Mark")
        ET.SubElement(mark, f"{{{SE}}}WellKnownName").text = "circle"
        _parameters(ET.SubElement(mark, f"{{{SE}}}Fill"), {"fill": colour})
        _parameters(ET.SubElement(mark, f"{{{SE}}}Stroke"), edge)
        ET.SubElement(graphic, f"{{{SE}}}Size").text = "8"
    elif style.shape == "line":
        line = ET.SubElement(rule, f"{{{SE}}}LineSymbolizer")
        _parameters(ET.SubElement(line, f"{{{SE}}}Stroke"), {"stroke": colour, "stroke-width": "2"})
    else:
        polygon = ET.SubElement(rule, f"{{{SE}}}PolygonSymbolizer")
        if style.filled:
            _parameters(ET.SubElement(polygon, f"{{{SE}}}Fill"), {"fill": colour, "fill-opacity": f"{style.opacity:g}"})
        _parameters(ET.SubElement(polygon, f"{{{SE}}}Stroke"), edge)


def _parameters(element: ET.Element, values: dict[str, str]) -> None:
    for name, value in values.items():
        ET.SubElement(element, f"{{{SE}}}SvgParameter", name=name).text = value


def _rgba(colour: str, opacity: float = 1.0) -> str:
    return ",".join(str(value) for value in (*channels(colour), round(255 * opacity)))


def _text(root: ET.Element) -> str:
    ET.indent(root, " ")
    return ET.tostring(root, encoding="unicode")
