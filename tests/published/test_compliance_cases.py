"""Questions as compliance officers ask them, with the right answers of the project's collection of real situations.

Cases 05, 07 and 24 of that collection (public questions and answers of 2001 to 2025, restated as facts); the others
follow from the same rows of law that the reference checks rest on.
"""

from datetime import date
from fractions import Fraction

import pytest

from selector.compliance.context import Ban, context
from selector.compliance.evaluation import evaluate, evaluate_all
from selector.compliance.finding import Why
from selector.compliance.rulesets import all_rules, rule
from selector.composition import parse

NOW = date(2026, 11, 25)
BOARD = {"judged": "joint", "equipment": "consumer", "application": "board joint"}
DIE = {"judged": "joint", "equipment": "consumer", "application": "die attach"}
POWER = {**DIE, "figures": {"current_a": Fraction(5), "die_edge_mm": Fraction(3)}}
SIGNAL = {
    **DIE,
    "figures": {"current_a": Fraction("0.05"), "blocking_v": Fraction(8), "die_edge_mm": Fraction("0.28")},
}
BOUGHT = {"judged": "mixture", "form": "wire"}


def asked(rule_id, alloy, on=NOW, uses=(), **facts):
    return evaluate(rule(rule_id), parse(alloy), context(on, uses, **facts))


@pytest.mark.parametrize(
    ("question", "rule_id", "alloy", "on", "uses", "facts", "outcome", "told"),
    [
        ("05 consumer", "EU-ROHS-PB", "Sn43Pb43Bi14", NOW, (), BOARD, "fail", "430000 ppm Pb, at most 1000 ppm"),
        ("05 space", "EU-ROHS-PB", "Sn43Pb43Bi14", NOW, (), {**BOARD, "equipment": "space"}, "not_applicable", "space"),
        ("07 a", "EU-ROHS-PB", "Pb95Sn5", NOW, (), POWER, "pass", "III-7(a)-I saves it until 2027-12-31"),
        ("07 b", "EU-ROHS-PB", "Pb95Sn5", date(2028, 2, 1), (), POWER, "unknown", "a renewal filed in time"),
        ("07 c", "EU-ROHS-PB", "Pb95Sn5", date(2027, 9, 1), (), BOARD, "unknown", "else it is out"),
        (
            "07 c IV",
            "EU-ROHS-X-7A-IV",
            "Pb95Sn5",
            date(2027, 9, 1),
            (),
            BOARD,
            "fail",
            "covers ceramic ball-grid array",
        ),
        ("07 d I", "EU-ROHS-X-7A-I", "Pb95Sn5", date(2027, 9, 1), (), SIGNAL, "fail", "current_a at least 0.1"),
        ("07 d", "EU-ROHS-PB", "Pb95Sn5", date(2027, 9, 1), (), SIGNAL, "unknown", "III-7(a)-II may save it"),
        (
            "24 a",
            "EU-REACH-17-27",
            "Sn-0.7Cu-0.05Ni",
            NOW,
            ("wrist-worn", "not-accessible"),
            BOARD,
            "not_applicable",
            "the user can touch the part",
        ),
        (
            "24 b",
            "EU-REACH-17-27",
            "Sn-0.7Cu-0.05Ni",
            NOW,
            ("wrist-worn", "accessible"),
            BOARD,
            "unknown",
            "a rate of release and no content (release at most 0.5 ug/cm2 a week by EN 1811, coated parts",
        ),
        (
            "cadmium, military",
            "EU-ROHS-CD",
            "Sn50Pb32Cd18",
            NOW,
            (),
            {**BOARD, "equipment": "military"},
            "not_applicable",
            "military",
        ),
        (
            "wire to the public",
            "EU-REACH-17-30-PB-MASSIVE",
            "Sn63Pb37",
            NOW,
            ("public-sale",),
            BOUGHT,
            "fail",
            "3000 ppm",
        ),
        (
            "wire to a maker",
            "EU-REACH-17-30-PB-MASSIVE",
            "Sn63Pb37",
            NOW,
            ("not-public-sale",),
            BOUGHT,
            "not_applicable",
            "sold to the general public",
        ),
        ("child", "US-CPSIA-PB", "Sn-0.0101Pb", NOW, ("toy", "accessible"), BOARD, "fail", "at most 100 ppm"),
        ("child, sealed", "US-CPSIA-PB", "Sn63Pb37", NOW, ("toy", "not-accessible"), BOARD, "not_applicable", "touch"),
        ("Taiwan", "XX-TAIWA-PB", "Sn63Pb37", NOW, ("taiwan-listed",), BOARD, "duty", "the duty: mark and disclose"),
        ("China, catalogue", "CN-ROHS-PB", "Sn63Pb37", NOW, ("china-catalogue",), BOARD, "fail", "at most 1000 ppm"),
        ("China, other", "CN-ROHS-PB", "Sn63Pb37", NOW, ("not-china-catalogue",), BOARD, "duty", "mark and disclose"),
        (
            "China, not known",
            "CN-ROHS-PB",
            "Sn63Pb37",
            NOW,
            (),
            BOARD,
            "unknown",
            "whether in the Chinese compliance cata",
        ),
        (
            "California, logger",
            "US-CA-ROHS-PB",
            "Sn63Pb37",
            NOW,
            ("not-display-over-4-inch",),
            BOARD,
            "not_applicable",
            "4 inches",
        ),
        (
            "article told",
            "EU-REACH-SVHC-PB",
            "Sn63Pb37",
            NOW,
            (),
            {"judged": "article", "figures": {"solder_mg": Fraction(1), "article_mg": Fraction(100)}},
            "duty",
            "the duty: disclose",
        ),
        (
            "article not told",
            "EU-REACH-SVHC-PB",
            "Sn63Pb37",
            NOW,
            (),
            {"judged": "article"},
            "unknown",
            "the masses of solder and article",
        ),
        ("consumer goods, no medical rule", "EU-MDR-CMR", "Sn63Pb37", NOW, (), BOARD, "not_applicable", "consumer"),
        ("medical entry, consumer", "EU-ROHS-X-IV-27", "Sn63Pb37", NOW, (), BOARD, "not_applicable", "consumer"),
        (
            "jewellery in space",
            "EU-REACH-17-63-JEWEL",
            "Sn63Pb37",
            NOW,
            (),
            {**BOARD, "equipment": "space"},
            "not_applicable",
            "jewellery",
        ),
        (
            "GB, route not claimed",
            "UK-ROHS-PB",
            "Sn63Pb37",
            NOW,
            (),
            {"judged": "joint", "equipment": "medical device", "application": "magnetic resonance"},
            "unknown",
            "CE route may open it; not known: whether CE-marked",
        ),
        (
            "GB, no route",
            "UK-ROHS-PB",
            "Sn63Pb37",
            NOW,
            ("not-ce-declared",),
            {"judged": "joint", "equipment": "medical device", "application": "magnetic resonance"},
            "fail",
            "370000 ppm Pb",
        ),
        ("GB, EU fails too", "UK-ROHS-CE-ROUTE", "Sn63Pb37", NOW, (), BOARD, "fail", "by way of EU RoHS"),
        (
            "hearing-aid charger",
            "EU-ROHS-PB",
            "Pb95Sn5",
            date(2028, 3, 1),
            (),
            {**POWER, "equipment": "other electrical"},
            "unknown",
            "a renewal filed in time by 2025-12-30 would keep it alive",
        ),
        ("tin: who reports?", "US-3TG-SN", "SAC305", NOW, (), BOARD, "unknown", "Sn: tin"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_question(question, rule_id, alloy, on, uses, facts, outcome, told):
    found = asked(rule_id, alloy, on, uses, **facts)
    assert found.outcome == outcome, (question, found.reason)
    assert told in found.reason


def test_a_leaded_trace_in_a_bracelet_keeps_rohs_and_breaks_the_rule_on_jewellery():
    facts = {**BOARD, "traces": {"Pb": Fraction(900)}}
    worn = ("wrist-worn", "accessible")
    assert asked("EU-ROHS-PB", "SAC305", NOW, worn, **facts).margin_ppm == 100
    jewel = asked("EU-REACH-17-63-JEWEL", "SAC305", NOW, worn, **facts)
    assert (jewel.outcome, jewel.margin_ppm) == ("fail", -400)
    # The quality of the bought alloy is tighter than the law: 700 ppm.
    assert asked("JSTD006-PB", "SAC305", NOW, worn, **{**facts, "judged": "alloy"}).outcome == "fail"


def test_antimony_is_lawful_and_fails_a_customer_of_his_own_kind():
    facts = context(NOW, **BOARD, bans=[Ban("Sb", Fraction(1000), "smelter of the customer")])
    found = {f.rule_id: f for f in evaluate_all({"Sn-5Sb": parse("Sn-5Sb")}, facts)}
    ban, law = found["CUST-SB"], found["EU-ROHS-NOTLISTED-SB"]
    assert (ban.kind, ban.outcome, ban.limit_ppm, ban.margin_ppm) == ("customer", "fail", 1000, -49_000)
    assert "smelter of the customer" in ban.reason
    assert (law.kind, law.why) == ("law", Why.NOT_RESTRICTED)
    assert [key for key, f in found.items() if f.outcome == "fail"] == ["CUST-SB"]


def test_halogens_are_a_matter_of_flux_and_laminate_for_any_alloy():
    halogen = [
        entry for entry in all_rules() if {"Br", "Cl"} & set(entry.elements) or entry.rule_set.startswith("Flux")
    ]
    assert len(halogen) >= 5
    for entry in halogen:
        for judged in ("alloy", "certificate", "mixture", "joint", "article"):
            facts = {**BOARD, "judged": judged, "traces": {"Cl": Fraction(5000), "Br": Fraction(5000)}}
            assert asked(entry.id, "SAC305", **facts).why is Why.NOT_THE_METAL, entry.id


def test_both_days_stand_on_every_finding():
    for found in evaluate_all({"SAC305": parse("SAC305")}, context(date(2027, 9, 1), **BOARD)):
        assert found.as_of == date(2027, 9, 1)
        assert found.known_to <= NOW
