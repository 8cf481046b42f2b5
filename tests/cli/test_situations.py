"""Situations as a new user meets them, through the command line and briefs: what the answer has to say.

Figures by hand stand beside each. Facts: real questions of the trade, restated; common practice where nothing is named.
"""

import pytest

from selector.board import use
from selector.brief import from_raw
from selector.catalogue import load
from selector.durability.duty import class_and_cycling
from selector.durability.service import homologous, service_heat
from selector.joint.finish import compound_wt, gold_in_joint
from selector.melting.onset import remelt_onset
from selector.process.standoff import underfill_cure
from selector.verdict import Outcome

FIND = load().find
SIDES = ("--step", "one:260", "--step", "two:260")


def squeezed(text):
    return " ".join(text.split())


def test_one_alloy_on_both_sides_is_told_to_melt_again_and_how_it_may(run):
    """SAC305 twice: onset at most 217, coolest peak 217 + 20 + 5 = 242: 25 K short. No fact is missing."""
    done = run("steps", *SIDES, "--allow", "one=SAC305", "--allow", "two=SAC305")
    told = squeezed(done.out)
    assert done.code == 1
    assert "at one melts again at two, by 25 K or more" in told
    assert "may remelt it, where surface tension" in told
    assert "facts are missing" not in told


def test_metals_that_must_not_meet_are_no_matter_of_heat(run):
    done = run("steps", "--step", "one:260", "--step", "two:200", "--meets", "two=one",
               "--allow", "one=Sn63Pb37", "--allow", "two=Sn-58Bi")  # fmt: skip
    assert "metals meet that must not" in squeezed(done.out)


def test_an_alloy_outside_the_catalogue_is_sent_where_it_can_be_asked(run):
    run("show", "Sn45Pb45Bi10").check_refusal(("not in the catalogue", "melt, joint, life and comply"))


def test_where_sources_of_the_onset_part_both_ratios_are_told():
    """In-46Sn-1.8Zn: its onset is known from 90.76 to 130.8 degC only; neither end stands alone for the other."""
    asked = from_raw({"title": "t", "ipc_class": 2, "service": {"maximum_c": 85}})
    found = service_heat(asked, remelt_onset(FIND("In-46Sn-1.8Zn")))
    low, high = homologous(85, 90.76), homologous(85, 130.8)
    assert found.outcome is Outcome.UNKNOWN
    assert f"{low:.3f} of the remelt onset 90.76" in found.reason
    assert f"{high:.3f} of 130.76" in found.reason
    sound = service_heat(asked, remelt_onset(FIND("SAC305"))).reason
    assert sound.count(" of ") == 1  # both ends judge alike, so one ratio is enough


@pytest.mark.parametrize(
    ("alloy", "tables", "outcome"),
    [
        ("Bi-11Ag", {"maximum_c": 225, "cyclic_range_k": 60}, Outcome.PASS),
        ("Bi-11Ag", {"maximum_c": 225, "cyclic_range_k": 150}, Outcome.FAIL),  # brittle whatever its onset
        ("Bi-11Ag", {"maximum_c": 225}, Outcome.UNKNOWN),
        ("Bi-42Sn", {"maximum_c": 125, "cyclic_range_k": 60}, Outcome.FAIL),
    ],
)
def test_the_cap_for_tin_bismuth_is_not_put_on_bismuth_silver(alloy, tables, outcome):
    """Bi-11Ag melts at 262.5 degC: its heat is judged by its onset. Tin from a finish is the danger, and is told."""
    found = class_and_cycling(from_raw({"title": "t", "ipc_class": 2, "service": tables}), FIND(alloy))
    assert found.outcome is outcome
    assert any("tin from a finish" in caution for caution in found.cautions) == (alloy == "Bi-11Ag")


@pytest.mark.parametrize(
    ("more", "missing"),
    [
        (("--pitch-mm", "0.5", "--high-bow-mm", "0.12"), "state both ends of the bow"),
        (("--low-bow-mm", "0.12", "--high-bow-mm", "0.12"), "state the ball pitch"),
        (("--low-bow-mm", "0.12"), "state the ball pitch and both ends of the bow"),
    ],
)
def test_a_bow_that_cannot_be_judged_is_open_and_not_left_out(run, more, missing):
    answer = run("window", "SAC305", "--part", "radio=260", *more, "--json").json()
    (bow,) = [v for v in answer["verdicts"] if v["rule"] == "package_warpage"]
    assert bow["outcome"] == "unknown"
    assert bow["threshold"].startswith(missing)


def materials(**chosen):
    brief = from_raw({"title": "t", "materials": chosen, "printing": {"standoff_um": 40}})
    return use.materials_screen(brief, FIND("SAC305"))


def test_a_wash_that_nobody_states_leaves_water_soluble_flux_open_under_a_low_part():
    found = materials(flux_class="water-soluble")
    assert found.outcome is Outcome.UNKNOWN
    assert "state cleaning" in found.threshold
    assert "no wash is proved to reach" in found.threshold
    assert [edit.value for edit in found.edits] == ["proved"]
    assert materials(flux_class="water-soluble", cleaning="unproved").outcome is Outcome.FAIL
    assert materials(flux_class="water-soluble", cleaning="proved").outcome is Outcome.PASS
    assert materials(cleaning="none").outcome is Outcome.PASS  # no flux is named, so none is known bad


def test_indium_on_thick_gold_is_open_with_what_the_gold_binds():
    """AuIn2 holds 196.97 / (196.97 + 229.64) = 46.2 wt% gold, so 10 wt% of it binds 11.7 wt% indium."""
    assert compound_wt("Au", {"Au": 1, "In": 2}) == pytest.approx(46.2, abs=0.1)
    found = gold_in_joint(FIND("In").composition, 10)
    assert found.outcome is Outcome.UNKNOWN
    assert "12 wt% indium" in found.reason
    assert "no limit is agreed" in found.reason
    assert gold_in_joint(FIND("In").composition, 1).outcome is Outcome.NOT_APPLICABLE


BAN = ("comply", "SAC305", "--market", "EU", "--on", "2027-01-01", "--ban")


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("Sb=100ppm",), True),  # J-STD-006 names antimony from 2000 ppm only
        (("Sb=100ppm", "--trace", "Sb=20ppm"), False),  # the certificate has answered
        (("Sb=3000ppm",), False),
        (("Ag=100ppm",), False),  # named in the alloy: the ban fails
    ],
)
def test_a_ban_below_what_may_be_there_unnamed_says_that_only_a_certificate_keeps_it(run, more, told):
    assert ("J-STD-006 lets 2000 ppm Sb be there unnamed, the ban 100:" in squeezed(run(*BAN, *more).out)) == told


def test_a_content_at_a_limit_that_must_be_kept_under_says_so(run):
    """Cadmium in jewellery is to stay below 100 ppm: exactly 100 fails, and is no margin of +0."""
    done = run("comply", "SAC305", "--market", "EU", "--on", "2027-01-01", "--use", "jewellery", "--trace", "Cd=100ppm")
    told = squeezed(done.out)
    assert done.code == 1
    assert "fails, at 100 ppm Cd, where it must stay under" in told
    assert "fails, +0 ppm" not in told


def test_a_warning_names_what_the_alloy_holds_and_not_the_whole_list(run):
    done = run("comply", "Sn63Pb37", "--market", "US-CA", "--on", "2027-01-01")
    assert "may be due: warn Pb " in done.out
    assert "warn Pb, Cd" not in done.out


def test_a_touch_up_of_known_share_tells_the_residue_under_its_onset(run):
    """Tin with 10 % Sn-58Bi is Sn-5.8Bi: its solidus at equilibrium is the naive answer; some melts near 139 degC."""
    asked = ("joint", "Sn", "--service", "125", "--class", "2")
    told = squeezed(run(*asked, "--rework", "Sn-58Bi", "--rework-share", "0.1").out)
    assert "degC, but for a residue: " in told
    assert "% by mass melts near 139 degC, as frozen, under the 5 % that count as remelting" in told
    assert "residue" not in run(*asked).out


@pytest.mark.parametrize(
    ("cure_c", "told"),
    [
        (150, "cures 14 K over the remelt onset: the joint may melt as it cures"),
        (133, "cures 3 K under the remelt onset: the joint may soften as it cures"),
        (130, "cures 6 K under to 12 K under the remelt onset, where 20 K are asked"),
        (110, "cures 26 K under the remelt onset"),
    ],
)
def test_a_cure_over_the_onset_is_over_it_and_not_less_than_nothing_under_it(cure_c, told):
    assert underfill_cure(cure_c, 136, 142).reason == told


@pytest.mark.parametrize("more", [("--use", "implant"), ("--equipment", "active implant")])
def test_nothing_passes_for_an_implant(run, more):
    told = squeezed(run("comply", "Sn-58Bi", "--market", "EU", "--on", "2027-01-01", *more).out)
    assert told.startswith("No verdict: implants are out of the reach of this tool")
    assert "passes everywhere" not in told


def test_metals_are_taken_by_their_english_names_too(run):
    prices = [
        run("footprint", "SAC305", "--price", f"{name}=1800", "--dated", "2026-11", "--json").json()
        for name in ("silver", "Ag")
    ]
    assert prices[0] == prices[1]
    assert "Sn against Ag" in run("life", "Sn-58Bi", "--metal", "silver", "--humid", "--no-sealed").out
    run("life", "Sn-58Bi", "--metal", "unobtainium").check_refusal(("unobtainium", "no potential in the table"))


def test_a_brief_of_steps_says_which_steps_each_admitted_alloy_fits(run):
    """Sensor-stack: SAC105 peaks at 227 + 25 = 252 degC, so it leads the list and yet cannot stand on a film of 200."""
    told = squeezed(run("shortlist", "sensor-stack").out)
    assert "Each fits one or more of the 3 soldering steps, seldom all: plan them together (steps)." in told
    assert "fits die attach and module: peaks at 252 degC in" in told
    assert "soldering steps, seldom all" not in squeezed(run("shortlist", "skin-patch").out)


def test_the_life_of_an_alloy_outside_the_catalogue_is_computed(run):
    """Sn-2Ag: liquid as frozen at the eutectic of tin and silver, 221 degC, 358.15 / 494.15 = 0.725 or a hair more."""
    told = squeezed(run("life", "Sn-2Ag", "--service-max", "85").out)
    assert told.startswith("Sn-2Ag: remelt onset 2")
    assert "service at 0.7" in told


def test_a_service_between_the_ends_of_an_onset_is_open_and_refuses_nothing_else(run):
    hot = run("life", "In-46Sn-1.8Zn", "--service-max", "100")
    assert hot.code != 2
    assert "at the lower end of its onset, 90.76 degC, the joint melts in service" in squeezed(hot.out)


def test_an_onset_that_nobody_knows_is_unknown_and_no_ratio_of_it(run):
    told = squeezed(run("life", "Sn-50Cd", "--service-max", "60").out)
    assert told.startswith("Cd-50Sn: remelt onset unknown. ")
    assert "of it in kelvin" not in told


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("Bi-11Ag", "--service-max", "225"), "service at 0.93 of it in kelvin (light duty for a short time only)."),
        (("In-46Sn-1.8Zn", "--service-max", "85"), "Open: homologous temperature"),
        (
            ("Sn-9Zn", "--humid", "--no-sealed", "--service-max", "60"),
            "Open: couple of metals.",
        ),  # 1.10 V
    ],
)
def test_the_finding_on_life_says_what_its_heat_means_and_what_is_open(run, arguments, told):
    assert told in squeezed(run("life", *arguments).out).partition(" Heat quantity")[0]
    assert "Open:" not in squeezed(run("life", "SAC305", "--service-max", "85").out).partition(" Heat quantity")[0]


TOUCHED = """
schema_version = 1
title = "third side"
board = {base_limit_c = 260, adhesive = "none"}
process = {superheat_k = 20, board_spread_k = 5}
parts = [{name = "ic", rating_c = 260, rating_at = "body"}]
steps = [
  {name = "one", allowed = ["SAC305"], limits = [{name = "laminate", limit_c = 260}]},
  {name = "two", allowed = ["SAC305"], limits = [{name = "laminate", limit_c = 260}], may_remelt = ["one"]},
  {name = "wire", allowed = ["Bi-42Sn"], limits = [{name = "laminate", limit_c = 260}], reworks = "two"},
]
"""


def test_rework_with_cooler_wire_still_melts_the_joint_and_its_neighbours(run, tmp_path):
    """The wire melts at 139, the joint that it mends at 217 or more: 242 melts side one too, by 25 K."""
    brief = tmp_path / "third.toml"
    brief.write_text(TOUCHED)
    told = squeezed(run("steps", str(brief)).out)
    assert "at one melts again at wire, by 25 K or more" in told
    assert "settle those first" not in told
    brief.write_text(TOUCHED.replace('reworks = "two"', 'reworks = "two", may_remelt = ["one"]'))
    assert "melts again" not in squeezed(run("steps", str(brief)).out)


def test_a_ball_that_stays_solid_in_part_is_told(run):
    asked = ("joint", "Sn-58Bi", "--ball", "Sn", "--ball-mm", "0.45", "--pad-mm", "0.4", "--aperture-mm", "0.4",
             "--foil-um", "100", "--dissolved")  # fmt: skip
    assert "The ball does not melt whole" in run(*asked, "0.3").out
    assert "The ball does not melt whole" not in run(*asked, "1").out


def test_a_rule_of_a_contract_asks_for_the_contract(run):
    use = "space,space-agency-contract,lead-finish-contract"
    done = run("comply", "Sn63Pb37", "--market", "EU", "--on", "2027-08-01", "--equipment", "space", "--use", use)
    assert "open: compare with the contract" in squeezed(done.out)
