"""How many field cycles one test cycle stands for (Norris-Landzberg), as a span over the published sets.

AF = N_use/N_test = (dT_t/dT_u)^n s^m exp[E (1/T_u - 1/T_t)]: dT swing, K; T hottest temperature, K; E activation
temperature, K; s = f_use/f_test, or hot dwell t_test/t_use, by the set. A slow field cycle makes s smaller than 1.
Tin-lead and tin-silver-copper only; the factor also hangs on package, ramp and dwell, which the equation does not hold.
Sets and sources: `data/life/acceleration.toml`.
"""

import math
from dataclasses import dataclass

from selector.composition import Composition
from selector.durability.constants import AccelerationLaw, acceleration_data, fatigue_data
from selector.durability.estimate import Estimate, no_data
from selector.durability.family import family_of
from selector.durability.validity import Bound, hold
from selector.units import kelvin

NAME, UNIT = "acceleration factor", "field cycles per test cycle"


@dataclass(frozen=True)
class Cycle:
    """A thermal cycle of the joint.

    Parameters
    ----------
    low_c, high_c : float
        Coldest and hottest joint.
    cycles_per_day : float
    hot_dwell_min : float
        Time at the hot end, a cycle.
    """

    low_c: float
    high_c: float
    cycles_per_day: float
    hot_dwell_min: float

    @property
    def swing_k(self) -> float:
        """Return hottest less coldest, K."""
        return self.high_c - self.low_c

    def bounds(self, name: str) -> tuple[Bound, ...]:
        """Return what a cycle must keep, under its name."""
        return (
            Bound(f"{name}.low_c", self.low_c, -200, 200, "degC"),
            Bound(f"{name}.high_c", self.high_c, self.low_c, 250, "degC", above=True, remedy="above the cold end"),
            Bound(f"{name}.cycles_per_day", self.cycles_per_day, 0, 20_000, "1/day", above=True),
            Bound(f"{name}.hot_dwell_min", self.hot_dwell_min, 0, 24 * 60 * 400, "min", above=True),
        )


def swing_term(test_swing_k: float, use_swing_k: float, n: float) -> float:
    """Return (dT_test/dT_use)^n."""
    hold(
        "the swing term",
        Bound("test_swing_k", test_swing_k, 0, 400, "K", above=True),
        Bound("use_swing_k", use_swing_k, 0, 400, "K", above=True),
        Bound("n", n, 0, above=True),
    )
    return float((test_swing_k / use_swing_k) ** n)


def rate_term(use: float, test: float, m: float) -> float:
    """Return (f_use/f_test)^m; with hot dwells, call it with the test's first: (t_test/t_use)^m."""
    hold("the rate term", Bound("use", use, 0, above=True), Bound("test", test, 0, above=True), Bound("m", m, 0))
    return float((use / test) ** m)


def heat_term(use_high_c: float, test_high_c: float, activation_k: float) -> float:
    """Return exp[E (1/T_use - 1/T_test)] of the hottest temperatures, degC."""
    hold(
        "the heat term",
        Bound("use_high_c", use_high_c, -200, 250, "degC"),
        Bound("test_high_c", test_high_c, -200, 250, "degC"),
        Bound("activation_k", activation_k, 0, unit="K"),
    )
    return math.exp(activation_k * (1 / kelvin(use_high_c) - 1 / kelvin(test_high_c)))


def acceleration_factor(law: AccelerationLaw, use: Cycle, test: Cycle) -> float:
    """Return the acceleration factor by one set.

    Parameters
    ----------
    law : AccelerationLaw
    use, test : Cycle

    Raises
    ------
    InputError
        A cycle without swing, frequency or dwell.
    """
    hold("the acceleration factor", *use.bounds("use"), *test.bounds("test"))
    if law.second_term == "frequency":
        second = rate_term(use.cycles_per_day, test.cycles_per_day, law.m)
    else:
        second = rate_term(test.hot_dwell_min, use.hot_dwell_min, law.m)
    return swing_term(test.swing_k, use.swing_k, law.n) * second * heat_term(use.high_c, test.high_c, law.activation_k)


def acceleration_span(
    alloy: Composition, use: Cycle, test: Cycle, *, onset_c: float | None = None, is_mixed: bool = False
) -> Estimate:
    """Return the span of the acceleration factor over the published sets of an alloy; never one value of many.

    Parameters
    ----------
    alloy : Composition
    use, test : Cycle
    onset_c : float, optional
        Remelt onset of the joint; a test or a service that reaches it is refused.
    is_mixed : bool
        A joint of two alloys, or reacted: no data.

    Returns
    -------
    Estimate
        No central value: the ends are the sets' own. `law` tells every set, `flags` those that could not be read.

    Raises
    ------
    InputError
        A cycle that cannot be, or that reaches the onset.
    """
    melts = [] if onset_c is None else [("use", use), ("test", test)]
    hold(
        "the acceleration factor",
        *use.bounds("use"),
        *test.bounds("test"),
        *(
            Bound(
                f"{name}.high_c",
                cycle.high_c,
                high=float(onset_c or 0),
                unit="degC",
                below=True,
                remedy="the joint melts",
            )
            for name, cycle in melts
        ),
    )
    family = family_of(alloy, is_mixed)
    laws = [law for law in acceleration_data().law if law.family == family]
    if not laws:
        entry = fatigue_data().without_for(family)
        return no_data(NAME, UNIT, entry.why, entry.source)
    each = [(law, acceleration_factor(law, use, test)) for law in laws]
    unread = [entry for entry in acceleration_data().unread if entry.family == family]
    flags = ["one equation cannot carry package, ramp and dwell; a published study found no consistent set"]
    if len(each) == 1:
        flags.append("the span is that of one set: the true one is wider")
    flags += [f"not read, and not counted: {entry.name}" for entry in unread]
    flags += ["constants from memory"] if any(law.origin == "memory" for law, _ in each) else []
    flags += [law.note for law, _ in each if law.note]
    values = [value for _, value in each]
    grade = "low" if any(law.grade == "low" for law, _ in each) else each[0][0].grade
    return Estimate(
        NAME,
        UNIT,
        None,
        min(values),
        max(values),
        "; ".join(f"Norris-Landzberg, {law.name}: {value:.4g}" for law, value in each),
        "; ".join(dict.fromkeys([law.source for law, _ in each] + [entry.source for entry in unread])),
        "memory" if any(law.origin == "memory" for law, _ in each) else each[0][0].origin,
        grade,
        tuple(flags),
    )
