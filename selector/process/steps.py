"""Soldering steps: which alloys may follow each other so that no earlier joint melts in a later step.

For every earlier joint j and later step k: S_j - (L_k + SH + U) >= M, and L_k + SH + U <= every limit of step k.
S remelt onset, L liquidus, degC; SH superheat, U spread over the board, M margin, K. A route with a process temperature
of its own has that in place of L + SH. Rework is a step that may melt one joint and no other.
Every assignment is enumerated, exactly: those that hold at the unfavourable ends of all intervals are feasible; those
that hold only at the favourable ends are undecided and kept apart. Policy: 20, 5 and 10 K in `practice.toml`; advice of
25 K between melting points and 20 K to wet from one maker.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from selector.durability.validity import Bound, hold
from selector.errors import Fault, InputError
from selector.joint.stops import PAIRS, counted, is_stop
from selector.policy import policy
from selector.process.routes import Candidate, Interval
from selector.process.steps_search import Rules, Search, enumerate_assignments

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int32]
MixedOnset = Callable[[Candidate, Candidate], Interval | None]


@dataclass(frozen=True)
class PartLimit:
    """Something that must survive a step, and the hottest joint that it allows, degC; None where not known."""

    name: str
    limit_c: float | None


@dataclass(frozen=True)
class Step:
    """One soldering step, in the order in which they are made.

    Parameters
    ----------
    name : str
    limits : tuple of PartLimit
        Everything in the heat of this step.
    allowed : tuple of str or None
        Names of the candidates that may be used; None: any. For rework None means the metal that is there.
    superheat_k, spread_k : float or None
        The policy's where None.
    may_remelt : tuple of str
        Earlier steps whose joints may melt here, being held by surface tension, glue or underfill: the user's claim.
    reworks : str
        The earlier step whose joint is melted again on purpose; empty where this is no rework.
    meets : tuple of str or None
        Earlier steps whose metal this one touches; None where not known. Lead, bismuth and indium stop each other.
    """

    name: str
    limits: tuple[PartLimit, ...] = ()
    allowed: tuple[str, ...] | None = None
    superheat_k: float | None = None
    spread_k: float | None = None
    may_remelt: tuple[str, ...] = ()
    reworks: str = ""
    meets: tuple[str, ...] | None = None

    @property
    def rise_k(self) -> float:
        """Return superheat and spread together, K."""
        return self.given_superheat_k + self.given_spread_k

    @property
    def given_superheat_k(self) -> float:
        """Return the superheat, K: the step's own or the policy's."""
        return policy().window.superheat_k if self.superheat_k is None else self.superheat_k

    @property
    def given_spread_k(self) -> float:
        """Return the spread over the board, K: the step's own or the policy's."""
        return policy().window.spread_k if self.spread_k is None else self.spread_k


@dataclass(frozen=True)
class Plan:
    """Every assignment of candidates to steps, feasible ones and undecided ones apart.

    Parameters
    ----------
    steps : tuple of Step
    candidates : tuple of Candidate
        The pool; assignments are indices into it.
    margin_k : float
    feasible, undecided : (assignments, steps) array of int
    merit : (feasible,) array
        Sum over the steps; NaN where a step's alloy has no merit.
    slack_k : (feasible,) array
        Tightest distance to any limit, K; remelt margins count beyond the margin that is asked.
    undecided_merit : (undecided,) array
    search : Search
        What the enumeration needs again to say what blocks.
    """

    steps: tuple[Step, ...]
    candidates: tuple[Candidate, ...]
    margin_k: float
    feasible: IntArray
    undecided: IntArray
    merit: FloatArray
    slack_k: FloatArray
    undecided_merit: FloatArray
    search: Search = field(repr=False)

    @cached_property
    def by_merit(self) -> NDArray[np.int64]:
        """Return the rows of `feasible`, best merit first, then most slack; those without a merit last."""
        return np.lexsort((*self.feasible.T[::-1], -self.slack_k, -np.nan_to_num(self.merit, nan=-np.inf)))

    @cached_property
    def by_margin(self) -> NDArray[np.int64]:
        """Return the rows of `feasible`, most slack first, then best merit."""
        return np.lexsort((*self.feasible.T[::-1], -np.nan_to_num(self.merit, nan=-np.inf), -self.slack_k))

    def names(self, row: Sequence[int] | IntArray) -> tuple[str, ...]:
        """Return the candidates of an assignment by name."""
        return tuple(self.candidates[int(index)].name for index in row)


def remelt_margin_k(onset_c: float, liquidus_c: float, superheat_k: float, spread_k: float) -> float:
    """Return the onset of an earlier joint less the hottest later peak, K: S - (L + SH + U).

    Raises
    ------
    InputError
        A superheat or spread below 0, or a temperature that cannot be.
    """
    hold(
        "the margin of a step",
        Bound("onset_c", onset_c, -100, 1500, "degC"),
        Bound("liquidus_c", liquidus_c, -100, 1500, "degC"),
        Bound("superheat_k", superheat_k, 0, 200, "K"),
        Bound("spread_k", spread_k, 0, 100, "K"),
    )
    return onset_c - (liquidus_c + superheat_k + spread_k)


def levels_bound(hottest_c: float, coolest_c: float, spacing_k: float) -> int:
    """Return how many levels fit between two onsets at a spacing, by arithmetic alone; real sets give fewer.

    Raises
    ------
    InputError
        A spacing not above 0, or a hottest below the coolest.
    """
    hold(
        "the number of levels",
        Bound("coolest_c", coolest_c, -100, 1500, "degC"),
        Bound("hottest_c", hottest_c, coolest_c, 1500, "degC"),
        Bound("spacing_k", spacing_k, 0, unit="K", above=True),
    )
    return int((hottest_c - coolest_c) // spacing_k) + 1


def plan_steps(
    steps: Sequence[Step],
    candidates: Sequence[Candidate],
    merit: Sequence[Mapping[str, float]] = (),
    *,
    margin_k: float | None = None,
    mixed_onset: MixedOnset | None = None,
) -> Plan:
    """Return every feasible and every undecided assignment of candidates to steps.

    Parameters
    ----------
    steps : sequence of Step
        In the order in which they are made; at least one.
    candidates : sequence of Candidate
        The pool, names unlike each other.
    merit : sequence of mapping, optional
        One a step: candidate name -> merit, higher is better; an empty mapping keeps the step out of the sum.
    margin_k : float, optional
        Least remelt margin; the policy's where not given.
    mixed_onset : callable, optional
        Onset of a joint reworked with another alloy, from the two; without it such an onset is not known.

    Raises
    ------
    InputError
        Steps or candidates that contradict themselves, or more assignments than can be held.
    """
    asked = policy().steps.margin_k if margin_k is None else margin_k
    _check(steps, candidates, merit, asked)
    rules = Rules(asked, policy().steps.most_assignments)
    search = _search(tuple(steps), tuple(candidates), mixed_onset)
    found = enumerate_assignments(search, rules)
    sure = found.rows[found.sure]
    open_rows = found.rows[~found.sure]
    return Plan(
        tuple(steps),
        tuple(candidates),
        asked,
        sure,
        open_rows,
        _merits(sure, candidates, merit),
        found.slack_k[found.sure],
        _merits(open_rows, candidates, merit),
        search,
    )


def problem(steps: Sequence[Step], candidates: Sequence[Candidate], mixed_onset: MixedOnset | None = None) -> Search:
    """Return the problem as arrays, for those who enumerate parts of it; parameters and faults as of `plan_steps`."""
    _check(steps, candidates, (), policy().steps.margin_k)
    return _search(tuple(steps), tuple(candidates), mixed_onset)


def _check(
    steps: Sequence[Step], candidates: Sequence[Candidate], merit: Sequence[Mapping[str, float]], margin_k: float
) -> None:
    faults = []
    names = [candidate.name for candidate in candidates]
    before: list[str] = []
    if not steps:
        faults.append(Fault("steps", "are missing", allowed="at least one"))
    if merit and len(merit) != len(steps):
        faults.append(Fault("merit", "has another length than the steps", str(len(merit)), f"{len(steps)} mappings"))
    faults += [
        Fault("candidates", "name given twice", name) for name in sorted({n for n in names if names.count(n) > 1})
    ]
    bounds = [Bound("margin_k", margin_k, 0, 200, "K")]
    for step in steps:
        where = f"step {step.name}"
        if step.name in before:
            faults.append(Fault(where, "name given twice"))
        named = (*step.may_remelt, *(step.meets or ()), *([step.reworks] if step.reworks else []))
        for other in named:
            if other not in before:
                faults.append(Fault(where, "names a step that is not before it", other, ", ".join(before) or "none"))
        for other in step.allowed or ():
            if other not in names:
                faults.append(Fault(where, "allows what is not a candidate", other, remedy="add it to the candidates"))
        bounds.append(Bound(f"{where}.superheat_k", step.given_superheat_k, 0, 200, "K"))
        bounds.append(Bound(f"{where}.spread_k", step.given_spread_k, 0, 100, "K"))
        bounds += [
            Bound(f"{where}.{limit.name}", limit.limit_c, -50, 1500, "degC")
            for limit in step.limits
            if limit.limit_c is not None
        ]
        before.append(step.name)
    reworked = {step.name for step in steps if step.reworks}
    faults += [
        Fault(f"step {step.name}", "reworks a rework", step.reworks, remedy="name the step that made the joint")
        for step in steps
        if step.reworks in reworked
    ]
    hold("the soldering steps", *bounds, faults=tuple(faults))


def _search(steps: tuple[Step, ...], candidates: tuple[Candidate, ...], mixed_onset: MixedOnset | None) -> Search:
    """Return the problem as arrays: peaks and onsets by step, stops by pair of steps."""
    position = {step.name: number for number, step in enumerate(steps)}
    allowed = []
    for step in steps:
        # The metal that is there is any candidate: equality with the reworked joint is the search's business.
        keep = [i for i, c in enumerate(candidates) if step.allowed is None or c.name in step.allowed]
        allowed.append(np.array(keep, dtype=np.int32))
    onset = _ends([candidate.onset_c for candidate in candidates])
    stops, doubts = _meeting(candidates)
    process = [_peak_ends(step, candidates) for step in steps]
    rework = _ends([candidate.melts_for_rework_c for candidate in candidates])
    same = np.eye(len(candidates), dtype=bool)
    mixed_low, mixed_high = np.full(same.shape, -np.inf), np.full(same.shape, np.inf)
    np.fill_diagonal(mixed_low, onset[0])
    np.fill_diagonal(mixed_high, onset[1])
    # Only what may be reworked with another metal is asked for.
    pairs = {
        (int(i), int(j))
        for step, metals in zip(steps, allowed, strict=True)
        if mixed_onset is not None and step.reworks and step.allowed is not None
        for i in allowed[position[step.reworks]]
        for j in metals
        if i != j
    }
    for i, j in pairs:
        ends = None if mixed_onset is None else mixed_onset(candidates[i], candidates[j])
        if ends is not None:
            mixed_low[i, j], mixed_high[i, j] = ends
    return Search(
        allowed=tuple(allowed),
        limits=tuple(min((e.limit_c for e in s.limits if e.limit_c is not None), default=np.inf) for s in steps),
        limit_open=tuple(any(entry.limit_c is None for entry in step.limits) for step in steps),
        process=tuple(process),
        rework=rework,
        onset=onset,
        rise_k=tuple(step.rise_k for step in steps),
        reworks=tuple(position[step.reworks] if step.reworks else -1 for step in steps),
        same_metal=tuple(bool(step.reworks) and step.allowed is None for step in steps),
        may_remelt=tuple(frozenset(position[name] for name in step.may_remelt) for step in steps),
        meets=tuple(None if s.meets is None else frozenset(position[name] for name in s.meets) for s in steps),
        stops=stops,
        doubts=doubts,
        mixed=(mixed_low, mixed_high),
    )


def _ends(intervals: Sequence[Interval | None]) -> tuple[FloatArray, FloatArray]:
    low = np.array([-np.inf if ends is None else ends[0] for ends in intervals], dtype=float)
    return low, np.array([np.inf if ends is None else ends[1] for ends in intervals], dtype=float)


def _peak_ends(step: Step, candidates: Sequence[Candidate]) -> tuple[FloatArray, FloatArray]:
    own = np.array([candidate.process_c is not None for candidate in candidates], dtype=bool)
    low, high = _ends([candidate.process_c or candidate.liquidus_c for candidate in candidates])
    rise = np.where(own, step.given_spread_k, step.rise_k)
    return low + rise, high + rise


def _meeting(candidates: Sequence[Candidate]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return which pairs of metals must not meet, and which leave a question where they do."""
    metals = [candidate.composition for candidate in candidates]
    held = [frozenset[str]() if metal is None else counted(metal) for metal in metals]
    stops = np.zeros((len(candidates), len(candidates)), dtype=bool)
    met = stops.copy()
    for pair in PAIRS:
        first, second = (np.array([name in entry for entry in held], dtype=bool) for name in pair)
        stopping = [
            metal is not None and name and is_stop(pair, metal) for metal, name in zip(metals, first, strict=True)
        ]
        met |= first[:, None] & second
        stops |= np.array(stopping, dtype=bool)[:, None] & second
    others = ~np.eye(len(candidates), dtype=bool)
    stops = (stops | stops.T) & others
    doubts = (met | met.T) & others & ~stops
    return stops, doubts


def _merits(rows: IntArray, candidates: Sequence[Candidate], merit: Sequence[Mapping[str, float]]) -> FloatArray:
    """Return the sum of merits of each row, added step by step in their order."""
    total = np.zeros(len(rows))
    for number, by_name in enumerate(merit):
        if by_name:
            table = np.array([by_name.get(candidate.name, np.nan) for candidate in candidates], dtype=float)
            total = total + table[rows[:, number]]
    return total


def named(plan: Plan, *names: str) -> IntArray:
    """Return the assignment with these candidate names as a row of indices.

    Raises
    ------
    InputError
        A name that is no candidate, or another number of them than steps.
    """
    held = {candidate.name: index for index, candidate in enumerate(plan.candidates)}
    faults = [Fault("assignment", "is no candidate", name) for name in names if name not in held]
    if len(names) != len(plan.steps):
        faults.append(Fault("assignment", "has another length than the steps", str(len(names)), str(len(plan.steps))))
    if faults:
        raise InputError("the assignment", faults)
    return np.array([held[name] for name in names], dtype=np.int32)
