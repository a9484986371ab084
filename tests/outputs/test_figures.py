"""Figures are the same bytes whatever was drawn before them in the process."""

import re

from geoprofile.outputs.figures import drawing, new_figure, png_bytes, svg_bytes


def _drawn() -> tuple[bytes, bytes]:
    with drawing():
        figure = new_figure(80, 60)
        axes = figure.add_subplot()
        axes.plot([0, 1, 2], [0, 4, 1])
        axes.bar([0, 1], [1, 2], hatch="//")
        axes.set_title("$not mathematics$ & <text>")
        return svg_bytes(figure), png_bytes(figure)


def test_a_figure_is_the_same_bytes_after_others_were_drawn():
    """G4: twice gives the same file, also in one process."""
    first = _drawn()
    for _ in range(3):
        _drawn()
    assert _drawn() == first
    for name in (b"clip", b"hatch"):
        used = set(re.findall(rb"url\(#(%s\d+)\)" % name, first[0]))
        assert used and used == set(re.findall(rb'id="(%s\d+)"' % name, first[0]))
