"""The project's functions against 135 worked figures of physics and process, each with its source beside it.

`physics_checks.json` holds inputs, expected value, tolerance and source. A check whose constants are remembered says
so in `obtained_from`, and in the name of its test. Every check calls the product's own functions, here or in
`test_physics_life_published.py`.
"""

# ruff: noqa: N803  the inputs keep the names of the checks

import json
import math
from fractions import Fraction
from pathlib import Path

import pytest

from selector.catalogue import load
from selector.catalogue.derived import mixed_density
from selector.composition import from_at_percent, from_mapping, parse
from selector.constants import constant
from selector.durability.service import highest_service_c, homologous
from selector.joint import finish, geometry, lines, mixed
from selector.joint.blends import mass_share
from selector.joint.contributors import Contributor, joint
from selector.melting.mixing import blend
from selector.process import dissolution, energy, footprint, heat, printing, stack, standoff, warpage, window
from selector.units import micrometres, millimetres, usd_kg

CHECKS = {check["id"]: check for check in json.loads((Path(__file__).parent / "physics_checks.json").read_text())}
# Durability, steps and the like are called in `test_physics_life_published.py`, on the file beside it.
ELSEWHERE = {check["id"] for check in json.loads((Path(__file__).parent / "physics_life_checks.json").read_text())}
SAC = parse("SAC305")
GOLD_G_CM3 = 19.3


def contributor(name, composition, mass_mg):
    return Contributor(name, composition, Fraction(mass_mg))


def wt(joined, element):
    return float(joined.wt(element))


def fit(Ag, Bi, Cu, In, Pb):
    return lines.fit_liquidus_c(ag_wt=Ag, bi_wt=Bi, cu_wt=Cu, in_wt=In, pb_wt=Pb)


def fully_mixed(Vb, rb, Vp, rp, wp):
    bismuth = from_mapping({"Bi": 100 * wp}, balance="Sn")
    paste = contributor("paste", bismuth, geometry.mass_mg(Vp, rp))
    ball = contributor("ball", SAC, geometry.mass_mg(Vb, rb))
    return wt(mixed.mixed_joint(paste, ball).whole, "Bi")


def dissolved(Vb, rb, Vp, rp, wp, wl):
    return mixed.dissolved_share(geometry.mass_mg(Vp, rp), 100 * wp, geometry.mass_mg(Vb, rb), wl)


def lead_of_finish(A, t, m):
    plated = contributor("finish", parse("Sn63Pb37"), finish.layer_mass_mg(A, t, 8.4))
    return wt(joint([contributor("paste", parse("Sn-58Bi"), m), plated]), "Pb")


def gold_of_finish(A, m):
    return wt(joint([contributor("solder", SAC, m), contributor("gold", parse("Au"), A)]), "Au")


def blended(element, f, A, B, rest):
    """Return the content of an element in a blend by mass of two alloys that hold A and B wt% of it."""

    def alloy(content):
        return from_mapping({element: content}, balance=rest) if content else parse(rest)

    return wt(blend(alloy(B), alloy(A), f), element)


def with_sac(p):
    return wt(blend(parse("Sn-58Bi"), SAC, p / 100), "Bi")


def curvature(t1, E1, a1, t2, E2, a2, dT):
    return warpage.bilayer_per_mm(t1, E1, a1, t2, E2, a2, dT)


def equal_layers(**given):
    strain = (given["a2"] - given["a1"]) * 1e-6 * given["dT"]
    return curvature(**given) * (given["t1"] + given["t2"]) / strain


def over_thin_film(t1, E1, a1, t2, E2, a2, dT):
    return curvature(t1, E1, a1, t2, E2, a2, dT) / warpage.thin_film_per_mm(t1, E1, t2, E2, a2 - a1, dT)


def deposit(L, W, t, TE, phi, rho):
    opening = geometry.rectangle_volume_mm3(L, W, t)
    return geometry.mass_mg(geometry.deposit_volume_mm3(opening, TE, phi), rho)


def aperture(L, W, t):
    return geometry.rectangle_volume_mm3(millimetres(L), millimetres(W), millimetres(t))


def mil_area_ratio(A, P, t):
    mm = micrometres(1) / 1000
    return printing.area_ratio(A * mm**2, P * mm, t * mm)


def additive_density(w_Sn, w_Ag, w_Cu, **densities):
    elements = load().elements
    assert all(elements[name.removeprefix("rho_")].density_g_cm3 == value for name, value in densities.items())
    return mixed_density(from_mapping({"Ag": 100 * w_Ag, "Cu": 100 * w_Cu, "Sn": 100 * w_Sn}), elements)


def metal_value(rho, **given):
    alloy = from_mapping({name[2:]: round(100 * value, 9) for name, value in given.items() if name[0] == "w"})
    prices = {name[2:]: value for name, value in given.items() if name[0] == "p"}
    listed = footprint.Prices("illustrative", prices, dict.fromkeys(prices, "illustrative"))
    return footprint.metal_cost(alloy, listed, load(), rho).usd_cm3


def oven(P1, P2, T1, T2, Ta=25):
    return energy.fitted_oven(P1, P2, T1, T2, Ta)


def affine_saving(T3, T1, **given):
    return energy.oven_saving(T3, T1, oven(T1=T1, **given)).percent


def fill_time(eta, L, gamma, h, costh):
    return standoff.underfill_time_s(L, h, eta, gamma, math.degrees(math.acos(costh)))


CALLS = {
    # homologous temperature
    **dict.fromkeys(
        (i for i in CHECKS if i.startswith(("homologous_", "test_hot_end"))), lambda T, Ts: homologous(T, Ts)
    ),
    **dict.fromkeys((i for i in CHECKS if i.startswith("service_cap")), lambda f, Ts: highest_service_c(Ts, f)),
    "margin_to_Th_equivalence": lambda Ts: Ts - highest_service_c(Ts, 0.9),
    # window
    **dict.fromkeys((i for i in CHECKS if i.startswith("liquidus_fit")), fit),
    "peak_min_sn58bi": lambda TL, SH: window.lowest_peak_c(TL, SH),
    **dict.fromkeys(
        (i for i in CHECKS if i.startswith("headroom_pet")),
        lambda Tlim, TL, SH, U: window.headroom_k(Tlim, TL, SH, U),
    ),
    "headroom_component_260": lambda Tc, Tp, U: window.rating_headroom_k(Tc, Tp, U),
    "ramp_time_217_245": lambda T1, T2, rate: window.ramp_time_s(T1, T2, rate),
    "pasty_sn40bi": lambda Bi, Te: lines.fit_pasty_range_k(Te, bi_wt=Bi),
    # warpage
    "timoshenko_curvature": curvature,
    "timoshenko_equal_layers": equal_layers,
    "timoshenko_thin_film": over_thin_film,
    "bow_15mm": lambda kappa, L: 1000 * warpage.bow_mm(kappa, L),
    "jeita_margin_defective_part": lambda lim, w: warpage.margin_mm(lim, w),
    # paste
    "paste_density_8775": lambda w, rho_m, rho_f: geometry.paste_density_g_cm3(w, rho_m, rho_f),
    "aperture_volume_12mil": aperture,
    "aperture_paste_mass_12mil": lambda V, rho: geometry.mass_mg(V, rho),
    "metal_volume_sac_885": lambda w, rho_m, rho_f: geometry.metal_volume_share(w, rho_m, rho_f),
    "metal_volume_sn58bi_90": lambda w, rho_m, rho_f: geometry.metal_volume_share(w, rho_m, rho_f),
    "density_additive_sac305": additive_density,
    "deposit_mass_0402": deposit,
    # mixed joints
    "ball_volume_0p45": lambda d: geometry.ball_volume_mm3(d),
    "hybrid_bi_full_mix": fully_mixed,
    "hybrid_ratio_paste_to_ball": lambda Vp, Vb: geometry.paste_ball_ratio(Vp, Vb),
    "hybrid_liquidus_bi_190C": lambda TL0, Tp, Te: lines.line_bismuth_wt(Tp, TL0, Te),
    "hybrid_ball_dissolved_190C": dissolved,
    "hybrid_mixed_share_190C": lambda Vp, Vb, x: mixed.mixed_volume_share(Vp, Vb, x),
    "hybrid_full_liquid_peak": lambda TL0, Te, wBi: lines.line_liquidus_c(wBi, TL0, Te),
    **{f"bi_with_{share}pct_sac": with_sac for share in (20, 25, 50)},
    "powder_blend_60_40_Ag": lambda f, A, B: blended("Ag", f, A, B, "Sn"),
    "powder_blend_60_40_Cu": lambda f, A, B: blended("Cu", f, A, B, "Sn"),
    "powder_blend_60_40_Sn": lambda f, A, B: blended("Sn", f, A, B, "Bi"),
    "powder_blend_vol_60_40": lambda v, rA, rB: mass_share(v, rA, rB),
    "at_to_wt_43Bi": lambda x, MB, MS: wt(from_at_percent({"Bi": 100 * x, "Sn": 100 - 100 * x}), "Bi"),
    "lever_29Bi_solubility_21": lambda w, Cs: lines.lever_liquid_share(w, Cs, 57),
    "lever_29Bi_solubility_10": lambda w, Cs: lines.lever_liquid_share(w, Cs, 57),
    "standoff_truncated_sphere": lambda V, a: geometry.joint_height_mm(V, a),
    "pb_from_finish": lead_of_finish,
    # gold
    "gold_20uin_5mil": lambda t, h, phi, rho: finish.areal_wt(micrometres(t), GOLD_G_CM3, micrometres(h), phi, rho),
    "gold_thickness_3wt": lambda h, phi, rho, w: finish.areal_thickness_um(100 * w, GOLD_G_CM3, h, phi, rho),
    "ausn4_gold_share": lambda: finish.compound_wt("Au", {"Au": 1, "Sn": 4}, {"Au": 196.967, "Sn": 118.71}),
    "gold_enig_ball_joint": gold_of_finish,
    # copper
    "cu_time_to_keep_limit": lambda t0, tm, v: dissolution.time_to_limit_s(t0, v, tm),
    "nernst_brunner": lambda Cs, k, A, V, t: dissolution.dissolved_wt(Cs, k, A, V, t),
    # powder and stencil
    **{f"five_ball_T{k}": lambda dmax: printing.least_aperture_um(dmax) for k in (3, 4, 5, 6)},
    "aspect_ratio_10mil": lambda s, t: printing.aspect_ratio(micrometres(s) / 1000, micrometres(t) / 1000),
    "area_ratio_odd_shape": mil_area_ratio,
    "min_square_aperture_066": lambda t, AR: printing.least_side_mm(t, AR),
    "specific_surface_29um": lambda rho, d: printing.surface_m2_g(d, rho),
    "oxygen_share": lambda ox: printing.oxygen_ppm(ox),
    "surface_ratio_T5_T3": lambda d3, d5: printing.surface_ratio(d5, d3),
    "underfill_fill_time": fill_time,
    # energy and cost
    "oven_saving_heavy_load": lambda P1, P2: energy.saving_percent(P1, P2),
    "oven_saving_light_load": lambda P1, P2: energy.saving_percent(P1, P2),
    "oven_proportional_rule": lambda T1, T2, Ta: energy.proportional_ratio(T1, T2, Ta),
    "oven_fixed_share": lambda **given: oven(**given).fixed_kw,
    "oven_saving_180_affine": affine_saving,
    "oven_energy_per_board": lambda P, n: energy.energy_per_board_kwh(P, n),
    "co2_per_board": lambda E, ef: energy.co2_g(E, ef),
    "co2_claim_plausibility": lambda m, ef: energy.steady_power_kw(m, ef),
    "solder_heat_5g_sn58bi": lambda m, cs, L, cl, T0, Tm, Tp: energy.solder_heat_j(m, cs, cl, L, Tm, Tp, T0),
    "board_heat_120g": lambda m, c, dT: energy.board_heat_j(m, dT, c),
    **{f"metal_cost_cm3_{name}": metal_value for name in ("sac305", "sn58bi", "in48sn")},
    "bi_price_conversion": lambda p: usd_kg(p),
    "volume_basis_factor": lambda r1, r2: footprint.volume_factor(r1, r2),
    "cost_1000_joints_sac305": lambda n, V, c: footprint.joints_usd(c, V, n),
    # heat and expansion
    "joint_Rth_sn58bi": lambda t, k, A: heat.resistance_k_w(t, A, k),
    "joint_Rth_sac305": lambda t, k, A: heat.resistance_k_w(t, A, k),
    "free_displacement_alumina_3216": lambda a1, a2, dT, L: stack.free_mismatch_um(a1, a2, dT, dT, L),
}
# Checks that rest on a remembered constant which ships: the data say so too.
SHIPPED_MEMORY = {
    **dict.fromkeys((i for i in CHECKS if i.startswith("liquidus_fit")), "linear fit base"),
    "pasty_sn40bi": "linear fit Bi",
    "cu_time_to_keep_limit": "copper kept",
    "underfill_fill_time": "underfill viscosity",
}


def is_remembered(check):
    return "memory" in check["obtained_from"].lower()


def named(check):
    return f"{check['id']}-from-memory" if is_remembered(check) else check["id"]


def test_every_check_is_called():
    assert len(CHECKS) == 135
    assert set(CALLS) | ELSEWHERE == set(CHECKS)


@pytest.mark.parametrize("check", [CHECKS[id_] for id_ in CALLS], ids=named)
def test_the_function_gives_the_worked_figure(check):
    given = {name: entry["value"] for name, entry in check["inputs"].items()}
    found = float(CALLS[check["id"]](**given))
    assert check["source"]
    tolerance = check["tolerance"]
    allowed = tolerance.get("abs", tolerance.get("rel", 0) * abs(check["expected"]))
    assert abs(found - check["expected"]) <= allowed + 1e-12 * abs(check["expected"]), (found, check["expected"])
    printed = check.get("published_value")
    if printed:
        assert found == pytest.approx(printed["value"], rel=printed["rel_agreement"])


@pytest.mark.parametrize(("id_", "name"), SHIPPED_MEMORY.items())
def test_a_remembered_constant_says_so_in_the_data(id_, name):
    assert is_remembered(CHECKS[id_])
    assert constant(name).is_remembered
    assert constant(name).grade == "low"
