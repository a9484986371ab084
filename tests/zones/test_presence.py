"""Share of pits that have a feature: only pits that decide count."""

from __future__ import annotations

import pandas as pd
import pytest

from geoprofile.intervals import absent_depth, at_least, measured, unknown
from geoprofile.zones.presence import presence_shares
from geoprofile.zones.tables import Grouping


def test_pits_that_ended_above_a_feature_are_not_in_its_share(make_pits, at):
    said = [measured(20), absent_depth(), absent_depth(), at_least(60, "not_seen"), unknown()]
    rows = [(str(number), at(5, 5), {"depth_to_carbonates": one}) for number, one in enumerate(said)]
    _, attributes = make_pits(rows)
    groups = pd.DataFrame({"parcel_id": ["a", "b"]})
    grouping = Grouping("parcel_id", "parcel", "parcels", groups, pd.Series("a", index=[row[0] for row in rows]))
    table = presence_shares(grouping, attributes).set_index("parcel_id")
    one = table.loc["a"]
    assert (one["present"], one["absent"], one["not_seen"], one["not_described"]) == (1, 2, 1, 1)
    assert one["present_percent"] == pytest.approx(33.3)
    # Clopper & Pearson 1934: 1 of 3, by quantiles of the beta distribution
    from scipy.stats import beta

    assert one["low90_percent"] == pytest.approx(100 * beta.ppf(0.05, 1, 3), abs=0.05)
    assert one["high90_percent"] == pytest.approx(100 * beta.ppf(0.95, 2, 2), abs=0.05)
    assert pd.isna(table.loc["b", "present_percent"])
