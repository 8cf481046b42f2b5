"""A plan of soldering steps as text for a terminal."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from selector.durability.safety import SCREENING_ONLY
from selector.planning import MARGIN, MERIT, Assigned, Planned
from selector.record import steps_words
from selector.verdict import Verdict


def show(console: Console, planned: Planned, count: int, hangs: Verdict | None = None) -> None:
    """Print finding, the best by merit and by margin, both ladders, what blocks, and what is undecided."""
    console.print(steps_words.finding(planned), style="bold")
    console.print(steps_words.left_out(planned))
    console.print(steps_words.method(planned))
    shown: list[Assigned] = []
    for by in (MERIT, MARGIN):
        found = planned.best(by, count)
        if not found or (by == MERIT and not planned.has_merit):
            continue
        console.print(f"\nBest {steps_words.BY[by]}", style="bold")
        _table(console, steps_words.assignment_rows(planned, found))
        shown += [] if found[0].alloys in [entry.alloys for entry in shown] else [found[0]]
    for told in steps_words.openings(planned):
        console.print(f"- {told}")
    undecided = planned.undecided(count)
    if undecided:
        console.print(f"\nUndecided, the first {len(undecided)} of {len(planned.plan.undecided):,}", style="bold")
        _table(console, steps_words.assignment_rows(planned, undecided))
        for told in steps_words.left_open(planned, undecided):
            console.print(f"- {told}")
    for assigned in shown or (*planned.nearest()[:1], *undecided[:1]):
        ladder(console, assigned)
    if hangs is not None:
        console.print(f"\n{steps_words.hanging_text(hangs)}", style="bold")
        for caution in hangs.cautions:
            console.print(f"- {caution}")
    console.print(f"\n{SCREENING_ONLY}")


def ladder(console: Console, assigned: Assigned) -> None:
    """Print the ladder of one assignment with its cautions."""
    console.print(f"\nLadder: {' > '.join(assigned.alloys)}, {steps_words.tightest(assigned)}", style="bold")
    if assigned.change:
        console.print(f"What would open it: {assigned.change}")
    _table(console, steps_words.ladder_rows(assigned))
    for told in steps_words.cautions(assigned):
        console.print(f"- {told}")


def _table(console: Console, rows: Sequence[dict[str, str]]) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in rows[0]:
        table.add_column(name, overflow="fold")
    for row in rows:
        table.add_row(*row.values())
    console.print(table)
