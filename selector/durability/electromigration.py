"""Current through a joint: density against bands of the policy, and the ratio of two lives by Black's equation.

j = I/A, A/cm2. Life ~ j^-n exp(Ea/kT): ratio = (j_t/j_u)^n exp[(Ea/k)(1/T_u - 1/T_t)]. n 1.8 to 2, Ea 0.8 to 1.0 eV for
tin-rich joints (memory). Never past 0.95 of the remelt onset in kelvin. Joule heat has to be in the temperature.
"""

import math

from selector.composition import Composition
from selector.durability.constants import surface_data
from selector.durability.estimate import Estimate, no_data
from selector.durability.family import TIN_LEAD, TIN_SILVER, TIN_SILVER_COPPER, family_of
from selector.durability.service import homologous
from selector.durability.validity import Bound, hold
from selector.policy import policy
from selector.units import activation_k, kelvin
from selector.verdict import Measured, Outcome, Verdict

RULE = "electromigration"
RATIO, RATIO_UNIT = "ratio of lives under current", "use over test"
TIN_RICH = (TIN_LEAD, TIN_SILVER, TIN_SILVER_COPPER)


def current_density_a_cm2(current_a: float, opening_um: float) -> float:
    """Return the mean current density in a round opening, A/cm2; crowding at its edge is several times that.

    Raises
    ------
    InputError
        A current below 0, or an opening not above 0.
    """
    hold(
        "the current density",
        Bound("current_a", current_a, 0, unit="A"),
        Bound("opening_um", opening_um, 0, 50_000, "um", above=True),
    )
    return current_a / (math.pi / 4 * (opening_um * 1e-4) ** 2)


def electromigration(alloy: Composition, density_a_cm2: float, joint_c: float, onset_c: float) -> Verdict:
    """Return whether a current density is harmless, to be watched, to be reviewed, or out.

    Parameters
    ----------
    alloy : Composition
    density_a_cm2 : float
    joint_c : float
        Joule heat included.
    onset_c : float
        Lowest remelt onset of the joint.

    Raises
    ------
    InputError
        A density below 0, or a joint that reaches its onset.
    """
    hold(
        "the current through a joint",
        Bound("density_a_cm2", density_a_cm2, 0, unit="A/cm2"),
        Bound("joint_c", joint_c, -200, unit="degC"),
        Bound("onset_c", onset_c, joint_c, unit="degC", above=True, remedy="the joint melts"),
    )
    rules, data = policy().electromigration, surface_data().electromigration
    reactive = max(float(alloy.wt("Bi")), float(alloy.wt("In"))) >= rules.reactive_from_wt
    measured = Measured.exactly(density_a_cm2, "A/cm2")
    source = f"{rules.source}; {data.seen_source}"
    cautions = ["mean density: at the edge where the current turns it is several times higher"]
    cautions += [data.seen] if reactive else []
    outcome, limit, threshold = Outcome.PASS, rules.fine_a_cm2, ""
    if density_a_cm2 > rules.stop_a_cm2 and joint_c > rules.stop_above_c:
        outcome, limit = Outcome.FAIL, rules.stop_a_cm2
        reason = f"{density_a_cm2:.3g} A/cm2 at {joint_c:g} degC"
    elif density_a_cm2 > rules.review_a_cm2:
        outcome, limit = Outcome.UNKNOWN, rules.review_a_cm2
        reason = f"{density_a_cm2:.3g} A/cm2 asks for a review with data of this alloy at this heat"
        threshold = f"holds at {rules.review_a_cm2:g} A/cm2 or less: a wider opening, or more joints in parallel"
    elif density_a_cm2 > rules.fine_a_cm2:
        limit = rules.review_a_cm2
        reason = f"{density_a_cm2:.3g} A/cm2 is under the review line"
        if reactive:
            cautions.insert(0, f"over {rules.fine_a_cm2:g} A/cm2 with bismuth or indium: watch segregation")
    else:
        reason = f"{density_a_cm2:.3g} A/cm2 is low"
    return Verdict(
        RULE, outcome, reason, source, measured, limit, limit - density_a_cm2, threshold, cautions=tuple(cautions)
    )


def black_ratio(density_ratio: float, use_c: float, test_c: float, n: float, ev: float) -> float:
    """Return how many times longer a joint lives in use than in the test, by Black's equation.

    Parameters
    ----------
    density_ratio : float
        Test over use.
    use_c, test_c : float
        Joint temperatures.
    n, ev : float
        Exponent, and activation energy in eV.

    Raises
    ------
    InputError
        A figure that cannot be.
    """
    hold(
        "Black's ratio",
        Bound("density_ratio", density_ratio, 0, 1000, above=True),
        Bound("use_c", use_c, -200, 300, "degC"),
        Bound("test_c", test_c, -200, 300, "degC"),
        Bound("n", n, 0, 5, above=True),
        Bound("ev", ev, 0, 3, "eV"),
    )
    return float(density_ratio**n) * math.exp(activation_k(ev=ev) * (1 / kelvin(use_c) - 1 / kelvin(test_c)))


def black_span(alloy: Composition, density_ratio: float, use_c: float, test_c: float, onset_c: float) -> Estimate:
    """Return the span of Black's ratio over the recalled ranges; tin-rich alloys only, below 0.95 of the onset.

    Parameters
    ----------
    alloy : Composition
    density_ratio : float
        Test over use.
    use_c, test_c : float
    onset_c : float
        Lowest remelt onset of the joint.

    Raises
    ------
    InputError
        A test or use past 0.95 of the onset in kelvin: nothing may be extrapolated there.
    """
    rules, data = policy().electromigration, surface_data().electromigration
    hold("Black's ratio", Bound("onset_c", onset_c, -50, 1100, "degC"))
    most = kelvin(onset_c) * rules.onset_ratio - kelvin(0.0)
    hold(
        "Black's ratio",
        Bound("use_c", use_c, -200, most, "degC", remedy="no extrapolation so near the onset"),
        Bound("test_c", test_c, -200, most, "degC", remedy="no extrapolation so near the onset"),
    )
    name, unit = RATIO, RATIO_UNIT
    if family_of(alloy) not in TIN_RICH:
        why = "exponent and activation energy are known for tin-rich joints only"
        return no_data(name, unit, why, data.source, (data.seen,))
    ends = [
        black_ratio(density_ratio, use_c, test_c, n, ev)
        for n in (data.n_low, data.n_high)
        for ev in (data.ev_low, data.ev_high)
    ]
    law = f"Black, n {data.n_low:g} to {data.n_high:g}, Ea {data.ev_low:g} to {data.ev_high:g} eV"
    flags: tuple[str, ...] = (f"test at {homologous(test_c, onset_c):.3f} of the onset", "constants from memory")
    # A test that is milder than use says nothing of how long use lasts that the law was made for.
    flags += ("the test is no harsher than use",) if density_ratio < 1 or test_c < use_c else ()
    return Estimate(name, unit, None, min(ends), max(ends), law, data.source, "memory", "low", flags)
