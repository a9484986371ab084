"""What a scale means on the ground."""

from __future__ import annotations

import pytest

from geoprofile.settings.zones import ZonesSettings
from geoprofile.zones.legibility import least_area_ha, map_scale


@pytest.mark.parametrize(
    ("scale", "ha"), [(5_000, 0.125), (10_000, 0.5), (20_000, 2), (50_000, 12.5), (1_000_000, 5_000)]
)
def test_half_a_square_centimetre_of_map_on_the_ground(scale, ha):  # plain arithmetic
    assert least_area_ha(scale) == pytest.approx(ha)


@pytest.mark.parametrize(("scale", "ha"), [(5_000, 0.0625), (10_000, 0.25), (20_000, 1.0), (50_000, 6.25)])
def test_a_square_of_5_mm_is_the_smallest_that_can_be_read(scale, ha):  # statements printed on published soil maps
    assert map_scale(ZonesSettings(map_scale=scale), None, 5).legible_ha == pytest.approx(ha)


def test_Z5_least_area_and_where_it_comes_from_are_stated():
    own = map_scale(ZonesSettings(map_scale=20_000), 50_000, 5)
    assert (
        own.sentence
        == "the map scale is 1:20000; least area 2 ha (0.5 cm2 of map, a common least delineation, from memory)"
    )
    assert map_scale(ZonesSettings(), 50_000, 5).least_area_ha == 12.5
    cell = map_scale(ZonesSettings(), None, 5)
    assert cell.denominator == 10_000 and "no map scale is given" in cell.sentence
    assert map_scale(ZonesSettings(least_area_ha=0.3), None, 5).sentence.endswith("least area 0.3 ha (as asked for)")


def test_smoothing_is_half_a_millimetre_of_map_and_at_least_a_cell():
    assert map_scale(ZonesSettings(map_scale=50_000), None, 5).smoothing_m == 25
    assert map_scale(ZonesSettings(map_scale=2_000), None, 5).smoothing_m == 5
    assert map_scale(ZonesSettings(smoothing_m=0), None, 5).smoothing_m == 0
