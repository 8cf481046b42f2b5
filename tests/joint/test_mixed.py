"""Paste on a ball: the balance closes, the bound grows with the peak, the zone and the core are told apart."""

import functools
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.compliance.context import context
from selector.compliance.joints import evaluate_joint
from selector.compliance.rulesets import rule
from selector.composition import parse
from selector.errors import InputError
from selector.joint.contributors import Contributor, joint, mass_of
from selector.joint.melted import CORE, WHOLE, ZONE, joint_melting, zones_melting
from selector.joint.mixed import (
    MixingBound,
    dissolved_share,
    full_mixing_ratio,
    mixed_joint,
    mixed_volume_share,
    mixing_bound,
)
from selector.verdict import Outcome

PASTE_MG, BALL_MG = Fraction("0.0468619"), Fraction("0.3521215")
ALLOYS = ["SAC305", "Sn-58Bi", "Sn-37Pb", "In-48Sn", "Au", "Sn-20In-2.8Ag"]
masses = st.fractions(min_value=Fraction(1, 1000), max_value=10, max_denominator=10_000)


def part(name, alloy, mass_mg):
    return Contributor(name, parse(alloy), Fraction(mass_mg))


PASTE, BALL = part("paste", "Sn-58Bi", PASTE_MG), part("ball", "SAC305", BALL_MG)


@functools.cache
def bound(peak_c):
    return mixing_bound(PASTE, BALL, peak_c)


@settings(max_examples=50)
@given(st.lists(st.tuples(st.sampled_from(ALLOYS), masses), min_size=1, max_size=5), st.integers(0, 8))
def test_every_element_is_found_again(parts, eighths):
    entries = [part(f"part {k}", alloy, mass) for k, (alloy, mass) in enumerate(parts)]
    ball = part("ball", "SAC305", "0.3")
    made = mixed_joint(entries[0], ball, entries[1:], dissolved=eighths / 8)
    for composition, members in ((made.whole, made.contributors), (made.zone_composition, made.zone)):
        total = mass_of(members)
        for element in composition.elements:
            brought = sum(entry.mass_mg * entry.composition.wt(element) for entry in members)
            assert abs(composition.wt(element) * total - brought) <= Fraction(1, 10**12)
        assert sum(wt for _, wt in composition.parts) == 100
    left = Fraction(0) if made.core is None else made.core.mass_mg
    assert mass_of(made.zone) + left == mass_of(made.contributors)


def test_zone_and_core_by_hand():
    made = mixed_joint(part("paste", "Sn-58Bi", 1), part("ball", "SAC305", 4), dissolved=0.25)
    assert float(made.zone_composition.wt("Bi")) == 29
    assert float(made.whole.wt("Bi")) == pytest.approx(11.6)
    assert (made.zone_share, made.core.mass_mg) == (0.4, 3)
    full = mixed_joint(part("paste", "Sn-58Bi", 1), part("ball", "SAC305", 4))
    assert full.zone_composition == full.whole
    assert (full.core, full.zone_share) == (None, 1)


def test_the_finish_of_the_package_waits_behind_the_ball():
    gold = part("package gold", "Au", "0.001")
    partly = mixed_joint(PASTE, BALL, package_side=[gold], dissolved=0.5)
    assert "Au" not in partly.zone_composition.elements
    assert "Au" in partly.whole.elements
    assert "Au" in mixed_joint(PASTE, BALL, package_side=[gold]).zone_composition.elements
    assert mixed_joint(PASTE, None, [gold]).zone_composition == joint([PASTE, gold])


def test_a_plain_paste_joint_is_all_zone():
    made = mixed_joint(PASTE)
    assert (made.whole, made.zone_share, made.dissolved, made.core) == (parse("Sn-58Bi"), 1, 1, None)


def test_the_dissolved_share_has_its_ends_and_the_ratio_for_all_of_it():
    assert dissolved_share(1, 58, 1, 58) == 0
    assert dissolved_share(1, 58, 10, 70) == 0
    assert dissolved_share(1, 58, 1, 20) == 1
    ratio = full_mixing_ratio(58, 21.1111, 8.56, 7.38)
    assert ratio == pytest.approx(0.493, abs=5e-4)
    assert dissolved_share(ratio * 8.56, 58, 7.38, 21.1111) == pytest.approx(1)


@given(st.floats(0.01, 0.1), st.floats(5, 40), st.floats(1.001, 1.5))
def test_more_paste_and_leaner_liquid_dissolve_more(paste, liquid, factor):
    base = dissolved_share(paste, 58, 1.0, liquid)
    assert dissolved_share(paste * factor, 58, 1.0, liquid) >= base
    assert dissolved_share(paste, 58, 1.0, liquid / factor) >= base
    assert mixed_volume_share(0.1, 1.0, base) <= mixed_volume_share(0.1, 1.0, min(1.0, base * factor))


def test_the_three_readings_span_the_bound_of_the_notes():
    found = bound(190.0)
    assert found.by_line == pytest.approx(0.2325, abs=5e-4)
    assert found.by_fit == pytest.approx(0.2965, abs=5e-4)
    # The engine's liquidus lies between: leaner liquid at first, and it leaves the last crystals of Cu6Sn5 out.
    assert found.by_engine == pytest.approx(0.18, abs=0.02)
    assert found.span == (found.by_engine, found.by_fit)
    assert "upper bound" in found.notes[0]


def test_a_hotter_peak_dissolves_more_of_the_ball():
    one, other = bound(170.0), bound(190.0)
    assert one.by_engine < other.by_engine
    assert one.by_line < other.by_line
    assert one.by_fit < other.by_fit


def test_above_the_ball_all_of_it_dissolves_and_the_lines_stop():
    found = bound(225.0)
    assert found.by_engine == 1
    assert (found.by_line, found.by_fit) == (None, None)
    assert any("straight line does not hold" in note for note in found.notes)
    assert MixingBound(225.0, None, None, None, ()).span is None


def test_a_peak_that_does_not_melt_the_paste_is_refused():
    with pytest.raises(InputError, match="peak_c: does not melt the paste"):
        mixing_bound(PASTE, BALL, 130.0)


def test_other_alloys_have_the_engine_alone_and_gold_none():
    indium = mixing_bound(part("paste", "In-48Sn", "0.04"), BALL, 150.0)
    assert indium.by_engine is not None
    assert indium.by_line is indium.by_fit is None
    assert any("hold for bismuth pastes" in note for note in indium.notes)
    golden = mixing_bound(PASTE, part("ball", "Au-20Sn", "0.3"), 190.0)
    assert golden.by_engine is None
    assert any("not computed" in note and "Au" in note for note in golden.notes)


def test_a_joint_is_judged_by_its_bismuth_rich_zone():
    made = mixed_joint(PASTE, BALL, dissolved=0.23)
    found = joint_melting(made, at_equilibrium=False)
    assert [zone.name for zone in found.zones] == [WHOLE, ZONE, CORE]
    zone = found.of(ZONE)
    assert zone.melting.last_liquid_c == pytest.approx(138, abs=2)
    assert zone.melting.first_liquid_mass > found.of(WHOLE).melting.first_liquid_mass
    half = zone.melting.half_width_k
    assert zone.onset_c == (zone.melting.onset_low_c - half, zone.melting.onset_high_c + half)
    assert half >= 3
    assert found.of(CORE).onset_c[0] > 210
    assert found.first.onset_c[0] < 138


def test_the_solidus_of_the_whole_is_not_where_it_remelts():
    found = zones_melting({WHOLE: mixed_joint(PASTE, BALL).whole})
    # Homogenised, the joint would stay solid to 190 degC: as frozen it does not.
    whole = found.of(WHOLE).melting
    assert whole.solidus_c > 180
    assert whole.remelt_onset_c == pytest.approx(137, abs=1)
    assert found.first is found.of(WHOLE)


def test_what_is_not_covered_is_said():
    found = zones_melting({"golden": parse("Sn-10Au"), "plain": parse("Sn-58Bi")}, at_equilibrium=False)
    assert found.of("golden").melting is None
    assert "Au" in found.of("golden").why
    assert found.of("plain").melting is not None
    assert found.first is None


def test_the_joint_goes_to_the_compliance_floor_as_it_is():
    plating = part("finish of the connector", "Sn-37Pb", "0.002")
    made = mixed_joint(part("paste", "SAC305", PASTE_MG), BALL, [plating])
    use = context(date(2026, 11, 25), equipment="consumer", application="board joint")
    lead, _ = evaluate_joint([rule("EU-ROHS-PB")], made.contributors, use)
    assert lead.measured_ppm == made.whole.ppm("Pb")
    assert lead.outcome is Outcome.FAIL
    assert "brought by finish of the connector" in lead.reason


@pytest.mark.parametrize(
    ("call", "where"),
    [
        (lambda: mixed_joint(PASTE, BALL, dissolved=1.2), "dissolved_share"),
        (lambda: mixed_joint(PASTE, BALL, dissolved=-0.1), "dissolved_share"),
        (lambda: mixed_joint(PASTE, part("paste", "SAC305", 1)), "paste"),
        (lambda: mixed_joint(part("paste", "SAC305", 0)), "paste"),
        (lambda: dissolved_share(1, 58, 0, 20), "ball_mass_mg"),
        (lambda: dissolved_share(1, 58, 1, 0), "liquid_bismuth_wt"),
        (lambda: dissolved_share(1, 158, 1, 20), "paste_bismuth_wt"),
        (lambda: full_mixing_ratio(20, 58, 8.56, 7.38), "liquid_bismuth_wt"),
        (lambda: full_mixing_ratio(58, 0, 8.56, 7.38), "liquid_bismuth_wt"),
        (lambda: mixed_volume_share(0, 0, 0.5), "paste_volume_mm3"),
        (lambda: mixing_bound(PASTE, BALL, 463.15), "peak_c"),
    ],
)
def test_what_cannot_be_names_its_input(call, where):
    with pytest.raises(InputError) as caught:
        call()
    assert where in {fault.where for fault in caught.value.faults}


def test_a_mixture_of_two_liquids_has_no_bound_where_it_once_counted_as_solid():
    found = mixing_bound(part("paste", "Sn-58Bi", 1), part("ball", "Zn-40Bi", 1), 190)
    assert found.by_engine is None
    assert any("two liquids" in note for note in found.notes)
