"""Metals that must not meet in one joint: lead with bismuth, indium with bismuth, indium with lead.

Each pair forms a eutectic with tin far below its members, so that a joint may soften in service. The stop is told with
the onset that the melting engine computes for the joint as frozen. An alloy that holds both by design is no meeting:
its own onset is known. Source: common practice; thresholds in `data/rules/practice.toml`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from selector.composition import Composition
from selector.figures import figure
from selector.joint.contributors import Contributor, joint
from selector.joint.melted import ZoneMelting, zones_melting
from selector.melting.coverage import INDICATIVE
from selector.policy import policy
from selector.verdict import Measured, Outcome, Verdict

RULE = "metals_that_meet"
SOURCE = "practice; computed-melting"
PAIRS = (("Bi", "Pb"), ("Bi", "In"), ("In", "Pb"))
NAMES = {"Bi": "bismuth", "Pb": "lead", "In": "indium"}


@dataclass(frozen=True)
class Meeting:
    """Two metals that meet in a joint.

    Parameters
    ----------
    pair : tuple of str
    brought_by : tuple of tuple of str
        Who brings the one, and who the other.
    zone : ZoneMelting
        The zone whose first liquid is lowest.
    own_c : float or None
        The lowest first liquid that a contributor has by itself, degC.
    verdict : Verdict
    """

    pair: tuple[str, str]
    brought_by: tuple[tuple[str, ...], tuple[str, ...]]
    zone: ZoneMelting
    own_c: float | None
    verdict: Verdict


def meetings(contributors: Sequence[Contributor], zone: Sequence[Contributor] = ()) -> tuple[Meeting, ...]:
    """Return the pairs of metals that meet in a joint, each with its verdict and computed onset.

    Parameters
    ----------
    contributors : sequence of Contributor
        Of the whole joint.
    zone : sequence of Contributor
        Of the zone that melted, where that is not all of it.

    Raises
    ------
    InputError
        Contributors that make no joint.
    """
    met = [(pair, _bringers(contributors, pair[0]), _bringers(contributors, pair[1])) for pair in PAIRS]
    met = [entry for entry in met if entry[1] and entry[2] and not set(entry[1]) & set(entry[2])]
    if not met:
        return ()
    zones = {"whole joint": joint(contributors), **({"mixed zone": joint(zone)} if zone else {})}
    own = {f"alone: {entry.name}": entry.composition for entry in contributors}
    found = zones_melting({**zones, **own}, at_equilibrium=False)
    known = [first for name in own if (first := _first_c(found.of(name))) is not None]
    own_c = min(known) if len(known) == len(own) else None
    lowest = min((found.of(name) for name in zones), key=lambda part: (_first_c(part) is None, _first_c(part) or 0.0))
    return tuple(
        Meeting(pair, (one, other), lowest, own_c, _verdict(pair, (one, other), lowest, own_c, contributors))
        for pair, one, other in met
    )


def counted(alloy: Composition) -> frozenset[str]:
    """Return which of lead, bismuth and indium an alloy holds to a share that counts."""
    return frozenset(element for element in NAMES if policy().lead_with_bismuth.counts(element, alloy.wt(element)))


def is_stop(pair: tuple[str, str], bismuth: Composition) -> bool:
    """Return whether the meeting of two metals stops at once, by what brings the bismuth where that is one of them.

    Lead with indium, and bismuth over its limit with either, stop; bismuth under it leaves a question.
    """
    return pair[0] != "Bi" or policy().lead_with_bismuth.is_rich(bismuth.wt("Bi"))


def metals_that_meet(one: Composition, other: Composition) -> tuple[tuple[str, str], bool] | None:
    """Return which pair of metals meets where two alloys touch, and whether it stops; None where none does.

    By content alone; `meetings` gives the onset of one joint. What an alloy holds by itself meets nothing in it, but
    counts against the other.
    """
    held = {one: counted(one), other: counted(other)}
    found = [
        (pair, is_stop(pair, first))
        for pair in PAIRS
        for first, second in ((one, other), (other, one))
        if pair[0] in held[first] and pair[1] in held[second]
    ]
    return max(found, key=lambda entry: entry[1], default=None)


def _bringers(contributors: Sequence[Contributor], element: str) -> tuple[str, ...]:
    return tuple(entry.name for entry in contributors if element in counted(entry.composition))


def _first_c(zone: ZoneMelting) -> float | None:
    """Return where the first liquid of a zone as frozen melts, degC; None where it is not computed or is a trace."""
    found = zone.melting
    if found is None or found.last_liquid_c is None or found.first_liquid_mass is None:
        return None
    if found.first_liquid_mass * 100 < policy().remelt.trace_mass_percent and found.remelt_onset_c is not None:
        return found.remelt_onset_c
    return found.last_liquid_c


def _verdict(
    pair: tuple[str, str],
    brought_by: tuple[tuple[str, ...], tuple[str, ...]],
    zone: ZoneMelting,
    own_c: float | None,
    contributors: Sequence[Contributor],
) -> Verdict:
    rules, drop_k = policy().lead_with_bismuth, policy().mixed_joint.stop_drop_k
    # By content alone, lead that meets indium or much bismuth stops, here as at every other place that asks.
    rich = pair[1] == "Pb" and any(rules.stops(e.composition.wt("Bi"), e.composition.wt("In")) for e in contributors)
    who = f"{NAMES[pair[0]]} of {', '.join(brought_by[0])} meets {NAMES[pair[1]]} of {', '.join(brought_by[1])}"
    first_c = _first_c(zone)
    found = zone.melting
    if first_c is None or found is None:
        outcome = Outcome.FAIL if rich else Outcome.UNKNOWN
        why = zone.why or "liquid remains below 25 degC"
        threshold = "" if rich else "holds if a measurement shows that the joint keeps its remelt onset"
        return Verdict(RULE, outcome, f"{who}; its melting is not computed ({why})", SOURCE, threshold=threshold)
    share = found.first_liquid_mass or 0.0
    told = (
        f"{who}: {figure(share * 100, 2)} % by mass of the {zone.name} is liquid from {ceil(first_c)} degC as frozen"
        f" (computed, {found.grade}, to {figure(found.half_width_k)} K)"
    )
    measured = Measured(first_c, first_c - found.half_width_k, first_c + found.half_width_k, "degC")
    falls = own_c is not None and own_c - first_c > max(drop_k, found.half_width_k)
    counts = share * 100 >= policy().remelt.mass_fraction_percent
    if rich or (falls and counts):
        outcome, threshold = Outcome.FAIL, ""
        told += "" if falls and counts else "; a stop of common practice, whatever is computed"
    elif falls:
        told += f", under the {policy().remelt.mass_fraction_percent:g} % that count as remelting"
        outcome, threshold = Outcome.UNKNOWN, f"holds if {figure(share * 100, 2)} % of liquid does no harm in service"
    elif own_c is not None and own_c - first_c <= drop_k and found.grade != INDICATIVE:
        outcome, threshold = Outcome.PASS, ""
        told += f", no lower than one of its alloys by itself ({figure(own_c)} degC)"
    else:
        outcome, threshold = Outcome.UNKNOWN, "holds if a measurement shows that the joint keeps its remelt onset"
    margin = None if own_c is None else round(first_c - own_c, 3)
    return Verdict(RULE, outcome, told, SOURCE, measured, own_c, margin, threshold)
