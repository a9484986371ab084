"""Writer ``report``: report.pdf, the survey on a few printed pages.

    facts (plain data) + map and figures (SVG)  ->  templates/report.typ  ->  PDF

Text from data reaches the page as values of a JSON file, never as markup. Only the
DejaVu fonts of matplotlib are used, no system fonts, no packages from elsewhere, no
clock: the same survey gives the same bytes.
"""

from __future__ import annotations

import json
import re
from importlib.resources import files
from pathlib import Path

from ..errors import OutputError
from ..products import OutputFile
from .bundle import Bundle
from .placing import temporary_folder, write_file
from .report_facts import facts
from .report_map import paper_map
from .report_panels import class_panels, presence_panels, surface_panels
from .report_probabilities import probability_rows
from .report_salvage import salvage_rows
from .report_soils import soil_rows
from .report_strips import attribute_strips
from .transect import first_drawing

what = "report.pdf: the survey on a few printed pages, with a map to scale"

PAGES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
SIDE_MM = 18.0


def write(bundle: Bundle) -> tuple[OutputFile, ...]:
    """Compose report.pdf."""
    with temporary_folder(bundle.context) as folder:
        _lay_out(bundle, folder)
        content = compile_report(folder)
    return (write_file(bundle.context, "report.pdf", content, what),)


def _lay_out(bundle: Bundle, folder: Path) -> None:
    """Put the template, its data and its pictures into ``folder``."""
    width, height = PAGES[bundle.settings.page]
    inner = width - 2 * SIDE_MM
    told = facts(bundle)
    told["page"] = {"paper": "a4" if bundle.settings.page == "a4" else "us-letter", "side_mm": SIDE_MM}
    told["salvage"] = salvage_rows(bundle)
    told["soils"] = soil_rows(bundle)
    told["probabilities"] = probability_rows(bundle)
    bundle.context.progress.check()
    sheet = paper_map(bundle, inner, height - 95)
    told["map"] = None
    if sheet is not None:
        (folder / "map.svg").write_bytes(sheet.svg)
        told["map"] = {"width_mm": sheet.width_mm, "scale": f"{sheet.scale:,}".replace(",", "\u202f"),
                       "fits": sheet.intended in (None, sheet.scale), "outside": sheet.pits_outside}  # fmt: skip
    panels = surface_panels(bundle, inner)
    told["panels"] = None if panels is None else panels[1]
    if panels is not None:
        (folder / "panels.svg").write_bytes(panels[0])
    likely = presence_panels(bundle, inner)
    told["presences"] = likely is not None
    if likely is not None:
        (folder / "presences.svg").write_bytes(likely)
    classed = class_panels(bundle, inner)
    told["class_panels"] = None if classed is None else classed[1]
    if classed is not None:
        (folder / "classes.svg").write_bytes(classed[0])
    strips, axis = attribute_strips(bundle)
    told["strips"] = [definition.name in strips for definition in bundle.attributes.definitions]
    for number, definition in enumerate(bundle.attributes.definitions):
        if definition.name in strips:
            (folder / f"strip{number}.svg").write_bytes(strips[definition.name])
    if axis is not None:
        (folder / "strips.svg").write_bytes(axis)
    drawing = first_drawing(bundle)
    told["transect"] = drawing is not None
    if drawing is not None:
        (folder / "transect.svg").write_bytes(drawing)
    text = json.dumps(told, ensure_ascii=False, allow_nan=False)
    text = re.sub(r"(?<=\d) %", "\N{NO-BREAK SPACE}%", re.sub(r"(?<=\d) m3\b", " m³", text))
    (folder / "data.json").write_text(text.encode("utf-8", "replace").decode("utf-8"), encoding="utf-8")
    template = files("geoprofile.outputs").joinpath("templates/report.typ").read_text(encoding="utf-8")
    (folder / "report.typ").write_text(template, encoding="utf-8")


def compile_report(folder: Path) -> bytes:
    """The PDF of ``report.typ`` in ``folder``; nothing outside the folder is read but the fonts."""
    import matplotlib
    import typst

    try:
        return typst.compile(
            str(folder / "report.typ"), root=str(folder), font_paths=[str(Path(matplotlib.get_data_path()) / "fonts" / "ttf")],
            ignore_system_fonts=True, format="pdf", timestamp=0, package_path=str(folder), package_cache_path=str(folder),
        )
    except Exception as error:
        raise OutputError("the report could not be composed", where="report.pdf", found=str(error),
                          remedy="report this: it is our fault") from error
