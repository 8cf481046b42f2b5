"""Form and route: what is offered, what is hardly made, and what the brief allows."""

import dataclasses

import pytest

from selector import catalogue
from selector.brief import changed, from_raw
from selector.process.supply import form, route
from selector.verdict import Outcome


def brief(**process):
    return from_raw({"title": "t", "process": process})


def alloy(name="SAC305", **forms):
    found = catalogue.load().find(name)
    return dataclasses.replace(found, forms={**found.forms, **forms}, forms_source="some-table")


def test_common_form_passes():
    verdict = form(brief(form="wire"), alloy(wire="common"))
    assert (verdict.outcome, verdict.cautions, verdict.edits) == (Outcome.PASS, (), ())
    assert "wire" in verdict.reason
    assert verdict.source == "some-table"


def test_special_form_passes_with_a_caution():
    verdict = form(brief(form="preform"), alloy(preform="special"))
    assert verdict.outcome is Outcome.PASS
    assert "preform is a special order" in verdict.cautions[0]


def test_form_hardly_made_fails_and_names_one_that_is_made():
    brief_ = brief(form="wire")
    made = alloy(paste="no", wire="no", preform="special", bar="common")
    verdict = form(brief_, made)
    assert verdict.outcome is Outcome.FAIL
    assert [(edit.path, edit.value) for edit in verdict.edits] == [("process.form", "preform")]
    assert form(changed(brief_, verdict.edits), made).outcome is Outcome.PASS


def test_form_hardly_made_and_no_other_leaves_no_edit():
    verdict = form(brief(form="wire"), alloy(paste="no", wire="no", preform="unknown", bar="no"))
    assert (verdict.outcome, verdict.edits) == (Outcome.FAIL, ())


def test_unknown_form_is_not_settled():
    verdict = form(brief(form="bar"), alloy(bar="unknown"))
    assert verdict.outcome is Outcome.UNKNOWN
    assert verdict.threshold == "holds if a maker offers it as bar"


@pytest.mark.parametrize(
    ("name", "wanted", "powder", "warned"),
    [
        ("Sn-58Bi", "paste", 5, True),
        ("Sn-58Bi", "paste", 8, True),
        ("Sn-58Bi", "paste", 4, False),
        ("Sn-58Bi", "paste", "unknown", False),
        ("Sn-58Bi", "bar", 5, False),
        ("In-48Sn", "paste", 5, True),
        ("SAC305", "paste", 5, False),
        ("Sn-20In-2.8Ag", "paste", 5, False),  # exactly 20 wt% is not above it
        ("Sn-20Bi-10In", "paste", 5, True),  # bismuth and indium count together
    ],
)
def test_fine_powder_of_reactive_metal_is_watched(name, wanted, powder, warned):
    verdict = form(brief(form=wanted, powder_type=powder), alloy(name, **{wanted: "common"}))
    assert verdict.outcome is Outcome.PASS
    assert any("oxidises" in caution for caution in verdict.cautions) is warned


def test_fine_powder_and_special_order_are_both_watched():
    verdict = form(brief(form="paste", powder_type=6), alloy("Sn-58Bi", paste="special"))
    assert len(verdict.cautions) == 2


def test_reflow_is_the_route_of_a_brief_that_names_none():
    assert route(brief()).outcome is Outcome.PASS
    assert route(brief(routes=["mixed powder", "reflow"])).outcome is Outcome.PASS


@pytest.mark.parametrize("routes", [["mixed powder"], ["transient liquid phase", "undercooled powder"], []])
def test_a_brief_without_reflow_fails_and_its_edit_allows_it(routes):
    brief_ = brief(routes=routes)
    verdict = route(brief_)
    assert verdict.outcome is Outcome.FAIL
    assert all(name in verdict.reason for name in routes or ["no route"])
    after = changed(brief_, verdict.edits)
    assert after.process.routes == (*routes, "reflow")
    assert route(after).outcome is Outcome.PASS
