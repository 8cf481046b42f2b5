"""Real situations of the trade with their right answers, as far as the spine reaches them.

Each is told as facts gathered from public questions and answers; the naive error that it avoids stands beside it.
"""

import pytest

from selector.brief import from_raw, read, shipped
from selector.catalogue import load
from selector.catalogue.derived import mixed_density
from selector.decision import decide
from selector.durability.service import homologous, required_onset_c, service_heat
from selector.melting.onset import remelt_onset
from selector.verdict import Outcome, Standing


def heat(alloy, service_c, ipc_class=2):
    brief = from_raw({"title": "t", "ipc_class": ipc_class, "service": {"maximum_c": service_c}})
    return service_heat(brief, remelt_onset(load().find(alloy)))


@pytest.mark.parametrize(
    ("alloy", "outcome"),
    [
        ("Sn-5Sb", Outcome.FAIL),
        ("Bi-11Ag", Outcome.UNKNOWN),
        ("Au-20Sn", Outcome.UNKNOWN),
        ("Pb-5Sn-1.5Ag", Outcome.PASS),
        ("Pb-5Sn", Outcome.PASS),
        ("SAC305", Outcome.FAIL),
    ],
)
def test_electronics_in_225_degc_ambient(alloy, outcome):
    """Naive: a solidus above service admits, or gold-tin fails hard without its near miss."""
    assert heat(alloy, 225).outcome is outcome


def test_the_onset_that_225_degc_asks_for_and_the_ratios():
    assert required_onset_c(225, 0.90) == pytest.approx(280.4, abs=0.05)
    ratios = [homologous(225, onset) for onset in (235, 262.5, 280, 296, 308)]
    assert ratios == pytest.approx([0.980, 0.930, 0.901, 0.875, 0.857], abs=0.002)


def test_gold_tin_at_225_degc_is_short_by_a_hair_and_shows_it():
    found = heat("Au-20Sn", 225)
    assert found.margin is not None
    assert -3 < found.margin < 0
    assert "280.4" in found.threshold


@pytest.mark.parametrize(
    ("service_c", "outcome"), [(60, Outcome.PASS), (85, Outcome.PASS), (100, Outcome.UNKNOWN), (125, Outcome.FAIL)]
)
def test_tin_bismuth_in_service(service_c, outcome):
    """Rework of tin-silver-copper with tin-bismuth: the onset near 138 degC decides, not an average with 217."""
    assert heat("Sn-58Bi", service_c).outcome is outcome


@pytest.mark.parametrize(
    ("alloy", "g_cm3"),
    [("Sn63Pb37", 8.40), ("SAC305", 7.36), ("Sn42Bi58", 8.56), ("In52Sn48", 7.30), ("Au80Sn20", 14.5)],
)
def test_densities_mix_by_volume(alloy, g_cm3):
    """Naive: densities averaged by mass, which reads 8.79 for Sn63Pb37."""
    catalogue = load()
    assert mixed_density(catalogue.find(alloy).composition, catalogue.elements) == pytest.approx(g_cm3, rel=0.005)


def test_more_joints_per_kilogram():
    """Cost is compared per cm3: at one price per kg, SAC305 makes 14 % more joints than Sn63Pb37."""
    catalogue = load()
    ratio = [mixed_density(catalogue.find(alloy).composition, catalogue.elements) for alloy in ("SAC305", "Sn63Pb37")]
    assert ratio[0] / ratio[1] == pytest.approx(0.876, rel=0.005)


def test_tin_zinc_cannot_buy_back_a_failed_corrosion_screen_with_cost():
    """Naive: a compensating score lets the cheap alloy win although the screen failed."""
    raw = read(shipped("skin-patch")).model_dump()
    raw["parts"] = [{**part, "rating_c": 260} for part in raw["parts"]]
    raw["preferences"] = [
        {
            "criterion": "relative_cost",
            "points": [[0.2, 100], [2, 0]],
            "swing": 100,
            "reason": "cost only",
            "author": "t",
        }
    ]
    decision = decide(from_raw(raw))
    zinc = decision.of(load().find("Sn-9Zn"))
    assert zinc.standing is Standing.RULED_OUT
    assert any(v.rule == "corrosion" for v in zinc.blocking())
    assert zinc.rank is None


@pytest.mark.parametrize(("wt_percent_lead", "outcome"), [(85, Outcome.UNKNOWN), (60, Outcome.FAIL)])
def test_rich_in_lead_is_not_yet_exempt(wt_percent_lead, outcome):
    """Naive: over 85 % lead is exempt. It needs a named use and a date, which the tool cannot see."""
    decision = decide(read(shipped("river-logger")))
    alloy = next(
        c
        for c in decision.candidates
        if c.alloy.composition.matrix == "Pb" and (c.alloy.composition.wt("Pb") >= 85) == (wt_percent_lead == 85)
    )
    found = next(v for v in alloy.screened.verdicts if v.rule == "eu_rohs")
    assert found.outcome is outcome
    if outcome is Outcome.UNKNOWN:
        assert "7(a)" in found.threshold
        assert "2027-06-30" in found.threshold
