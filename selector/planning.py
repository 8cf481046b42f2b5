"""What a brief asks of its soldering steps, planned over the catalogue: pool, merit, assignments, and what blocks.

The pool is the default list, and what a step allows by name besides. What any rule of the brief but peak heat rules out
leaves the pool; what one leaves open stays, and an assignment with it is undecided, never feasible. A rule that the
brief leaves open for every alloy alike tells none apart: it is named as not judged.
Merit is the lower bound of the brief's score, each step counting alike.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from selector.board.steps import RULE as STEPS_RULE
from selector.board.steps import reworked_onset
from selector.brief import Brief
from selector.catalogue import Alloy, Catalogue
from selector.catalogue.evidence import Evidence, nothing
from selector.compliance import demands
from selector.composition import Composition
from selector.decision import Decision
from selector.durability import service
from selector.process.reflow import RULE as PEAK_RULE
from selector.process.routes import Candidate, listed
from selector.process.steps import IntArray, Plan, Step, plan_steps
from selector.process.steps_blocking import Blocked, what_blocks
from selector.process.steps_ladder import Rung, ladder, open_questions
from selector.screening import Screened, screen
from selector.verdict import Outcome, Verdict, worst

MERIT, MARGIN = "merit", "margin"
MOST_SHOWN = 8
# What the planner itself judges, step by step.
OWN_RULES = frozenset({PEAK_RULE, STEPS_RULE})


@dataclass(frozen=True)
class Joined:
    """A candidate by another route than plain reflow, for one step alone.

    Parameters
    ----------
    step : str
    candidate : Candidate
    metals : tuple of Alloy
        What it is made of; the brief's rules are asked of each.
    partner : Composition or None
        What it reacts with, in the catalogue or not; law and bans are asked of it.
    """

    step: str
    candidate: Candidate
    metals: tuple[Alloy, ...]
    partner: Composition | None = None


@dataclass(frozen=True)
class Assigned:
    """One assignment of alloys to steps.

    Parameters
    ----------
    alloys : tuple of str
        In the order of the steps.
    merit : float or None
        Mean of the steps' scores by lower bound, of 100; None where one has none.
    slack_k : float or None
        Tightest distance to any limit, K; None where the assignment is undecided.
    rungs : tuple of Rung
    open : tuple of str
        What would decide it; empty where it is feasible.
    change : str
        What would make it hold, where it does not; empty otherwise.
    """

    alloys: tuple[str, ...]
    merit: float | None
    slack_k: float | None
    rungs: tuple[Rung, ...]
    open: tuple[str, ...] = ()
    change: str = ""

    @property
    def last_margin_k(self) -> float | None:
        """Return by how much the joints made before stay under their onset in the last step; None where not known."""
        return self.rungs[-1].earlier_margin_k


@dataclass(frozen=True)
class Planned:
    """Every assignment over a pool, with what was left out of it and why.

    Parameters
    ----------
    plan : Plan
    blocked : Blocked or None
        None where an assignment is feasible.
    left_out : tuple of (str, Verdict)
        Alloys that a rule of the brief rules out.
    unsettled : tuple of (str, Verdict)
        Alloys that a rule of the brief leaves open; they stand in the pool.
    not_judged : tuple of str
        Rules that the brief leaves open for every alloy alike.
    screened_by : tuple of str
        Markets and bans that were asked; empty where none was.
    named : tuple of str
        Alloys that the steps allow by name.
    has_merit, is_screened : bool
        Whether a decision was there to rank by, and a brief to screen by.
    """

    plan: Plan
    blocked: Blocked | None
    left_out: tuple[tuple[str, Verdict], ...] = ()
    unsettled: tuple[tuple[str, Verdict], ...] = ()
    screened_by: tuple[str, ...] = ()
    has_merit: bool = False
    not_judged: tuple[str, ...] = ()
    is_screened: bool = False
    named: tuple[str, ...] = ()

    @property
    def barred(self) -> tuple[tuple[str, Verdict], ...]:
        """Return what a rule of the brief rules out of the alloys that the steps name."""
        return tuple(entry for entry in self.left_out if entry[0] in self.named)

    def best(self, by: str = MERIT, count: int = MOST_SHOWN) -> tuple[Assigned, ...]:
        """Return the first feasible assignments by merit or by tightest margin."""
        order = self.plan.by_merit if by == MERIT else self.plan.by_margin
        return tuple(self._feasible(int(place)) for place in order[:count])

    def undecided(self, count: int = MOST_SHOWN) -> tuple[Assigned, ...]:
        """Return the first undecided assignments: fewest open questions, then most merit, of those worth a look."""
        merit = np.nan_to_num(self.plan.undecided_merit, nan=-np.inf)
        order = np.lexsort((*self.plan.undecided.T[::-1], -merit))[: 8 * count]
        found = [self._open(int(place)) for place in order]
        return tuple(sorted(found, key=lambda entry: len(entry.open))[:count])

    def nearest(self) -> tuple[Assigned, ...]:
        """Return the assignments that one change each would open, smallest change first; none of them holds yet."""
        place = {candidate.name: k for k, candidate in enumerate(self.plan.candidates)}
        found = []
        for opening in self.blocked.openings if self.blocked else ():
            row = np.array([place[name] for name in opening.opens], dtype=np.int32)
            found.append(Assigned(opening.opens, None, None, ladder(self.plan, row), change=opening.text))
        return tuple(found)

    def _merit(self, total: float) -> float | None:
        return float(total) / len(self.plan.steps) if self.has_merit and np.isfinite(total) else None

    def _feasible(self, place: int) -> Assigned:
        row = self.plan.feasible[place]
        merit, slack = self._merit(self.plan.merit[place]), float(self.plan.slack_k[place])
        return Assigned(self.plan.names(row), merit, slack if np.isfinite(slack) else None, ladder(self.plan, row))

    def _open(self, place: int) -> Assigned:
        row = self.plan.undecided[place]
        names = self.plan.names(row)
        left = [f"{name}: the brief leaves it open ({v.rule})" for name, v in self.unsettled if name in names]
        told = (*open_questions(self.plan, row), *left)
        return Assigned(names, self._merit(self.plan.undecided_merit[place]), None, ladder(self.plan, row), told)


def plan_for(
    steps: Sequence[Step],
    catalogue: Catalogue,
    brief: Brief | None = None,
    decision: Decision | None = None,
    margin_k: float | None = None,
    joined: Sequence[Joined] = (),
) -> Planned:
    """Return every assignment of the catalogue's alloys to soldering steps.

    Parameters
    ----------
    steps : sequence of Step
    catalogue : Catalogue
    brief : Brief, optional
        Its rules but peak heat screen the pool; nothing is screened without one.
    decision : Decision, optional
        Its scores are the merit; without it assignments are ranked by margin alone.
    margin_k : float, optional
        Least remelt margin; the policy's where not given.
    joined : sequence of Joined
        Candidates by other routes, beside what their steps allow. They have no score.

    Raises
    ------
    InputError
        Steps that contradict themselves, or too many assignments.
    """
    alloys = _pool(steps, catalogue)
    screened = _screened(brief, catalogue, alloys, decision)
    gaps = _gaps(brief, screened)
    judged = [(entry.alloy.id, _graver(entry, gaps)) for entry in screened]
    judged += [(entry.candidate.name, _graver_joined(entry, brief, catalogue, decision, gaps)) for entry in joined]
    out = tuple((name, v) for name, v in judged if v is not None and v.outcome is Outcome.FAIL)
    unsettled = tuple((name, v) for name, v in judged if v is not None and v.outcome is Outcome.UNKNOWN)
    gone, doubtful = {name for name, _ in out}, {name for name, _ in unsettled}
    by_reflow = [listed(alloy) for alloy in alloys if alloy.id not in gone]
    pool = (*by_reflow, *(entry.candidate for entry in joined if entry.candidate.name not in gone))
    merits = _merits(decision)
    asked = _without(_with_routes(steps, [entry.name for entry in by_reflow], joined), gone)
    mixed = reworked_onset(catalogue.alloys)
    plan = plan_steps(asked, pool, [merits] * len(steps) if merits else (), margin_k=margin_k, mixed_onset=mixed)
    plan = _set_apart(plan, doubtful)
    blocked = None
    allowed = [name for step in steps for name in step.allowed or ()]
    named = tuple(dict.fromkeys((*allowed, *(entry.candidate.name for entry in joined))))
    if not len(plan.feasible):
        settled = tuple(entry for entry in pool if entry.name not in doubtful)
        held = _without(asked, doubtful)
        sure = plan_steps(held, settled, margin_k=margin_k, mixed_onset=mixed) if doubtful else plan
        blocked = what_blocks(sure)
        if blocked is not None and not blocked.openings and not len(plan.undecided):
            # Nothing of the whole pool may hold: what stops that says more than what stops the settled ones.
            whole = what_blocks(plan)
            blocked = whole if whole is not None and not whole.openings else blocked
    return Planned(plan, blocked, out, unsettled, _screens(brief), decision is not None, gaps, brief is not None, named)


def _pool(steps: Iterable[Step], catalogue: Catalogue) -> tuple[Alloy, ...]:
    named = [catalogue.alloys[name] for step in steps for name in step.allowed or () if name in catalogue.alloys]
    return tuple({alloy.id: alloy for alloy in (*catalogue.listed(), *named)}.values())


def _with_routes(steps: Sequence[Step], others: Sequence[str], joined: Sequence[Joined]) -> tuple[Step, ...]:
    """Return the steps with what each may be joined by besides; a rework keeps the metal that is there."""
    if not joined:
        return tuple(steps)
    own: dict[str, list[str]] = {}
    for entry in joined:
        own.setdefault(entry.step, []).append(entry.candidate.name)
    return tuple(
        step
        if step.reworks
        else replace(step, allowed=(*(others if step.allowed is None else step.allowed), *own.get(step.name, ())))
        for step in steps
    )


def _without(steps: Sequence[Step], gone: set[str]) -> tuple[Step, ...]:
    return tuple(
        step if step.allowed is None else replace(step, allowed=tuple(n for n in step.allowed if n not in gone))
        for step in steps
    )


def _screens(brief: Brief | None) -> tuple[str, ...]:
    if brief is None:
        return ()
    bans = tuple(f"ban on {entry.element} over {entry.limit_ppm:g} ppm" for entry in brief.bans)
    return (*(f"{entry.market}, {entry.date.isoformat()}" for entry in brief.markets), *bans)


def _screened(
    brief: Brief | None, catalogue: Catalogue, alloys: Sequence[Alloy], decision: Decision | None
) -> tuple[Screened, ...]:
    """Return every alloy screened by the brief, by the decision's own verdicts where it holds them."""
    if brief is None:
        return ()
    held = {} if decision is None or decision.brief != brief else {e.alloy.id: e.screened for e in decision.candidates}
    return tuple(held.get(alloy.id) or screen(brief, catalogue, alloy) for alloy in alloys)


def _gaps(brief: Brief | None, screened: Sequence[Screened]) -> tuple[str, ...]:
    """Return rules, law and bans aside, that no alloy passes because the brief leaves them open."""
    if brief is None or not screened:
        return ()
    alloy = screened[0].alloy
    legal = {verdict.rule for verdict in (*demands.law(brief, alloy), *demands.bans(brief, alloy))} | OWN_RULES
    outcomes: dict[str, set[Outcome]] = {}
    for verdict in (verdict for entry in screened for verdict in entry.verdicts):
        outcomes.setdefault(verdict.rule, set()).add(verdict.outcome)
    return tuple(
        rule
        for rule, found in outcomes.items()
        if rule not in legal and Outcome.UNKNOWN in found and found <= {Outcome.UNKNOWN, Outcome.FAIL}
    )


def _graver(screened: Screened, gaps: Sequence[str]) -> Verdict | None:
    """Return the gravest verdict on an alloy that holds for its joint at any step; None where nothing was judged."""
    asked = [
        verdict
        for verdict in screened.verdicts
        if verdict.rule not in OWN_RULES and not (verdict.rule in gaps and verdict.outcome is Outcome.UNKNOWN)
    ]
    return worst(asked) if asked else None


def _graver_joined(
    joined: Joined, brief: Brief | None, catalogue: Catalogue, decision: Decision | None, gaps: Sequence[str]
) -> Verdict | None:
    """Return the gravest verdict on what a candidate is made of; heat in service is asked of its own onset."""
    if brief is None:
        return None
    found = [
        replace(entry, verdicts=tuple(v for v in entry.verdicts if v.rule != service.RULE))
        for entry in _screened(brief, catalogue, joined.metals, decision)
    ]
    onset, why = joined.candidate.onset_c, f"remelt onset of {joined.candidate.name}"
    known = nothing("remelt_onset_c", "degC", why=why) if onset is None else _evidence(onset, joined.candidate, why)
    verdicts = [verdict for verdict in (_graver(entry, gaps) for entry in found) if verdict is not None]
    if joined.partner is not None:
        reacts = replace(joined.metals[0], composition=joined.partner)
        verdicts += [*demands.law(brief, reacts), *demands.bans(brief, reacts)]
    return worst([*verdicts, service.service_heat(brief, known)])


def _evidence(onset_c: tuple[float, float], candidate: Candidate, why: str) -> Evidence:
    value = onset_c[0] if onset_c[0] == onset_c[1] else None
    return Evidence("remelt_onset_c", "degC", value, *onset_c, "low", "computed", candidate.source, why)


def _merits(decision: Decision | None) -> Mapping[str, float]:
    return {} if decision is None else {entry.alloy.id: entry.score_low for entry in decision.candidates}


def _set_apart(plan: Plan, doubtful: set[str]) -> Plan:
    """Return a plan whose assignments with a doubtful candidate are undecided."""
    is_doubtful = np.array([candidate.name in doubtful for candidate in plan.candidates], dtype=bool)
    if not is_doubtful.any():
        return plan
    apart = is_doubtful[plan.feasible].any(axis=1)
    return replace(
        plan,
        feasible=plan.feasible[~apart],
        merit=plan.merit[~apart],
        slack_k=plan.slack_k[~apart],
        undecided=_joined(plan.feasible[apart], plan.undecided),
        undecided_merit=np.concatenate([plan.merit[apart], plan.undecided_merit]),
    )


def _joined(first: IntArray, second: IntArray) -> IntArray:
    return np.concatenate([first, second]).astype(np.int32)
