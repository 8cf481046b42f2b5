"""Two alloys melted together, and traces: mass balance by hand, every fault, and what the melting follows."""

from fractions import Fraction

import pytest

from selector.composition import parse
from selector.errors import InputError
from selector.melting.mixing import blend, blend_curve, trace_curve, with_trace

SAC, BISMUTH = parse("SAC305"), parse("Sn-58Bi")


def wt(alloy):
    return {element: float(share) for element, share in alloy.parts}


def test_a_mixture_by_mass_as_worked_by_hand():
    mixed = blend(SAC, BISMUTH, "0.2")
    assert wt(mixed) == pytest.approx({"Sn": 0.8 * 96.5 + 0.2 * 42, "Bi": 11.6, "Ag": 2.4, "Cu": 0.4})
    assert blend(SAC, BISMUTH, 0) == SAC
    assert blend(SAC, BISMUTH, 1) == BISMUTH
    assert blend(SAC, BISMUTH, Fraction(1, 4)) == blend(BISMUTH, SAC, "0.75")


def test_a_trace_is_a_share_of_the_finished_mixture():
    leaded = with_trace(BISMUTH, {"Pb": 1})
    assert wt(leaded) == pytest.approx({"Bi": 58 * 0.99, "Sn": 42 * 0.99, "Pb": 1})
    assert blend(SAC, BISMUTH, 1, {"Pb": 1}) == leaded
    assert with_trace(BISMUTH, {"Bi": 10}).wt("Bi") == Fraction(58 * 9, 10) + 10
    assert with_trace(BISMUTH, {}) is BISMUTH
    assert with_trace(BISMUTH, {"Pb": 0}) is BISMUTH


@pytest.mark.parametrize("share", [-0.01, 1.01, "2"])
def test_a_share_outside_is_refused(share):
    with pytest.raises(InputError, match=r"share: lies outside the range.*0 to 1"):
        blend(SAC, BISMUTH, share)


@pytest.mark.parametrize("share", ["much", None, True, "1/0", float("nan"), float("inf")])
def test_a_share_that_is_no_number_is_refused(share):
    with pytest.raises(InputError, match=r"share: is not a number"):
        blend(SAC, BISMUTH, share)


@pytest.mark.parametrize(
    ("trace", "told"),
    [
        ({"Pb": -1}, "lies outside the range"),
        ({"Pb": 100}, "lies outside the range"),
        ({"Pb": 60, "Bi": 40}, "lies outside the range"),
        ({"Xx": 1}, "is no element"),
        ({"Pb": "some"}, "trace, Pb: is not a number"),
    ],
)
def test_a_trace_that_cannot_be_is_refused(trace, told):
    with pytest.raises(InputError, match=told):
        with_trace(SAC, trace)


def test_all_faults_of_a_trace_are_told_at_once():
    with pytest.raises(InputError) as raised:
        with_trace(SAC, {"Xx": 1, "Yy": -2})
    assert len(raised.value.faults) == 3


def test_the_curve_of_a_mixture_runs_from_one_alloy_to_the_other():
    told = []
    curve = blend_curve(BISMUTH, parse("Sn"), steps=2, told=told.append)
    assert [point.share for point in curve] == [0, 0.5, 1]
    assert (curve[0].composition, curve[2].composition) == (BISMUTH, parse("Sn"))
    assert told[-1] <= 3
    liquidus = [point.melting.liquidus_c for point in curve]
    assert liquidus == sorted(liquidus)
    # Half and half is Sn-29Bi: still at the eutectic when it freezes, though homogenised it is solid to 138.8 degC.
    assert curve[1].melting.last_liquid_c == pytest.approx(138.8, abs=0.3)
    assert curve[2].melting.remelt_onset_c == pytest.approx(231.9, abs=0.1)


def test_the_curve_of_a_trace_drops_with_lead_in_tin_bismuth():
    curve = trace_curve(BISMUTH, "Pb", 1.0, steps=2)
    assert [point.share for point in curve] == [0, 0.5, 1]
    assert curve[1].composition.wt("Pb") == Fraction(1, 2)
    last = [point.melting.last_liquid_c for point in curve]
    assert last[0] == pytest.approx(138.8, abs=0.3)
    assert 95 < last[1] < 99
    assert 95 < last[2] < 99
    assert curve[1].melting.first_liquid_mass < curve[2].melting.first_liquid_mass


def test_a_mixture_that_is_not_covered_raises():
    with pytest.raises(InputError, match="not covered"):
        blend_curve(SAC, parse("Au-20Sn"), steps=1)
