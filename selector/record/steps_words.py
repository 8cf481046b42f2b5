"""What a plan of soldering steps says in words and rows; the same on the command line and on the page."""

from collections.abc import Sequence
from itertools import chain

from selector.figures import NOT_KNOWN, figure, signed, spread
from selector.planning import MARGIN, MERIT, Assigned, Planned
from selector.process.routes import REFLOW, Interval
from selector.process.steps_ladder import Rung
from selector.record.life_words import OUTCOMES
from selector.verdict import Verdict

THIN_K = 5.0  # as in the grid of the screening: less reserve than this is thin
HOLDS, THIN, REMELTS, SHORT, OPEN, FREE = "holds", "thin", "remelts", "too close", "open", "nothing before it"
BY = {MERIT: "by merit", MARGIN: "by tightest margin"}
MOST_LEFT_OUT = 6


def finding(planned: Planned) -> str:
    """Return the plan in one sentence or two."""
    plan = planned.plan
    looked = f"{len(plan.candidates)} alloys by {len(plan.steps)} step{'s' if len(plan.steps) != 1 else ''}"
    apart = f"{len(plan.undecided):,} undecided are kept apart"
    if not len(plan.feasible):
        return f"No assignment of {looked} holds for certain; {apart}. {blocks(planned)}"
    best = planned.best(MERIT if planned.has_merit else MARGIN, 1)[0]
    lead = f"{' > '.join(best.alloys)} leads {BY[MERIT if planned.has_merit else MARGIN]}"
    count = len(plan.feasible)
    held = f"{count:,} assignments of {looked} hold" if count != 1 else f"1 assignment of {looked} holds"
    return f"{held} for certain; {apart}. {lead}, {tightest(best)}."


def blocks(planned: Planned) -> str:
    """Return which limit blocks, and the smallest change that opens an assignment; empty where one is feasible."""
    blocked = planned.blocked
    if blocked is None:
        return ""
    barred = [step.name for step in planned.plan.steps if step.allowed == ()]
    if barred:
        steps = " and ".join(barred)
        return f"Hard limits come first: the brief rules out every alloy that {steps} may use{_why(planned)}."
    if planned.unsettled and not blocked.openings and len(planned.plan.undecided):
        return "What could hold by heat uses alloys that the brief leaves open: settle those first."
    return f"{blocked.text[:1].upper()}{blocked.text[1:]}."


def _why(planned: Planned) -> str:
    told = [f"{name} ({verdict.reason})" for name, verdict in planned.barred]
    return f": {'; '.join(told)}" if told else ""


def openings(planned: Planned) -> tuple[str, ...]:
    """Return every change that opens an assignment alone, smallest first, with what it opens."""
    return tuple(f"{entry.change}: opens {' > '.join(entry.alloys)}" for entry in planned.nearest())


def tightest(assigned: Assigned) -> str:
    """Return the tightest reserve of an assignment, or why it has none."""
    if assigned.change:
        return "does not hold yet"
    if assigned.open:
        return "undecided"
    if assigned.slack_k is None:
        return "with no limit stated"
    return f"tightest reserve {signed(assigned.slack_k, 'K')}"


def word(rung: Rung) -> str:
    """Return whether earlier joints stand this step, in one word."""
    if not rung.lowest_earlier:
        return FREE
    return margin_word(rung.earlier_margin_k, rung.needed_k)


def margin_word(margin_k: float | None, needed_k: float) -> str:
    """Return what a remelt margin means."""
    if margin_k is None:
        return OPEN
    if margin_k < 0:
        return REMELTS
    if margin_k < needed_k:
        return SHORT
    return THIN if margin_k < needed_k + THIN_K else HOLDS


def gap_text(rung: Rung) -> str:
    """Return the gap between a peak and the earlier joint that melts first: `+42 K holds`."""
    if not rung.lowest_earlier:
        return ""
    return OPEN if rung.earlier_margin_k is None else f"{signed(rung.earlier_margin_k, 'K')} {word(rung)}"


def _ends(interval: Interval | None) -> str:
    return NOT_KNOWN if interval is None else spread(None, *interval)


def ladder_rows(assigned: Assigned) -> list[dict[str, str]]:
    """Return one row a step: the twin of the chart; with the route and its process where one is no plain reflow."""
    has_route = any(rung.route != REFLOW for rung in assigned.rungs)
    return [
        {
            "step": rung.step,
            "alloy": rung.alloy,
            **({"route": rung.route, "process, degC": _process(rung)} if has_route else {}),
            "liquidus, degC": _ends(rung.liquidus_c),
            "hottest peak, degC": _ends(rung.peak_c),
            "lowest limit, degC": f"{figure(rung.limit_c)} ({rung.limit_name})" if rung.limit_name else "none stated",
            "room to the limit, K": signed(rung.limit_margin_k) if rung.limit_name else "-",
            "remelt onset, degC": _ends(rung.onset_c),
            "lowest onset before, degC": f"{figure(rung.lowest_earlier_c)} ({rung.lowest_earlier})"
            if rung.lowest_earlier
            else "-",
            "to that onset, K": gap_text(rung) or "-",
        }
        for rung in assigned.rungs
    ]


def _process(rung: Rung) -> str:
    return "liquidus + superheat" if rung.process_c is None else _ends(rung.process_c)


def cautions(assigned: Assigned) -> tuple[str, ...]:
    """Return what is to be watched at each step of an assignment."""
    return tuple(dict.fromkeys(f"{rung.step}: {told}" for rung in assigned.rungs for told in rung.cautions))


def sources(assigned: Assigned) -> str:
    """Return what the figures of an assignment rest on."""
    return "; ".join(dict.fromkeys(chain(*(rung.source.split("; ") for rung in assigned.rungs))))


def assignment_rows(planned: Planned, found: Sequence[Assigned]) -> list[dict[str, str]]:
    """Return one row an assignment."""
    names = [step.name for step in planned.plan.steps]
    return [
        {
            **dict(zip(names, assigned.alloys, strict=True)),
            "merit of 100": "no score" if assigned.merit is None else f"{assigned.merit:.1f}",
            "tightest reserve, K": signed(assigned.slack_k) if assigned.slack_k is not None else "-",
            **({"holds if": "; ".join(assigned.open)} if assigned.open else {}),
        }
        for assigned in found
    ]


def left_out(planned: Planned) -> str:
    """Return what screened the pool: how many alloys it ruled out, how many it leaves open, what was not judged."""
    if not planned.is_screened:
        return "No brief: the pool is not screened."
    names = [name for name, _ in planned.left_out]
    more = f" and {len(names) - MOST_LEFT_OUT} more" if len(names) > MOST_LEFT_OUT else ""
    out = f"{len(names)} ruled out ({', '.join(names[:MOST_LEFT_OUT])}{more})" if names else "none ruled out"
    doubt = f"{len(planned.unsettled)} left open, so that an assignment with one is undecided"
    law = ", ".join(planned.screened_by) or "no market and no ban is named"
    told = f"Pool screened by every rule of the brief but peak heat ({law}): {out}; "
    told += f"{doubt if planned.unsettled else 'none open'}."
    gaps = ", ".join(rule.replace("_", " ") for rule in planned.not_judged)
    return f"{told} Not judged, as the brief leaves it open for every alloy: {gaps}." if gaps else told


def left_open(planned: Planned, found: Sequence[Assigned]) -> tuple[str, ...]:
    """Return why the brief leaves open the alloys of some assignments, each once, with what would settle it."""
    used = {name for assigned in found for name in assigned.alloys}
    return tuple(
        f"{name}: {verdict.reason}{f'; {verdict.threshold}' if verdict.threshold else ''}"
        for name, verdict in planned.unsettled
        if name in used
    )


def method(planned: Planned) -> str:
    """Return what a certain assignment keeps."""
    merit = (
        "Merit: mean of the brief's scores by lower bound."
        if planned.has_merit
        else "No brief: ranked by the tightest margin alone."
    )
    return (
        f"Every earlier joint's remelt onset stands at least {figure(planned.plan.margin_k)} K over every later peak"
        f" (liquidus, superheat and spread), at the unfavourable ends of all intervals. {merit}"
    )


def hanging_text(verdict: Verdict) -> str:
    """Return whether a part may hang upside down in the last step."""
    told = f"; {verdict.threshold}" if verdict.threshold else ""
    return f"Part upside down in the last step: {OUTCOMES[verdict.outcome]}. {verdict.reason}{told}."


def plain(planned: Planned, shown: int, hangs: Verdict | None = None) -> dict[str, object]:
    """Return a plan as plain data."""
    return {
        "finding": finding(planned),
        "steps": [step.name for step in planned.plan.steps],
        "margin_k": planned.plan.margin_k,
        "candidates": len(planned.plan.candidates),
        "feasible": len(planned.plan.feasible),
        "undecided": len(planned.plan.undecided),
        "by_merit": [_plain(entry) for entry in planned.best(MERIT, shown)] if planned.has_merit else [],
        "by_margin": [_plain(entry) for entry in planned.best(MARGIN, shown)],
        "undecided_first": [_plain(entry) for entry in planned.undecided(shown)],
        "nearest": [_plain(entry) for entry in planned.nearest()],
        "blocks": blocks(planned),
        "openings": [
            {
                "kind": entry.kind,
                "step": entry.step,
                "parts": list(entry.parts),
                "to": entry.to,
                "change_k": entry.change_k,
                "opens": list(entry.opens),
                "text": entry.text,
            }
            for entry in (planned.blocked.openings if planned.blocked else ())
        ],
        "part_upside_down": hangs
        and {
            "outcome": str(hangs.outcome),
            "reason": hangs.reason,
            "threshold": hangs.threshold,
            "limit_g": hangs.limit,
            "cautions": list(hangs.cautions),
            "source": hangs.source,
        },
        "screened_by": list(planned.screened_by),
        "not_judged": list(planned.not_judged),
        "left_out": [{"alloy": name, "reason": verdict.reason} for name, verdict in planned.left_out],
        "left_open": [{"alloy": name, "reason": verdict.reason} for name, verdict in planned.unsettled],
    }


def _plain(assigned: Assigned) -> dict[str, object]:
    return {
        "alloys": list(assigned.alloys),
        "merit": assigned.merit,
        "tightest_reserve_k": assigned.slack_k,
        "open": list(assigned.open),
        "holds_if": assigned.change,
        "ladder": [
            {
                "step": rung.step,
                "alloy": rung.alloy,
                "route": rung.route,
                "process_c": rung.process_c and list(rung.process_c),
                "liquidus_c": rung.liquidus_c and list(rung.liquidus_c),
                "peak_c": rung.peak_c and list(rung.peak_c),
                "limit": rung.limit_name,
                "limit_c": rung.limit_c,
                "limit_margin_k": rung.limit_margin_k,
                "onset_c": rung.onset_c and list(rung.onset_c),
                "lowest_earlier": rung.lowest_earlier,
                "lowest_earlier_c": rung.lowest_earlier_c,
                "earlier_margin_k": rung.earlier_margin_k,
                "answer": word(rung),
                "cautions": list(rung.cautions),
                "source": rung.source,
            }
            for rung in assigned.rungs
        ],
    }
