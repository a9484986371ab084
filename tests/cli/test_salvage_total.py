"""The total of what is to be stripped says which hectares it is of."""

import numpy as np
import pandas as pd

from geoprofile.cli.summary import _sum_text


def test_hectares_without_a_known_depth_are_named_and_not_counted_as_stripped():
    rows = pd.DataFrame({"area_ha": [1.0, 2.0, 3.0], "not_covered_ha": [0.25, 0.0, np.nan], "bank_volume_m3": [1500.0, 4000.0, np.nan]})
    assert _sum_text(rows) == "bank volume 5,500 m3 on 2.75 ha; 3.25 ha are not covered and not in the volume"


def test_a_total_that_covers_everything_says_only_its_hectares():
    rows = pd.DataFrame({"area_ha": [1.0, 2.0], "not_covered_ha": [0.0, 0.0], "bank_volume_m3": [1500.0, 4000.0]})
    assert _sum_text(rows) == "bank volume 5,500 m3 on 3.00 ha"


def test_no_depth_anywhere_is_not_a_volume_of_nothing():
    rows = pd.DataFrame({"area_ha": [1.0], "not_covered_ha": [np.nan], "bank_volume_m3": [np.nan]})
    assert _sum_text(rows) == "1.00 ha, depth not known"
