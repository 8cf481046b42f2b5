"""The planner against itertools: every assignment tried one by one in plain Python, on small random cases."""

import itertools
import math

from hypothesis import given, settings
from hypothesis import strategies as st

from selector.process.routes import Candidate
from selector.process.steps import PartLimit, Step, plan_steps
from selector.process.steps_blocking import what_blocks

INF = math.inf


def judged(steps, pool, combo, margin_k):
    """Return True where the assignment surely holds, None where it may, False where it cannot."""
    sure = True
    peaks = []
    onsets = []
    for number, (step, candidate) in enumerate(zip(steps, combo, strict=True)):
        rise = step.superheat_k + step.spread_k
        if step.reworks:
            at = next(i for i, other in enumerate(steps) if other.name == step.reworks)
            if combo[at] is not candidate:
                return False
            ends = candidate.rework_c or candidate.liquidus_c or (-INF, INF)
            peak = (ends[0] + rise, ends[1] + rise)
        elif candidate.process_c is not None:
            peak = (candidate.process_c[0] + step.spread_k, candidate.process_c[1] + step.spread_k)
        else:
            ends = candidate.liquidus_c or (-INF, INF)
            peak = (ends[0] + rise, ends[1] + rise)
        for entry in step.limits:
            if entry.limit_c is None:
                sure = False
            elif peak[0] > entry.limit_c:
                return False
            elif peak[1] > entry.limit_c:
                sure = False
        for j in range(number):
            if steps[j].reworks or steps[j].name in (step.reworks, *step.may_remelt):
                continue
            low, high = onsets[j]
            if high - peak[0] < margin_k:
                return False
            if low - peak[1] < margin_k:
                sure = False
        peaks.append(peak)
        onsets.append(candidate.onset_c or (-INF, INF))
    return True if sure else None


def oracle(steps, pool, margin_k):
    sure, maybe = set(), set()
    for combo in itertools.product(pool, repeat=len(steps)):
        if any(s.allowed is not None and c.name not in s.allowed for s, c in zip(steps, combo, strict=True)):
            continue
        answer = judged(steps, pool, combo, margin_k)
        if answer is not False:
            (sure if answer else maybe).add(tuple(c.name for c in combo))
    return sure, maybe


ends = st.one_of(st.none(), st.tuples(st.integers(60, 300), st.integers(0, 30)).map(lambda p: (p[0], p[0] + p[1])))


@st.composite
def problems(draw):
    pool = [
        Candidate(
            f"x{i}",
            "reflow",
            draw(ends),
            draw(ends),
            draw(st.one_of(st.none(), ends)),
            draw(st.one_of(st.none(), ends)),
        )
        for i in range(draw(st.integers(1, 4)))
    ]
    names = [candidate.name for candidate in pool]
    steps = []
    for number in range(draw(st.integers(1, 4))):
        before = [step.name for step in steps]
        made = [step.name for step in steps if not step.reworks]
        rework = draw(st.sampled_from(["", *made])) if draw(st.booleans()) else ""
        steps.append(
            Step(
                f"s{number}",
                tuple(
                    PartLimit(f"p{k}", draw(st.one_of(st.none(), st.integers(80, 340))))
                    for k in range(draw(st.integers(0, 2)))
                ),
                None if rework or draw(st.booleans()) else tuple(draw(st.sets(st.sampled_from(names)))),
                draw(st.sampled_from([0, 15, 20])),
                draw(st.sampled_from([0, 5])),
                tuple(draw(st.sets(st.sampled_from(before)))) if before else (),
                rework,
            )
        )
    return tuple(steps), tuple(pool), draw(st.sampled_from([0, 10, 25]))


def by_name(plan, rows):
    return {plan.names(row) for row in rows}


@given(problems())
@settings(max_examples=150, deadline=None)
def test_the_planner_finds_what_trying_one_by_one_finds(problem):
    steps, pool, margin_k = problem
    plan = plan_steps(steps, pool, margin_k=margin_k)
    sure, maybe = oracle(steps, pool, margin_k)
    assert by_name(plan, plan.feasible) == sure
    assert by_name(plan, plan.undecided) == maybe
    assert len(plan.feasible) == len(sure)
    assert (plan.slack_k >= 0).all()


@given(problems())
@settings(max_examples=60, deadline=None)
def test_every_opening_opens_and_a_little_less_does_not(problem):
    steps, pool, margin_k = problem
    plan = plan_steps(steps, pool, margin_k=margin_k)
    blocked = what_blocks(plan)
    assert (blocked is None) == bool(len(plan.feasible))
    for opening in blocked.openings if blocked else ():
        for part, opens in ((1.0, True), (0.999, False)):
            changed, margin = list(steps), margin_k
            if opening.kind == "limit":
                at = next(i for i, step in enumerate(steps) if step.name == opening.step)
                lowest = min(e.limit_c for e in steps[at].limits if e.limit_c is not None)
                to = lowest + opening.change_k * part
                limits = tuple(
                    PartLimit(e.name, to if e.limit_c is None else max(e.limit_c, to)) for e in steps[at].limits
                )
                changed[at] = Step(**{**vars(steps[at]), "limits": limits})
            elif opening.kind == "remelt margin":
                margin = margin_k + opening.change_k * part
            else:
                shift = opening.change_k * part
                margin = max(margin_k - shift, 0)
                changed = [
                    Step(
                        **{
                            **vars(s),
                            "limits": tuple(PartLimit(e.name, e.limit_c and e.limit_c + shift) for e in s.limits),
                        }
                    )
                    for s in steps
                ]
            if opening.change_k == 0 and not opens:
                continue  # only a limit that is not known stands in the way
            assert bool(len(plan_steps(changed, pool, margin_k=margin).feasible)) == opens
