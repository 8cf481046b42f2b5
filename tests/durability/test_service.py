"""Service heat against the remelt onset, on temperatures worked by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.brief import changed, from_raw
from selector.catalogue.evidence import Evidence, nothing
from selector.durability.service import highest_service_c, homologous, required_onset_c, service_heat
from selector.verdict import Outcome, Standing, Verdict, standing

RANK = {Outcome.FAIL: 0, Outcome.UNKNOWN: 1, Outcome.PASS: 2}


def onset(low, high=None, value=None, cautions=()):
    return Evidence("remelt_onset_c", "degC", value or low, low, high or low, "high", "computed", "some-paper",
                    cautions=cautions)  # fmt: skip


def brief(maximum_c="unknown", ipc_class="unknown"):
    return from_raw({"title": "t", "ipc_class": ipc_class, "service": {"maximum_c": maximum_c}})


def test_homologous_is_a_ratio_of_kelvins():
    assert homologous(26.85, 126.85) == pytest.approx(0.75)
    assert homologous(139, 139) == 1
    assert homologous(140, 139) > 1


@pytest.mark.parametrize("temperatures", [(-274, 139), (85, -274)])
def test_homologous_below_absolute_zero_is_refused(temperatures):
    with pytest.raises(ValueError, match="absolute zero"):
        homologous(*temperatures)


def test_required_onset_takes_the_stricter_of_ratio_and_margin():
    # 125 degC = 398.15 K; 398.15 / 0.9 = 442.39 K = 169.24 degC; 125 + 40 = 165 degC.
    assert required_onset_c(125, 0.9) == pytest.approx(169.239, abs=0.001)
    assert required_onset_c(125, 0.9, 40) == pytest.approx(169.239, abs=0.001)
    assert required_onset_c(125, 0.9, 60) == 185
    with pytest.raises(ValueError, match="absolute zero"):
        required_onset_c(-300, 0.9)


def test_highest_service_takes_the_stricter_of_ratio_and_margin():
    # 118 degC = 391.15 K; 0.9 * 391.15 = 352.035 K = 78.885 degC; 118 - 40 = 78 degC.
    assert highest_service_c(118, 0.9) == pytest.approx(78.885, abs=0.001)
    assert highest_service_c(118, 0.9, 40) == 78
    with pytest.raises(ValueError, match="absolute zero"):
        highest_service_c(-300, 0.9)


ratios = st.floats(0.5, 1)
margins = st.floats(0, 100)


@given(st.floats(-200, 400), ratios, margins)
def test_highest_service_is_the_inverse_of_the_required_onset(service_c, ratio, margin_k):
    assert highest_service_c(required_onset_c(service_c, ratio, margin_k), ratio, margin_k) == pytest.approx(
        service_c, abs=1e-6
    )


@given(st.floats(0, 600), ratios, margins)
def test_the_required_onset_is_the_inverse_of_the_highest_service(onset_c, ratio, margin_k):
    assert required_onset_c(highest_service_c(onset_c, ratio, margin_k), ratio, margin_k) == pytest.approx(
        onset_c, abs=1e-6
    )


# Outcomes


def settled(asked, evidence):
    verdict = service_heat(asked, evidence)
    assert verdict.edits
    assert service_heat(changed(asked, verdict.edits), evidence).outcome is Outcome.PASS
    return verdict


def test_pass_with_its_margin():
    verdict = service_heat(brief(125, 2), onset(217, cautions=("a trace",)))
    assert verdict.outcome is Outcome.PASS
    assert (verdict.limit, verdict.margin) == (pytest.approx(169.239, abs=0.001), pytest.approx(47.761, abs=0.001))
    assert "0.812" in verdict.reason  # 398.15 / 490.15
    assert (verdict.edits, verdict.threshold, verdict.cautions) == ((), "", ("a trace",))
    assert "some-paper" in verdict.source
    assert "policy" in verdict.source


def test_between_alert_and_stop_is_not_settled():
    # Class 2 at 85 degC: alert max(358.15/0.9 - 273.15, 85 + 40) = 125; stop 358.15/0.95 - 273.15 = 103.85.
    verdict = settled(brief(85, 2), onset(118))
    assert verdict.outcome is Outcome.UNKNOWN
    assert (verdict.limit, verdict.margin) == (125, -7)
    assert "125.0 degC" in verdict.threshold or "125 degC" in verdict.threshold
    assert [service_heat(brief(85, 2), onset(c)).outcome for c in (103.84, 103.86, 124.9, 125)] == [
        Outcome.FAIL,
        Outcome.UNKNOWN,
        Outcome.UNKNOWN,
        Outcome.PASS,
    ]


def test_above_the_stop_fails_and_names_the_service_that_would_pass():
    # Class 2 at 100 degC: stop 373.15/0.95 - 273.15 = 119.64 > 118; the cap is min(78.885, 118 - 40).
    verdict = settled(brief(100, 2), onset(118))
    assert verdict.outcome is Outcome.FAIL
    (edit,) = verdict.edits
    assert (edit.path, edit.value, edit.change, edit.unit) == ("service.maximum_c", 78.0, -22.0, "K")


def test_class_3_is_stricter():
    # Class 3 at 60 degC: alert max(333.15/0.85 - 273.15, 60 + 60) = 120; stop 333.15/0.9 - 273.15 = 97.02.
    assert service_heat(brief(60, 2), onset(118)).outcome is Outcome.PASS
    assert settled(brief(60, 3), onset(118)).outcome is Outcome.UNKNOWN
    assert service_heat(brief(60, 3), onset(97.0)).outcome is Outcome.FAIL
    assert service_heat(brief(60, 3), onset(97.1)).outcome is Outcome.UNKNOWN
    for evidence in (onset(97), onset(118), onset(130)):
        assert service_heat(brief(60, 1), evidence).outcome is service_heat(brief(60, 2), evidence).outcome


@pytest.mark.parametrize(
    ("low", "high", "outcome"),
    [
        (125, 140, Outcome.PASS),
        (110, 140, Outcome.UNKNOWN),  # the alert at 125 lies inside
        (60, 143, Outcome.UNKNOWN),
        (90, 110, Outcome.UNKNOWN),  # the stop at 103.85 lies inside
        (90, 100, Outcome.FAIL),
    ],
)
def test_the_interval_of_the_onset_counts(low, high, outcome):
    verdict = service_heat(brief(85, 2), onset(low, high))
    assert verdict.outcome is outcome
    assert f"{358.15 / (low + 273.15):.3f}" in verdict.reason  # the ratio at the unfavourable end
    assert verdict.margin == low - 125


def test_unknown_service_names_the_heat_that_it_allows():
    verdict = service_heat(brief(ipc_class=2), onset(118))
    assert (verdict.outcome, "78 degC" in verdict.threshold) == (Outcome.UNKNOWN, True)
    assert "service maximum" in verdict.reason
    # Nothing known: as strict as class 3, min(0.85 * 391.15 - 273.15 = 59.33, 118 - 60).
    assert "58 degC" in service_heat(brief(), onset(118)).threshold


def test_unknown_class_passes_where_class_3_would():
    verdict = service_heat(brief(45), onset(217))
    assert verdict.outcome is Outcome.PASS
    assert "class 3" in verdict.reason


def test_unknown_class_is_not_settled_where_class_3_would_not_pass():
    for service in (58.1, 70):
        verdict = service_heat(brief(service), onset(118))
        assert verdict.outcome is Outcome.UNKNOWN
        assert "product class" in verdict.reason
        assert "58 degC" in verdict.threshold
    assert service_heat(brief(58), onset(118)).outcome is Outcome.PASS


def test_unknown_onset():
    verdict = service_heat(brief(60, 2), nothing("remelt_onset_c", "degC"))
    assert (verdict.outcome, verdict.threshold, verdict.measured) == (Outcome.UNKNOWN, "a measured solidus", None)


def test_onset_known_only_by_its_ends():
    bounds = Evidence("remelt_onset_c", "degC", None, 60, 143, "high", "computed", "x")
    verdict = service_heat(brief(45, 2), bounds)
    assert (verdict.outcome, verdict.measured.value, verdict.measured.low) == (Outcome.UNKNOWN, None, 60)


def test_no_service_of_the_brief_is_cold_enough():
    # Onset -150 degC: the cap would be -190 (class 2) and -210 (class 3), which no brief can hold.
    assert settled(brief(20, 2), onset(-150)).edits[0].value == -190
    verdict = service_heat(brief(20, 3), onset(-150))
    assert (verdict.outcome, verdict.edits) == (Outcome.FAIL, ())


def test_fail_and_unknown_come_before_pass():
    def rows(*outcomes):
        return [Verdict("r", outcome, "", "") for outcome in outcomes]

    assert standing(rows(Outcome.PASS, Outcome.NOT_APPLICABLE, Outcome.DUTY)) is Standing.ADMITTED
    assert standing(rows(Outcome.PASS, Outcome.UNKNOWN)) is Standing.UNDECIDED
    assert standing(rows(Outcome.UNKNOWN, Outcome.FAIL, Outcome.PASS)) is Standing.RULED_OUT
    assert standing([]) is Standing.ADMITTED


# What holds for every service

temperatures = st.integers(-500, 4000).map(lambda tenths: tenths / 10)
widths = st.integers(0, 500).map(lambda tenths: tenths / 10)
classes = st.sampled_from([1, 2, 3, "unknown"])


@given(temperatures, temperatures, classes, temperatures, widths)
def test_hotter_service_never_answers_better(service, hotter, ipc_class, low, width):
    service, hotter = sorted((service, hotter))
    cool, hot = (service_heat(brief(c, ipc_class), onset(low, low + width)) for c in (service, hotter))
    assert RANK[hot.outcome] <= RANK[cool.outcome]


@given(temperatures, temperatures, classes, temperatures)
def test_a_higher_onset_never_answers_worse(low, higher, ipc_class, service):
    low, higher = sorted((low, higher))
    one, other = (service_heat(brief(service, ipc_class), onset(c)) for c in (low, higher))
    assert RANK[one.outcome] <= RANK[other.outcome]


@given(temperatures, st.sampled_from([(1, 2), (2, 3)]), temperatures)
def test_a_stricter_class_never_answers_better(service, known_classes, low):
    looser, stricter = (service_heat(brief(service, c), onset(low)) for c in known_classes)
    assert RANK[stricter.outcome] <= RANK[looser.outcome]


@given(temperatures, temperatures)
def test_an_unknown_class_passes_only_where_class_3_does(service, low):
    open_, strict = (service_heat(brief(service, c), onset(low)) for c in ("unknown", 3))
    assert (open_.outcome is Outcome.PASS) == (strict.outcome is Outcome.PASS)


def test_an_unknown_class_fails_where_every_class_does():
    assert all(service_heat(brief(300, c), onset(118)).outcome is Outcome.FAIL for c in (1, 2, 3))
    assert service_heat(brief(300), onset(118)).outcome is Outcome.FAIL


@given(temperatures, st.sampled_from([1, 2, 3]), temperatures)
def test_the_edit_leaves_nothing_below_the_alert(service, ipc_class, low):
    asked = brief(service, ipc_class)
    verdict = service_heat(asked, onset(low))
    if verdict.outcome is Outcome.PASS or not verdict.edits:
        assert verdict.outcome is Outcome.PASS or low < 0
        return
    after = service_heat(changed(asked, verdict.edits), onset(low))
    assert after.margin >= 0  # as rounded; the next test is strict


@pytest.mark.parametrize(
    ("ipc_class", "low"),
    [
        (3, 156.85),  # 430 K; 0.85 * 430 = 365.5 K = 92.35 degC
        (2, 0.1),  # 0.1 - 40 = -39.9 degC
    ],
)
def test_the_edit_passes_where_the_cap_has_two_decimals(ipc_class, low):
    settled(brief(300, ipc_class), onset(low))


def test_the_edit_narrows_a_cyclic_range_that_no_longer_fits():
    fields = {"maximum_c": 120, "minimum_c": -40, "cyclic_range_k": 150}
    verdict = settled(from_raw({"title": "t", "ipc_class": 2, "service": fields}), onset(118))
    assert [(edit.path, edit.value) for edit in verdict.edits] == [
        ("service.maximum_c", 78.0),
        ("service.cyclic_range_k", 118.0),
    ]


def test_no_edit_brings_the_maximum_below_the_minimum():
    asked = from_raw({"title": "t", "ipc_class": 2, "service": {"maximum_c": 120, "minimum_c": 90}})
    verdict = service_heat(asked, onset(118))
    assert (verdict.outcome, verdict.edits) == (Outcome.FAIL, ())
