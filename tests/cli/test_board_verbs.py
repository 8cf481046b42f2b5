"""`joint`, `window`, `print`, `footprint`: what they find, what stops them, and what they refuse."""

from functools import partial

import pytest

from selector.joint import blends

MIXED = (
    "joint", "Sn-58Bi", "--ball", "Sn", "--ball-mm", "0.45", "--pad-mm", "0.40", "--aperture-mm", "0.40",
    "--foil-um", "100", "--transfer", "0.8", "--metal-wt", "88", "--dissolved", "0.3",
)  # fmt: skip


@pytest.fixture
def coarse(monkeypatch):
    """Take few shares of a mixture that nobody knows."""
    rework = partial(blends.rework, shares=("0.05", "0.2"))
    monkeypatch.setattr("selector.enquiry.joint_case.touched_up", rework)


def verdict(answer, rule):
    return next(each for each in answer["verdicts"] if each["rule"] == rule)


# joint


def test_a_joint_closes_its_balance_and_melts_by_its_zone(run):
    done = run(*MIXED, "--finish", "copper", "--service", "85", "--class", "2", "--json")
    found = done.json()
    (case,) = found["cases"]
    # pi/6 0.45^3 = 0.04771 mm3 of tin at 7.29 g/cm3 is 0.348 mg.
    assert case["contributors_mg"]["ball"] == pytest.approx(0.348, rel=0.005)
    zones = {zone["zone"]: zone for zone in case["zones"]}
    assert sum(zones["mixed zone"]["composition"].values()) == pytest.approx(100, abs=1e-9)
    paste, ball = case["contributors_mg"]["paste"], case["contributors_mg"]["ball"]
    assert zones["mixed zone"]["composition"]["Bi"] == pytest.approx(58 * paste / (paste + 0.3 * ball), abs=0.01)
    low, high = zones["mixed zone"]["remelt_onset_c"]
    assert found["remelt_onset_c"] == [low, high]
    assert low < 139 < high + 1
    assert zones["unmelted ball"]["solidus_c"] == pytest.approx(232, abs=1)
    assert case["height_mm"][0] < 0.31 < 0.35 < case["height_mm"][1]
    assert verdict(found, "service_heat")["outcome"] == "pass"
    assert done.code == 0
    text = run(*MIXED, "--finish", "copper").out
    assert all(word in text for word in ("Contributors", "mixed zone", "height of the joint", "screening aid"))


def test_without_a_measured_share_the_bound_is_told_as_a_span(run):
    asked = [word for word in MIXED if word not in ("--dissolved", "0.3")]
    found = run(*asked, "--peak", "190", "--json").json()
    shares = [case["dissolved_share"] for case in found["cases"]]
    assert len(shares) == 2
    assert 0.09 < shares[0] < shares[1] < 0.4
    assert found["cases"][0]["bound"]["line"] == pytest.approx(0.2, abs=0.01)
    assert any("upper bound" in caution for caution in found["cautions"])


def test_lead_under_bismuth_is_a_stop_with_its_onset(run):
    done = run(*MIXED, "--finish", "tin-lead", "--json")
    found = done.json()
    stop = verdict(found, "metals_that_meet")
    assert done.code == 1
    assert stop["outcome"] == "fail"
    assert stop["measured"][0] == pytest.approx(97, abs=4)
    assert found["finding"].startswith("Stop: bismuth of paste meets lead of finish of the board")


def test_a_finish_that_nobody_knows_leaves_the_stop_open(run):
    done = run(*MIXED, "--finish", "unknown", "--json")
    found = done.json()
    assert done.code == 0
    assert verdict(found, "metals_that_meet")["outcome"] == "unknown"
    assert verdict(found, "metals_that_meet")["threshold"] == "holds if no finish brings lead"
    low, high = found["remelt_onset_c"]
    assert low < 100 < 130 < high


def test_a_transfer_that_nobody_knows_gives_both_ends(run):
    asked = ["unknown" if word == "0.8" else word for word in MIXED]
    found = run(*asked, "--finish", "copper", "--json").json()
    least, most = found["cases"]
    assert (least["case"], most["case"]) == ("least paste", "most paste")
    assert most["contributors_mg"]["paste"] == pytest.approx(2 * least["contributors_mg"]["paste"])
    assert "Cases: least paste; most paste." in run(*asked).out


def test_gold_that_is_not_covered_is_told_and_judged_by_its_content(run):
    found = run(*MIXED, "--finish", "nickel-gold", "--finish-um", "3", "--json").json()
    assert found["remelt_onset_c"] is None
    assert "not covered" in found["finding"]
    assert verdict(found, "gold")["measured"][1] > 1
    assert "were there no Au" in run(*MIXED, "--finish", "nickel-gold").out


@pytest.mark.parametrize(("service", "code"), [("60", 0), ("100", 0), ("125", 1)])
def test_a_touch_up_of_unknown_share_is_judged_where_it_melts_first(service, code, run, coarse):
    done = run("joint", "SAC305", "--rework", "Sn-58Bi", "--service", service, "--class", "2", "--json")
    found = done.json()
    assert done.code == code
    (rework,) = found["rework"]
    assert rework["last_liquid_c"] == pytest.approx([137, 137], abs=1)
    assert rework["counts_from_share"] == 0.2
    # Never one figure between the two melting points.
    low, high = found["remelt_onset_c"]
    assert low < 140 < 200 < high
    assert any("No lead" in caution for caution in found["cautions"])


def test_a_geometry_that_nobody_knows_is_a_span_over_the_share(run, coarse):
    found = run("joint", "Sn-58Bi", "--ball", "Sn", "--json").json()
    assert found["cases"] == []
    assert found["over_share_of_paste"]["last_liquid_c"] == pytest.approx([139, 139], abs=1)
    assert found["given"]["ball_mm"] == {"value": None, "basis": "unknown"}


def test_two_powders_have_three_temperatures(run):
    found = run("joint", "Sn-58Bi", "--powder", "SAC305", "--powder-share", "0.4", "--json").json()
    powders = found["powders"]
    assert powders["process_liquidus_c"] < 145 < 200 < powders["equilibrium_liquidus_c"]
    assert powders["remelt_onset_c"][0] < 139


def test_defaults_are_told_as_defaults(run):
    told = run("joint", "Sn", "--ball", "Sn", "--pitch-mm", "0.8", "--json").json()["defaults"]
    assert "Ball diameter, mm: 0.48 mm (default, common practice: 0.6 of the pitch)" in told
    assert "Foil, um: 100 um (default, common practice)" in told
    assert any("20 K over the computed liquidus" in line for line in told)


@pytest.mark.parametrize(
    ("asked", "seen"),
    [
        (("--ball", "SAC305", "--ball-mm", "0.9", "--pitch-mm", "0.8"), [("--ball-mm", "0.9 mm", "below 0.8 mm")]),
        (("--aperture-mm", "0.5", "--pitch-mm", "0.4"), [("--aperture-mm: is not smaller than the pitch",)]),
        (("--ball", "SAC305", "--ball-mm", "450"), [("--ball-mm", "in um it would be 0.45 mm")]),
        (("--transfer", "80"), [("--transfer", "in % it would be 0.8")]),
        (("--foil-um", "-3"), [("--foil-um: is negative", "-3 um")]),
        (("--pad-mm", "wide"), [("--pad-mm: is not a number", "'wide'")]),
        (
            ("--ball", "SAC305", "--ball-mm", "0.45", "--pad-mm", "0.8"),
            [("--pad-mm: is too wide for the ball", "got 0.8 mm", "at most 0.675 mm")],
        ),
        (("--finish", "shiny"), [("--finish", "'shiny'", "nickel-gold")]),
        (("--finish", "Sn-37Pb"), [("--finish-um: is missing",)]),
        (("--dissolved", "0.3"), [("--dissolved: needs a ball",)]),
        (("--rework-share", "0.3"), [("--rework-share: needs a rework alloy",)]),
        (("--powder-share", "0.3"), [("--powder-share: needs a second powder",)]),
        (("--class", "7"), [("--class", "'7'", "1, 2, 3")]),
        (("--ball", "none", "--ball-mm", "0.4"), [("--ball-mm: needs a ball",)]),
        (("--ball", "SAC305", "--ball-mm", "0.45", "--transfer", "0"), [("--transfer: lies outside",)]),
        (
            ("--ball", "Xq", "--ball-mm", "-1", "--metal-wt", "0.88"),
            [("--ball: 'Xq'",), ("--ball: 'Xq'", "position"), ("--ball-mm: is negative",), ("--metal-wt", "88 wt%")],
        ),
    ],
)
def test_an_impossible_joint_is_refused_by_the_name_of_its_input(asked, seen, run):
    run("joint", "Sn-58Bi", *asked).check_refusal(*seen)


def test_a_peak_that_does_not_melt_the_paste_is_refused(run):
    done = run("joint", "Sn-58Bi", "--ball", "SAC305", "--ball-mm", "0.45", "--peak", "120")
    assert done.code == 2
    assert "--peak-c: does not melt the paste; got 120.0 degC" in done.err


# window


def test_the_window_is_the_room_between_the_hottest_joint_and_the_lowest_limit(run):
    done = run("window", "Sn-58Bi", "--brief", "river-logger", "--json")
    found = done.json()
    # liquidus 138 to 141.4, superheat 20, spread 5, cell holder 200.
    assert found["liquidus_c"] == [138, pytest.approx(141.4, abs=0.1)]
    assert found["peak_c"] == [158, pytest.approx(166.4, abs=0.1)]
    assert verdict(found, "reflow_window")["margin"] == pytest.approx(200 - 166.4, abs=0.1)
    assert found["classes"][0]["lead-free, degC"].startswith("260")
    assert found["bow_removed_share"][0] == pytest.approx(1 - (166.4 - 150) / 95, abs=0.01)
    assert done.code == 0


def test_no_peak_that_fits_ends_with_one(run):
    done = run("window", "SAC305", "--part", "connector=230")
    assert done.code == 1
    assert "No peak fits: -15 K between the hottest joint and connector" in " ".join(done.out.split())
    assert "default, common practice" in done.out


def test_a_kind_is_a_default_and_an_unknown_limit_is_no_pass(run):
    found = run("window", "Sn-58Bi", "--part", "C1=connector PBT", "--part", "x=unknown", "--json").json()
    assert verdict(found, "reflow_window")["outcome"] == "unknown"
    assert verdict(found, "reflow_window")["threshold"].startswith("holds if x takes 166")
    assert found["limits"][0] == {
        "name": "C1", "kind": "part", "limit_c": 200, "assumed": True, "source": "practice"
    }  # fmt: skip
    assert "C1: 200 degC is a default for its kind" in found["cautions"]


def test_balls_that_stay_solid_and_a_measured_bow(run):
    found = run(
        "window", "Sn-58Bi", "--ball", "SAC305", "--pitch-mm", "0.8", "--low-bow-mm", "-0.12", "--high-bow-mm",
        "-0.12", "--json",
    ).json()  # fmt: skip
    assert found["limits"][0]["name"] == "balls stay solid"
    assert verdict(found, "package_warpage")["margin"] == pytest.approx(0.05)
    assert any("head-in-pillow" in caution for caution in found["cautions"])


@pytest.mark.parametrize(
    ("asked", "seen"),
    [
        (("--superheat-k", "300"), [("--superheat-k", "300 K", "0 to 100 K")]),
        (("--part", "x"), [("part 'x': names no limit",)]),
        (("--part", "x=hot"), [("part 'x': has neither a limit nor a kind", "connector PBT")]),
        (("--part", "x=2300"), [("part x", "2300 degC", "20 to 450")]),
        (("--part", "x=503"), [("part x", "503 degC", "229.9 degC")]),
        (("--step", "module"), [("--step: names no step",)]),
        (("--package", "radio=1.2"), [("package 'radio=1.2': names no size",)]),
        (("--package", "radio=-1x120"), [("package radio, thickness: is negative",)]),
    ],
)
def test_a_window_names_what_is_wrong(asked, seen, run):
    run("window", "Sn-58Bi", *asked).check_refusal(*seen)


def test_a_brief_with_steps_has_a_window_for_each_and_counts_the_limits_of_one(run):
    told = run("window", "SAC305", "--brief", "sensor-stack").out
    assert "In step die attach: The window is open: +95 K" in " ".join(told.split())
    assert "Per step" in told
    done = run("window", "SAC305", "--brief", "sensor-stack", "--step", "board", "--json")
    # liquidus to 220, superheat 20, spread 5, film 200.
    assert verdict(done.json(), "reflow_window")["margin"] == pytest.approx(-45)
    assert done.code == 1


def test_a_window_tells_what_service_says_and_both_ends_of_the_least_peak(run):
    done = run("window", "Bi-42Sn", "--brief", "motor-drive", "--json")
    assert "asks for 158 to 161.4 degC at the coolest joint and up to 166.4" in done.json()["finding"]
    assert "Service at 125 degC rules it out: see life." in done.json()["finding"]
    assert done.code == 1


# print


def test_a_print_without_aperture_says_only_what_is_missing(run):
    told = run("print", "SAC305", "--pitch-mm", "0.4").out
    assert "is the coarsest powder that prints, by pitch alone." in told
    assert "Not known: aperture. Release" in told
    assert "0.625 (planning curve" in run("print", "SAC305", "--aperture-um", "216").out


def test_a_print_names_powder_stencil_and_residue(run):
    asked = ("--aperture-um", "264", "--pitch-mm", "0.5", "--foil-um", "100", "--standoff-um", "40")
    done = run("print", "Sn-58Bi", *asked, "--flux", "no-clean", "--powder-type", "6", "--peak", "170", "--json")
    found = done.json()
    assert found["powder_needed"] == {"aperture": 3, "pitch": 3}
    assert found["area_ratio"] == pytest.approx(0.66)
    assert found["transfer"] == pytest.approx(0.85)
    assert verdict(found, "residue_standoff")["outcome"] == "unknown"
    assert verdict(found, "flux_cleaning")["outcome"] == "unknown"
    assert any("oxidise fast" in caution for caution in found["cautions"])
    assert any("No-clean" in caution for caution in found["cautions"])
    assert done.code == 0


def test_water_soluble_flux_under_a_low_part_is_a_stop_until_the_wash_is_proved(run):
    asked = ("print", "SAC305", "--standoff-um", "40", "--flux", "water-soluble")
    assert run(*asked).code == 1
    assert run(*asked, "--washed", "yes").code == 0


def test_an_underfill_cures_below_the_onset(run):
    found = run("print", "Sn-58Bi", "--cure-c", "150", "--standoff-um", "75", "--flow-length-mm", "10", "--json").json()
    assert verdict(found, "underfill_cure")["outcome"] == "fail"
    assert found["underfill_s"] == pytest.approx(71, abs=1)
    # By the onset that every other rule judges this alloy by, 138, and not the computed one with its half-width.
    assert verdict(run("print", "Sn-58Bi", "--cure-c", "118", "--json").json(), "underfill_cure")["outcome"] == "pass"


def test_no_limit_passes_on_an_onset_that_is_indicative_only(run):
    cured = run("print", "Sn-20In-2.9Ag", "--cure-c", "40", "--json").json()
    assert verdict(cured, "underfill_cure")["outcome"] == "unknown"
    served = run("joint", "Sn-20In-2.9Ag", "--service-c", "20", "--class", "2", "--json").json()
    assert verdict(served, "service_heat")["outcome"] == "unknown"
    assert "indicative only" in verdict(served, "service_heat")["reason"]


@pytest.mark.parametrize(
    ("asked", "seen"),
    [
        (("--aperture-um", "500", "--pitch-mm", "0.4"), [("--aperture-um: is not smaller than the pitch",)]),
        (
            ("--aperture-um", "500", "--pitch-mm", "0.4", "--standoff-um", "-5"),
            [("--aperture-um: is not smaller",), ("--standoff-um: is negative",)],
        ),
        (("--standoff-um", "-5"), [("--standoff-um: is negative", "-5 um")]),
        (("--aperture-um", "0.4"), [("--aperture-um", "in mm it would be 400 um")]),
        (("--aperture-um", "300", "--length-um", "200"), [("--length-um: is less than the narrow side",)]),
        (("--powder-type", "4.5"), [("--powder-type: is no powder type",)]),
        (("--flux", "rosin"), [("--flux", "'rosin'", "no-clean, water-soluble")]),
    ],
)
def test_a_print_names_what_is_wrong(asked, seen, run):
    run("print", "SAC305", *asked).check_refusal(*seen)


# footprint


def test_a_footprint_has_a_range_and_dated_prices(run):
    done = run(
        "footprint", "Sn-58Bi", "--compare", "SAC305", "--peak", "180", "--usual-peak", "240", "--grid-factor", "0.4",
        "--boards-h", "120", "--joint-mm3", "0.05", "--joints", "1000", "--price", "Bi=35", "--dated", "2026-11",
        "--json",
    )  # fmt: skip
    found = done.json()
    assert found["oven_saving_percent"] == pytest.approx([18.7, 27.9], abs=0.1)
    assert found["prices_dated"] == "2026-11 for Bi; 2024 for the rest"
    one, other = found["alloys"]
    assert one["usd_kg"] == pytest.approx(0.58 * 35 + 0.42 * 30.865)
    assert one["usd_cm3"] == pytest.approx(one["usd_kg"] * one["density_g_cm3"] / 1000)
    assert one["usd_board"] == pytest.approx(1000 * one["usd_joint"])
    assert (one["supply"]["Bi"], other["embodied_co2e_kg_kg"]) == ("yes", pytest.approx(22.4, abs=0.1))
    assert found["board_co2_g"]["usual_peak_c"] == pytest.approx(11.9 / 120 * 400, abs=0.1)


def test_without_a_grid_there_is_no_co2_and_without_a_price_no_cost(run):
    found = run("footprint", "Sn-0.1Ga", "--peak", "240", "--boards-h", "100", "--json").json()
    assert found["board_co2_g"] == {"peak_c": None, "usual_peak_c": None}
    assert found["alloys"][0]["embodied_co2e_kg_kg"] is None or found["alloys"][0]["usd_kg"] is not None
    assert any("none is assumed" in caution for caution in found["cautions"])


@pytest.mark.parametrize(
    ("asked", "seen"),
    [
        (("--peak", "300"), [("--peak-c: is above the usual peak",)]),
        (("--price", "Xx=3"), [("price 'Xx=3': is of no element",)]),
        (("--price", "Bi"), [("price 'Bi': names no price",)]),
        (("--price", "Bi=-1"), [("price 'Bi=-1': is no price",)]),
        (("--price", "Bi=1", "--price", "bi=2"), [("price 'bi=2': element given twice",)]),
        (("--grid-factor", "400"), [("--grid-factor", "0 to 2 kg/kWh")]),
    ],
)
def test_a_footprint_names_what_is_wrong(asked, seen, run):
    run("footprint", "SAC305", *asked).check_refusal(*seen)
