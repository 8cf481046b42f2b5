"""An assignment of alloys to soldering steps as a ladder: peak, limits, onset and hottest later peak of each rung."""

from dataclasses import dataclass

import numpy as np

from selector.durability.service import homologous
from selector.figures import figure
from selector.joint.stops import NAMES, metals_that_meet
from selector.policy import policy
from selector.process.routes import Candidate, Interval
from selector.process.steps import IntArray, Plan, Step

HELD = "may melt at {step}: held by surface tension, glue or underfill, which is the user's claim"


@dataclass(frozen=True)
class Rung:
    """One step of a ladder.

    Parameters
    ----------
    step, alloy, route : str
    peak_c : (float, float) or None
        Superheat and spread included; None where not known.
    limit_name : str
        The lowest limit; empty where there is none.
    limit_c : float or None
    limit_margin_k : float or None
        Limit less the hotter end of the peak.
    onset_c : (float, float) or None
        Of the finished joint.
    hottest_later : str
        Step with the hottest peak that this joint has to stand; empty for the last.
    hottest_later_c : float or None
    remelt_margin_k : float or None
        Lower onset less that peak.
    needed_k : float
        What the margin must reach.
    cautions : tuple of str
    source : str
    liquidus_c : (float, float) or None
        Of what this step melts.
    lowest_earlier : str
        Earlier step whose joint melts first and must stay solid here; empty where there is none.
    lowest_earlier_c : float or None
        Its lower onset.
    earlier_margin_k : float or None
        That onset less the hotter end of this step's peak.
    process_c : (float, float) or None
        Process temperature of a route that has its own.
    """

    step: str
    alloy: str
    route: str
    peak_c: Interval | None
    limit_name: str
    limit_c: float | None
    limit_margin_k: float | None
    onset_c: Interval | None
    hottest_later: str
    hottest_later_c: float | None
    remelt_margin_k: float | None
    needed_k: float
    cautions: tuple[str, ...]
    source: str
    liquidus_c: Interval | None = None
    lowest_earlier: str = ""
    lowest_earlier_c: float | None = None
    earlier_margin_k: float | None = None
    process_c: Interval | None = None


def ladder(plan: Plan, row: IntArray) -> tuple[Rung, ...]:
    """Return the rungs of an assignment, in the order of the steps.

    Parameters
    ----------
    plan : Plan
    row : (steps,) array of int
        A row of `plan.feasible` or `plan.undecided`, or `steps.named(plan, ...)`.
    """
    chosen = [plan.candidates[int(index)] for index in row]
    peaks = [_peak(plan, chosen, number) for number in range(len(chosen))]
    return tuple(_rung(plan, chosen, peaks, number) for number in range(len(chosen)))


def _peak(plan: Plan, chosen: list[Candidate], number: int) -> Interval | None:
    step = plan.steps[number]
    if step.reworks:
        melted = [chosen[number].melts_for_rework_c, chosen[_position(plan, step.reworks)].melts_for_rework_c]
        known = [ends for ends in melted if ends is not None]
        if len(known) < len(melted):
            return None
        return max(e[0] for e in known) + step.rise_k, max(e[1] for e in known) + step.rise_k
    candidate = chosen[number]
    if candidate.process_c is not None:
        return candidate.process_c[0] + step.given_spread_k, candidate.process_c[1] + step.given_spread_k
    if candidate.liquidus_c is None:
        return None
    return candidate.liquidus_c[0] + step.rise_k, candidate.liquidus_c[1] + step.rise_k


def _position(plan: Plan, name: str) -> int:
    return next(number for number, step in enumerate(plan.steps) if step.name == name)


def _stands(plan: Plan, number: int, later: Step) -> bool:
    """Return whether the joint of a step has to stay solid in a later one."""
    mine = plan.steps[number].name
    return mine not in (later.reworks, *later.may_remelt)


def _rung(plan: Plan, chosen: list[Candidate], peaks: list[Interval | None], number: int) -> Rung:
    step, candidate, peak = plan.steps[number], chosen[number], peaks[number]
    limits = [limit for limit in step.limits if limit.limit_c is not None]
    lowest = min(limits, key=lambda limit: limit.limit_c or 0.0, default=None)
    later = [] if step.reworks else range(number + 1, len(chosen))
    standing = [k for k in later if _stands(plan, number, plan.steps[k])]
    hottest = max(standing, key=lambda k: np.inf if peaks[k] is None else (peaks[k] or (0, 0))[1], default=None)
    hottest_c = None if hottest is None or peaks[hottest] is None else (peaks[hottest] or (0, 0))[1]
    onset, cautions = _onset(plan, chosen, number)
    margin = None if onset is None or hottest_c is None else round(onset[0] - hottest_c, 6)
    cautions += [HELD.format(step=plan.steps[k].name) for k in later if step.name in plan.steps[k].may_remelt]
    cautions += [
        f"{entry.name} of step {step.name}: its limit is not known" for entry in step.limits if entry.limit_c is None
    ]
    if onset is not None and hottest_c is not None and margin is not None and margin > 0:
        ratio = homologous(hottest_c, onset[0])
        if ratio > policy().steps.soften_ratio:
            cautions.append(
                f"at {figure(hottest_c)} degC it is {ratio:.3f} of its onset: compounds grow; keep it short"
            )
    cautions += _close(plan, chosen, number, standing)
    weakest, weakest_c = _weakest(plan, chosen, number)
    return Rung(
        step.name,
        candidate.alloy,
        candidate.route,
        peak,
        "" if lowest is None else lowest.name,
        None if lowest is None else lowest.limit_c,
        None if lowest is None or lowest.limit_c is None or peak is None else round(lowest.limit_c - peak[1], 6),
        onset,
        "" if hottest is None else plan.steps[hottest].name,
        hottest_c,
        margin,
        plan.margin_k,
        tuple(dict.fromkeys((*candidate.cautions, *cautions))),
        candidate.source,
        candidate.liquidus_c,
        weakest,
        weakest_c,
        None if weakest_c is None or peak is None else round(weakest_c - peak[1], 6),
        candidate.process_c,
    )


def _weakest(plan: Plan, chosen: list[Candidate], number: int) -> tuple[str, float | None]:
    """Return the earlier joint that melts first of those that must stay solid here; an unknown one comes first."""
    standing = [j for j in range(number) if not plan.steps[j].reworks and _stands(plan, j, plan.steps[number])]
    lows = {}
    for j in standing:
        onset = _onset(plan, chosen, j, number)[0]
        lows[j] = None if onset is None else onset[0]
    first = min(lows, key=lambda j: -np.inf if lows[j] is None else lows[j] or 0.0, default=None)
    return ("", None) if first is None else (plan.steps[first].name, lows[first])


def _onset(
    plan: Plan, chosen: list[Candidate], number: int, before: int | None = None
) -> tuple[Interval | None, list[str]]:
    """Return the onset of a joint with what rework by another metal does to it, before a step where one is given."""
    onset, cautions = chosen[number].onset_c, []
    for k, later in enumerate(plan.steps[:before]):
        if later.reworks == plan.steps[number].name and chosen[k].name != chosen[number].name:
            pair = plan.candidates.index(chosen[number]), plan.candidates.index(chosen[k])
            low, high = (float(ends[pair]) for ends in plan.search.mixed)
            cautions.append(f"reworked with {chosen[k].alloy}: a mixed joint, judged by the lower onset")
            onset = None if onset is None or np.isinf(low) else (min(onset[0], low), min(onset[1], high))
    return onset, cautions


def _close(plan: Plan, chosen: list[Candidate], number: int, standing: list[int]) -> list[str]:
    mine, least = chosen[number].liquidus_c, policy().steps.gap_least_k
    told = []
    for k in standing:
        other = chosen[k].liquidus_c
        if mine is not None and other is not None and chosen[k].process_c is None and mine[0] - other[1] < least:
            told.append(
                f"{figure(mine[0] - other[1])} K between melting points of {plan.steps[k].name} and this step:"
                f" {least:g} K is the least advised"
            )
    return told


def open_questions(plan: Plan, row: IntArray) -> tuple[str, ...]:
    """Return what would decide an undecided assignment; empty where nothing is open."""
    rungs = ladder(plan, row)
    told: list[str] = []
    for number, rung in enumerate(rungs):
        step = plan.steps[number]
        # Without a limit, and with no earlier joint to keep solid, nothing hangs on the peak.
        binds = bool(step.limits) or any(_stands(plan, j, step) for j in range(number))
        if rung.peak_c is None and binds:
            told.append(f"{rung.step}: the liquidus of {rung.alloy} is not known")
        elif rung.peak_c is not None and rung.limit_margin_k is not None and rung.limit_margin_k < 0:
            told.append(f"{rung.step}: holds if {rung.limit_name} stands {figure(rung.peak_c[1])} degC")
        for limit in step.limits:
            if limit.limit_c is None:
                need = "the peak" if rung.peak_c is None else f"{figure(rung.peak_c[1])} degC"
                told.append(f"{rung.step}: holds if {limit.name} stands {need}")
        if rung.hottest_later and rung.onset_c is None:
            told.append(f"{rung.step}: the remelt onset of {rung.alloy} is not known")
        elif (
            rung.remelt_margin_k is not None
            and rung.remelt_margin_k < rung.needed_k
            and rung.hottest_later_c is not None
        ):
            need = figure(rung.hottest_later_c + rung.needed_k)
            told.append(f"{rung.step}: holds if the remelt onset of {rung.alloy} is {need} degC or more")
        told += _meetings(plan, row, number)
    return tuple(dict.fromkeys(told))


def _meetings(plan: Plan, row: IntArray, number: int) -> list[str]:
    """Return what is open about the metals of earlier steps that a step may touch."""
    step, told = plan.steps[number], []
    for k in range(number):
        earlier = plan.steps[k].name
        pair = int(row[k]), int(row[number])
        one, other = (plan.candidates[index].composition for index in pair)
        met = None if one is None or other is None or pair[0] == pair[1] else metals_that_meet(one, other)
        if met is None:
            continue
        metals = " and ".join(NAMES[name] for name in sorted(met[0], key=list(NAMES).index, reverse=True))
        touches = step.reworks == earlier or (step.meets is not None and earlier in step.meets)
        if step.meets is None and step.reworks != earlier:
            told.append(f"{step.name}: holds if its metal never meets that of {earlier}: {metals}")
        elif touches and not met[1]:
            told.append(f"{step.name}: holds if a joint of both with {earlier} keeps its onset: {metals} meet")
    return told
