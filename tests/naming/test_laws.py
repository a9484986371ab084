"""Laws of naming that hold for any record."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from geoprofile.naming.logic import NO, YES, Answer, all_of, any_of, negated

LIMITED = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
SURFACE = st.sampled_from(["Ah", "Ahe", "Ap", "Ahk"])
SUBSOIL = st.sampled_from(["Ae", "Bm", "Bmk", "Bt", "Btj", "Bnt", "Bf", "Bg", "Bmgj", "AB"])
PARENT = st.sampled_from(["Ck", "C", "Cca", "Ckg", "Ckgj"])


@st.composite
def pits(draw):
    """A soil to 130 cm, each layer with moist and dry colour."""
    names = [draw(SURFACE), *draw(st.lists(SUBSOIL, max_size=3)), draw(PARENT)]
    depth, rows = 0, []
    for number, one in enumerate(names):
        lower = 130 if number == len(names) - 1 else depth + draw(st.integers(4, 28))
        value = draw(st.integers(2, 5)) if one.startswith(("Ah", "Ap")) else draw(st.integers(4, 6))
        chroma = draw(st.integers(1, 4))
        rows.append((one, depth, lower, {"colour_moist": f"10YR {value}/{chroma}", "colour_dry": f"10YR {value + 1}/{chroma}"}))
        depth = lower
    return rows


def possible(row):
    return set(row.subgroup.split(" or ")) | set(filter(None, row.alternatives.split("; ")))


@LIMITED
@given(pits())
def test_what_the_key_does_not_ask_changes_nothing(name, horizons):
    told = name(horizons)
    more = [(*one[:3], {**one[3], "roots": "many fine", "remarks": "worms", "bulk_density": 1.3, "boundary_distinctness": "clear"}) for one in horizons]
    other = name(more, surveyor="crew 9", elevation_m=612.0, slope_percent=4.0)
    assert (told.subgroup, told.sure, told.alternatives) == (other.subgroup, other.sure, other.alternatives)


@LIMITED
@given(pits(), st.sampled_from(["colour_dry", "colour_moist"]))
def test_a_record_without_a_colour_keeps_the_decided_name_among_the_possible_or_says_that_it_supposes_the_colour(name, horizons, column):
    whole = name(horizons)
    less = name([(*one[:3], {key: text for key, text in one[3].items() if key != column}) for one in horizons])
    if whole.sure == "decided":
        supposed = f"{column.removeprefix('colour_')} colour"
        assert whole.subgroup in possible(less) or supposed in less.supposes + less.missing, (whole.subgroup, less.subgroup, less.sure)


@LIMITED
@given(pits(), st.integers(1, 4))
def test_a_pit_cut_short_keeps_the_whole_pits_name_among_the_possible_or_says_what_it_did_not_see(name, horizons, kept):
    whole, cut = name(horizons), name(horizons[:kept])
    if kept >= len(horizons) or not whole.sure.startswith("decided"):
        return
    if whole.subgroup not in possible(cut):
        seen = horizons[kept - 1][2]
        assert f"{seen} " in cut.supposes + cut.missing + cut.sure, (whole.subgroup, cut.sure, cut.missing)


@LIMITED
@given(pits())
def test_every_name_comes_with_steps_that_end_at_it_and_with_a_source(name_all, horizons):
    product = name_all({"P1": horizons})
    row, steps = product.names.iloc[0], product.steps
    taken = steps[steps["decision"] == "taken"]
    if row["subgroup"]:
        assert list(dict.fromkeys(taken["level"])) == ["order", "great group", "subgroup"]
        assert taken["soil_class"].iloc[-1] == row["subgroup"].split(" or ")[0]
    assert (steps["source"] != "").all() and (steps["asks"] != "").all()


@given(st.integers(NO, YES), st.integers(NO, YES))
def test_all_of_and_any_of_mirror_each_other_under_negation(one, two):
    """De Morgan's law of strong three-valued logic (Kleene 1952)."""
    a, b = Answer(one), Answer(two)
    both, _ = all_of([lambda: a, lambda: b])
    either, _ = any_of([lambda: negated(a), lambda: negated(b)])
    assert negated(both).degree == either.degree
