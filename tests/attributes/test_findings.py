"""What pits show that a map must not pass over is said once in the list of problems, in few lines."""

from __future__ import annotations

WASHED = [("Apk", 0, 13, {"effervescence": "weak"}), ("Bm", 13, 23, {"effervescence": "none"}), ("Ck", 23, 90, {"effervescence": "strong"})]
PLAIN = [("Ap", 0, 15, {"colour_moist": "10YR 2/1"}), ("Bm", 15, 40), ("Ck", 40, 90, {"effervescence": "strong"})]
PALE = [("Ap", 0, 12, {"colour_moist": "10YR 4/3"}), ("Ck", 12, 90)]


def problems(attributes, check: str) -> list[dict]:
    found = attributes.problems
    return found[found["check"] == check].to_dict("records")


def test_lime_over_a_lime_free_layer_is_a_warning_with_both_depths(pits_of, derive_all):
    """Knoll wash, road dust and spread lime (definitions: carbonates)."""
    facts = {"W": {"file": "pits.xlsx", "sheet": "pits", "row": 7}}
    (problem,) = problems(derive_all(pits_of({"W": WASHED, "P": PLAIN}, facts)), "lime over lime-free")
    assert (problem["severity"], problem["pit_id"], problem["file"], problem["row"]) == ("warning", "W", "pits.xlsx", 7)
    assert problem["found"] == "first calcareous 0 cm, continuously calcareous 23 cm" and "wash" in problem["remedy"]


def test_the_warning_stands_also_where_a_direct_reading_outranks_the_horizons(pits_of, derive_all):
    reading = {"pit_id": "W", "attribute": "depth_to_carbonates", "low": 23.0, "high": 23.0, "status": "measured", "presence": "present"}
    assert len(problems(derive_all(pits_of({"W": WASHED}, readings=[reading])), "lime over lime-free")) == 1


def test_many_pits_with_lime_over_a_lime_free_layer_share_a_line(pits_of, derive_all):
    (problem,) = problems(derive_all(pits_of({f"W{n}": WASHED for n in range(30)})), "lime over lime-free")
    assert problem["what"].startswith("30 pits") and "W29: 0 cm and 23 cm" in problem["found"] and problem["pit_id"] == ""


def test_ploughed_up_subsoil_is_one_note_that_names_its_pits(pits_of, derive_all):
    """Moist value 4 or more, chroma 3 or more, or lime in the Ap (common practice, no source): or no map shows erosion."""
    (problem,) = problems(derive_all(pits_of({"W": WASHED, "P": PLAIN, "E": PALE})), "ploughed-up subsoil")
    assert problem["severity"] == "note" and problem["found"] == "W, E" and problem["what"].startswith("2 pits have")
    assert "over a lime-free layer (W)" in problem["remedy"], "wash is told apart from erosion"


def test_conductivity_by_another_extract_is_one_note_that_names_its_pits(pits_of, derive_all):
    def salts(extract):
        return [("Ap", 0, 15), ("Ck", 15, 60, {"ec_ds_m": 5.0, "ec_extract": extract})]

    (problem,) = problems(derive_all(pits_of({"A": salts("1:2"), "B": salts("paste"), "C": salts(None)})), "other extract")
    assert problem["found"] == "1:2: A; not stated: C" and problem["allowed"] == "paste" and problem["severity"] == "note"
    chosen = {"depth_to_salts": {"extract": "1:2", "limit": 1.4}}
    (problem,) = problems(derive_all(pits_of({"A": salts("1:2"), "B": salts("paste")}), **{"for": chosen}), "other extract")
    assert problem["found"] == "paste: B" and problem["allowed"] == "1:2" and problem["what"].startswith("1 pit has")


def test_a_survey_without_any_of_it_has_no_such_lines(pits_of, derive_all):
    assert derive_all(pits_of({"P": PLAIN})).problems.empty
