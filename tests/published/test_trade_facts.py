"""Facts of the trade (common practice) that the calculations must reproduce, each failing when its constant is broken.

No single source: what people on the line say. Each fact is a function that asserts it; a second test breaks the
constant it rests on and expects the fact to fail, so that none holds by accident.
"""

import functools
from dataclasses import replace

import pytest

from selector.catalogue import load
from selector.composition import parse
from selector.joint import lines
from selector.joint.melted import zones_melting
from selector.melting.alloy import melt
from selector.policy import policy
from selector.process import printing, warpage, window


@functools.cache
def melted(*names):
    return melt([parse(name) for name in names], at_equilibrium=False)


def tin_bismuth_reflows_near_170_to_180():
    """Coolest sensible peak to hottest joint of Sn-58Bi, from the computed liquidus."""
    (alloy,) = melted("Sn-58Bi")
    rules = window.policy().window
    coolest = window.lowest_peak_c(alloy.liquidus_c, rules.superheat_low_k)
    hottest = window.lowest_peak_c(alloy.liquidus_c, rules.superheat_high_k) + rules.spread_k
    assert 150 <= coolest <= 165
    assert 170 <= hottest <= 180


def tin_silver_copper_reworks_at_217_to_220_and_above():
    """Whatever route formed the joint: its own solidus and liquidus rule, not the temperature it was made at."""
    (sac,) = zones_melting({"joint": parse("SAC305")}, at_equilibrium=False).zones
    assert 216 <= sac.melting.last_liquid_c <= 217.5
    (catalogued,) = [alloy for alloy in load().listed() if alloy.id == "SAC305"]
    low, high = window.rework_range_c(catalogued.of("liquidus_c").value)
    assert 217 <= catalogued.of("liquidus_c").value <= 220
    assert 220 < low < high < 255


def bismuth_free_routes_at_200_to_210_run_35_to_40_kelvin_cooler():
    """Tin-indium-silver near 187 degC against the usual tin-silver-copper process."""
    alloy = load().find("Sn-20In-2.8Ag")
    assert alloy.composition.wt("Bi") == 0
    peak = window.lowest_peak_c(alloy.of("liquidus_c").value, window.policy().window.superheat_k)
    cooler = window.policy().window.usual_peak_c - peak
    assert 200 <= peak <= 210
    assert 35 <= cooler <= 40


def cutting_bismuth_raises_the_liquidus_and_opens_a_pasty_range():
    """By the engine, by the straight line and by the linear fit; the last liquid stays at the eutectic."""
    found = melted("Sn-58Bi", "Sn-50Bi", "Sn-40Bi", "Sn-30Bi")
    tops = [alloy.liquidus_c for alloy in found]
    ranges = [alloy.liquidus_c - alloy.last_liquid_c for alloy in found]
    assert tops == sorted(tops)
    assert ranges == sorted(ranges)
    assert ranges[0] < 5
    assert 25 < ranges[2] < 45
    contents = [57, 50, 40, 30]
    line = [lines.line_liquidus_c(wt) for wt in contents]
    assert line == sorted(line)
    fit = [lines.fit_pasty_range_k(139, bi_wt=wt) for wt in (40, 30, 20)]
    assert fit == sorted(fit)
    assert 25 < fit[0] < 45


def pitch_below_0_4_mm_asks_for_finer_than_type_4():
    assert printing.powder_for_pitch(0.4).type == 4
    for pitch in (0.39, 0.35, 0.3, 0.2):
        assert printing.powder_for_pitch(pitch).type > 4


def two_thirds_of_the_bow_go_at_180():
    """Flat near 150 degC, a low-temperature peak removes well over half of the bow at 245."""
    assert 0.5 < warpage.bow_removed(180) < 0.8


def with_window(**changed):
    def broken(monkeypatch):
        rules = policy()
        own = rules.model_copy(update={"window": rules.window.model_copy(update=changed)})
        monkeypatch.setattr(window, "policy", lambda: own)
        monkeypatch.setattr(warpage, "policy", lambda: own)

    return broken


def with_constant(name, value):
    def broken(monkeypatch):
        real = lines.constant
        monkeypatch.setattr(
            lines, "constant", lambda asked: replace(real(asked), value=value) if asked == name else real(asked)
        )

    return broken


def with_pitch(type_, least_pitch_mm):
    def broken(monkeypatch):
        rows = printing.powders()
        own = {**rows, type_: replace(rows[type_], least_pitch_mm=least_pitch_mm)}
        monkeypatch.setattr(printing, "powders", lambda: own)

    return broken


BROKEN = [
    (tin_bismuth_reflows_near_170_to_180, with_window(superheat_high_k=60)),
    (tin_bismuth_reflows_near_170_to_180, with_window(superheat_high_k=20)),
    (tin_bismuth_reflows_near_170_to_180, with_window(superheat_low_k=0)),
    (tin_silver_copper_reworks_at_217_to_220_and_above, with_window(rework_superheat_low_k=-20)),
    (tin_silver_copper_reworks_at_217_to_220_and_above, with_window(rework_superheat_high_k=60)),
    (bismuth_free_routes_at_200_to_210_run_35_to_40_kelvin_cooler, with_window(usual_peak_c=260)),
    (bismuth_free_routes_at_200_to_210_run_35_to_40_kelvin_cooler, with_window(superheat_k=40)),
    (cutting_bismuth_raises_the_liquidus_and_opens_a_pasty_range, with_constant("linear fit Bi", 1.6)),
    (cutting_bismuth_raises_the_liquidus_and_opens_a_pasty_range, with_constant("tin-bismuth line top", 100)),
    (pitch_below_0_4_mm_asks_for_finer_than_type_4, with_pitch(4, 0.3)),
    (pitch_below_0_4_mm_asks_for_finer_than_type_4, with_pitch(4, 0.5)),
    (two_thirds_of_the_bow_go_at_180, with_window(usual_peak_c=190)),
]
FACTS = list(dict.fromkeys(fact for fact, _ in BROKEN))


@pytest.mark.parametrize("fact", FACTS, ids=lambda fact: fact.__name__)
def test_the_fact_holds(fact):
    fact()


@pytest.mark.parametrize(("fact", "broken"), BROKEN)
def test_the_fact_fails_when_its_constant_is_broken(fact, broken, monkeypatch):
    broken(monkeypatch)
    with pytest.raises(AssertionError):
        fact()
