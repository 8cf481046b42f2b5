"""Published and recomputed checks of durability and soldering steps, each by a call of the project's own function.

Inputs, expected values, tolerances and sources stand in `physics_life_checks.json`. Where `obtained_from` says memory,
agreement shows that the arithmetic is right and the recalled constant is the one shipped, not that the constant is.
"""

import json
import math
from pathlib import Path

import pytest

from selector.catalogue import load
from selector.durability import acceleration, creep, electromigration, fatigue, service, strain, underfill
from selector.durability.constants import acceleration_data, creep_data, fatigue_data, surface_data
from selector.joint import finish
from selector.process import routes, steps
from selector.units import activation_ev

CHECKS = {check["id"]: check for check in json.loads(Path(__file__).with_name("physics_life_checks.json").read_text())}
LIFE = {entry.id: entry for entry in fatigue_data().life}
SNPB, SAC = LIFE["sn-pb-1983"], LIFE["sac-high-silver-2009"]
LAWS = {law.id: law for law in creep_data().law}
NL = {law.id: law for law in acceleration_data().law}
CREEP_SETS = {
    "sac387_2003": "sac387-2003",
    "sac396_as_cast": "sac396-cast",
    "sac_package": "sac-package",
    "sac396_2003": "sac396-2003",
    "sn37pb": "sn-pb-1992",
    "sn3p5ag": "sn-3.5ag-1992",
    "indium": "in-1992",
}
USE = acceleration.Cycle(25, 75, 1, 720)
HARSH = acceleration.Cycle(-55, 125, 48, 15)


def ratio_of_dwells(i):
    """12 h against 15 min, tin-lead, at the strain and mean of the check."""
    long, short = (fatigue.median_cycles(i["dgamma"], i["eps_f"], fatigue.exponent(SNPB, 55, t)) for t in (720, 15))
    return long / short


def benign_ratio(i):
    """SAC against tin-lead at 35 degC and 12 h."""
    pair = (fatigue.median_cycles(i["dgamma"], e.fatigue_ductility, fatigue.exponent(e, 35, 720)) for e in (SAC, SNPB))
    sac, snpb = pair
    return sac / snpb


def cycles(constants):
    return lambda i: fatigue.median_cycles(i["dgamma"], i["eps_f"], fatigue.exponent(constants, 55, 15))


def exponent(constants):
    return lambda i: fatigue.exponent(constants, i["Tsj"], i["tD"])


def homologous(i):
    return service.homologous(i["T"], i["Ts"])


def cap(i):
    return service.highest_service_c(i["Ts"], i["f"])


def margin(i):
    return steps.remelt_margin_k(i["S1"], i["L2"], i["SH"], i["U"])


def proxy(i):
    return creep.creep_proxy(i["T"], i["Ts"]).value


def rate(i, law):
    return creep.creep_rate(LAWS[law], i["sigma"], i["T"] - 273.15)


def strength(i, law):
    return creep.creep_strength(LAWS[law], i["T"] - 273.15, i["rate"])


CALLS = {
    "eng_exponent_snpb": exponent(SNPB),
    "eng_exponent_sac305_mem": exponent(SAC),
    "eng_life_ratio_0p1": cycles(SNPB),
    "eng_life_unit_ratio": cycles(SNPB),
    "eng_life_sac305_mem": cycles(SAC),
    "eng_dwell_effect_snpb": ratio_of_dwells,
    "eng_benign_sac_to_snpb": benign_ratio,
    "shear_strain_leadless": lambda i: strain.leadless_strain(
        i["DNP"], i["h"], i["a_sub"], i["a_comp"], i["dT"], factor=i["F"]
    ),
    "leaded_strain_200psi": lambda i: strain.leaded_strain(
        i["KD"], i["DNP"], i["da"], i["dT"], i["A"], i["h"], i["p"], i["F"]
    ),
    "weibull_n1pct_over_n50": lambda i: fatigue.cycles_to(i["x"], 1.0, i["beta"]),
    "underfill_axial_strain": lambda i: underfill.underfill_strain(i["a_uf"], i["nu"], i["a_lat"], i["a_s"], i["dT"]),
    "miner_two_channels": lambda i: fatigue.damage(((i["n"], i["N"]),), i["D0"]),
    "nl_dT_term_snpb": lambda i: acceleration.swing_term(i["dT_test"], i["dT_use"], i["n"]),
    "nl_freq_term_snpb": lambda i: acceleration.rate_term(i["f_use"], i["f_test"], i["m"]),
    "nl_tmax_term_snpb": lambda i: acceleration.heat_term(i["Tu"], i["Tt"], i["EoK"]),
    "nl_1414K_in_eV": lambda i: activation_ev(i["EoK"]),
    "nl_af_snpb": lambda i: acceleration.acceleration_factor(NL["sn-pb-1969"], USE, HARSH),
    "nl_af_sac_pan2005": lambda i: acceleration.acceleration_factor(NL["sac-2005"], USE, HARSH),
    "nl_freq_inversion_error": lambda i: (
        acceleration.rate_term(i["f"], 1, i["m"]) / acceleration.rate_term(1, i["f"], i["m"])
    ),
    "margin_to_Th_equivalence": lambda i: i["Ts"] - service.highest_service_c(i["Ts"], 0.9),
    "creep_arrhenius_snagbi": lambda i: creep.arrhenius_ratio(i["Q"], i["T1"] - 273.15, i["T2"] - 273.15),
    "step_levels_bound": lambda i: steps.levels_bound(i["Tmax"], i["Tmin"], i["sp"]),
    "tlp_ratio_cu3sn": lambda i: routes.thickness_ratio(i["nC"], 63.546, 8.96, i["nS"], 118.71, 7.29),
    "tlp_cu_per_100g_sn58bi": lambda i: routes.mass_to_bind("Cu", "Sn", i["mSn"], {"Cu": 6, "Sn": 5}),
    "tlp_remelt_shift": lambda i: routes.remelt_shift_k(i["Tr"], i["TL"]),
    "undercool_fraction": lambda i: routes.undercooling_share(i["Tm"], i["T"]),
    "em_density_100um": lambda i: electromigration.current_density_a_cm2(i["I"], i["d"]),
    "black_acceleration": lambda i: electromigration.black_ratio(i["jr"], i["Tu"], i["Tt"], i["n"], i["Ea"]),
    "gold_20uin_5mil": lambda i: finish.areal_wt(i["t"] * 25.4, 19.3, i["h"] * 25.4, i["phi"], i["rho"]),
    "gold_thickness_3wt": lambda i: finish.areal_thickness_um(100 * i["w"], 19.3, i["h"], i["phi"], i["rho"]),
    "ausn4_gold_share": lambda i: finish.compound_wt("Au", {"Au": 1, "Sn": 4}, {"Au": 196.967, "Sn": 118.71}),
    "gold_enig_ball_joint": lambda i: finish.finish_share_wt(math.pi / 4 * 0.40**2, 0.10, 19.3, i["m"]),
    **{name: homologous for name in CHECKS if name.startswith(("homologous_", "test_hot_end_"))},
    **{name: cap for name in CHECKS if name.startswith("service_cap_")},
    **{name: proxy for name in CHECKS if name.startswith("creep_proxy_")},
    **{name: margin for name in CHECKS if name.startswith(("step_margin_", "step_hybrid_"))},
    **{
        name: lambda i, call=call, law=law: call(i, law)
        for end, law in CREEP_SETS.items()
        for start, call in (("creep_rate_", rate), ("creep_strength_", strength))
        for name in CHECKS
        if name.startswith(start) and name.endswith(f"_{end}")
    },
}


@pytest.mark.parametrize("name", CHECKS)
def test_the_project_gives_what_the_check_expects(name):
    check = CHECKS[name]
    assert CALLS[name](check["inputs"]) == pytest.approx(
        check["expected"], rel=check["tolerance"].get("rel", 0), abs=check["tolerance"].get("abs", 0)
    ), check["source"]


def test_every_check_has_a_call_and_every_call_a_check():
    assert set(CALLS) == set(CHECKS)
    assert len(CHECKS) == 62


NAMED = {"c0": "c0", "c1": "c1_per_c", "c2": "c2", "t0": "t0_min", "eps_f": "fatigue_ductility"}


@pytest.mark.parametrize(
    ("name", "shipped"),
    [
        ("eng_exponent_snpb", SNPB),
        ("eng_life_ratio_0p1", SNPB),
        ("eng_exponent_sac305_mem", SAC),
        ("eng_life_sac305_mem", SAC),
    ],
)
def test_the_shipped_constants_are_those_of_the_check(name, shipped):
    """A changed constant in the data cannot hide behind a check that brings its own."""
    given = CHECKS[name]["inputs"]
    for symbol, attribute in NAMED.items():
        if symbol in given:
            assert getattr(shipped, attribute) == given[symbol]


def test_a_check_on_a_recalled_constant_rests_on_data_that_says_memory():
    recalled = [check for check in CHECKS.values() if "memory" in check["obtained_from"].lower()]
    assert len(recalled) > 20
    for entry in (SAC, *LAWS.values(), NL["sac-2005"]):
        assert (entry.origin, entry.grade) == ("memory", "low")
        assert all(load().sources[source].kind == "memory" for source in entry.source.split("; "))
    assert "memory" in surface_data().electromigration.source


def test_the_second_recollection_of_one_c2_is_kept_beside_the_usual_one():
    usual, copy = (fatigue.exponent(LIFE[name], 55, 15) for name in ("sn-pb-1983", "sn-pb-copy"))
    assert copy - usual == pytest.approx((1.72e-2 - 1.74e-2) * math.log(25), rel=1e-9)


PRINTED = {
    # Table of the project's notes: stress for 1e-7 per s at 25, 85 and 100 degC, MPa. Of the first set the notes print
    # 7.1 at 100 degC where the law gives 7.05, and of Sn-3.5Ag 8.3 where it gives 8.25: the notes round upwards.
    "sac387-2003": (13.8, 7.9, 7.05),
    "sac396-cast": (14.7, 7.1, 6.2),
    "sac-package": (14.1, 7.4, 6.5),
    "sac396-2003": (17.1, 8.2, 6.8),
    "sn-pb-1992": (9.9, 3.0, 2.3),
    "sn-3.5ag-1992": (19.5, 9.7, 8.25),
    "in-1992": (0.99, 0.38, 0.31),
}


@pytest.mark.parametrize("name", PRINTED)
def test_creep_strength_as_printed(name):
    for temperature_c, printed in zip((25, 85, 100), PRINTED[name], strict=True):
        assert creep.creep_strength(LAWS[name], temperature_c) == pytest.approx(
            printed, abs=0.0501 if printed > 1 else 0.00501
        )


STEP_TABLE = [
    # Earlier onset, later liquidus, margin with 20 K superheat and 5 K spread; the project's notes.
    (280, 220, 35),
    (217, 139, 53),
    (183, 139, 19),
    (139, 118, -4),
    (138, 118, -5),
    (139, 60.5, 53.5),
]


@pytest.mark.parametrize(("onset_c", "liquidus_c", "margin_k"), STEP_TABLE)
def test_margin_of_two_steps_as_printed(onset_c, liquidus_c, margin_k):
    assert steps.remelt_margin_k(onset_c, liquidus_c, 20, 5) == margin_k
