"""The grid of compliance: small findings whose cell can be told by hand, then real rules whose answer is known."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.compliance.context import Ban, context
from selector.compliance.evaluation import evaluate_all
from selector.compliance.finding import Change, Finding, Why
from selector.composition import parse
from selector.record import compliance_words as words
from selector.record.compliance import known_text
from selector.record.compliance_grid import BINDING, Cell, State, cell, grid, moved, questions
from selector.record.compliance_summary import summary
from selector.record.terminal_compliance import lines
from selector.verdict import Outcome

DAY = date(2027, 9, 1)


def finding(rule_id="EU-ROHS-PB", outcome=Outcome.PASS, why=Why.WITHIN, measured=500, limit=1000, **more):
    """Return a finding as the rules would give it; margin is what is left to the limit."""
    figures = [None if value is None else Fraction(value) for value in (measured, limit)]
    margin = None if None in figures else figures[1] - figures[0]
    values = {
        "alloy": "A", "rule_id": rule_id, "rule_set": "EU RoHS", "kind": "law", "outcome": outcome, "why": why,
        "duty": "", "measured_ppm": figures[0], "limit_ppm": figures[1], "margin_ppm": margin, "exemption": "",
        "exemption_until": None, "reason": "", "source": "s", "clause": "c", "next_change": None,
        "known_to": date(2026, 11, 25), "as_of": DAY,
    }  # fmt: skip
    return Finding(**{**values, **more})


NOMINAL = {"why": Why.CERTIFICATE_NEEDED, "measured": 0}
FAIL = {"outcome": Outcome.FAIL, "why": Why.OVER, "measured": 950_000}
DUE = {"outcome": Outcome.DUTY, "why": Why.DUTY, "measured": 2000, "duty": "disclose"}
OPEN = {"outcome": Outcome.UNKNOWN, "why": Why.CONTEXT_MISSING, "measured": 2000}
OFF = {"outcome": Outcome.NOT_APPLICABLE, "why": Why.OUT_OF_SCOPE, "measured": None}


@pytest.mark.parametrize(
    ("findings", "state", "told"),
    [
        ([finding(**NOMINAL)], State.HOLDS, "holds, +1000 ppm Pb"),
        ([finding(measured=999)], State.HOLDS, "holds, +1 ppm Pb"),
        ([finding(**FAIL)], State.FAILS, "fails, -949000 ppm Pb"),
        ([finding("EU-REACH-SVHC-PB", **DUE)], State.DUTY, "duty: disclose Pb"),
        ([finding(**OFF)], State.OFF, "does not apply"),
        ([], State.OFF, "does not apply"),
        ([finding("EU-ROHS-NOTLISTED-SN", why=Why.NOT_RESTRICTED, measured=10, limit=None)], State.CLEAR,
         "holds none of it"),
        # The tightest as a share of its limit: 90 of 100 ppm Cd against 500 of 1000 ppm Pb.
        ([finding(), finding("EU-ROHS-CD", measured=90, limit=100)], State.HOLDS, "holds, +10 ppm Cd"),
        # What is there stands above what is not, though zero of 100 ppm leaves fewer ppm.
        ([finding("EU-ROHS-CD", limit=100, **NOMINAL), finding()], State.HOLDS, "holds, +500 ppm Pb"),
        # Worst first; two elements fail.
        ([finding(), finding("EU-ROHS-CD", limit=100, **FAIL), finding(**FAIL)], State.FAILS,
         "fails, -949900 ppm Cd, +1 more"),
        ([finding(why=Why.EXEMPT, measured=950_000, exemption="III-7(a)", exemption_until=date(2027, 6, 30))],
         State.HOLDS, "holds by III-7(a) until 2027-06-30"),
        # An exemption that does not fit forbids nothing by itself.
        ([finding("EU-ROHS-X-7A", **FAIL)], State.OFF, "does not apply"),
        ([finding(reason="x; not known: the kind of equipment", **OPEN)], State.OPEN, "open: kind of equipment"),
        ([finding("EU-BATT-PB", rule_set="EU batteries", limit=100,
                  reason="x; not known: whether inside a portable battery; the masses of solder and battery", **OPEN)],
         State.OPEN, "open: portable battery?"),
        ([finding(reason="950000 ppm Pb, at most 1000 ppm of homogeneous material; III-7(a) asks for a dossier",
                  **{**OPEN, "why": Why.EXEMPTION_NEEDS_EVIDENCE})], State.OPEN, "open: evidence for III-7(a)"),
        ([finding(reason="950000 ppm Pb, at most 1000; III-7(a) is past its date 2027-06-30; renewal; so for their own"
                  " uses III-7(a)-I, III-7(a)-V, the last until 2027-12-31", **{**OPEN, "why": Why.EXEMPTION_LAPSED})],
         State.OPEN, "open: III-7(a) and 2 more past their date"),
        ([finding("ISO9453-SB", kind="quality", rule_set="ISO 9453 impurity",
                  **{**OPEN, "why": Why.CERTIFICATE_NEEDED, "measured": 0})], State.OPEN, "open: certificate for Sb"),
        ([finding("EU-TOY-PB", limit=None, reason="migration", **{**OPEN, "why": Why.NOT_A_CONTENT})], State.OPEN,
         "open: test of the article for Pb"),
        # An open duty forbids nothing either way.
        ([finding("EU-REACH-SVHC-PB", reason="x; not known: the masses of solder and article", **OPEN)], State.DUTY,
         "may be due: disclose Pb"),
        ([finding("EU-CRMA-BI", Outcome.DUTY, Why.FLAG, 2000, None, kind="supply-risk", duty="flag")], State.FLAG,
         "flag: Bi"),
    ],
)  # fmt: skip
def test_a_cell_says_what_decides(findings, state, told):
    found = cell(findings)
    assert (found.state, found.told) == (state, told)
    assert found.text.endswith(told)


def test_nothing_of_an_element_keeps_a_limit_that_is_not_confirmed():
    """The rule itself stays unknown in what is handed over; the cell is not open for it."""
    unconfirmed = finding("IEC62474-BE", Outcome.UNKNOWN, Why.UNCONFIRMED, 0, kind="customer", rule_set="IEC 62474")
    assert cell([unconfirmed]).state is State.CLEAR
    there = finding("IEC62474-BE", Outcome.UNKNOWN, Why.UNCONFIRMED, 5, kind="law", rule_set="IEC 62474")
    assert cell([there]).decides


def test_a_measured_zero_is_told():
    assert cell([finding(measured=0, why=Why.WITHIN)]).told == "holds, +1000 ppm Pb"


def test_what_is_folded_is_counted_and_what_changes_is_kept():
    change = Change(date(2028, 1, 1), "fail: over")
    later = Change(date(2029, 1, 1), "pass: saved")
    found = cell([finding(next_change=change), finding("EU-ROHS-CD", **NOMINAL), finding("EU-ROHS-HG", **OFF)])
    assert (found.folded, found.change) == (2, change)
    assert cell([finding("EU-ROHS-HG", next_change=later, **OFF)]).change is None  # words about what is not there


# real rules


def judged(*alloys, on=DAY, uses=(), **more):
    held = {name: parse(name) for name in alloys}
    asked = context(on, uses, **{"markets": ["EU", "China"], "judged": "joint", **more})
    return grid(evaluate_all(held, asked), held)


def row_of(found, alloy):
    return next(row for row in found.rows if row.alloy == alloy)


def cell_of(found, alloy, title):
    return next(held for column, held in row_of(found, alloy).cells.items() if column.title == title)


def test_the_kinds_stay_apart_in_order():
    found = judged("SAC305")
    kinds = [column.kind for column in found.columns]
    assert list(dict.fromkeys(kinds)) == ["law", "customer", "quality", "supply-risk", "information"]
    assert kinds == sorted(kinds, key=list(dict.fromkeys(kinds)).index)


def test_rule_sets_that_share_a_name_are_told_by_market():
    found = judged("SAC305", markets=["EU", "US"])
    titles = [column.title for column in found.columns]
    assert {"Conflict minerals, EU", "Conflict minerals, US"} <= set(titles)
    assert len(titles) == len(set(titles))


def test_passes_everywhere_is_about_law_and_customers_alone():
    found = judged("SAC305", "Sn-37Pb", "Bi-42Sn", equipment="consumer")
    assert [row.passes_everywhere for row in found.rows] == [True, False, True]
    assert cell_of(found, "Bi-42Sn", "Export control").state is State.FLAG
    open_use = judged("Sn-37Pb")
    assert row_of(open_use, "Sn-37Pb").standing is State.OPEN


def test_a_ban_fails_by_element_and_says_so():
    found = judged("Sn-5Sb", "SAC305", bans=[Ban("Sb", Fraction(1000), "own list")])
    assert cell_of(found, "Sn-5Sb", "Customer list").told == "fails, -49000 ppm Sb"
    assert summary(found, ["EU", "China"]) == (
        "1 of 2 alloys passes everywhere on 2027-09-01 in EU and China; 1 fails, on antimony."
    )


def test_the_sentence_names_what_all_fail_on_or_counts():
    lead = judged("Sn-37Pb", "Sn-36Pb-2Ag", "SAC305", equipment="consumer")
    assert summary(lead, ["EU"]).endswith("2 fail, all on lead.")
    mixed = judged("Sn-37Pb", "In-42Sn-14Cd", equipment="consumer")
    assert summary(mixed, ()).startswith("0 of 2 alloys pass everywhere on 2027-09-01 in every market with a rule set;")
    assert "2 fail, on lead (1), cadmium (1)" in summary(mixed, ())
    assert summary(judged("Sn-37Pb", equipment="consumer"), ["EU"]) == "Sn-37Pb fails on 2027-09-01 in EU, on lead."
    assert summary(grid([], {}), ["EU"]) == "No alloy is judged."


def test_rule_sets_of_special_uses_are_folded_where_they_limit_nothing_that_is_there():
    found = judged("SAC305", equipment="consumer")
    assert "EU batteries" not in [column.title for column in found.of_kinds(BINDING)]
    assert "EU batteries" in [column.title for column in found.folded(BINDING)]
    lead = judged("SAC305", "Sn-37Pb", equipment="consumer")
    assert "EU batteries" in [column.title for column in lead.of_kinds(BINDING)]


def test_facts_to_know_concern_what_is_there():
    found = judged("SAC305")
    assert cell_of(found, "SAC305", "Toxicity summary").told == "to know: Ag, Sn"
    assert cell_of(found, "SAC305", "Worker safety").state is State.OFF


def test_questions_name_the_words_that_would_settle_most():
    asked = {
        entry.use: entry.alloys for entry in questions(judged("Sn-37Pb", "Pb-5Sn", "SAC305", equipment="consumer"))
    }
    assert asked["portable-battery"] == 2
    assert asked["china-catalogue"] == 2
    settled = questions(judged("Sn-37Pb", equipment="consumer", uses=["not-portable-battery", "china-catalogue"]))
    assert not {"portable-battery", "china-catalogue"} & {entry.use for entry in settled}


def test_moving_the_day_tells_which_cells_change():
    use = {"equipment": "consumer", "application": "die attach", "figures": {"current_a": Fraction(5)}}
    before, after = (judged("Pb-5Sn", "SAC305", on=day, **use) for day in (date(2027, 12, 31), date(2028, 1, 1)))
    found = [entry for entry in moved(before, after) if entry.column.title == "EU RoHS"]
    assert [(entry.alloy, entry.before.state, entry.after.state) for entry in found] == [
        ("Pb-5Sn", State.HOLDS, State.OPEN)
    ]
    assert moved(before, before) == ()


@given(st.integers(0, 1_000_000), st.dates(date(2024, 1, 1), date(2029, 1, 1)))
def test_a_cell_is_no_better_than_its_worst_finding(lead_ppm, on):
    held = {"A": parse("Sn-3Ag-0.5Cu")}
    asked = context(on, markets=["EU"], judged="joint", equipment="consumer", traces={"Pb": Fraction(lead_ppm)})
    findings = evaluate_all(held, asked)
    row = grid(findings, held).rows[0]
    worst = [entry for entry in findings if entry.kind in BINDING and not words.exempts(entry)]
    fails = any(entry.outcome is Outcome.FAIL for entry in worst)
    assert (row.standing is State.FAILS) is fails
    if row.passes_everywhere:
        open_ones = [entry for entry in worst if entry.outcome is Outcome.UNKNOWN]
        assert all(words.is_duty(entry) or words.is_immaterial(entry) for entry in open_ones)


# small words


def test_both_ends_of_what_is_known_are_told_and_a_ban_in_figures_has_no_day_of_its_own():
    early = finding(known_to=date(2025, 3, 31))
    ban = finding("CUST-SB", rule_set="Customer list", kind="customer", known_to=DAY)
    assert known_text([finding(), ban]) == "2026-11-25"
    assert known_text([finding(), early]) == "2025-03-31 to 2026-11-25, rule by rule"
    assert known_text([]) == "no day"


def test_series_and_lists():
    assert [words.series(each) for each in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]
    assert words.listed(["a", "a", "b", "c"]) == "a, b, +1 more"


def test_lines_of_the_terminal_fold_what_simply_holds_into_one():
    found = judged("SAC305", "Sn-37Pb", equipment="consumer", bans=[Ban("Sb", Fraction(1000), "own list")])
    law = found.of_kinds(("law",))
    good = lines(row_of(found, "SAC305"), law)
    assert good == [("SAC305", "China RoHS, EU REACH, EU RoHS", "✓ holds, +1000 ppm Pb", "CN-ROHS-PB", "")]
    bad = lines(row_of(found, "Sn-37Pb"), law)
    assert bad[0][1:4] == ("EU RoHS", "✗ fails, -369000 ppm Pb", "EU-ROHS-PB")
    before = judged("Sn-37Pb", equipment="consumer", on=DAY - timedelta(days=60))
    listed = next(line for line in lines(before.rows[0], before.of_kinds(("law",))) if line[1] == "China RoHS")
    assert listed[4] == "2027-08-01: the text changes"


def test_a_cell_without_findings_is_no_answer():
    assert not Cell(State.OFF, "does not apply").decides
