"""Places in the survey's system: pains.md R17, R20, R21 and C5."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.errors import InputError
from geoprofile.pits.coordinates import operation_between, place, place_utm

SURVEY = "EPSG:2956"  # NAD83(CSRS) / UTM zone 12N


def test_degrees_become_metres_of_the_survey():
    """The central meridian of UTM zone 12 is 111 W, false easting 500,000 m (definition of the projection)."""
    placed = place([-111.0, np.nan], [53.0, 53.0], source="EPSG:4617", survey=SURVEY)
    assert placed.x[0] == pytest.approx(500000, abs=1e-6)
    assert np.isnan(placed.x[1]) and placed.problem[1] == "coordinates are missing"
    assert placed.problem[0] == "" and placed.operations[0].accuracy_m == 0


def test_axes_are_always_longitude_first_whatever_the_register_says():
    one = place([-112.0], [53.0], source="EPSG:4326", survey=SURVEY)
    assert 400000 < one.x[0] < 500000 and 5.8e6 < one.y[0] < 5.9e6


def test_r17_exchanged_coordinates_stop_and_say_so():
    with pytest.raises(InputError, match="exchanged") as caught:
        place([53.0, 53.1, 53.2], [-112.0, -112.1, -112.2], source="EPSG:4326", survey=SURVEY)
    assert "100%" in caught.value.found and "exchange" in caught.value.remedy


def test_r17_the_survey_area_decides_where_both_ways_are_on_the_globe():
    here = place([10.5, 10.6], [46.2, 46.3], source="EPSG:4326", survey="EPSG:32632")
    area = (here.x.min() - 5000, here.y.min() - 5000, here.x.max() + 5000, here.y.max() + 5000)
    assert np.isfinite(place([10.5], [46.2], source="EPSG:4326", survey="EPSG:32632", area=area).x).all()
    with pytest.raises(InputError, match="exchanged"):
        place([46.2, 46.3], [10.5, 10.6], source="EPSG:4326", survey="EPSG:32632", area=area)


def test_a_west_without_its_minus_is_found():
    with pytest.raises(InputError, match="minus sign or W"):
        place([112.0, 112.1], [53.0, 53.1], source="EPSG:4326", survey=SURVEY)


def test_a_few_strays_do_not_stop_the_table():
    placed = place([-112.0, -112.1, -112.2, 53.0], [53.0, 53.1, 53.2, -112.0], source="EPSG:4326", survey=SURVEY)
    assert np.isfinite(placed.x[:3]).all()


def test_r20_zones_are_per_row_and_end_in_one_system():
    same_easting = place_utm([700000, 700000], [5900000, 5900000], ["11N", "12N"], datum="NAD83(CSRS)", survey=SURVEY)
    assert same_easting.x[1] == pytest.approx(700000)
    assert abs(same_easting.x[0] - same_easting.x[1]) > 300000
    back = place(same_easting.x[:1], same_easting.y[:1], source=SURVEY, survey="EPSG:2955")
    assert back.x[0] == pytest.approx(700000, abs=0.01) and back.y[0] == pytest.approx(5900000, abs=0.01)


def test_r20_a_row_without_a_zone_is_refused_where_there_are_two():
    placed = place_utm([700000, 400000, 400000], [5900000] * 3, ["11N", "12N", ""], survey=SURVEY)
    assert np.isnan(placed.x[2]) and "zones 11, 12" in placed.problem[2]
    only = place_utm([400000, 400000], [5900000] * 2, ["12N", ""], survey=SURVEY)
    assert np.isfinite(only.x).all()


def test_r19_the_survey_area_proves_the_hemisphere():
    placed = place_utm([400000], [5900000], ["12"], survey=SURVEY)
    assert placed.problem[0] == "" and np.isfinite(placed.x[0])


def test_exchanged_easting_and_northing_of_a_row_are_named():
    placed = place_utm([400000, 5900000], [5900000, 400000], ["12N", "12N"], survey=SURVEY)
    assert np.isfinite(placed.x[0]) and "exchanged" in placed.problem[1]


def test_r21_the_operation_and_its_accuracy_are_reported():
    placed = place([-112.0], [53.0], source="EPSG:4326", survey=SURVEY)
    operation = placed.operations[0]
    assert operation.accuracy_m is not None and "WGS 84" in operation.name and "accuracy" in placed.by[0]


def test_r21_a_guessed_datum_shift_is_refused_and_names_the_grid():
    """NAD27 to NAD83 needs a grid in Canada; without it the shift is off by tens of metres."""
    try:
        _, operation = operation_between("EPSG:4267", "EPSG:26912", (-113, 52, -111, 54), need_m=5)
    except InputError as error:
        assert "guess" in error.found and ".tif" in error.remedy
    else:  # the grid is installed on this machine
        assert operation.accuracy_m <= 5


def test_r21_accuracy_worse_than_asked_for_fails():
    with pytest.raises(InputError, match="less accurate"):
        operation_between("EPSG:4326", SURVEY, (-113, 52, -111, 54), need_m=0.01)


def test_c5_the_network_is_never_used():
    import pyproj

    operation_between("EPSG:4326", SURVEY, (-113, 52, -111, 54))
    assert not pyproj.network.is_network_enabled()


def test_a_datum_that_does_not_exist_is_refused():
    with pytest.raises(InputError, match="no such UTM system"):
        place_utm([400000], [5900000], ["12N"], datum="MARS", survey=SURVEY)
