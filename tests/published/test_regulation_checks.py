"""75 verdicts of law, quality, supply and customers, worked outside this program, each with its source.

`regulation_checks.csv` holds the project's reference cases: composition, rule, day, the use in structured form, and the
verdict. Every case is judged as it stands, renamed, moved by 1 ppm either way, and with its use taken away.
"""

import csv
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from selector.compliance.context import context
from selector.compliance.evaluation import evaluate
from selector.compliance.rulesets import rule
from selector.composition import from_mapping
from selector.verdict import Outcome

TABLE = Path(__file__).with_name("regulation_checks.csv")
CASES = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
# The outcome next to the limit: what 1 ppm less (-1) or more (+1) of the judged element makes of a case.
NEXT_PPM = {
    ("RC003", 1): "fail",
    ("RC004", -1): "pass",
    ("RC006", -1): "pass",
    ("RC008", -1): "pass",
    ("RC010", 1): "fail",
    ("RC011", -1): "pass",
    ("RC014", 1): "fail",
    ("RC015", -1): "pass",
    ("RC017", 1): "fail",
    ("RC018", -1): "pass",
    ("RC019", -1): "pass",
    ("RC020", -1): "pass",
    ("RC021", 1): "fail",
    ("RC023", -1): "fail",
    ("RC046", 1): "fail",
    ("RC047", -1): "pass",
    ("RC063", -1): "pass",
    ("RC107", -1): "fail",
    ("RC110", -1): "pass",
}


# What each word of the reference comes to here: outcome, what it rests on (None: more than one thing), duty.
# "pass_on_nominal_only" is no pass: what is bought and not analysed stays open until its certificate is there.
WORDS = {
    "pass": ("pass", None, ""),
    "pass_by_exemption": ("pass", "exempt", ""),
    "pass_on_nominal_only": ("unknown", "as nominal; certificate needed", ""),
    "fail": ("fail", None, ""),
    "fail_use_not_covered": ("fail", "use or content not covered by the exemption", ""),
    "exemption_lapsed_recheck": ("unknown", "exemption past its date", ""),
    "exemption_needs_evidence": ("unknown", "exemption needs evidence", ""),
    "unknown_recheck": ("unknown", "exemption past its date", ""),
    "recheck": ("unknown", "recheck", ""),
    "disclose": ("duty", "duty", "disclose"),
    "label": ("duty", "duty", "label"),
    "justify": ("duty", "duty", "justify"),
    "mark_and_disclose": ("duty", "duty", "mark-and-disclose"),
    "due_diligence": ("duty", "duty", "due-diligence"),
    "flag": ("duty", "flag", "flag"),
    "no_flag": ("pass", "not listed", ""),
    "not_restricted": ("pass", "not restricted", ""),
    "not_applicable": ("not_applicable", None, ""),
    "not_in_scope": ("not_applicable", "out of scope", ""),
}
# Other uses than that of a case, to see whether an answer without a use would hold for any.
ELSEWHERE = [
    context(date(2026, 11, 25), words, judged="joint", equipment=kind, figures=figures, application=application)
    for kind, words, figures, application in (
        ("space", (), {}, "unknown"),
        ("vehicle", (), {}, "die attach"),
        ("consumer", (), {"solder_mg": Fraction(1), "article_mg": Fraction(10**7)}, "die attach"),
        ("medical device", ("not-accessible", "not-patient-path"), {}, "board joint"),
        ("consumer", ("not-wrist-worn", "not-jewellery", "not-toy", "not-public-sale"), {}, "board joint"),
        ("consumer", ("not-china-catalogue", "not-display-over-4-inch", "not-korea-listed"), {}, "board joint"),
        ("toy or sports", ("not-accessible", "not-toy", "not-minnesota-listed", "not-jewellery"), {}, "board joint"),
        ("consumer", ("not-taiwan-listed", "not-sec-reporting", "not-supply-to-us"), {}, "board joint"),
        ("other electrical", ("not-portable-battery", "not-ce-declared"), {}, "board joint"),
    )
]


def pairs(text):
    return dict(item.split("=") for item in text.split(";") if item)


def words(text):
    return [word for word in text.split(";") if word]


def composition(case, moved=0):
    parts = {e: Fraction(wt) for e, wt in (item.split(":") for item in case["composition"].split(";"))}
    if moved:
        element = rule(case["rule_id"]).elements[0]
        other = max((e for e in parts if e != element), key=lambda e: parts[e], default=None)
        if element not in parts or other is None:
            return None
        parts[element] += Fraction(moved, 10_000)
        parts[other] -= Fraction(moved, 10_000)
    return from_mapping(parts)


def use(case):
    return context(
        date.fromisoformat(case["as_of"]),
        words(case["uses"]),
        markets=words(case["markets"]),
        judged=case["judged"],
        equipment=case["equipment"] or "unknown",
        application=case["application"] or "unknown",
        form=case["form"] or "unknown",
        figures={name: Fraction(value) for name, value in pairs(case["figures"]).items()},
        declared=words(case["declared"]) or None,
        customer=words(case["customer"]),
    )


def judged(case, moved=0, name=None, asked=None):
    return evaluate(rule(case["rule_id"]), composition(case, moved), asked or use(case), name or case["alloy"])


def by_id(case):
    return case["check_id"]


def test_there_are_seventy_five_cases_each_with_its_source():
    assert len({case["check_id"] for case in CASES}) == len(CASES) == 75
    assert all(case["source"] and case["confidence"] for case in CASES)


@pytest.mark.parametrize("case", CASES, ids=by_id)
def test_the_words_of_the_reference_keep_their_sense(case):
    outcome, why, duty = WORDS[case["verdict"]]
    assert (case["outcome"], case["duty"]) == (outcome, duty)
    assert why is None or judged(case).why == why


@pytest.mark.parametrize("case", CASES, ids=by_id)
def test_case(case):
    found = judged(case)
    assert (found.outcome, found.duty) == (case["outcome"], case["duty"]), found.reason
    if case["why"]:
        assert found.why == case["why"]
    if case["why"] == "exempt":
        assert found.exemption
        assert found.exemption_until > found.as_of
    else:
        assert not found.exemption
    assert found.reason
    assert found.source
    assert found.as_of == date.fromisoformat(case["as_of"])


@pytest.mark.parametrize("case", CASES, ids=by_id)
def test_no_verdict_hangs_on_the_name(case):
    renamed = judged(case, name="an alloy of no name")
    assert renamed.alloy == "an alloy of no name"
    assert renamed[1:] == judged(case)[1:]


@pytest.mark.parametrize("moved", [-1, 1])
@pytest.mark.parametrize("case", CASES, ids=by_id)
def test_one_ppm_more_or_less(case, moved):
    if composition(case, moved) is None:
        assert rule(case["rule_id"]).elements[0] not in composition(case).elements or len(composition(case).parts) == 1
        return
    expected = NEXT_PPM.get((case["check_id"], moved), case["outcome"])
    assert judged(case, moved).outcome == expected


def test_one_ppm_counts_somewhere():
    told = {case["check_id"]: case["outcome"] for case in CASES}
    assert all(told[check] != outcome for (check, _), outcome in NEXT_PPM.items())


@pytest.mark.parametrize("case", CASES, ids=by_id)
def test_without_its_use_a_case_gives_the_same_answer_or_none(case):
    found = judged(case, asked=without_use(case))
    with_use = judged(case)
    allowed = {with_use.outcome, Outcome.UNKNOWN}
    if rule(case["rule_id"]).off_by_default:
        allowed.add(Outcome.NOT_APPLICABLE)  # no contract, no rule
    assert found.outcome in allowed, found.reason


def without_use(case):
    return replace(
        use(case), equipment="unknown", yes=frozenset(), no=frozenset(), application="unknown", form="unknown",
        figures=(), declared=None, customer=frozenset(),
    )  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=by_id)
def test_an_answer_without_a_use_would_hold_for_any(case):
    """A fail or a duty that some use would lift needed that use; a pass may only become out of scope."""
    bare = judged(case, asked=without_use(case))
    if bare.outcome not in (Outcome.PASS, Outcome.FAIL, Outcome.DUTY):
        return
    for elsewhere in ELSEWHERE:
        asked = replace(
            without_use(case), equipment=elsewhere.equipment, yes=elsewhere.yes, no=elsewhere.no,
            application=elsewhere.application, figures=elsewhere.figures,
        )  # fmt: skip
        found = judged(case, asked=asked)
        allowed = {bare.outcome} | ({Outcome.NOT_APPLICABLE} if bare.outcome is Outcome.PASS else set())
        assert found.outcome in allowed, (asked.equipment, sorted(asked.no), found.reason)


def test_without_a_use_some_cases_are_open():
    opened = [
        case["check_id"]
        for case in CASES
        if judged(case, asked=context(date.fromisoformat(case["as_of"]))).outcome is Outcome.UNKNOWN
        and case["outcome"] != "unknown"
    ]
    assert len(opened) > 15
