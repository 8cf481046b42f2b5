"""Class, cycling and corrosion: every branch of two rules of practice."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector import catalogue
from selector.brief import changed, from_raw
from selector.composition import parse
from selector.durability.duty import class_and_cycling, corrosion
from selector.verdict import Outcome

RANK = {Outcome.FAIL: 0, Outcome.UNKNOWN: 1, Outcome.PASS: 2}
CALM = {"ipc_class": 2, "cyclic_range_k": 80, "maximum_c": 60}


def alloy(name):
    return catalogue.load().find(name)


def made_of(spelling):
    return dataclasses.replace(alloy("SAC305"), id=spelling, composition=parse(spelling), names=())


def brief(ipc_class="unknown", overrides=(), use=None, **service):
    return from_raw(
        {"title": "t", "ipc_class": ipc_class, "service": service, "use": use or {}, "overrides": list(overrides)}
    )


def override(name):
    return {"rule": "class_and_cycling", "alloy": name, "reason": "tested for 3000 cycles", "author": "bench"}


# Class and cycling


@pytest.mark.parametrize("name", ["SAC305", "Sn-37Pb", "In-48Sn", "Sn-3.4Ag-4.8Bi"])
def test_other_grades_are_not_judged(name):
    verdict = class_and_cycling(brief(3, cyclic_range_k=150, maximum_c=150), alloy(name))
    assert (verdict.outcome, verdict.edits) == (Outcome.NOT_APPLICABLE, ())


def test_five_per_cent_bismuth_is_not_rich_and_more_is():
    hard = brief(3)
    assert class_and_cycling(hard, made_of("Sn-5Bi")).outcome is Outcome.NOT_APPLICABLE
    verdict = class_and_cycling(hard, made_of("Sn-5.01Bi"))
    assert (verdict.outcome, verdict.measured.value) == (Outcome.FAIL, 5.01)


def test_calm_use_passes():
    verdict = class_and_cycling(brief(**CALM), alloy("Sn-58Bi"))
    assert (verdict.outcome, verdict.measured.value, verdict.measured.unit) == (Outcome.PASS, 58, "wt% Bi")


def test_the_limits_themselves_pass():
    assert class_and_cycling(brief(2, cyclic_range_k=100, maximum_c=100), alloy("Sn-58Bi")).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("field", "value", "path", "edit", "change"),
    [
        ("ipc_class", 3, "ipc_class", 2, -1),
        ("cyclic_range_k", 120, "service.cyclic_range_k", 100, -20),
        ("maximum_c", 125, "service.maximum_c", 100, -25),
    ],
)
def test_each_hard_use_fails_and_its_edit_passes(field, value, path, edit, change):
    asked = brief(**{**CALM, field: value})
    verdict = class_and_cycling(asked, alloy("Sn-58Bi"))
    assert verdict.outcome is Outcome.FAIL
    assert [(e.path, e.value, e.change) for e in verdict.edits] == [(path, edit, change)]
    assert f"{value:g}" in verdict.reason
    assert class_and_cycling(changed(asked, verdict.edits), alloy("Sn-58Bi")).outcome is Outcome.PASS


def test_all_hard_uses_are_named_together():
    asked = brief(3, cyclic_range_k=160, maximum_c=125)
    verdict = class_and_cycling(asked, alloy("Sn-58Bi"))
    assert len(verdict.edits) == 3
    assert all(name in verdict.reason for name in ("product class 3", "cyclic range 160 K", "service maximum 125 degC"))
    assert class_and_cycling(changed(asked, verdict.edits), alloy("Sn-58Bi")).outcome is Outcome.PASS


def test_all_edits_together_keep_the_strictest_cyclic_range():
    asked = brief(2, minimum_c=-40, maximum_c=125, cyclic_range_k=160)
    verdict = class_and_cycling(asked, alloy("Sn-58Bi"))
    assert class_and_cycling(changed(asked, verdict.edits), alloy("Sn-58Bi")).outcome is Outcome.PASS


def test_a_cooler_maximum_narrows_a_cyclic_range_that_no_longer_fits():
    asked = brief(2, minimum_c=30, maximum_c=125, cyclic_range_k=90)
    verdict = class_and_cycling(asked, alloy("Sn-58Bi"))
    assert verdict.outcome is Outcome.FAIL
    after = changed(asked, verdict.edits)
    assert (after.service.maximum_c, after.service.cyclic_range_k) == (100, 70)
    assert class_and_cycling(after, alloy("Sn-58Bi")).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("field", "threshold"),
    [
        ("ipc_class", "product class at most 2"),
        ("cyclic_range_k", "cyclic range at most 100 K"),
        ("maximum_c", "service maximum at most 100 degC"),
    ],
)
def test_each_unknown_is_not_settled_and_names_its_threshold(field, threshold):
    verdict = class_and_cycling(brief(**{**CALM, field: "unknown"}), alloy("Sn-58Bi"))
    assert (verdict.outcome, verdict.threshold) == (Outcome.UNKNOWN, f"holds with {threshold}")


def test_a_known_fail_counts_more_than_an_unknown():
    assert class_and_cycling(brief(3), alloy("Sn-58Bi")).outcome is Outcome.FAIL


@pytest.mark.parametrize("fields", [{**CALM, "ipc_class": 3}, {}])
@pytest.mark.parametrize("name", ["Bi-42Sn", "bi-42sn", "58/42", "Tin-Bismuth eutectic"])
def test_an_override_passes_with_its_reason(fields, name):
    verdict = class_and_cycling(brief(**fields, overrides=[override("SAC305"), override(name)]), alloy("Sn-58Bi"))
    assert verdict.outcome is Outcome.PASS
    assert verdict.cautions == ("rule set aside by bench: tested for 3000 cycles",)


def test_an_override_of_another_alloy_changes_nothing():
    asked = brief(3, overrides=[override("Sn-40Bi")])
    assert class_and_cycling(asked, alloy("Sn-58Bi")).outcome is Outcome.FAIL


def test_an_override_that_is_not_needed_says_nothing():
    assert class_and_cycling(brief(**CALM, overrides=[override("Bi-42Sn")]), alloy("Sn-58Bi")).cautions == ()


@pytest.mark.parametrize("name", ["Sn-58Bi", "Sn42Bi58"])
def test_an_override_is_found_by_any_spelling(name):
    assert class_and_cycling(brief(3, overrides=[override(name)]), alloy("Sn-58Bi")).outcome is Outcome.PASS


def test_the_edits_of_a_fail_with_unknowns_turn_it_into_a_pass():
    asked = brief(3)
    edits = class_and_cycling(asked, alloy("Sn-58Bi")).edits
    assert class_and_cycling(changed(asked, edits), alloy("Sn-58Bi")).outcome is Outcome.PASS


demands = st.one_of(st.just("unknown"), st.integers(0, 200))


@given(st.sampled_from(["unknown", 1, 2, 3]), demands, demands, st.integers(0, 200))
def test_hotter_service_never_answers_better(ipc_class, span, service, hotter):
    def outcome(maximum):
        return class_and_cycling(brief(ipc_class, cyclic_range_k=span, maximum_c=maximum), alloy("Sn-58Bi")).outcome

    if service == "unknown":
        assert outcome(service) is not Outcome.PASS
        return
    service, hotter = sorted((service, hotter))
    assert RANK[outcome(hotter)] <= RANK[outcome(service)]


# Corrosion

WET = {"sweat_or_chloride": True, "sealed": False}


@pytest.mark.parametrize("name", ["SAC305", "Sn-58Bi", "Sn-37Pb"])
def test_alloys_without_indium_and_zinc_are_not_judged(name):
    assert corrosion(brief(use=WET), alloy(name)).outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize(("spelling", "judged"), [("Sn-0.99In", False), ("Sn-1In", True), ("Sn-0.09Zn", False),
                                                  ("Sn-0.1Zn", True)])  # fmt: skip
def test_traces_are_not_judged(spelling, judged):
    assert (corrosion(brief(use=WET), made_of(spelling)).outcome is not Outcome.NOT_APPLICABLE) is judged


@pytest.mark.parametrize(
    ("name", "content", "element", "limit"),
    [
        ("In-48Sn", 52, "In", 10),
        ("Sn-20In-2.8Ag", 20, "In", 10),
        ("Sn-9Zn", 9, "Zn", 1),
        ("In-46Sn-1.8Zn", 52.2, "In", 10),
    ],
)
def test_sweat_on_an_unsealed_joint_fails_and_sealing_it_passes(name, content, element, limit):
    asked = brief(use=WET)
    verdict = corrosion(asked, alloy(name))
    assert verdict.outcome is Outcome.FAIL
    assert f"{content:g} wt% {element}" in verdict.reason
    assert (verdict.limit, verdict.margin) == (limit, pytest.approx(limit - content))
    assert (verdict.measured.value, verdict.measured.unit) == (content, f"wt% {element}")
    assert [(edit.path, edit.value) for edit in verdict.edits] == [("use.sealed", True)]
    after = corrosion(changed(asked, verdict.edits), alloy(name))
    assert after.outcome is Outcome.PASS
    assert f"{element} corrodes" in after.cautions[0]


@pytest.mark.parametrize(
    ("spelling", "outcome"),
    [
        ("Sn-9.99In", Outcome.UNKNOWN),
        ("Sn-10In", Outcome.FAIL),
        ("Sn-0.99Zn", Outcome.UNKNOWN),
        ("Sn-1Zn", Outcome.FAIL),
    ],
)
def test_between_watch_and_stop_no_figure_decides(spelling, outcome):
    asked = brief(use=WET)
    verdict = corrosion(asked, made_of(spelling))
    assert verdict.outcome is outcome
    assert corrosion(changed(asked, verdict.edits), made_of(spelling)).outcome is Outcome.PASS
    if outcome is Outcome.UNKNOWN:
        assert "no figure decides" in verdict.reason
        assert verdict.threshold == "holds if the joints are sealed from sweat and chloride"


@pytest.mark.parametrize("sealed", [True, False, "unknown"])
def test_a_dry_use_passes_with_a_caution(sealed):
    verdict = corrosion(brief(use={"sweat_or_chloride": False, "sealed": sealed}), alloy("In-48Sn"))
    assert verdict.outcome is Outcome.PASS
    assert "humid" in verdict.cautions[0]


@pytest.mark.parametrize("exposed", [True, "unknown"])
def test_a_sealed_joint_passes_with_a_caution(exposed):
    verdict = corrosion(brief(use={"sweat_or_chloride": exposed, "sealed": True}), alloy("Sn-9Zn"))
    assert verdict.outcome is Outcome.PASS
    assert "seal" in verdict.cautions[0]


@pytest.mark.parametrize(("exposed", "sealed"), [("unknown", False), (True, "unknown"), ("unknown", "unknown")])
def test_unknown_exposure_or_sealing_is_not_settled(exposed, sealed):
    asked = brief(use={"sweat_or_chloride": exposed, "sealed": sealed})
    verdict = corrosion(asked, alloy("In-48Sn"))
    assert verdict.outcome is Outcome.UNKNOWN
    assert "not known" in verdict.reason
    assert corrosion(changed(asked, verdict.edits), alloy("In-48Sn")).outcome is Outcome.PASS


def test_a_fail_by_indium_is_not_reported_as_zinc():
    verdict = corrosion(brief(use=WET), made_of("In-48Sn-0.5Zn"))
    assert verdict.outcome is Outcome.FAIL
    assert verdict.margin < 0
