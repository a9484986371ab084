"""The page itself: folium's map as frame, Leaflet and our own parts inside one file.

folium's branca compiles what it has rendered as a template again. Nothing of
ours goes through that: scripts, styles and the one block of data are added as
Verbatim elements, which render as they are, and data never enters a script.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from importlib.resources import files
from urllib.parse import urlsplit

import folium
from branca.element import Element, Figure, MacroElement
from jinja2 import Template

NAME = "survey"
POLICY_MARK = "geoprofile-content-security-policy"
SCRIPTS = (
    "map_read.js", "map_weights.js", "map_canvas.js", "map_profile.js", "map_panels.js", "map_reading.js", "map_choices.js", "map_start.js",
)  # fmt: skip


class Verbatim(Element):
    """Text that is rendered as it is, never compiled."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text

    def render(self, **kwargs) -> str:
        return self.text


class Page(Figure):
    """branca's figure with a language, our title, and scripts inside the body."""

    _template = Template(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="' + POLICY_MARK + '">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="referrer" content="no-referrer">\n'
        "<title>{{ this.title }}</title>\n"
        "{{ this.header.render(**kwargs) }}\n</head>\n<body>\n"
        "{{ this.html.render(**kwargs) }}\n<script>{{ this.script.render(**kwargs) }}</script>\n</body>\n</html>\n"
    )

    def __init__(self, title: str) -> None:
        super().__init__()
        self.title = html.escape(title)
        self.header = Element()
        self.header._parent = self


class Frame(folium.Map):
    """folium's map without its links to content networks and with a fixed name."""

    default_js: list[tuple[str, str]] = []
    default_css: list[tuple[str, str]] = []

    def __init__(self, location: tuple[float, float], **options) -> None:
        super().__init__(location=location, tiles=None, zoom_control=False, **options)
        self._id = NAME

    def render(self, **kwargs) -> None:
        super().render(**kwargs)
        # folium's own header forbids zooming the page by hand and fixes font sizes; ours replaces it.
        self.get_root().header._children.pop(self.get_name(), None)


class SurveyParts(MacroElement):
    """The one element of ours: styles, skeleton, data and scripts around the map."""

    def __init__(self, data: dict) -> None:
        super().__init__()
        self._name = "SurveyParts"
        self.data = strict_json(data)

    def render(self, **kwargs) -> None:
        page = self.get_root()
        page.header.add_child(Verbatim(f"<style>{leaflet('leaflet.css')}</style>"), name="leaflet_css")
        page.header.add_child(Verbatim(f"<style>{template('map.css')}</style>"), name="our_css")
        page.header.add_child(Verbatim(f"<script>{leaflet('leaflet.js')}</script>"), name="leaflet_js")
        page.html.add_child(
            Verbatim(template("map.html").replace("<!--leaflet-licence-->", _licence())), name="skeleton"
        )
        page.html.add_child(
            Verbatim(f'<script type="application/json" id="survey-data">{self.data}</script>'), name="data"
        )
        code = "\n".join(template(name) for name in SCRIPTS)
        page.script.add_child(Verbatim(f'(function () {{\n"use strict";\n{code}\n}})();'), name="zz_our_script")


def render_page(title: str, centre: tuple[float, float], data: dict, tiles: str | None) -> str:
    """The whole document. ``tiles`` is the address of background tiles or None."""
    page = Page(title)
    frame = Frame(centre, attribution_control=False, zoom_snap=0.25, zoom_delta=0.5, fade_animation=False, max_zoom=22)
    page.add_child(frame)
    frame.add_child(SurveyParts(data))
    text = page.render()
    return text.replace(POLICY_MARK, policy(text, tiles), 1)


def strict_json(data: dict) -> str:
    """JSON without NaN or infinity, and without any character that ends a script or a line of one."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    # A lone half of a surrogate pair cannot be written as UTF-8.
    return re.sub("[\ud800-\udfff]", lambda found: f"\\u{ord(found[0]):04x}", text)


def policy(text: str, tiles: str | None) -> str:
    """Content security policy: our scripts and styles by their hash, no connection but to tiles that were asked for."""
    scripts = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    styles = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    images = " ".join(["data:", "blob:", *([tile_origin(tiles)] if tiles else [])])
    return "; ".join(
        [
            "default-src 'none'",
            f"script-src {' '.join(_hash(script) for script in scripts)}",
            f"style-src {' '.join(_hash(style) for style in styles)}",
            f"img-src {images}",
            "connect-src 'none'",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )


def tile_origin(address: str) -> str:
    """Scheme and host of a tile address, ``{s}`` as a wildcard."""
    parts = urlsplit(address)
    host = re.sub(r"\{s\}", "*", parts.netloc)
    return f"{parts.scheme}://{host}"


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def template(name: str) -> str:
    return (files(__package__) / "templates" / name).read_text(encoding="utf-8")


def leaflet(name: str) -> str:
    """A file of Leaflet without what refers to other files: pictures of controls that we do not use, the source map."""
    import xstatic.pkg.leaflet as package

    text = (files(package) / "data" / name).read_text(encoding="utf-8")
    text = re.sub(r"url\(images/[^)]*\)", "none", text)
    return re.sub(r"\n//# sourceMappingURL=\S*", "", text)


def _licence() -> str:
    return html.escape(template("map_leaflet_licence.txt"))
