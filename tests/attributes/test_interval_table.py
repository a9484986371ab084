"""The table 'Interval and presence' of the definitions, cell by cell: what a pit can say of each attribute.

Columns of the table: too shallow; absent, deeper horizons seen; present, base not reached; not described.
"""

from __future__ import annotations

import pytest

TILL = [("Ah", 0, 15), ("Bm", 15, 30), ("Ck", 30, 60)]
CHERNOZEM = [("Ah", 0, 15), ("Bm", 15, 40), ("C", 40, 60)]
LUVISOL = [("Ah", 0, 5), ("Ae", 5, 17), ("Bt", 17, 45), ("Ck", 45, 80)]
ENDED_IN_A = [("Ah", 0, 22)]
NAMELESS = [(None, 0, 20), (None, 20, 50)]
NONE = {"effervescence": "none"}
CLAY = {"clay_percent": 20.0}
AVERAGE = {"new": {"clay": {"kind": "average", "of": "clay_percent", "upper_cm": 0, "lower_cm": 30}}}
LFH = ("LFH", -5, 0)


def salty(*samples: tuple[float, float, float]) -> list:
    return [("Ck", upper, lower, {"ec_ds_m": ec, "ec_extract": "paste"}) for upper, lower, ec in samples]


def mottled(*said: str | None) -> list:
    return [(name, upper, lower, {"mottles": text}) for (name, upper, lower), text in zip(CHERNOZEM, said)]


def cell(row: str, column: str, attribute: str, horizons: list, text: str, presence: str, **facts):
    return pytest.param(attribute, horizons, facts, text, presence, id=f"{row} | {column}")


TOO_SHALLOW, ABSENT, BASE, SILENT = "too shallow", "absent, deeper seen", "present, base not reached", "not described"

CELLS = [
    # forest floor; peat
    cell("peat", TOO_SHALLOW + ": depth observed in peat", "peat_thickness", [("Om", 0, 60)], ">60", "present", datum="organic surface"),
    cell("forest floor", ABSENT, "forest_floor_thickness", CHERNOZEM, "absent", "absent", organic_above_cm=0),
    cell("forest floor", ABSENT + ": removed by ploughing", "forest_floor_thickness", [("Ap", 0, 15), ("Bm", 15, 40)], "absent", "absent"),
    cell("forest floor", ABSENT + ": removed by fire", "forest_floor_thickness", CHERNOZEM, "absent", "absent", land_use="burnt bush"),
    cell("forest floor", "present", "forest_floor_thickness", [LFH, *CHERNOZEM], "5", "present"),
    cell("forest floor", BASE, "forest_floor_thickness", [LFH], ">5", "present"),
    cell("forest floor", SILENT, "forest_floor_thickness", CHERNOZEM, "unknown", "not_described"),
    cell("peat", SILENT, "peat_thickness", CHERNOZEM, "unknown", "not_described"),
    cell("peat", ABSENT, "peat_thickness", [LFH, *CHERNOZEM], "absent", "absent"),
    # dark A; all A and E
    cell("dark A", TOO_SHALLOW, "dark_a_thickness", ENDED_IN_A, ">22", "present"),
    cell("A and E", TOO_SHALLOW, "a_e_thickness", [("Ah", 0, 5), ("Ae", 5, 22)], ">22", "present"),
    cell("dark A", ABSENT + ": B at the surface", "dark_a_thickness", [("Bm", 0, 20), ("Ck", 20, 60)], "absent", "absent"),
    cell("A and E", ABSENT + ": Cg at the surface", "a_e_thickness", [("Cg", 0, 60)], "absent", "absent"),
    cell("dark A", SILENT, "dark_a_thickness", NAMELESS, "unknown", "not_described"),
    cell("A and E", SILENT, "a_e_thickness", NAMELESS, "unknown", "not_described"),
    cell("dark A", BASE + ": at least what was seen", "dark_a_thickness", [("Ah", 0, 12), ("Ahe", 12, 25)], ">25", "present"),
    # eluvial
    cell("eluvial", TOO_SHALLOW + ": ended in Ah", "eluvial_thickness", ENDED_IN_A, ">0", "not_seen"),
    cell("eluvial", ABSENT + ": Ah directly on B", "eluvial_thickness", CHERNOZEM, "absent", "absent"),
    cell("eluvial", ABSENT + ": Ap directly on C", "eluvial_thickness", [("Ap", 0, 15), ("Ck", 15, 60)], "absent", "absent"),
    cell("eluvial", BASE, "eluvial_thickness", [("Ah", 0, 5), ("Ae", 5, 17)], ">12", "present"),
    cell("eluvial", "broken 0-8", "eluvial_thickness",
         [("Ah", 0, 10), ("Ae", 10, 14, {"thickness_low_cm": 0, "thickness_high_cm": 8}), ("Bt", 14, 40), ("Ck", 40, 60)], "0-8", "present"),
    cell("eluvial", SILENT, "eluvial_thickness", NAMELESS, "unknown", "not_described"),
    # topsoil by a named rule set
    cell("topsoil", TOO_SHALLOW + ": all of it passes", "topsoil_thickness", ENDED_IN_A, ">22", "present"),
    cell("topsoil", ABSENT, "topsoil_thickness", [("Bm", 0, 20), ("Ck", 20, 60)], "absent", "absent"),
    cell("topsoil", BASE + ": stopped by rock", "topsoil_thickness", ENDED_IN_A, "22", "present", stopped_by="rock", kind="pit"),
    cell("topsoil", SILENT, "topsoil_thickness", NAMELESS, "unknown", "not_described"),
    # depth to Bt, and to Bn or Bnt
    cell("depth to Bt", TOO_SHALLOW + ": ended in Bm", "depth_to_bt", [("Ah", 0, 15), ("Bm", 15, 40)], ">40", "not_seen"),
    cell("depth to Bt", TOO_SHALLOW + ": ended in Ae", "depth_to_bt", [("Ah", 0, 5), ("Ae", 5, 30)], ">30", "not_seen"),
    cell("depth to Bt", TOO_SHALLOW + ": ended in AB", "depth_to_bt", [("Ah", 0, 5), ("AB", 5, 30)], ">30", "not_seen"),
    cell("depth to Bt", ABSENT + ": C met", "depth_to_bt", CHERNOZEM, "absent", "absent"),
    cell("depth to Bt", ABSENT + ": R met", "depth_to_bt", [("Ah", 0, 15), ("Bm", 15, 40), ("R", 40, None)], "absent", "absent"),
    cell("depth to Bt", BASE, "depth_to_bt", [("Ah", 0, 5), ("Ae", 5, 17), ("Bt", 17, 45)], "17", "present"),
    cell("depth to Bt", SILENT + ": a bare B", "depth_to_bt", [("Ah", 0, 15), ("B", 15, 40), ("C", 40, 60)], ">15", "not_described"),
    cell("depth to Bn", TOO_SHALLOW, "depth_to_solonetzic_b", [("Ah", 0, 15), ("Bm", 15, 40)], ">40", "not_seen"),
    cell("depth to Bn", ABSENT, "depth_to_solonetzic_b", LUVISOL, "absent", "absent"),
    cell("depth to Bn", BASE, "depth_to_solonetzic_b", [("Ah", 0, 12), ("Bnt", 12, 40)], "12", "present"),
    cell("depth to Bn", SILENT, "depth_to_solonetzic_b", [("Ah", 0, 15), ("B", 15, 40)], ">15", "not_described"),
    # Bt thickness
    cell("Bt thickness", TOO_SHALLOW + ": ended above it", "bt_thickness", [("Ah", 0, 5), ("Ae", 5, 17)], ">0", "not_seen"),
    cell("Bt thickness", ABSENT, "bt_thickness", CHERNOZEM, "absent", "absent"),
    cell("Bt thickness", BASE + ": at least D minus its top", "bt_thickness", [("Ah", 0, 17), ("Bt", 17, 45)], ">28", "present"),
    cell("Bt thickness", SILENT, "bt_thickness", [("Ah", 0, 15), ("B", 15, 40), ("C", 40, 60)], "unknown", "not_described"),
    # depth to carbonates, to effervescence
    cell("carbonates", TOO_SHALLOW + ": at least the acid depth", "depth_to_carbonates", [("Ah", 0, 15), ("Bm", 15, 80)], ">60", "not_seen", acid_to_cm=60),
    cell("effervescence", TOO_SHALLOW + ": at least the acid depth", "depth_to_effervescence", [("Ah", 0, 15), ("Bm", 15, 80)], ">60", "not_seen", acid_to_cm=60),
    cell("carbonates", ABSENT + ": lime-free to D", "depth_to_carbonates", CHERNOZEM, ">60", "not_seen", acid_to_cm=60),
    cell("carbonates", ABSENT + ": lime-free parent material", "depth_to_carbonates", CHERNOZEM, "absent", "absent", acid_to_cm=60, parent_material="Noncalcareous outwash"),
    cell("carbonates", "present", "depth_to_carbonates", TILL, "30", "present", acid_to_cm=60),
    cell("effervescence", "present", "depth_to_effervescence", [("Ah", 0, 15, NONE), ("Ck", 15, 60, {"effervescence": "strong"})], "15", "present"),
    cell("carbonates", "present: at the surface", "depth_to_carbonates", [("Apk", 0, 15), ("Ck", 15, 60)], "0", "present"),
    cell("carbonates", SILENT, "depth_to_carbonates", CHERNOZEM, "unknown", "not_described"),
    cell("effervescence", ABSENT + ": lime-free to D", "depth_to_effervescence", [(*one, NONE) for one in CHERNOZEM], ">60", "not_seen"),
    cell("effervescence", SILENT, "depth_to_effervescence", TILL, "unknown", "not_described"),
    cell("effervescence", SILENT + ": stated not tested", "depth_to_effervescence", TILL, "unknown", "not_described", acid_to_cm=0),
    # depth to salts
    cell("salts", TOO_SHALLOW + ": at least the deepest sample below the limit", "depth_to_salts", salty((0, 20, 1), (20, 60, 2)), ">40", "not_seen"),
    cell("salts", ABSENT + ": as left", "depth_to_salts", [*CHERNOZEM, *salty((60, 80, 2))], ">70", "not_seen"),
    cell("salts", "present: between the samples", "depth_to_salts", salty((0, 20, 1), (20, 60, 6)), "10-40", "present"),
    cell("salts", SILENT + ": even where C is described", "depth_to_salts", TILL, "unknown", "not_described"),
    # depth to mottles, to gleying
    cell("mottles", TOO_SHALLOW + ": none was written", "depth_to_mottles", mottled("none", "none", "none"), ">60", "not_seen"),
    cell("mottles", ABSENT + ": at least D", "depth_to_mottles", mottled("none", "none", "none"), ">60", "not_seen", mottles_to_cm=60),
    cell("mottles", "present", "depth_to_mottles", mottled("none", "none", "few"), "40", "present"),
    cell("mottles", SILENT + ": blank", "depth_to_mottles", CHERNOZEM, "unknown", "not_described"),
    cell("gleying", TOO_SHALLOW + ": at least D", "depth_to_gleying", [("Ah", 0, 15), ("Bm", 15, 40)], ">40", "not_seen"),
    cell("gleying", ABSENT + ": at least D", "depth_to_gleying", CHERNOZEM, ">60", "not_seen"),
    cell("gleying", "present", "depth_to_gleying", [("Ah", 0, 15), ("Bm", 15, 40), ("Cg", 40, 60)], "40", "present"),
    cell("gleying", "present: directly below a dark A", "depth_to_gleying", [("Ah", 0, 22), ("Bg", 22, 40)], "0-22", "present"),
    cell("gleying", SILENT, "depth_to_gleying", NAMELESS, "unknown", "not_described"),
    # depth to C
    cell("depth to C", TOO_SHALLOW + ": ended in BC", "depth_to_c", [("Ah", 0, 15), ("Bm", 15, 40), ("BC", 40, 55)], ">55", "not_seen"),
    cell("depth to C", ABSENT + ": R directly under B", "depth_to_c", [("Ah", 0, 15), ("Bm", 15, 40), ("R", 40, None)], "absent", "absent"),
    cell("depth to C", "present", "depth_to_c", CHERNOZEM, "40", "present"),
    cell("depth to C", "present: 0 in a Regosol", "depth_to_c", [("Ck", 0, 60)], "0", "present"),
    cell("depth to C", SILENT, "depth_to_c", NAMELESS, "unknown", "not_described"),
    # solum
    cell("solum", TOO_SHALLOW + ": stones included", "solum_thickness", [("Ah", 0, 15), ("Bm", 15, 40)], ">40", "present", stopped_by="stones"),
    cell("solum", ABSENT + ": C at the surface", "solum_thickness", [("Ck", 0, 60)], "absent", "absent"),
    cell("solum", "present: R under B", "solum_thickness", [("Ah", 0, 15), ("Bm", 15, 40), ("R", 40, None)], "40", "present"),
    cell("solum", SILENT, "solum_thickness", NAMELESS, "unknown", "not_described"),
    # depth to rock
    cell("rock", TOO_SHALLOW + ": at least D, always", "depth_to_rock", CHERNOZEM, ">60", "not_seen"),
    cell("rock", ABSENT + ": never knowable", "depth_to_rock", TILL, ">60", "not_seen", observed_to_cm=60),
    cell("rock", "present", "depth_to_rock", [("Ah", 0, 15), ("Bm", 15, 40), ("R", 40, None)], "40", "present"),
    cell("rock", "present: outcrop", "depth_to_rock", [("R", 0, None)], "0", "present"),
    cell("rock", "a refusal is not rock", "depth_to_rock", [("Ah", 0, 15), ("Bm", 15, 40)], ">40", "not_seen", stopped_by="rock", kind="auger"),
    cell("rock", SILENT + ": at least D where D is known", "depth_to_rock", [], ">80", "not_seen", observed_to_cm=80),
    # averages over an interval
    cell("average", TOO_SHALLOW + ": no value below the stated share", "clay", [("Ah", 0, 15, CLAY)], "unknown", "not_described", settings=AVERAGE),
    cell("average", TOO_SHALLOW + ": the share covered", "clay", [("Ah", 0, 27, CLAY)], "20", "present", settings=AVERAGE),
    cell("average", ABSENT + ": cut at rock", "clay", [("Ah", 0, 15, CLAY), ("R", 15, None)], "20", "present", settings=AVERAGE),
    cell("average", SILENT, "clay", CHERNOZEM, "unknown", "not_described", settings=AVERAGE),
    # depth to discontinuity
    cell("discontinuity", "survey does not mark them", "depth_to_discontinuity", CHERNOZEM, "unknown", "not_described"),
    cell("discontinuity", "present", "depth_to_discontinuity", [("Ah", 0, 15), ("Bm", 15, 40), ("IICk", 40, 60)], "40", "present"),
]  # fmt: skip


@pytest.mark.parametrize(("attribute", "horizons", "facts", "text", "presence"), CELLS)
def test_a_pit_says_what_the_table_of_definitions_says(derive, attribute, horizons, facts, text, presence):
    assert derive(attribute, horizons, **facts) == (text, presence)


@pytest.mark.parametrize("horizons", [[("Ah", 0, 15), ("Bm", 15, 40)], CHERNOZEM], ids=["too shallow", "absent, deeper seen"])
def test_where_the_survey_marks_discontinuities_a_pit_without_one_says_at_least(derive, horizons):
    said = derive("depth_to_discontinuity", horizons, settings={"discontinuities_marked": True})
    assert said == (f">{horizons[-1][2]}", "not_seen")


def test_topsoil_lies_between_sure_and_doubtful_where_a_failing_test_is_not_recorded(derive):
    salts = {"ec_ds_m": 1, "ec_extract": "paste", "sar": 2, "caco3_percent": 0}
    pit = [("Ah", 0, 12, salts), ("Ahe", 12, 20), ("Bm", 20, 40), ("Ck", 40, 60)]
    said = derive("topsoil_thickness", pit, settings={"topsoil_rule": "a_and_e_within_limits"})
    assert said == ("12-20", "present")
    assert any("not recorded: EC, SAR, CaCO3" in flag for flag in said.flags)


def test_absent_topsoil_gives_its_reason(derive):
    assert derive("topsoil_thickness", [("Bm", 0, 20), ("Ck", 20, 60)]).flags == ["none: Bm"]


@pytest.mark.parametrize("attribute", ["dark_a_thickness", "depth_to_bt", "solum_thickness", "depth_to_c", "depth_to_carbonates"])
def test_a_pit_without_horizons_says_nothing_and_never_zero(derive, attribute):
    said = derive(attribute, [])
    assert said == ("unknown", "not_described")
    assert said.low is None and said.high is None and said.evidence == "no horizons described"
