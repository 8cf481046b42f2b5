"""Straight lines through the liquidus: ends, inverses, and where they stop."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.composition import parse
from selector.errors import InputError
from selector.joint.lines import (
    FIT_HOLDS_TO_WT,
    fit_bismuth_wt,
    fit_liquidus_c,
    fit_of,
    fit_pasty_range_k,
    lever_liquid_share,
    line_bismuth_wt,
    line_liquidus_c,
)


def test_the_line_runs_from_end_to_end():
    assert line_bismuth_wt(220) == 0
    assert line_bismuth_wt(139) == pytest.approx(57)
    assert line_liquidus_c(np.array([0, 57])) == pytest.approx([220, 139])


@given(st.floats(139, 220))
def test_the_line_is_its_own_inverse(peak):
    assert line_liquidus_c(line_bismuth_wt(peak)) == pytest.approx(peak, rel=1e-12)


@given(st.floats(139, 219), st.floats(0.01, 1))
def test_a_hotter_peak_takes_less_bismuth(peak, step):
    assert line_bismuth_wt(peak + step) < line_bismuth_wt(peak)


@pytest.mark.parametrize("element", ["Ag", "Bi", "Cu", "In", "Pb", "Zn"])
def test_these_elements_lower_the_fit_and_it_stops_at_their_limit(element):
    name, most = f"{element.lower()}_wt", FIT_HOLDS_TO_WT[element]
    assert fit_liquidus_c(**{name: most}) < fit_liquidus_c(**{name: most / 2}) < fit_liquidus_c() == 232
    with pytest.raises(InputError, match=f"{name}: is more than the linear fit holds for"):
        fit_liquidus_c(**{name: most * 1.001})


def test_antimony_raises_the_fit():
    assert fit_liquidus_c(sb_wt=5) == pytest.approx(232 + 13.5)


def test_the_fit_of_a_composition():
    assert fit_of(parse("SAC305")) == pytest.approx(218.75)
    assert fit_of(parse("Sn-58Bi")) is None
    assert fit_of(parse("Sn-1Ga")) is None
    assert fit_bismuth_wt(190, parse("SAC305")) == pytest.approx(28.75 / 1.6)
    assert fit_bismuth_wt(219, parse("SAC305")) is None
    assert fit_bismuth_wt(140, parse("SAC305")) is None
    assert fit_bismuth_wt(150, parse("Sn-58Bi")) is None


def test_the_lever_rule_both_ways():
    assert lever_liquid_share(29, 21, 57) == pytest.approx(8 / 36)
    assert lever_liquid_share(57, 21, 57) == 1
    assert lever_liquid_share(10, 20, 5) == pytest.approx(10 / 15)


@pytest.mark.parametrize(
    ("call", "given", "where"),
    [
        (line_bismuth_wt, {"peak_c": 138}, "peak_c"),
        (line_bismuth_wt, {"peak_c": 221}, "peak_c"),
        (line_bismuth_wt, {"peak_c": 463.15}, "peak_c"),
        (line_liquidus_c, {"bismuth_wt": 58}, "bismuth_wt"),
        (line_liquidus_c, {"bismuth_wt": -1}, "bismuth_wt"),
        (fit_liquidus_c, {"ga_wt": 1}, "ga_wt"),
        (fit_liquidus_c, {"bi_wt": -1}, "bi_wt"),
        (fit_pasty_range_k, {"solidus_c": 230, "bi_wt": 40}, "solidus_c"),
        (lever_liquid_share, {"alloy_wt": 60, "solid_wt": 21, "liquid_wt": 57}, "alloy_wt"),
        (lever_liquid_share, {"alloy_wt": 21, "solid_wt": 21, "liquid_wt": 21}, "alloy_wt"),
    ],
)
def test_outside_is_refused_by_name(call, given, where):
    with pytest.raises(InputError) as caught:
        call(**given)
    assert where in {fault.where for fault in caught.value.faults}
