"""The days on which rules change: each sort told in words, for the markets asked about, and drawn."""

from datetime import date

from selector.compliance.context import context
from selector.compliance.evaluation import evaluate_all
from selector.compliance.rulesets import all_rules, rule
from selector.composition import parse
from selector.record import theme
from selector.record.charts_compliance import in_words, timeline
from selector.record.compliance_calendar import (
    BEGINS,
    ENDS,
    TEXT,
    DatedChange,
    calendar,
    change_days,
    events,
    known_year,
    rows,
)

USE = {"markets": ["EU", "China"], "judged": "joint", "equipment": "consumer", "application": "die attach"}


def on_day(changes, day):
    return [(change.rule_set, change.sort, change.told) for change in changes if change.day == day]


def test_the_days_of_the_issue_are_there_with_what_changes():
    found = calendar(["EU", "China"])
    (begun,) = on_day(found, date(2026, 7, 1))
    assert begun == ("EU RoHS", BEGINS, "exemptions III-7(a)-I, III-7(a)-II, III-7(a)-III, +4 more: usable")
    (ended,) = on_day(found, date(2027, 7, 1))  # the day after 2027-06-30
    assert ended[:2] == ("EU RoHS", ENDS)
    assert ended[2].startswith("exemptions III-7(a), ")
    (text,) = on_day(found, date(2027, 8, 1))
    assert text[:2] == ("China RoHS", TEXT)
    assert "GB 26572-2025, mandatory" in text[2]
    assert on_day(found, date(2028, 1, 1))


def test_only_the_markets_asked_about_and_only_from_the_year_the_rules_are_known():
    assert known_year() == date(2026, 1, 1)
    assert {change.market for change in calendar(["China"])} <= {"China", "world"}
    assert all(change.day >= known_year() for change in calendar([]))
    assert change_days(calendar(["EU"], since=date(2000, 1, 1)))[0] < known_year()
    assert {change.market for change in calendar([])} >= {"EU", "China", "Minnesota", "world"}


def test_a_state_shares_the_days_of_its_country():
    federal = {change.rules for change in calendar(["US"], since=date(2000, 1, 1)) if change.market == "US"}
    assert federal
    for state in ("California", "Minnesota"):
        found = calendar([state], since=date(2000, 1, 1))
        assert {change.rules for change in found if change.market == "US"} == federal
        assert {change.market for change in found} <= {state, "US", "world"}


def test_what_never_reaches_a_metal_is_no_change():
    told = {name for change in calendar([], since=date(2000, 1, 1)) for name in change.rules}
    assert "CN-ROHS-DEHP" not in told
    assert "CN-ROHS-PB" in told


def test_events_of_one_rule_by_hand():
    lead = rule("EU-ROHS-X-7A")
    assert [(event.day, event.sort) for event in events(lead) if event.sort == ENDS] == [(date(2027, 7, 1), ENDS)]
    suspended = next(event for event in events(rule("CN-EXP-USBAN")) if event.sort == ENDS)
    assert (suspended.day, suspended.what) == (date(2026, 11, 28), "past 2026-11-27: the suspension ends on this day")
    ended = [event.what for event in events(rule("EU-ROHS-X-7B")) if event.day == date(2024, 7, 22)]
    assert ended == ["for category 9 industrial, 11 ended"]


def test_alloys_whose_answer_changes_stand_with_the_day():
    held = {name: parse(name) for name in ("Pb-5Sn", "SAC305")}
    findings = evaluate_all(held, context(date(2027, 12, 31), figures={"current_a": 5}, **USE))
    change = next(entry for entry in calendar(["EU", "China"], findings) if entry.day == date(2028, 1, 1))
    assert change.alloys == ("Pb-5Sn",)


def test_rows_say_before_that_day_and_coming():
    seen = {row["day"]: row["seen from the day asked"] for row in rows(calendar(["China", "EU"]), date(2027, 8, 1))}
    assert (seen["2026-07-01"], seen["2027-08-01"], seen["2028-01-01"]) == (
        "before the day asked",
        "that day",
        "coming",
    )
    assert rows(calendar(["EU"]), None)[0]["seen from the day asked"] == ""


def test_the_chart_holds_every_day_by_name_and_its_shape_says_what_happens():
    changes = calendar(["EU", "China"])
    spec = timeline(changes, date(2027, 9, 1)).configure(**theme.config()).to_dict()
    rows_of = [spec["datasets"][layer["data"]["name"]] for layer in spec["layer"]]
    marks = rows_of[1]
    assert {row["day"] for row in marks} == {str(day) for day in change_days(changes)}
    assert {row["change"] for row in marks} == {BEGINS, ENDS, TEXT}
    assert [row["past"] for row in marks if row["day"] == "2027-08-01"] == [True]
    assert rows_of[0][0]["label"] == "asked: 2027-09-01"
    assert {row["kind"] for row in marks} == {"Law", "Supply risk"}


def test_the_chart_in_words():
    changes = calendar(["China"])
    assert in_words(changes, date(2027, 7, 1)).startswith("Next after 2027-07-01: 2027-08-01, China RoHS: Pb, Hg, Cd")
    assert in_words(changes, date(2030, 1, 1)) == "After 2030-01-01 no change of these rules is known."
    both = in_words(calendar(["EU"]), date(2027, 1, 1))
    assert both.endswith(" 1 more day with changes follows.")


def test_every_shipped_rule_has_its_events_on_days_it_names():
    assert all(event.what and event.sort in (BEGINS, ENDS, TEXT) for held in all_rules() for event in events(held))


def test_a_label_too_close_stands_below_its_mark():
    days = [date(2027, 6, 1), date(2027, 7, 1), date(2027, 7, 10), date(2028, 6, 1)]
    changes = [DatedChange(day, "law", "EU RoHS", "EU", "begins", "told", ("X",)) for day in days]
    spec = timeline(changes, date(2027, 7, 1)).configure(**theme.config()).to_dict()
    rows = [row for data in spec["datasets"].values() for row in data]
    told = {row["day"]: (row["label"], row["above"]) for row in rows if "above" in row}
    assert told["2027-06-01"] == ("2027-06-01", True)
    assert told["2027-07-01"] == ("2027-07-01", False)
    assert told["2027-07-10"][0] == ""
    assert told["2028-06-01"] == ("2028-06-01", True)
