"""Restricted metals in exact arithmetic, by scope and date, and the customers' bans."""

import dataclasses
from datetime import date, timedelta
from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector import brief as room
from selector import catalogue
from selector.brief import changed, from_raw
from selector.compliance.context import ELECTRICAL
from selector.compliance.demands import ALWAYS, bans, law, markets_not_judged
from selector.composition import from_mapping, parse
from selector.verdict import Outcome

DAY = date(2027, 9, 1)


def alloy(name):
    return catalogue.load().find(name)


def made_of(spelling):
    return dataclasses.replace(alloy("SAC305"), id=spelling, composition=parse(spelling), names=())


def brief(equipment="consumer", day=DAY, market="EU", bans=(), **use):
    return from_raw(
        {
            "title": "t",
            "use": {"equipment": equipment, **use},
            "markets": [{"market": market, "date": day}],
            "bans": [{"element": element, "limit_ppm": limit, "reason": "list 7"} for element, limit in bans],
        }
    )


def judged(asked, solder):
    return {verdict.rule: verdict for verdict in law(asked, solder)}


def known_law(asked, solder):
    """Return the verdicts of the two laws on restricted metals."""
    return [verdict for verdict in law(asked, solder) if verdict.rule in ALWAYS]


def rohs(solder, **fields):
    return judged(brief(**fields), solder)["eu_rohs"]


# Content


@pytest.mark.parametrize(
    ("spelling", "outcome", "ppm"),
    [
        ("SAC305", Outcome.PASS, 0),
        ("Sn-0.07Pb", Outcome.PASS, 700),
        ("Sn-0.1Pb", Outcome.PASS, 1000),
        ("Sn-0.1001Pb", Outcome.FAIL, 1001),
        ("Sn-0.10000001Pb", Outcome.FAIL, 1000.0001),
        ("Sn-37Pb", Outcome.FAIL, 370_000),
        ("Sn-0.01Cd", Outcome.PASS, 100),
        ("Sn-0.0101Cd", Outcome.FAIL, 101),
        ("Sn-0.1Hg", Outcome.PASS, 1000),
        ("Sn-0.11Hg", Outcome.FAIL, 1100),
    ],
)
def test_content_against_the_limit(spelling, outcome, ppm):
    verdict = rohs(made_of(spelling))
    assert verdict.outcome is outcome
    assert verdict.measured.value == pytest.approx(ppm)
    assert verdict.measured.unit == "ppm"
    assert (verdict.margin >= 0) is (outcome is Outcome.PASS)
    assert verdict.margin == pytest.approx(verdict.limit - ppm)


def test_a_pass_asks_for_the_certificate():
    assert "certificate" in rohs(alloy("SAC305")).cautions[0]


def test_a_fail_names_content_limit_instrument_and_day():
    verdict = rohs(alloy("Sn-37Pb"))
    assert all(part in verdict.reason for part in ("370000 ppm Pb", "at most 1000", "2011/65/EU", "2027-09-01"))
    assert "law as known on" in verdict.source
    assert verdict.edits == ()


def test_the_worst_element_is_the_one_furthest_over_its_own_limit():
    # Cd 10 % is 1000 times its limit, Pb 26.7 % is 267 times.
    verdict = rohs(alloy("Bi-26.7Pb-13.3Sn-10Cd"))
    assert (verdict.measured.value, verdict.limit) == (100_000, 100)
    assert rohs(made_of("Sn-0.05Pb-0.009Cd")).limit == 100  # nearest to its limit, where all keep


# Exemptions


@pytest.mark.parametrize(
    ("spelling", "outcome"),
    [
        ("Pb-5Sn", Outcome.UNKNOWN),
        ("Pb85Sn15", Outcome.UNKNOWN),
        ("Pb84.99Sn15.01", Outcome.FAIL),
        ("Pb90Sn9.9Cd0.1", Outcome.FAIL),
        ("Pb-10Sn-2Ag", Outcome.UNKNOWN),
    ],
)
def test_high_lead_hangs_on_the_exemption_that_the_verdict_names(spelling, outcome):
    verdict = rohs(made_of(spelling))
    assert verdict.outcome is outcome
    assert ("III-7(a)" in verdict.threshold) is (outcome is Outcome.UNKNOWN)
    if outcome is Outcome.UNKNOWN:
        assert "2027-12-31" in verdict.threshold


def test_high_lead_in_a_vehicle_names_the_entry_of_that_law():
    verdict = judged(brief("vehicle"), alloy("Pb-5Sn"))["eu_elv"]
    assert (verdict.outcome, "ELV-8(e)" in verdict.threshold) == (Outcome.UNKNOWN, True)


# Scope, market and day


@pytest.mark.parametrize("name", ["SAC305", "Sn-37Pb"])
def test_a_vehicle_is_judged_by_its_own_law(name):
    verdicts = judged(brief("vehicle"), alloy(name))
    assert verdicts["eu_rohs"].outcome is Outcome.NOT_APPLICABLE
    assert verdicts["eu_elv"].outcome is (Outcome.FAIL if name == "Sn-37Pb" else Outcome.PASS)


@pytest.mark.parametrize("equipment", ELECTRICAL)
def test_electrical_equipment_is_judged_by_its_own_law(equipment):
    verdicts = judged(brief(equipment), alloy("Sn-37Pb"))
    assert verdicts["eu_rohs"].outcome is Outcome.FAIL
    assert verdicts["eu_elv"].outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize("equipment", ["space", "military", "active implant"])
def test_equipment_out_of_every_scope(equipment):
    for verdict in known_law(brief(equipment), alloy("Sn-37Pb")):
        assert verdict.outcome is Outcome.NOT_APPLICABLE
        assert equipment in verdict.reason


def test_unknown_equipment_with_lead_is_not_settled():
    for verdict in known_law(brief("unknown"), alloy("Sn-37Pb")):
        assert verdict.outcome is Outcome.UNKNOWN
        assert "the kind of equipment" in verdict.threshold
        assert verdict.margin == -369_000


def test_unknown_equipment_without_lead_passes_everywhere():
    assert {verdict.outcome for verdict in known_law(brief("unknown"), alloy("SAC305"))} == {Outcome.PASS}


def test_unknown_equipment_in_a_car_is_a_vehicle():
    verdicts = judged(brief("unknown", automotive=True), alloy("Sn-37Pb"))
    assert verdicts["eu_rohs"].outcome is Outcome.NOT_APPLICABLE
    assert verdicts["eu_elv"].outcome is Outcome.FAIL
    for automotive in (False, "unknown"):
        verdicts = judged(brief("unknown", automotive=automotive), alloy("Sn-37Pb"))
        assert verdicts["eu_rohs"].outcome is Outcome.UNKNOWN


def test_another_market_is_not_judged():
    for verdict in known_law(brief(market="Japan"), alloy("Sn-37Pb")):
        assert (verdict.outcome, "EU" in verdict.reason) == (Outcome.NOT_APPLICABLE, True)
    for verdict in known_law(from_raw({"title": "t"}), alloy("Sn-37Pb")):
        assert verdict.outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize(("rule", "equipment", "first"), [("eu_rohs", "consumer", date(2006, 7, 1)),
                                                          ("eu_elv", "vehicle", date(2003, 7, 1))])  # fmt: skip
def test_a_limit_counts_from_its_day(rule, equipment, first):
    leaded = alloy("Sn-37Pb")
    assert judged(brief(equipment, first), leaded)[rule].outcome is Outcome.FAIL
    assert judged(brief(equipment, first - timedelta(days=1)), leaded)[rule].outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize("market", get_args(room.MarketDate.model_fields["market"].annotation))
def test_every_market_of_a_brief_is_judged(market):
    asked = from_raw({"title": "t", "markets": [{"market": market, "date": DAY}]})
    assert markets_not_judged(asked) == ()
    own = [v for v in law(asked, alloy("Sn-37Pb")) if v.rule != "law_elsewhere"]
    # Lead is nowhere lawful without a word: it fails, stays open, or has to be told.
    assert {v.outcome for v in own} & {Outcome.FAIL, Outcome.UNKNOWN, Outcome.DUTY}
    clean = [v for v in law(asked, alloy("SAC305")) if v.rule != "law_elsewhere"]
    assert {v.outcome for v in clean} <= {Outcome.PASS, Outcome.NOT_APPLICABLE}
    assert Outcome.PASS in {v.outcome for v in clean}


def test_no_market_leaves_none_unjudged():
    assert markets_not_judged(from_raw({"title": "t"})) == ()


def test_a_duty_that_may_be_due_rules_nothing_out():
    verdict = judged(brief("other electrical", market="Taiwan"), alloy("Sn-37Pb"))["taiwan_law"]
    assert verdict.outcome is Outcome.DUTY
    assert "mark-and-disclose may be due" in verdict.reason


def test_release_of_nickel_is_a_caution_and_no_verdict():
    verdict = judged(brief(skin_contact=True), alloy("Sn-0.7Cu-0.05Ni"))["eu_other"]
    assert verdict.outcome is Outcome.PASS
    assert any("release" in caution for caution in verdict.cautions)


# Customers' bans


def test_a_ban_passes_at_its_limit_and_fails_above_it():
    asked = brief(bans=[("Sb", 50_000), ("Sn", 949_999)])
    under, over = bans(asked, alloy("Sn-5Sb"))
    assert (under.outcome, under.margin, under.limit) == (Outcome.PASS, 0, 50_000)
    assert "certificate" in under.cautions[0]
    assert (over.outcome, over.margin) == (Outcome.FAIL, -1)
    assert "list 7" in over.reason
    assert [(e.path, e.value, e.change, e.unit) for e in over.edits] == [("bans[1].limit_ppm", 950_000, 1, "ppm")]


def test_no_ban_gives_no_verdict():
    assert bans(brief(), alloy("Sn-5Sb")) == ()


def test_a_ban_is_exact():
    assert bans(brief(bans=[("Pb", 700)]), made_of("Sn-0.07Pb"))[0].outcome is Outcome.PASS
    assert bans(brief(bans=[("Pb", 699.9)]), made_of("Sn-0.07Pb"))[0].outcome is Outcome.FAIL
    assert bans(brief(bans=[("Pb", 0)]), alloy("SAC305"))[0].outcome is Outcome.PASS
    assert bans(brief(bans=[("Ag", 0)]), alloy("SAC305"))[0].outcome is Outcome.FAIL


contents = st.integers(1, 9_999_999).map(lambda n: Fraction(n, 100_000))
limits = st.floats(0, 1e6)


def leaded(content):
    return dataclasses.replace(alloy("SAC305"), composition=from_mapping({"Pb": content}, balance="Sn"))


@given(contents, limits, limits)
def test_a_stricter_ban_never_turns_a_fail_into_a_pass(content, strict, loose):
    strict, loose = sorted((strict, loose))
    stricter, looser = (bans(brief(bans=[("Pb", limit)]), leaded(content))[0].outcome for limit in (strict, loose))
    assert stricter is Outcome.FAIL or looser is Outcome.PASS


@given(contents, limits)
def test_the_edit_of_a_ban_turns_it_into_a_pass(content, limit):
    asked = brief(bans=[("Pb", limit)])
    (verdict,) = bans(asked, leaded(content))
    assert (verdict.outcome is Outcome.FAIL) == (content * 10_000 > Fraction(repr(limit)))
    if verdict.outcome is Outcome.FAIL:
        assert bans(changed(asked, verdict.edits), leaded(content))[0].outcome is Outcome.PASS
        assert verdict.edits[0].change > 0


@given(contents, contents)
def test_more_lead_never_answers_better_below_the_exemption(content, more):
    content, more = sorted((content, more))
    if more < 85:
        less_outcome, more_outcome = (rohs(leaded(c)).outcome for c in (content, more))
        assert less_outcome is Outcome.PASS or more_outcome is Outcome.FAIL
        assert (more_outcome is Outcome.FAIL) == (more > Fraction(1, 10))


def test_lead_is_open_where_no_market_is_named():
    asked = from_raw({"title": "t"})
    leaded = judged(asked, alloy("Sn-37Pb"))["law_elsewhere"]
    assert leaded.outcome is Outcome.UNKNOWN
    assert "does not name" in leaded.reason
    assert "370000 ppm Pb" in leaded.threshold
    assert judged(asked, alloy("SAC305"))["law_elsewhere"].outcome is Outcome.NOT_APPLICABLE
    assert judged(brief(), alloy("Sn-37Pb"))["law_elsewhere"].outcome is Outcome.NOT_APPLICABLE


def test_a_day_of_manufacture_before_the_law_leaves_the_day_of_sale_open():
    asked = from_raw(
        {
            "title": "t",
            "use": {"equipment": "consumer"},
            "markets": [{"market": "EU", "date": date(2006, 6, 30), "date_kind": "manufactured"}],
        }
    )
    assert judged(asked, alloy("Sn-37Pb"))["eu_rohs"].outcome is Outcome.UNKNOWN
    assert judged(asked, alloy("SAC305"))["eu_rohs"].outcome is Outcome.PASS


def test_lead_of_a_finish_leaves_law_and_ban_on_the_finished_joint_open():
    part = {"name": "old connector", "finish": "tin-lead", "ball_alloy": "none"}
    raw = brief(bans=[("Pb", 100), ("Sb", 100)]).model_dump() | {"parts": [part]}
    lead_ban, antimony_ban = bans(from_raw(raw), alloy("SAC305"))
    for verdict in (judged(from_raw(raw), alloy("SAC305"))["eu_rohs"], lead_ban):
        assert verdict.outcome is Outcome.UNKNOWN
        assert "old connector" in verdict.threshold
        assert [(edit.path, edit.value) for edit in verdict.edits] == [("parts[0].finish", "matte tin")]
    assert antimony_ban.outcome is Outcome.PASS
    raw["parts"] = [{**part, "finish": "unknown"}]
    open_finish = judged(from_raw(raw), alloy("SAC305"))["eu_rohs"]
    assert open_finish.outcome is Outcome.PASS
    assert any("old connector may bring lead" in caution for caution in open_finish.cautions)
