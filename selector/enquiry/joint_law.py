"""What the law says of the finished joint: its contributors judged as one material, over every corner not known.

A rule set that fails in every corner fails; one that fails in some is open. Lead that meets bismuth is no law, and told
with the verdicts of the joint.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from selector.asked_compliance import day_of, market_of
from selector.brief import Brief
from selector.compliance.context import Context, bans_of, context, of_use
from selector.compliance.finding import Finding
from selector.compliance.joints import METALLURGY, evaluate_joint
from selector.enquiry.joint_case import JointAnswer
from selector.enquiry.report import Report, Row, Section
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN
from selector.joint.blends import SHARES
from selector.joint.contributors import Contributor, joint, mass_of
from selector.record.compliance import day_cautions
from selector.record.compliance_grid import MARKS, Cell, Grid, State, grid
from selector.units import exact
from selector.verdict import Outcome, Verdict

LAW, RULE = "Law", "law"
TOLD = (State.FAILS, State.OPEN, State.DUTY)


@dataclass(frozen=True)
class Told:
    """What one rule set comes to for the joint.

    Parameters
    ----------
    rule_set : str
    state : State
        Fails, open, or something to do.
    reason : str
        With who brings it.
    cases : tuple of str
        Corners in which it comes to that, where it does not in all.
    source : str
    """

    rule_set: str
    state: State
    reason: str
    cases: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Law:
    """What the law says of a joint: rule sets that are not clear, how many hold, and for which markets and days.

    `cautions` tell of days that the rules do not know: then nothing can be said to pass.
    """

    told: tuple[Told, ...]
    holding: int
    asked: tuple[str, ...]
    cautions: tuple[str, ...] = ()


def typed_contexts(market: str, on: str, equipment: str, faults: list[Fault]) -> tuple[Context, ...]:
    """Return the context typed at a verb, none where nothing is typed, and add what is wrong with it.

    Parameters
    ----------
    market : str
        Codes or names with commas; every market where empty.
    on : str
        The day.
    equipment : str
    faults : list of Fault
    """
    if not (market or on or equipment):
        return ()
    day = day_of("--on", on, faults)
    if day is None and not on:
        faults.append(Fault("--on", "is missing", allowed="a date such as 2027-07-01, beside --market and --equipment"))
    markets = [name for text in market.split(",") if text.strip() and (name := market_of(text.strip(), faults))]
    try:
        made = context(
            day or date.max,
            ["electrical"],
            markets=markets,
            judged="joint",
            equipment=equipment or UNKNOWN,  # type: ignore[arg-type]
        )
    except InputError as error:
        faults += [replace(fault, where="--equipment") for fault in error.faults]
        return ()
    return (made,)


def contexts_of(brief: Brief) -> tuple[Context, ...]:
    """Return one context for every market of a brief, with its bans; none where it names no market."""
    return tuple(replace(of_use(brief.use, entry), bans=bans_of(brief)) for entry in brief.markets)


def law_of(found: JointAnswer, contexts: Sequence[Context]) -> Law | None:
    """Return what the law says of a joint; None where no context is asked.

    Parameters
    ----------
    found : JointAnswer
    contexts : sequence of Context
    """
    if not contexts:
        return None
    corners = list(_corners(found))
    answers: dict[str, list[Finding]] = {str(number): [] for number in range(len(corners))}
    for number, (_, contributors) in enumerate(corners):
        for one in contexts:
            made = evaluate_joint(None, contributors, one, str(number))
            answers[str(number)] += [entry for entry in made if entry.kind != METALLURGY]
    metals = {str(number): joint(contributors) for number, (_, contributors) in enumerate(corners)}
    findings = list(dict.fromkeys(entry for own in answers.values() for entry in own))
    held = grid(findings, metals)
    told, holding = _told(held, [name for name, _ in corners])
    asked = dict.fromkeys(
        f"{', '.join(sorted(one.markets)) or 'every market'}, {one.date_kind} {one.on.isoformat()}" for one in contexts
    )
    return Law(told, holding, tuple(asked), tuple(day_cautions(contexts)))


def with_law(report: Report, law: Law | None) -> Report:
    """Return a report with a section on the law, and a stop for every rule set that fails."""
    if law is None:
        return report
    rows: tuple[Row, ...] = tuple(
        {
            "rule set": entry.rule_set,
            "answer": f"{MARKS[entry.state]} {entry.state}",
            "why": entry.reason + (f" (in: {'; '.join(entry.cases)})" if entry.cases else ""),
        }
        for entry in law.told
    )
    notes = (
        f"The finished joint as one material: {'; '.join(law.asked)}."
        + ("" if law.cautions else f" {law.holding} rule sets hold."),
        *(f"No verdict: {caution}." for caution in law.cautions),
        "Contents are nominal: certificates of the lots must confirm the traces.",
    )
    failing = [entry for entry in law.told if entry.state is State.FAILS]
    stops = tuple(Verdict(RULE, Outcome.FAIL, entry.reason, entry.source, subject=entry.rule_set) for entry in failing)
    told = [f"Stop: {entry.rule_set} fails: {entry.reason}." for entry in failing]
    return replace(
        report,
        finding=" ".join([*told, *(f"Law: no verdict, {caution}." for caution in law.cautions), report.finding]),
        sections=(*report.sections, Section(LAW, rows, notes)),
        verdicts=(*report.verdicts, *stops),
        figures={**report.figures, "law": plain(law)},
    )


def plain(law: Law) -> dict[str, object]:
    """Return what the law says for machines."""
    return {
        "asked": list(law.asked),
        "holding": None if law.cautions else law.holding,
        "cautions": list(law.cautions),
        "rule_sets": [
            {"rule_set": e.rule_set, "answer": str(e.state), "reason": e.reason, "cases": list(e.cases)}
            for e in law.told
        ],
    }


def _corners(found: JointAnswer) -> Iterator[tuple[str, tuple[Contributor, ...]]]:
    """Yield every corner of what is not known: its name, and all that melted into the joint."""
    for told, contributors in found.corners or [(case.told, case.made.contributors) for case in found.cases]:
        yield from _touched_up(found, told, contributors)


def _touched_up(
    found: JointAnswer, there: str, held: tuple[Contributor, ...]
) -> Iterator[tuple[str, tuple[Contributor, ...]]]:
    given = found.asked
    if given.rework is None:
        yield there or "as stated", held
        return
    known = given.figures["rework_share"].value
    whole = mass_of(held)
    for share in (known,) if known is not None else SHARES[:: len(SHARES) - 1]:
        part = exact(share)
        name = f"rework with {given.rework.name}"
        new = Contributor(name, given.rework.composition, whole * part / (1 - part)) if part < 1 else None
        told = ", ".join(filter(None, (there, f"{share} of the rework alloy")))
        alone = Contributor(name, given.rework.composition, exact(1))
        yield told, ((*held, new) if new is not None and part else held if part < 1 else (alone,))


def _told(held: Grid, names: Sequence[str]) -> tuple[tuple[Told, ...], int]:
    found, holding = [], 0
    for column in held.columns:
        if column.kind not in ("law", "customer"):
            continue
        cells: list[Cell] = [row.cells[column] for row in held.rows]
        worst = min((cell.state for cell in cells), key=list(State).index)
        if worst not in TOLD:
            holding += worst in (State.HOLDS, State.CLEAR)
            continue
        places = [place for place, cell in enumerate(cells) if cell.state is worst]
        first = cells[places[0]].deciding[0]
        everywhere = len(places) == len(cells)
        state = State.OPEN if worst is State.FAILS and not everywhere else worst
        cases = () if everywhere else tuple(names[place] for place in places)
        found.append(Told(column.title, state, first.reason, cases, f"{first.source}; {first.clause}"))
    return tuple(sorted(found, key=lambda entry: list(State).index(entry.state))), holding
