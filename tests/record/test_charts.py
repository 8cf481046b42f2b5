"""The charts: what a cell, an axis or a bar says of the decision behind it."""

import itertools
from dataclasses import replace

import pytest

from selector.brief import from_raw, read, shipped
from selector.decision import decide
from selector.record import charts
from selector.verdict import Outcome, Verdict

WORST_FIRST = (Outcome.FAIL, Outcome.UNKNOWN, Outcome.DUTY, Outcome.PASS, Outcome.NOT_APPLICABLE)


@pytest.fixture(scope="module")
def candidate():
    return decide(read(shipped("skin-patch"))).admitted[0]


def drawn(chart):
    """Return the rows behind a chart, of all its layers."""
    return [row for rows in chart.to_dict()["datasets"].values() for row in rows]


def answers(candidate, *outcomes):
    """Return the cells of a rule that gave these outcomes, one verdict each."""
    verdicts = tuple(Verdict("customer_ban", outcome, f"found {outcome}", "the brief") for outcome in outcomes)
    found = replace(candidate, screened=replace(candidate.screened, verdicts=verdicts))
    return [(row["outcome"], row["reason"]) for row in drawn(charts.screening_grid([found]))]


@pytest.mark.parametrize(("worse", "better"), list(itertools.combinations(WORST_FIRST, 2)))
def test_a_cell_shows_the_worst_of_several_verdicts_whatever_their_order(candidate, worse, better):
    expected = [(str(worse), f"found {worse}")]
    assert answers(candidate, better, worse) == expected
    assert answers(candidate, worse, better, better) == expected


def test_an_open_ban_does_not_hide_behind_one_that_holds():
    raw = read(shipped("river-logger")).model_dump()
    raw["bans"] = [{"element": element, "limit_ppm": 1000, "reason": "list"} for element in ("Sb", "Pb")]
    candidate = decide(from_raw(raw)).candidates[0]
    (cell,) = [row for row in drawn(charts.screening_grid([candidate])) if row["rule"] == "Customer ban"]
    assert cell["cell"] == "open"
    assert "brings lead into the finished joint" in cell["reason"]


def axis(decision, candidates):
    """Return the ends of the temperature axis, degC."""
    layers = charts.melting_ranges(decision, candidates).to_dict()["layer"]
    return tuple(layers[0]["encoding"]["x"]["scale"]["domain"])


def test_the_melting_axis_spans_the_alloys_where_the_brief_has_no_limits():
    decision = decide(from_raw({"title": "nothing known"}))
    shown = [entry for entry in decision.candidates if entry.alloy.id in ("SAC305", "Sn-37Pb")]
    assert len(shown) == 2
    figures = [entry.alloy.of(name).value for entry in shown for name in ("solidus_c", "liquidus_c")]
    assert axis(decision, shown) == (min(figures) - 12, max(figures) + 12)


def test_the_melting_axis_reaches_the_limits():
    decision = decide(read(shipped("skin-patch")))
    low, high = axis(decision, decision.admitted[:1])
    limits = [charts.liquidus_limit_c(decision), charts.onset_limit_c(decision)]
    assert low <= min(limits) - 12
    assert high >= max(limits) + 12


def test_a_melting_chart_of_no_alloy_and_no_limit_is_drawn():
    low, high = axis(decide(from_raw({"title": "nothing known"})), [])
    assert low < high
