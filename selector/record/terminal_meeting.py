"""A meeting, and one person's weights, as text for a terminal."""

from collections.abc import Sequence

from rich.console import Console

from selector.brief import Preference
from selector.decision import Decision
from selector.meeting import Meeting, criteria_of
from selector.record.meeting_words import (
    MOVING,
    agreed_lines,
    concordance_line,
    moving_lines,
    order_rows,
    sentence,
    state,
    voice_rows,
    weight_rows,
)
from selector.record.terminal_weighing import print_rows
from selector.scoring.criteria import CRITERIA
from selector.scoring.weights.answers import Answers
from selector.scoring.weights.questions import first_swing, next_swings, step_text, trade_offs
from selector.scoring.weights.templates import template


def show(console: Console, meeting: Meeting) -> None:
    """Print what a meeting comes to, agreement first."""
    console.print(f"{meeting.agenda.title}: {sentence(meeting)}", style="bold")
    for line in state(meeting):
        console.print(line)
    console.print("\nAgreed by all, under any mix of their weights", style="bold")
    for line in agreed_lines(meeting) or ("nothing",):
        console.print(f"- {line}")
    console.print("\nPlaces", style="bold")
    print_rows(console, order_rows(meeting))
    console.print("\nMembers", style="bold")
    print_rows(console, voice_rows(meeting))
    console.print("\nWeights, %", style="bold")
    print_rows(console, weight_rows(meeting))
    console.print("\nDifferences that move the first three", style="bold")
    if meeting.moving:
        console.print(MOVING)
    for line in moving_lines(meeting) or ("none",):
        console.print(f"- {line}")
    console.print(f"\n{concordance_line(meeting)}")


def questions(console: Console, decision: Decision, kind: str = "swing") -> None:
    """Print the questions that ask for weights over a brief's anchors, and a file of answers to be filled in."""
    chosen, heaviest = _weighed(decision)
    empty = template(kind, [entry.criterion for entry in chosen])
    if kind == "swing":
        console.print(first_swing(chosen))
        console.print(f"\nSay it is {CRITERIA[heaviest].title}; then:")
        for line in next_swings(chosen, heaviest):
            console.print(f"- {line}")
    else:
        console.print("Weigh these steps against each other, each from the worst to the best of its range:")
        for entry in chosen:
            console.print(f"- {step_text(entry)}")
    console.print("\nA file of answers:\n", style="bold")
    console.print(empty, end="")


def plain_questions(decision: Decision, kind: str = "swing") -> dict[str, object]:
    """Return the questions as plain data: what `weights --json` prints without answers."""
    chosen, heaviest = _weighed(decision)
    return {
        "criteria": [entry.criterion for entry in chosen],
        "first": first_swing(chosen),
        "next": list(next_swings(chosen, heaviest)),
        "next_if_the_first_is": heaviest,
        "template": template(kind, [entry.criterion for entry in chosen]),
    }


def _weighed(decision: Decision) -> tuple[list[Preference], str]:
    """Return the preferences that weights are asked for, in fixed order, and the heaviest as the brief has it."""
    by_name = {entry.criterion: entry for entry in decision.weighing.preferences}
    chosen = [by_name[name] for name in criteria_of(decision)]
    return chosen, max(chosen, key=lambda entry: entry.swing).criterion


def answered(console: Console, decision: Decision, answers: Answers) -> None:
    """Print one person's weights, what else follows from the same answers, and the questions that check them."""
    rows = [
        {
            "criterion": CRITERIA[name].title,
            "weight, %": f"{100 * answers.weights[j]:.1f}",
            **{label: f"{100 * other[j]:.1f}" for label, other in answers.beside.items()},
        }
        for j, name in enumerate(answers.criteria)
    ]
    print_rows(console, rows)
    console.print(f"Admissible: {answers.region.described}")
    if answers.pairs is not None:
        for line in _consistency(answers):
            console.print(line)
    console.print("\nWould you really swap?", style="bold")
    for line in checks(decision, answers):
        console.print(f"- {line}")


def checks(decision: Decision, answers: Answers) -> Sequence[str]:
    """Return the trade-off questions that follow from somebody's weights."""
    by_name = {entry.criterion: entry for entry in decision.weighing.preferences}
    found = trade_offs([by_name[name] for name in answers.criteria], answers.weights)
    return [entry.question for entry in found] or ["no pair of criteria can be compared so"]


def _consistency(answers: Answers) -> Sequence[str]:
    found = answers.pairs
    assert found is not None
    lines = [
        f"Consistency ratio {found.ratio:.3f} by the random-index table {found.table}:"
        f" {'under' if found.consistent else 'not under'} the customary 0.1. Low means consistent, not right."
    ]
    for triad in found.triads[:1]:
        one, middle, other = (CRITERIA[answers.criteria[at]].title for at in (triad.i, triad.j, triad.k))
        lines.append(
            f"Worst triad: {one} over {other} was said to be {triad.said:.3g}, but by way of {middle} it is"
            f" {triad.implied:.3g}."
        )
    return lines
