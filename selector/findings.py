"""What a decision says in words: the finding, what speaks against it, what a change of the brief moves."""

from dataclasses import dataclass

from selector.catalogue import Catalogue
from selector.decision import Candidate, Decision
from selector.scoring.criteria import CRITERIA
from selector.scoring.values import FULL
from selector.verdict import Edit, Standing, Verdict

WORTH_TELLING = 5.0  # points of 100
MOST_SHARED = 3
NEAR_MISSES = 8


def finding(decision: Decision) -> str:
    """Return the decision in one sentence."""
    counts = f"{len(decision.undecided)} undecided, {len(decision.ruled_out)} ruled out"
    if not decision.admitted:
        return f"No alloy is admitted; {counts}."
    first = decision.admitted[0]
    worst = f"at worst place {first.rank_worst} under these weights"
    firm = "whatever the open figures turn out to be, under these weights" if first.rank_worst == 1 else worst
    many = len(decision.admitted)
    told = f"{first.alloy.id} leads {many} admitted alloy{'s' if many != 1 else ''} ({firm}); {counts}."
    steps = len(decision.brief.steps)
    if steps > 1:
        told += f" Each fits one or more of the {steps} soldering steps, seldom all: plan them together (steps)."
    return told


def objection(decision: Decision) -> str:
    """Return what speaks most against the leader: the criterion that costs it most, empty where none does."""
    if not decision.admitted:
        return ""
    shares = decision.admitted[0].shares
    lost = max(shares, key=lambda share: share.weight * (FULL - share.worth_low))
    if lost.weight * (FULL - lost.worth_low) < WORTH_TELLING:
        return ""
    return (
        f"What speaks most against {decision.admitted[0].alloy.id}: {title_of(lost.criterion)}, {lost.level.text};"
        f" it weighs {100 * lost.weight:.0f} % and earns at least {lost.weight * lost.worth_low:.1f} points."
    )


def shared_changes(decision: Decision) -> tuple[str, ...]:
    """Return in words the few changes of the brief that each admit several alloys, most alloys first."""
    groups: dict[str, list[str]] = {}
    for candidate in (*decision.undecided, *decision.ruled_out):
        if candidate.edits and all(edit.change is None for edit in candidate.edits):
            groups.setdefault(changes_text(candidate.edits), []).append(candidate.alloy.id)
    several = sorted(((text, alloys) for text, alloys in groups.items() if len(alloys) > 1), key=lambda g: -len(g[1]))
    return tuple(
        f"One change admits {len(alloys)} alloys: {text} ({', '.join(alloys)})."
        for text, alloys in several[:MOST_SHARED]
    )


def worth_drawing(decision: Decision, catalogue: Catalogue) -> tuple[Candidate, ...]:
    """Return the candidates that a chart shows: admitted, undecided, the nearest misses and the alloy in use."""
    near = [entry for entry in decision.ruled_out if entry.edits][:NEAR_MISSES]
    shown = (*decision.admitted, *decision.undecided, *near)
    alloy = catalogue.held(decision.brief.incumbent)
    in_use = None if alloy is None else decision.of(alloy)
    return shown if in_use is None or in_use in shown else (*shown, in_use)


@dataclass(frozen=True)
class Move:
    """An alloy that a change of the brief let in or put out, with the verdict that turned.

    `asked` is False where the demand that kept it out is no longer made.
    """

    alloy: str
    entered: bool
    verdict: Verdict
    asked: bool = True

    @property
    def text(self) -> str:
        """Return the move in words: who, by how many kelvin, and why."""
        if not self.asked:
            return f"{self.alloy}: no longer asked: {self.verdict.reason}"
        return f"{self.alloy} {self.verdict.margin_text}".rstrip() + f": {self.verdict.reason}"


def moves(before: Decision, after: Decision) -> tuple[Move, ...]:
    """Return which alloys entered or left the admitted between two decisions, entered first."""
    found = []
    for candidate in after.candidates:
        earlier = before.of(candidate.alloy)
        was = earlier is not None and earlier.standing is Standing.ADMITTED
        now = candidate.standing is Standing.ADMITTED
        if earlier is None or was == now:
            continue
        turned = (earlier if now else candidate).blocking()[0]
        same = [v for v in candidate.screened.verdicts if (v.rule, v.subject) == (turned.rule, turned.subject)]
        found.append(Move(candidate.alloy.id, now, same[0] if same else turned, bool(same)))
    return tuple(sorted(found, key=lambda move: not move.entered))


def changes_text(edits: tuple[Edit, ...]) -> str:
    """Return edits as one sentence."""
    return "; and ".join(edit.text for edit in edits)


def title_of(criterion: str) -> str:
    """Return a criterion's title with its unit."""
    entry = CRITERIA[criterion]
    return f"{entry.title} ({entry.unit})" if entry.unit else entry.title
