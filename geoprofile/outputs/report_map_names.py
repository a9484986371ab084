"""Names on the report's map: of areas to be stripped and of pits, none over another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

LABEL_PT, AREA_PT = 5.5, 6.5
"""Size of type of pits and of areas, points."""
LETTER_WIDTH = 0.66
"""Width of a letter in parts of the size of type."""
MARK_PT = 2.5
"""Half the width of the mark of a pit, points."""
SPOTS = ((3.0, 3.0), (3.0, -7.0), (-3.0, 3.0), (-3.0, -7.0), (3.0, 9.0), (3.0, -13.0))
"""Where the name of a pit may stand, points right and up of it, the best first."""

Box = tuple[float, float, float, float]
"""Left, bottom, right, top in points from the corner of the page."""


def name_areas(axes, names: Sequence[str], shapes: Sequence, pits: Sequence, colour: str) -> list[Box]:
    """Name each area inside it where no pit is hidden, else above or below it; returns the room that the names take."""
    marks = [(x - MARK_PT, y - MARK_PT, x + MARK_PT, y + MARK_PT) for x, y in _on_paper(axes, shapely.get_coordinates(list(pits)))]
    frame = tuple(axes.get_window_extent().extents * 72 / axes.figure.dpi)
    taken: list[Box] = []
    for name, shape in zip(names, shapes, strict=True):
        west, south, east, north = shape.bounds
        inside, low, high = _on_paper(axes, np.array([shapely.point_on_surface(shape).coords[0], (west, south), (east, north)]))
        width, middle = LETTER_WIDTH * AREA_PT * len(name), (low[0] + high[0]) / 2
        spots = [(middle, high[1] + 1 + AREA_PT / 2), (middle, low[1] - 1 - AREA_PT / 2)]
        if width < high[0] - low[0] and AREA_PT < high[1] - low[1]:
            spots.insert(0, (inside[0], inside[1]))
        boxes = [(x - width / 2, y - AREA_PT / 2, x + width / 2, y + AREA_PT / 2) for x, y in spots]
        best = min(boxes, key=lambda box: (not _within(box, frame), _hits(box, taken), _hits(box, marks)))
        if not _within(best, frame) or _hits(best, taken):
            continue  # the table below the map has it
        taken.append(best)
        _write(axes, name, ((best[0] + best[2]) / 2, (best[1] + best[3]) / 2), AREA_PT, "center", "center", color=colour, weight="bold")
    return taken


def name_pits(axes, names: Sequence[str], points: Sequence, taken: Sequence[Box]) -> None:
    """Name each pit at the first of SPOTS where it lies over no other name; without a name where there is none."""
    taken = list(taken)
    for name, (x, y) in zip(names, _on_paper(axes, shapely.get_coordinates(list(points))), strict=True):
        width = LETTER_WIDTH * LABEL_PT * len(name)
        for right, up in SPOTS:
            left = x + right if right > 0 else x + right - width
            box = (left, y + up - 1, left + width, y + up + LABEL_PT)
            if not _hits(box, taken):
                taken.append(box)
                _write(axes, name, (x + right, y + up), LABEL_PT, "left" if right > 0 else "right", "baseline")
                break


def _on_paper(axes, coordinates: np.ndarray) -> np.ndarray:
    """(n, 2) map coordinates as points from the corner of the page."""
    return axes.transData.transform(coordinates.reshape(-1, 2)) * 72 / axes.figure.dpi


def _hits(box: Box, others: Sequence[Box]) -> int:
    return sum(box[0] < b[2] and box[2] > b[0] and box[1] < b[3] and box[3] > b[1] for b in others)


def _within(box: Box, frame: Box) -> bool:
    return box[0] >= frame[0] and box[1] >= frame[1] and box[2] <= frame[2] and box[3] <= frame[3]


def _write(axes, text: str, place: tuple[float, float], size: float, ha: str, va: str, **look) -> None:
    from matplotlib.patheffects import withStroke

    axes.annotate(text, place, xycoords="figure points", fontsize=size, zorder=6, ha=ha, va=va, parse_math=False,
                  path_effects=[withStroke(linewidth=1.6, foreground="white")], **look)  # fmt: skip
