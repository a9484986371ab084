"""The engineer's page: lifts, and what the cut that is set would mix or leave."""

from dataclasses import replace

from geoprofile.outputs.report import write
from geoprofile.outputs.report_salvage import salvage_rows


def with_cut(bundle, **columns):
    return replace(bundle, salvage=replace(bundle.salvage, lifts=bundle.salvage.lifts.assign(**columns)))


def test_a_survey_that_sets_no_cut_has_no_table_of_it(make_bundle):
    told = salvage_rows(make_bundle())
    assert told["rows"][0][:4] == ["pad", "topsoil", "1.00", "18.0"] and told["cut"] is None
    assert salvage_rows(make_bundle(only=True)) is None


def test_what_a_flat_cut_mixes_in_stands_on_the_page_with_its_interval(make_bundle):
    bundle = with_cut(make_bundle(), flat_strip_cm=[15.0], thinner_ha=[0.4], subsoil_m3=[194.2], subsoil_low90_m3=[10.0],
                      subsoil_high90_m3=[507.0], left_behind_m3=[401.0])  # fmt: skip
    cut = salvage_rows(bundle)["cut"]
    assert cut["headings"] == ["Area", "Lift", "Flat cut (cm)", "Thinner (ha)", "Subsoil in it (m³)", "Low (m³)", "High (m³)", "Left below it (m³)"]
    assert cut["rows"] == [["pad", "topsoil", "15.0", "0.40", "194", "10", "507", "401"]]
    write(bundle)
    assert (bundle.context.output / "report.pdf").read_bytes().startswith(b"%PDF")


def test_a_lift_without_a_cut_is_not_listed_there(make_bundle):
    assert salvage_rows(with_cut(make_bundle(), flat_strip_cm=[float("nan")]))["cut"] is None


def test_no_caution_is_cut_off_the_page(make_bundle):
    bundle = make_bundle()
    notes = (*(f"note {n}" for n in range(6)), "caution: the surface has no skill", "caution: peat is not in the plan")
    told = salvage_rows(replace(bundle, salvage=replace(bundle.salvage, notes=notes)))["notes"]
    assert told == [*notes[6:], *notes[:4]]
