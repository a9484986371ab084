"""Slope, aspect and curvatures from windows of three by three cells, in one pass.

Letters as on paper, row 1 north: ``a b c / d e f / g h i``. With cell size k,
east positive and north positive::

    p = dz/dx   (c + w f + i - a - w d - g) / ((4 + 2 w) k)     w = 1 Evans, 2 Horn
    q = dz/dy   (a + w b + c - g - w h - i) / ((4 + 2 w) k)
    r = d2z/dx2   (a + c + d + f + g + i - 2 (b + e + h)) / (3 k2)
    t = d2z/dy2   (a + b + c + g + h + i - 2 (d + e + f)) / (3 k2)
    s = d2z/dxdy  (c + g - a - i) / (4 k2)

Evans 1980 (Zeitschrift fuer Geomorphologie, Supplement 36): the quadratic fitted
to the nine cells by least squares; Horn 1981 (Proceedings of the IEEE 69:14-47)
for slope and aspect. Curvatures always take the derivatives of Evans. Halo: one
cell. A window that lacks a cell gives NaN. No sum is shared between cells, so
results do not depend on how a raster is cut into blocks.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numba import njit

HALO = 1
LAYERS = (
    "slope",
    "aspect_sine",
    "aspect_cosine",
    "profile_curvature",
    "plan_curvature",
    "tangential_curvature",
    "mean_curvature",
)
"""What :func:`derivatives` can give; slope in degrees, sine and cosine without unit, curvatures in 1/m."""
EVANS, HORN = 1.0, 2.0


def derivatives(z, cell: float, weight: float = EVANS, layers: Sequence[str] = LAYERS, dtype=np.float64) -> np.ndarray:
    """The layers asked for, each elevation read once.

    With g = p2 + q2::

        slope      = arctan(g^0.5), degrees
        aspect     = azimuth the slope faces (downslope, clockwise from north), as sine and cosine
        profile    = -(p2 r + 2 p q s + q2 t) / (g (1 + g)^1.5)     down the slope
        plan       = -(q2 r - 2 p q s + p2 t) / g^1.5               along the contour; + on noses, where flow diverges
        tangential = -(q2 r - 2 p q s + p2 t) / (g (1 + g)^0.5)     plan times the sine of slope
        mean       = -((1 + q2) r - 2 p q s + (1 + p2) t) / (2 (1 + g)^1.5)

    Curvatures (1/m) are positive where convex, negative where concave (Evans 1980;
    Young 1978). Level ground faces nowhere and has no downslope direction: aspect,
    profile, plan and tangential curvature are NaN there.

    Parameters
    ----------
    z : (rows, columns), elevation in m, NaN = none; with a halo of one cell.
    cell : side of a cell, m.
    weight : ``EVANS`` or ``HORN``, for slope and aspect.
    layers : names of :data:`LAYERS`, in the order of the result.
    dtype : of the result; arithmetic is in float64.

    Returns
    -------
    (layers, rows, columns); the outermost cells are NaN.
    """
    z = np.ascontiguousarray(z, np.float64)
    places = np.full(len(LAYERS), -1, np.int64)
    for place, name in enumerate(layers):
        places[LAYERS.index(name)] = place
    out = np.empty((len(layers), *z.shape), dtype)
    if z.shape[0] < 3 or z.shape[1] < 3:
        out.fill(np.nan)
        return out
    _derivatives(z, float(cell), float(weight), places, bool((places[3:] >= 0).any()), out)
    return out


def slope_and_aspect(z, cell: float, weight: float):
    """Slope in degrees, sine and cosine of aspect: three layers of :func:`derivatives`."""
    return tuple(derivatives(z, cell, weight, LAYERS[:3]))


def curvatures(z, cell: float):
    """Profile, plan and tangential curvature, 1/m: three layers of :func:`derivatives`."""
    return tuple(derivatives(z, cell, EVANS, LAYERS[3:6]))


@njit(cache=True, nogil=True, error_model="numpy")
def _derivatives(z, cell, weight, places, curved, out):
    rows, columns = z.shape
    slope, sine, cosine, profile, plan, tangential, mean = places
    scale = 1.0 / ((4.0 + 2.0 * weight) * cell)
    evans = 1.0 / (6.0 * cell)
    second, mixed = 1.0 / (3.0 * cell * cell), 1.0 / (4.0 * cell * cell)
    degrees = 180.0 / np.pi
    p, q, r, s, t = np.empty(columns), np.empty(columns), np.empty(columns), np.empty(columns), np.empty(columns)
    out[:, 0, :] = np.nan
    out[:, rows - 1, :] = np.nan
    out[:, :, 0] = np.nan
    out[:, :, columns - 1] = np.nan
    # a row at a time, one plain loop a quantity: loops without branches are worked on several cells at once
    for row in range(1, rows - 1):
        above, here, below = z[row - 1], z[row], z[row + 1]
        if slope >= 0 or sine >= 0 or cosine >= 0:
            for column in range(1, columns - 1):
                a, c = above[column - 1], above[column + 1]
                g, i = below[column - 1], below[column + 1]
                gap = here[column] - here[column]  # 0, or NaN where the middle is missing
                p[column] = ((c - a) + weight * (here[column + 1] - here[column - 1]) + (i - g)) * scale + gap
                q[column] = ((a - g) + weight * (above[column] - below[column]) + (c - i)) * scale + gap
            if slope >= 0:
                for column in range(1, columns - 1):
                    steepness = np.sqrt(p[column] * p[column] + q[column] * q[column])
                    out[slope, row, column] = np.arctan(steepness) * degrees
            if sine >= 0:
                for column in range(1, columns - 1):  # level: 0 / 0 = NaN
                    out[sine, row, column] = -p[column] / np.sqrt(p[column] * p[column] + q[column] * q[column])
            if cosine >= 0:
                for column in range(1, columns - 1):
                    out[cosine, row, column] = -q[column] / np.sqrt(p[column] * p[column] + q[column] * q[column])
        if not curved:
            continue
        for column in range(1, columns - 1):
            e = here[column]
            # differences from the middle cell: a datum of hundreds of metres costs no digits
            a, b, c = above[column - 1] - e, above[column] - e, above[column + 1] - e
            d, f = here[column - 1] - e, here[column + 1] - e
            g, h, i = below[column - 1] - e, below[column] - e, below[column + 1] - e
            p[column] = ((c - a) + (f - d) + (i - g)) * evans
            q[column] = ((a - g) + (b - h) + (c - i)) * evans
            r[column] = (a + c + d + f + g + i - 2.0 * (b + h)) * second
            t[column] = (a + b + c + g + h + i - 2.0 * (d + f)) * second
            s[column] = (c + g - a - i) * mixed
        if profile >= 0:
            for column in range(1, columns - 1):
                pp, qq, pq = p[column] * p[column], q[column] * q[column], p[column] * q[column]
                steep = _sloping(pp + qq)
                down = -(pp * r[column] + 2.0 * pq * s[column] + qq * t[column])
                out[profile, row, column] = down / (steep * (1.0 + steep) * np.sqrt(1.0 + steep))
        if plan >= 0:
            for column in range(1, columns - 1):
                pp, qq, pq = p[column] * p[column], q[column] * q[column], p[column] * q[column]
                steep = _sloping(pp + qq)
                along = -(qq * r[column] - 2.0 * pq * s[column] + pp * t[column])
                out[plan, row, column] = along / (steep * np.sqrt(steep))
        if tangential >= 0:
            for column in range(1, columns - 1):
                pp, qq, pq = p[column] * p[column], q[column] * q[column], p[column] * q[column]
                steep = _sloping(pp + qq)
                along = -(qq * r[column] - 2.0 * pq * s[column] + pp * t[column])
                out[tangential, row, column] = along / (steep * np.sqrt(1.0 + steep))
        if mean >= 0:
            for column in range(1, columns - 1):
                pp, qq, pq = p[column] * p[column], q[column] * q[column], p[column] * q[column]
                bent = (1.0 + qq) * r[column] - 2.0 * pq * s[column] + (1.0 + pp) * t[column]
                steep = 1.0 + pp + qq
                out[mean, row, column] = -bent / (2.0 * steep * np.sqrt(steep))


@njit(inline="always")
def _sloping(steep):
    """NaN for less than 1e-14, which is a rise of 0.1 mm in a kilometre."""
    return steep if steep > 1e-14 else np.nan
