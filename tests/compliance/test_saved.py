"""Saved verdicts: what is saved asks the same question again, exactly."""

from dataclasses import fields, replace
from datetime import date
from fractions import Fraction

import pytest

from selector.brief import read, shipped
from selector.compliance import saved as module
from selector.compliance.context import Ban, Context, context
from selector.compliance.evaluation import evaluate_all
from selector.compliance.rulesets import EXEMPTING, all_rules
from selector.compliance.saved import Asked, of_brief, recheck, saved
from selector.composition import mixed, parse
from selector.errors import InputError

ALLOYS = {name: parse(name) for name in ("SAC305", "Sn-37Pb", "Sn-58Bi", "Sn-5Sb")}
FULL = context(
    date(2027, 9, 1),
    ["skin-contact", "not-toy"],
    date_kind="manufactured",
    markets=["EU", "California"],
    judged="joint",
    equipment="consumer",
    application="board joint",
    form="paste",
    figures={"current_a": Fraction("0.3"), "article_mg": Fraction(1, 3)},
    traces={"Pb": Fraction("450.5")},
    declared=["Sn", "Ag"],
    customer=["CUST-SB"],
    bans=[Ban("In", Fraction("99.9"), "cost")],
)


def test_a_context_is_saved_whole():
    """A field that is new in a context must be saved too, else the question asked again is another one."""
    raw = module._context_plain(FULL)
    assert module._asked({"part": "law", **raw}).context == FULL
    default = Context(date(2027, 9, 1))
    for field in fields(Context):
        assert getattr(FULL, field.name) != getattr(default, field.name) or field.name == "on", field.name


def told(block):
    """Return (question, rule, alloy) -> verdict, spelled out from the grouped form by hand."""
    found = {}
    for index, one in enumerate(block["asked"]):
        for rule_id, groups in one["verdicts"].items():
            for alloy in block["alloys"]:
                named = [word for word, names in groups.items() if word != "others" and alloy in names]
                found[index, rule_id, alloy] = named[0] if named else groups["others"]
    return found


def test_what_is_saved_is_what_is_found():
    one = Asked(FULL, "everything")
    held = told(saved(ALLOYS, [one]))
    aside = {rule.id for rule in all_rules() if rule.effect in EXEMPTING}
    expected = {
        (0, entry.rule_id, entry.alloy): f"{entry.outcome}: {entry.duty}" if entry.duty else str(entry.outcome)
        for entry in evaluate_all(ALLOYS, FULL)
        if entry.rule_id not in aside
    }
    assert {key: word for key, word in expected.items() if word != "not_applicable"} == {
        key: word for key, word in held.items() if word != "not_applicable"
    }
    assert set(held) <= set(expected)


def test_a_brief_asks_the_law_of_each_market_and_its_bans():
    brief = read(shipped("skin-patch"))
    asked = of_brief(brief)
    assert [(one.part, sorted(one.context.markets)) for one in asked] == [
        ("law", ["EU"]),
        ("law", ["US"]),
        ("law", ["China"]),
        ("bans", []),
    ]
    held = told(saved(ALLOYS, asked))
    assert held[0, "EU-ROHS-PB", "Sn-37Pb"] == "fail"
    assert held[0, "EU-ROHS-PB", "SAC305"] == "pass"
    assert held[3, "CUST-SB", "Sn-5Sb"] == "fail"
    assert {rule_id for index, rule_id, _ in held if index == 3} == {"CUST-SB"}


def test_asked_again_under_the_same_rules_nothing_changes():
    alloys = {**ALLOYS, "thirds": mixed([(parse("Sn"), 1), (parse("Pb"), 1), (parse("Ag"), 1)])}
    block = saved(alloys, [Asked(FULL, "law"), Asked(FULL, "bans"), Asked(FULL, "everything")])
    found = recheck(block)
    assert found.changes == ()
    assert found.unchanged == sum(word != "not_applicable" for word in told(block).values()) > 100
    assert all(then == now for _, then, now in found.rule_dates)


def test_another_day_moves_the_law_and_not_the_bans():
    block = saved({"Pb95Sn5": parse("Pb95Sn5")}, [
        Asked(replace(FULL, traces=(), application="die attach", date_kind="placed on market",
                      figures=(("current_a", Fraction(5)),), bans=()), "law"),
        Asked(replace(context(date.max), bans=(Ban("Pb", Fraction(1000), "no lead"),)), "bans"),
    ])  # fmt: skip
    later = recheck(block, date(2028, 1, 1))
    lead = next(entry for entry in later.changes if entry.rule_id == "EU-ROHS-PB")
    assert (lead.old, lead.new, lead.on) == ("pass", "unknown", date(2028, 1, 1))
    assert "2027-12-31" in lead.reason
    assert not [entry for entry in later.changes if entry.rule_id == "CUST-PB"]


def spoilt(path, value):
    block = saved({"SAC305": parse("SAC305")}, [Asked(FULL, "law")])
    place = block
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return block


@pytest.mark.parametrize(
    ("block", "words"),
    [
        (None, "is not a table of saved verdicts"),
        ([], "is not a table of saved verdicts"),
        ({}, "compliance.format: is not one that is known here"),
        (spoilt(["format"], 2), "compliance.format"),
        (spoilt(["alloys"], []), "alloys: is not a table"),
        (spoilt(["alloys", "SAC305"], {"Sn": "99"}), "alloys.SAC305"),
        (spoilt(["alloys", "SAC305"], {"Xx": "100"}), "'Xx'"),
        (spoilt(["asked"], {}), "asked: is not a list"),
        (spoilt(["asked", 0], 7), "asked[0]: is not a question"),
        (spoilt(["asked", 0, "part"], "rest"), "part: is not one that is known here"),
        (spoilt(["asked", 0, "on"], "soon"), "asked[0]: is not a question"),
        (spoilt(["asked", 0, "markets"], ["Atlantis"]), "'Atlantis'"),
        (spoilt(["asked", 0, "traces_ppm"], {"Pb": "much"}), "asked[0]: is not a question"),
        (spoilt(["asked", 0, "verdicts", "EU-ROHS-PB"], {"others": "maybe"}), "'maybe'"),
        (spoilt(["asked", 0, "verdicts", "EU-ROHS-PB"], {"fail": ["SAC305"]}), "asked[0]: is not a question"),
        *(
            (spoilt(["asked", 0, "bans"], [{"element": "Sb", "limit_ppm": "9", "reason": "r", **wrong}]), told)
            for wrong, told in (
                ({"element": "Xx"}, "limit of a ban: is not of an element"),
                ({"element": []}, "asked[0]: is not a question"),
                ({"limit_ppm": "-1"}, "limit of a ban, Sb: lies outside the range"),
                ({"limit_ppm": "1e400"}, "limit of a ban, Sb: lies outside the range"),
                ({"reason": []}, "has a reason that is no text"),
            )
        ),
        (spoilt(["rule_sets"], None), "rule_sets: is not a table"),
    ],
)
def test_a_spoilt_block_is_refused_in_words(block, words):
    with pytest.raises(InputError) as raised:
        recheck(block)
    assert words in str(raised.value)


def test_faults_come_together():
    block = spoilt(["asked", 0, "on"], "soon")
    block |= {"alloys": {"x": {"Xx": "1"}}, "rule_sets": 3}
    with pytest.raises(InputError) as raised:
        recheck(block)
    assert len(raised.value.faults) >= 3
