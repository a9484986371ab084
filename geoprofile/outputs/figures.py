"""Figures that are the same bytes every time: fixed fonts, fixed ids, no dates; data text is never read as mathematics."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

from .palette import INK

STYLE = {
    "font.family": "DejaVu Sans", "font.size": 8, "svg.hashsalt": "geoprofile", "svg.fonttype": "path",
    "axes.edgecolor": INK, "axes.labelcolor": INK, "text.color": INK, "xtick.color": INK, "ytick.color": INK,
    "axes.linewidth": 0.6, "xtick.major.width": 0.6, "ytick.major.width": 0.6, "hatch.linewidth": 0.5,
    "hatch.color": "#bdb7aa", "path.simplify": False, "text.parse_math": False,
}  # fmt: skip
MM = 1 / 25.4
"""Inches a millimetre."""


@contextmanager
def drawing() -> Iterator[None]:
    """matplotlib with our style and nobody else's; it prints nothing of its own."""
    import matplotlib

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with matplotlib.rc_context():
            matplotlib.rcdefaults()
            matplotlib.rcParams.update(STYLE)
            yield


def new_figure(width_mm: float, height_mm: float):
    """A figure of exactly that size on paper."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_mm * MM, height_mm * MM), facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def svg_bytes(figure) -> bytes:
    sink = io.BytesIO()
    figure.savefig(sink, format="svg", metadata={"Date": None, "Creator": None})
    text = sink.getvalue()
    # matplotlib names clipping outlines and hatches after what else the process has drawn before
    for number, (kind, name) in enumerate(re.findall(rb'<(clipPath|pattern) id="([^"]+)"', text), start=1):
        own = (b"clip%d" if kind == b"clipPath" else b"hatch%d") % number
        text = text.replace(b'"' + name + b'"', b'"' + own + b'"').replace(b"(#" + name + b")", b"(#" + own + b")")
    return text


def png_bytes(figure, dpi: int = 150) -> bytes:
    sink = io.BytesIO()
    figure.savefig(sink, format="png", dpi=dpi, metadata={"Software": None})
    return sink.getvalue()
