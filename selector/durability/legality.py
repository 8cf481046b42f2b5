"""Whether a cycling test may be run on a joint at all, and whether its result carries over to service.

A hot end within 10 K of the remelt onset melts joints; above 0.95 of the onset in kelvin the mechanism changes, so that
no result carries over (125 degC on Sn-58Bi is 0.966). Policy; a consortium sets its hot dwells apart at the same 0.95.
"""

from selector.durability.constants import Condition, condition_data
from selector.durability.service import homologous
from selector.durability.validity import Bound, hold
from selector.errors import Fault
from selector.figures import figure
from selector.policy import policy
from selector.units import celsius, kelvin
from selector.verdict import Measured, Outcome, Verdict, at_least

RULE = "test_condition"


def condition(name: str) -> Condition:
    """Return a standard cycling test by its name, such as `TC3`.

    Raises
    ------
    InputError
        No such test.
    """
    held = {entry.id: entry for entry in condition_data().condition}
    if name.upper() not in held:
        allowed = ", ".join(f"{e.id} ({e.low_c:g} to {e.high_c:g} degC)" for e in held.values())
        hold("the test", faults=(Fault("condition", "is no standard test", repr(name), allowed),))
    return held[name.upper()]


def may_be_tested(hot_end_c: float, onset_low_c: float, onset_high_c: float | None = None) -> Verdict:
    """Return whether a test's hot end may be put on a joint with this remelt onset.

    Parameters
    ----------
    hot_end_c : float
        Hottest joint of the test.
    onset_low_c, onset_high_c : float
        Interval of the remelt onset; one value where the second is not given.

    Returns
    -------
    Verdict
        Measured value and limit are onsets, degC.

    Raises
    ------
    InputError
        A temperature that cannot be, or ends out of order.
    """
    high = onset_low_c if onset_high_c is None else onset_high_c
    hold(
        "the test condition",
        Bound("hot_end_c", hot_end_c, -100, 500, "degC"),
        Bound("onset_low_c", onset_low_c, -50, 1100, "degC"),
        Bound("onset_high_c", high, onset_low_c, 1100, "degC"),
    )
    rules = policy().test_condition
    by_ratio = round(celsius(kelvin(hot_end_c) / rules.ratio), 6)
    melts_below = hot_end_c + rules.margin_k
    need = max(by_ratio, melts_below)
    outcome = at_least(onset_low_c, high, need)
    ratio = homologous(hot_end_c, onset_low_c)
    told = f"{hot_end_c:g} degC is {ratio:.3f} of the onset {figure(onset_low_c)} degC in kelvin"
    if outcome is Outcome.PASS:
        reason = f"{told}: the test may be run"
    elif onset_low_c <= melts_below:
        reason = f"{told}: within {rules.margin_k:g} K of melting, joints come off"
    else:
        reason = f"{told}: above {rules.ratio:g} the mechanism changes and no result carries over"
    return Verdict(
        RULE,
        outcome,
        reason,
        rules.source,
        Measured(onset_low_c if onset_low_c == high else None, onset_low_c, high, "degC"),
        round(need, 3),
        round(onset_low_c - need, 3),
        f"holds if the remelt onset is {need:.1f} degC or more" if outcome is Outcome.UNKNOWN else "",
    )


def hottest_test_c(onset_c: float) -> float:
    """Return the hottest test, degC, that a remelt onset allows.

    Raises
    ------
    InputError
        An onset that cannot be.
    """
    hold("the test condition", Bound("onset_c", onset_c, -50, 1100, "degC"))
    rules = policy().test_condition
    return min(celsius(kelvin(onset_c) * rules.ratio), onset_c - rules.margin_k)
