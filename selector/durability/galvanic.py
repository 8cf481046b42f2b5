"""Solder against the metal it sits on, in moisture: the difference of standard potentials, as a flag.

dE = E(noble) - E(active), V against hydrogen, of the least noble element that the solder holds to a share that counts.
Standard potentials exaggerate: real couples are smaller, and passive films and the ratio of areas decide. Never a
lifetime. Tin-zinc on copper gives 1.10 V; tin on copper, sound in service, 0.48 V. Potentials: memory.
"""

from selector.composition import Composition
from selector.durability.constants import surface_data
from selector.durability.validity import hold
from selector.errors import Fault
from selector.policy import policy
from selector.verdict import Measured, Outcome, Verdict

RULE = "galvanic"


def potential_v(element: str) -> float:
    """Return the standard potential of an element against hydrogen, V.

    Raises
    ------
    InputError
        Not in the table.
    """
    held = {entry.element: entry.volt for entry in surface_data().potential}
    if element not in held:
        hold("the couple", faults=(Fault("metal", "has no potential in the table", repr(element), ", ".join(held)),))
    return held[element]


def difference_v(one: str, other: str) -> float:
    """Return the difference of standard potentials of two elements, V, above 0.

    Raises
    ------
    InputError
        One that is not in the table.
    """
    return abs(potential_v(one) - potential_v(other))


def active_element(alloy: Composition) -> str:
    """Return the least noble element that an alloy holds to a share that counts: zinc counts from a trace on.

    Raises
    ------
    InputError
        An alloy none of whose elements is in the table.
    """
    rules = policy().galvanic
    held = {entry.element: entry.volt for entry in surface_data().potential}
    counts = [
        element
        for element, wt in alloy.parts
        if element in held and float(wt) >= (rules.zinc_from_wt if element == "Zn" else rules.active_from_wt)
    ]
    if not counts:
        hold("the couple", faults=(Fault("alloy", "has no element with a known potential", str(alloy)),))
    return min(counts, key=lambda element: held[element])


def galvanic(
    alloy: Composition,
    metal: str,
    *,
    humid: bool | None,
    sealed: bool | None,
    vacuum: bool | None,
    high_reliability: bool | None = None,
) -> Verdict:
    """Return the flag for a solder on a metal; a screen that no score can buy back, and no lifetime.

    Parameters
    ----------
    alloy : Composition
    metal : str
        Element symbol of what stays under the joint; a thin finish of gold or silver dissolves and is not it.
    humid, sealed, vacuum, high_reliability : bool or None
        Of the use; None where nobody has said.

    Raises
    ------
    InputError
        A metal or alloy without a potential.
    """
    rules = policy().galvanic
    active = active_element(alloy)
    difference = round(difference_v(active, metal), 6)
    solder_attacked = potential_v(active) < potential_v(metal)
    victim = f"{active} of the solder" if solder_attacked else metal
    measured = Measured.exactly(difference, "V")
    told = f"{active} against {metal}: {difference:.2f} V, {victim} is attacked"
    source = "; ".join(dict.fromkeys(e.source for e in surface_data().potential if e.element in (active, metal)))
    source = f"{source}; {rules.source}"
    cautions = ["a flag, not a lifetime: standard potentials exaggerate; passive films and areas decide"]
    zinc = float(alloy.wt("Zn")) >= rules.zinc_from_wt
    if zinc and vacuum is True:
        reason = "zinc evaporates in vacuum"
        return Verdict(RULE, Outcome.FAIL, reason, "practice", measured=measured, cautions=tuple(cautions))
    if zinc and vacuum is None:
        cautions.append("not for vacuum: zinc evaporates")
    outcome, threshold, reason = Outcome.PASS, "", told
    if difference <= rules.flag_v:
        reason = f"{told}; at or under {rules.flag_v:g} V"
    elif metal == "Al":
        cautions.append("aluminium is the less noble side and lives by its oxide: coat or seal the joint")
    elif humid is False or sealed is True:
        cautions.append("holds only while the joint stays dry: seal or coat, and keep the seal")
    elif humid is None or sealed is None:
        outcome, threshold = Outcome.UNKNOWN, "holds if the joint stays dry, or is sealed"
    elif high_reliability is not True:
        # Below the highest class the couple may be taken with a coat that a damp-heat test proves.
        outcome, threshold = Outcome.UNKNOWN, "holds if a coat is proved by a damp-heat test on this couple"
    else:
        outcome = Outcome.FAIL
        reason = f"{told}; humid and not sealed"
    return Verdict(
        RULE,
        outcome,
        reason,
        source,
        measured,
        rules.flag_v,
        round(rules.flag_v - difference, 6),
        threshold,
        cautions=tuple(cautions),
    )
