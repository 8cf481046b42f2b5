"""The brief's soldering steps: whether an alloy fits any feasible assignment, at any step.

For each step the alloy is put there and everything else is enumerated exactly (`process.steps`). What the brief rates
besides its steps (parts, laminate, film, adhesive) is on the board in the last step and counts there.
"""

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from selector.brief import Brief, known
from selector.catalogue import Alloy, Catalogue
from selector.errors import InputError
from selector.figures import figure, signed
from selector.melting.onset import joint_onset
from selector.policy import policy
from selector.process.reflow import effective_c, heat_limits
from selector.process.routes import Candidate, Interval, listed
from selector.process.steps import MixedOnset, PartLimit, Step, problem
from selector.process.steps_search import Found, Rules, Search, enumerate_assignments, without_limit
from selector.verdict import Edit, Measured, Outcome, Verdict

RULE = "soldering_steps"
SOURCE = "policy; the brief's steps"
NO_REWORK = "none"
_HELD: OrderedDict[tuple[object, ...], tuple[Search, dict[str, int]]] = OrderedDict()
MOST_HELD = 64


def steps_of(brief: Brief, catalogue: Catalogue) -> tuple[Step, ...]:
    """Return the brief's steps as the planner takes them, with names of alloys as the catalogue writes them.

    Raises
    ------
    InputError
        An allowed alloy that the catalogue does not hold.
    """
    faults = []
    found = []
    for index, step in enumerate(brief.steps):
        allowed = []
        for name in step.allowed:
            try:
                allowed.append(catalogue.find(name).id)
            except InputError as error:
                faults += [replace(fault, where=f"steps[{index}].allowed: {fault.where}") for fault in error.faults]
        superheat, spread = known(step.superheat_k), known(step.spread_k)
        limits = [PartLimit(limit.name, known(limit.limit_c)) for limit in step.limits]
        if index == len(brief.steps) - 1:
            limits += _rated(brief, {limit.name for limit in limits})
        if not limits and step.reworks == NO_REWORK:
            limits = [PartLimit(f"everything in the heat of {step.name}", None)]
        found.append(
            Step(
                step.name,
                tuple(limits),
                tuple(allowed) or None,
                known(brief.process.superheat_k) if superheat is None else superheat,
                known(brief.process.board_spread_k) if spread is None else spread,
                step.may_remelt,
                "" if step.reworks == NO_REWORK else step.reworks,
                None if isinstance(step.meets, str) else step.meets,
            )
        )
    if faults:
        raise InputError("the steps", faults)
    return tuple(found)


def _rated(brief: Brief, named: set[str]) -> list[PartLimit]:
    """Return what the brief rates outside its steps; what it leaves unrated there is left to the steps."""
    rated = [(limit.name, effective_c(brief, limit)) for limit in heat_limits(brief) if limit.path]
    return [PartLimit(name, limit_c) for name, limit_c in rated if limit_c is not None and name not in named]


def peak_or_steps(brief: Brief, peak: Verdict) -> Verdict:
    """Return the verdict on one reflow; not applicable where the brief's steps carry the limits."""
    if not brief.steps:
        return peak
    reason = "judged step by step"
    return Verdict(peak.rule, Outcome.NOT_APPLICABLE, reason, SOURCE, measured=peak.measured)


def steps_screen(brief: Brief, catalogue: Catalogue, alloy: Alloy) -> Verdict:
    """Return whether an alloy fits a feasible assignment at some step; asked where the brief names steps.

    Measured is the peak at the step with most room, degC; limit and margin are that step's.
    """
    if not brief.steps:
        return Verdict(RULE, Outcome.NOT_APPLICABLE, "the brief names no steps", "the brief")
    steps = steps_of(brief, catalogue)
    search, position = _problem(steps, catalogue, alloy)
    pick = position[alloy.id]
    where: dict[bool, list[str]] = {True: [], False: []}
    best: tuple[float, int] | None = None
    try:
        for number, step in enumerate(steps):
            if step.reworks or pick not in search.allowed[number]:
                continue
            found = _placed(search, number, pick)
            if not len(found.rows):
                continue
            sure = bool(found.sure.any())
            where[sure].append(step.name)
            room = search.limits[number] - float(search.process[number][1][pick])
            if sure and (best is None or room > best[0]):
                best = room, number
    except InputError as error:
        fault = error.faults[0]
        threshold = fault.remedy or "fewer alloys a step"
        return Verdict(RULE, Outcome.UNKNOWN, f"{fault.where} {fault.problem}", SOURCE, threshold=threshold)
    if best is not None:
        return _fits(search, steps, pick, best[1], where[True])
    edits = _openings(brief, search, steps, pick)
    if where[False]:
        reason = f"fits {' and '.join(where[False])} only at the favourable ends of what is known"
        threshold = "; ".join(edit.text for edit in edits) or "every limit of the steps, and the onsets, stated closer"
        return Verdict(RULE, Outcome.UNKNOWN, reason, SOURCE, threshold=f"holds if {threshold}", edits=edits)
    return Verdict(RULE, Outcome.FAIL, _why_not(search, steps, pick), SOURCE, edits=edits)


def _problem(steps: tuple[Step, ...], catalogue: Catalogue, alloy: Alloy) -> tuple[Search, dict[str, int]]:
    """Return the search over the default list and this alloy; kept, as every alloy of a decision asks for it."""
    pool = {entry.id: entry for entry in catalogue.listed()}
    named = {name for step in steps for name in step.allowed or () if name not in pool}
    extra = tuple(sorted({alloy.id, *named} - set(pool)))
    key = (steps, catalogue.hash, id(catalogue), extra)
    if key not in _HELD:
        pool |= {name: alloy if name == alloy.id else catalogue.find(name) for name in extra}
        candidates = [listed(entry) for entry in pool.values()]
        _HELD[key] = (
            problem(steps, candidates, reworked_onset(pool)),
            {name: number for number, name in enumerate(pool)},
        )
        while len(_HELD) > MOST_HELD:
            _HELD.popitem(last=False)
    return _HELD[key]


def reworked_onset(alloys: Mapping[str, Alloy]) -> MixedOnset:
    """Return what asks for the onset of a joint of two alloys, by rule over every share of the second.

    It answers None where one of the two is none of the alloys, as by a route of its own.
    """

    def onset(one: Candidate, other: Candidate) -> Interval | None:
        first, second = alloys.get(one.alloy), alloys.get(other.alloy)
        return None if first is None or second is None else joint_onset(first, second).interval

    return onset


def _placed(search: Search, number: int, pick: int, certain: bool = False) -> Found:
    """Return every assignment with one candidate at one step."""
    only = np.array([pick], dtype=np.int32)
    # What cannot stand a step's own limit even at the favourable end fits no assignment.
    fitting = tuple(
        only
        if k == number
        else allowed[search.process[k][0][allowed] <= search.limits[k] + 1e-6]
        if search.reworks[k] < 0
        else allowed
        for k, allowed in enumerate(search.allowed)
    )
    rules = Rules(policy().steps.margin_k, policy().steps.most_assignments, certain)
    return enumerate_assignments(replace(search, allowed=fitting), rules)


def _fits(search: Search, steps: tuple[Step, ...], pick: int, number: int, names: list[str]) -> Verdict:
    low, high = (float(end[pick]) for end in search.process[number])
    limit = search.limits[number]
    reason = f"fits {' and '.join(names)}: peaks at {figure(high)} degC in {steps[number].name}"
    measured = Measured(None if low != high else high, low, high, "degC")
    if not np.isfinite(limit):
        return Verdict(RULE, Outcome.PASS, reason, SOURCE, measured)
    return Verdict(RULE, Outcome.PASS, reason, SOURCE, measured, limit, round(limit - high, 3))


def _why_not(search: Search, steps: tuple[Step, ...], pick: int) -> str:
    hot = []
    for number, step in enumerate(steps):
        peak = float(search.process[number][0][pick])
        if pick not in search.allowed[number]:
            hot.append(f"{step.name}: not allowed" if not step.reworks else "")
        elif peak > search.limits[number]:
            hot.append(f"{step.name}: needs {figure(peak)} degC of {figure(search.limits[number])}")
        elif not step.reworks:
            hot.append(f"{step.name}: an earlier or later joint does not keep its margin")
    return "fits no step: " + "; ".join(entry for entry in hot if entry)


def _openings(brief: Brief, search: Search, steps: tuple[Step, ...], pick: int) -> tuple[Edit, ...]:
    """Return the smallest change of one step's limits with which the alloy fits there; empty where none does."""
    best: tuple[float, tuple[Edit, ...]] | None = None
    for number, step in enumerate(steps):
        if step.reworks or pick not in search.allowed[number]:
            continue
        peak = float(search.process[number][1][pick])
        edits = _raised(brief, number, peak)
        if not edits or not np.isfinite(peak):
            continue
        if len(_placed(without_limit(search, number), number, pick, certain=True).rows):
            largest = max(abs(edit.change or 0.0) for edit in edits)
            if best is None or largest < best[0]:
                best = largest, edits
    return () if best is None else best[1]


def _raised(brief: Brief, number: int, peak_c: float) -> tuple[Edit, ...]:
    edits = []
    step = brief.steps[number]
    for index, limit in enumerate(step.limits):
        path, stated = f"steps[{number}].limits[{index}].limit_c", known(limit.limit_c)
        if stated is None:
            edits.append(Edit(path, peak_c, f"show that {limit.name} stands {figure(peak_c)} degC in {step.name}"))
        elif stated < peak_c:
            change = peak_c - stated
            told = f"raise {limit.name} in {step.name} from {figure(stated)} to {figure(peak_c)} degC"
            edits.append(Edit(path, peak_c, f"{told} ({signed(change, 'K')})", change, "K"))
    if number == len(brief.steps) - 1:
        named = {limit.name for limit in step.limits}
        for rated in heat_limits(brief):
            room = effective_c(brief, rated)
            if (
                rated.path
                and rated.name not in named
                and rated.limit_c is not None
                and room is not None
                and room < peak_c
            ):
                need = rated.limit_c + peak_c - room
                told = f"raise {rated.name} from {figure(rated.limit_c)} to {figure(need)} degC"
                edits.append(Edit(rated.path, need, f"{told} ({signed(peak_c - room, 'K')})", peak_c - room, "K"))
    return tuple(edits)
