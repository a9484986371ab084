"""What was chosen on the way from elevation to its derivatives, in sentences."""

from __future__ import annotations

from collections import Counter

from ..grid import Grid
from ..settings.terrain import TerrainSettings
from .derive import SOURCES, Derivation
from .landform import LEGEND
from .scale_effect import noise_sentence
from .smoothing import reach


def derivation_notes(derivation: Derivation, counts: Counter, grid: Grid) -> list[str]:
    """One sentence a choice; ``counts`` as :class:`Derivation` gives them, summed over the tiles."""
    settings, asked, cell = derivation.settings, set(derivation.settings.derive), grid.cell_m
    notes = [_smoothing(settings.analysis_scale_m or 0.0, cell)]
    if settings.further_scales_m:
        scales = ", ".join(f"{scale:g}" for scale in settings.further_scales_m)
        notes.append(f"slope, aspect and curvatures also at analysis scales of {scales} m, smoothed in the same way")
    if "slope" in asked:
        notes.append(f"slope in degrees, window of three by three cells ({SOURCES[settings.slope_method]})")
    if "aspect" in asked:
        notes.append("aspect is where the slope faces, clockwise from north, as sine (east) and cosine (north); level ground has none")
    if asked & {"profile_curvature", "plan_curvature", "tangential_curvature", "mean_curvature", "landform_element"}:
        notes.append(
            "curvatures in 1/m, convex positive (Evans 1980; formulas in geoprofile.kernels.terrain_window): profile down the "
            "slope, plan along the contour, tangential = plan times the sine of slope; level ground has none"
        )
    if "landform_element" in asked:
        notes.append(_landform(counts, settings, cell))
    if "relative_elevation" in asked:
        notes.append(
            f"relative elevation = elevation minus its mean within {settings.relative_elevation_radius_m:g} m; "
            f"{counts['cut'] / max(counts['known'], 1):.0%} of the cells have a circle cut by the raster's edge or by gaps"
        )
    if "height_within_relief" in asked:
        notes.append(
            f"height within relief: 0 = the lowest, 100 = the highest ground within {settings.relief_radius_m:g} m"
        )
    if "radiation" in asked:
        notes.append(
            f"radiation of day {settings.radiation_day_of_year} of the year at latitude {derivation.latitude:.2f}, without air, clouds "
            "and the shade of other ground (FAO Irrigation and Drainage Paper 56): it tells warm sides from cold ones, not weather"
        )
    return notes


def _smoothing(scale: float, cell: float) -> str:
    if reach(scale, cell) == 0:
        return f"no smoothing before derivatives: they describe ground about {3 * cell:g} m across"
    return (
        f"smoothed to an analysis scale of {scale:g} m before any derivative: planes fitted with Gaussian weights of standard "
        f"deviation {scale / 2:g} m, cut at {1.5 * scale:g} m; the raster 'elevation' is not smoothed"
    )


def _landform(counts: Counter, settings: TerrainSettings, cell: float) -> str:
    known = sum(counts[f"element {code}"] for code in LEGEND)
    shares = ", ".join(f"{name} {counts[f'element {code}'] / known:.0%}" for code, name in LEGEND.items()) if known else "none"
    scale = max(settings.analysis_scale_m or 0.0, cell)
    return (
        f"landform elements (Pennock, Zebarth & de Jong 1987): level up to {settings.level_below_degrees:g} degrees, profile limit "
        f"{settings.profile_limit_degrees_per_m:g} degrees per m. The limits were published for cells of about 10 m; here cells are "
        f"{cell:g} m and the analysis scale {scale:g} m: a larger scale gives more level ground and backslope. Shares: {shares}. "
        + noise_sentence(cell, settings.analysis_scale_m, settings.profile_limit_degrees_per_m)
    )
