"""When no assignment of alloys to steps is feasible: which limit blocks, and the smallest change that opens one.

Exact: each limit is lifted alone and everything is enumerated again; the least that any assignment then needs is told.
Where no single limit opens one, the least equal change of all of them is.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from selector.errors import InputError
from selector.figures import figure, signed
from selector.policy import policy
from selector.process.steps import Plan
from selector.process.steps_search import Found, Rules, Search, enumerate_assignments, relaxed, without_limit

WIDEST_K = 1000.0
MARGIN = "remelt margin"
LIMIT = "limit"
TOGETHER = "all limits together"


@dataclass(frozen=True)
class Opening:
    """One change that makes an assignment feasible.

    Parameters
    ----------
    kind : str
        `limit`, `remelt margin`, or `all limits together`.
    step : str
        Whose limit; empty for the margin and for all together.
    parts : tuple of str
        Parts whose limit would have to rise.
    to : float
        The limit, degC, or margin, K, that would do; the change itself for all together.
    change_k : float
        Smallest change, K; signed.
    opens : tuple of str
        Names of the assignment that becomes feasible.
    text : str
    """

    kind: str
    step: str
    parts: tuple[str, ...]
    to: float
    change_k: float
    opens: tuple[str, ...]
    text: str


@dataclass(frozen=True)
class Blocked:
    """Why no assignment is feasible.

    Parameters
    ----------
    openings : tuple of Opening
        Each opens one alone, smallest change first; empty where no limit can.
    alone : tuple of (str, int)
        How many candidates keep the limits of each step taken by itself.
    text : str
    """

    openings: tuple[Opening, ...]
    alone: tuple[tuple[str, int], ...]
    text: str


def what_blocks(plan: Plan) -> Blocked | None:
    """Return what blocks and the smallest changes that would open an assignment; None where one is feasible.

    Parameters
    ----------
    plan : Plan
    """
    if len(plan.feasible):
        return None
    changes = [partial(_limit_opening, plan, step) for step in range(len(plan.steps))]
    openings, too_many = _tried([*changes, partial(_margin_opening, plan)])
    if not openings:
        openings, too_many = _tried([partial(_together, plan)], too_many)
    openings.sort(key=lambda entry: abs(entry.change_k))
    alone = tuple((step.name, _alone(plan, number)) for number, step in enumerate(plan.steps))
    none = [name for name, count in alone if count == 0]
    if openings:
        text = f"no assignment is certain; smallest change: {openings[0].text}"
    elif none:
        text = f"no candidate is known to fit step {', '.join(none)} at all, whatever the limits: see what is not known"
    else:
        told = _sure_remelts(plan) or ("facts are missing, or metals meet that must not",)
        text = f"no change of a limit opens an assignment: {'; '.join(told)}"
    if len(plan.undecided):
        text += f"; {len(plan.undecided):,} assignments are undecided"
    if too_many:
        text += "; some limits were not tried, since lifting them gives too many assignments"
    return Blocked(tuple(openings), alone, text)


def _sure_remelts(plan: Plan) -> tuple[str, ...]:
    """Return the pairs of steps whose candidates all remelt one another, at the favourable ends, with what helps."""
    search, told = plan.search, []
    for later in range(len(plan.steps)):
        peak = _coolest_peak(search, later)
        for earlier in range(later):
            reworked = earlier == search.reworks[later] or search.reworks[earlier] >= 0
            if reworked or earlier in search.may_remelt[later]:
                continue
            onset = search.onset[1][search.allowed[earlier]].max(initial=-np.inf)
            short = float(peak - onset)
            if np.isfinite(short) and short > 0:
                before, now = plan.steps[earlier].name, plan.steps[later].name
                told.append(
                    f"whatever is allowed at {before} melts again at {now}, by {figure(short)} K or more: allow a"
                    f" hotter alloy at {before} or a cooler one at {now}, or say in the brief that {now} reworks"
                    f" {before}, or may remelt it, where surface tension, glue or underfill holds those parts"
                )
    return tuple(told)


def _coolest_peak(search: Search, step: int) -> float:
    """Return the coolest peak that any candidate of a step takes, degC; rework melts the joint that is there too."""
    own, joint = search.allowed[step], search.reworks[step]
    if joint < 0:
        return float(search.process[step][0][own].min(initial=np.inf))
    low = search.rework[0]
    return search.rise_k[step] + max(float(low[pick].min(initial=np.inf)) for pick in (own, search.allowed[joint]))


def _tried(changes: list[Callable[[], Opening | None]], too_many: bool = False) -> tuple[list[Opening], bool]:
    """Return what opens, and whether a change gave more assignments than can be held."""
    openings = []
    for change in changes:
        try:
            opening = change()
        except InputError:
            too_many = True
            continue
        openings += [] if opening is None else [opening]
    return openings, too_many


def _certain(search: Search, margin_k: float) -> Found:
    return enumerate_assignments(search, Rules(margin_k, policy().steps.most_assignments, certain_only=True))


def _limit_opening(plan: Plan, number: int) -> Opening | None:
    step = plan.steps[number]
    now = [limit for limit in step.limits if limit.limit_c is not None]
    if not now:
        return None
    found = _certain(without_limit(plan.search, number), plan.margin_k)
    # A peak that is not known binds nothing once the limit is lifted, and no limit can be named for it.
    peaks = found.peaks_c[:, number]
    if not np.isfinite(peaks).any():
        return None
    best = int(np.argmin(peaks))
    need = float(np.round(found.peaks_c[best, number], 6))
    raised = [limit for limit in now if limit.limit_c is not None and limit.limit_c < need]
    shown = [limit.name for limit in step.limits if limit.limit_c is None]
    change = max((need - (limit.limit_c or 0.0) for limit in raised), default=0.0)
    told = [f"{e.name} from {figure(e.limit_c)} to {figure(need)} degC" for e in raised]
    text = f"raise {', '.join(told)} ({signed(change, 'K')})" if told else ""
    if shown:
        text += f"{' and ' if text else ''}show that {', '.join(shown)} stands {figure(need)} degC"
    names = tuple(limit.name for limit in raised) + tuple(shown)
    return Opening(LIMIT, step.name, names, need, change, plan.names(found.rows[best]), f"step {step.name}: {text}")


def _margin_opening(plan: Plan) -> Opening | None:
    if plan.margin_k <= 0:
        return None
    found = _certain(plan.search, 0.0)
    if not len(found.rows):
        return None
    best = int(np.argmax(found.remelt_k))
    to = float(found.remelt_k[best])
    change = to - plan.margin_k
    text = f"take a remelt margin of {figure(to)} K in place of {figure(plan.margin_k)} ({signed(change, 'K')})"
    return Opening(MARGIN, "", (), to, change, plan.names(found.rows[best]), text)


def _feasible_with(plan: Plan, shift_k: float) -> Found:
    return _certain(relaxed(plan.search, shift_k), max(plan.margin_k - shift_k, 0.0))


def _together(plan: Plan) -> Opening | None:
    """Return the least equal change: every limit up by it, and the margin down by it as far as 0."""
    if not len(_feasible_with(plan, WIDEST_K).rows):
        return None
    low, high = 0.0, WIDEST_K
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (low, middle) if len(_feasible_with(plan, middle).rows) else (middle, high)
    found = _feasible_with(plan, high)
    limits = np.array(plan.search.limits)
    lack = np.full(found.peaks_c.shape, -np.inf)
    np.subtract(found.peaks_c, limits, out=lack, where=np.isfinite(limits))
    need = np.maximum(lack.max(axis=1), plan.margin_k - found.remelt_k)
    best = int(np.argmin(need))
    change = float(np.round(need[best], 6))
    text = f"raise every limit by {figure(change)} K and take the margin down by as much, at most to 0"
    return Opening(TOGETHER, "", (), change, change, plan.names(found.rows[best]), text)


def _alone(plan: Plan, number: int) -> int:
    """Return how many candidates surely keep the limits of one step, no other step being there."""
    search = plan.search
    pick = search.allowed[number]
    if search.limit_open[number]:
        return 0
    if not np.isfinite(search.limits[number]):
        return len(pick)
    ends = search.rework[1] + search.rise_k[number] if search.reworks[number] >= 0 else search.process[number][1]
    return int((np.round(search.limits[number] - ends[pick], 6) >= 0).sum())
