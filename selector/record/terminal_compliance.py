"""Compliance as a compact table for a terminal: an alloy and a rule set a row, only where something is decided."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from selector.compliance.context import Context
from selector.compliance.finding import Finding, Why
from selector.record import compliance
from selector.record.compliance_grid import (
    BINDING,
    KINDS,
    LEGEND,
    Cell,
    Column,
    Grid,
    Row,
    State,
    figures_lacking,
    questions,
)
from selector.record.compliance_summary import summary
from selector.record.compliance_words import ban_text, exempts, listed
from selector.verdict import Outcome

COLUMNS = ("alloy", "rule set", "answer", "decided by", "next change")
QUESTIONS_TOLD = 5
Line = tuple[str, ...]


def show(
    console: Console,
    found: Grid,
    findings: Sequence[Finding],
    markets: Sequence[str],
    contexts: Sequence[Context] = (),
) -> None:
    """Print the finding, then a table a kind of rules: what fails, is open, due or exempt, and the tightest pass.

    Parameters
    ----------
    console : Console
    found : Grid
    findings : sequence of Finding
        What the grid was made of.
    markets : sequence of str
        As asked about; none stands for all.
    contexts : sequence of Context
        What was asked: to say what was judged.
    """
    console.print(summary(found, markets, compliance.day_cautions(contexts)), style="bold")
    for kind, title in KINDS.items():
        columns = [column for column in found.of_kinds((kind,)) if kind != "information"]
        if not columns:
            continue
        console.print(f"\n{title}", style="bold")
        table = Table(box=None, pad_edge=False, header_style="bold")
        for name in COLUMNS:
            table.add_column(name, overflow="fold", min_width=6)
        for row in found.rows:
            for line in lines(row, columns):
                table.add_row(*line)
        console.print(table)
    _rest(console, found, findings)
    compliance.close(console, findings, contexts)


def lines(row: Row, columns: Sequence[Column]) -> list[Line]:
    """Return the lines of one alloy, worst first; what simply holds stands in one line with its tightest margin."""
    cells = [(column, row.cells[column]) for column in columns if row.cells[column].decides]
    plainly = [pair for pair in cells if pair[1].state is State.HOLDS and not _is_exempt(pair[1])]
    order = list(State)
    told = sorted((pair for pair in cells if pair not in plainly), key=lambda pair: order.index(pair[1].state))
    found: list[Line] = [(row.alloy, column.title, cell.text, _by(cell), _change(cell)) for column, cell in told]
    if plainly:
        tightest = min((cell for _, cell in plainly), key=_room)
        held = (row.alloy, ", ".join(column.title for column, _ in plainly), tightest.text, _by(tightest))
        changes = sorted(_change(cell) for _, cell in plainly if cell.change)
        found.append((*held, changes[0] if changes else ""))
    return found


def _is_exempt(cell: Cell) -> bool:
    return any(entry.why is Why.EXEMPT for entry in cell.deciding)


def _room(cell: Cell) -> float:
    """Return the margin as a share of the limit."""
    first = cell.deciding[0]
    if first.margin_ppm is None or not first.limit_ppm:
        return 1.0
    return float(first.margin_ppm / first.limit_ppm)


def _by(cell: Cell) -> str:
    return listed((entry.rule_id for entry in cell.deciding), 2)


def _change(cell: Cell) -> str:
    if cell.change is None:
        return ""
    word = "the text changes" if cell.change.becomes.startswith("the text") else cell.change.becomes.split(":")[0]
    return f"{cell.change.day}: {word}"


def _rest(console: Console, found: Grid, findings: Sequence[Finding]) -> None:
    """Print what is folded, and what would settle most of what is open."""
    asked = questions(found)
    if asked:
        told = ", ".join(f"{entry.use} ({entry.alloys})" for entry in asked[:QUESTIONS_TOLD])
        console.print(f"\nOpen on the use, with how many alloys: {told}. Say --use WORD or --use not-WORD.")
    lacking = figures_lacking(found)
    if lacking:
        told = ", ".join(f"{entry.use} ({entry.alloys})" for entry in lacking[:QUESTIONS_TOLD])
        console.print(f"Open on figures: {told}. Say --figure NAME=NUMBER.")
    for column in found.columns:
        if column.kind == "information":
            facts = [f"{row.alloy} {row.cells[column].told}" for row in found.rows if row.cells[column].decides]
            if facts:
                console.print(f"{column.title}: {listed(facts, QUESTIONS_TOLD)}.")
    shown = sum(len(row.cells[column].deciding) for row in found.rows for column in found.of_kinds(tuple(KINDS)))
    idle = found.folded(BINDING)
    also = f"; {', '.join(column.title for column in idle)} limit nothing that is there" if idle else ""
    console.print(f"\nMarks: {LEGEND}")
    console.print(f"{len(findings) - shown} answers that decide nothing are folded{also}. --all prints every one.")
    console.print(compliance.NOMINAL)
    for text in dict.fromkeys(ban_text(entry) for entry in findings):
        if text:
            console.print(f"{text}.")
    for entry in findings:
        if entry.outcome is Outcome.FAIL and "; brought by " in entry.reason and not exempts(entry):
            console.print(f"{entry.alloy}, {entry.rule_id}: {entry.reason}.")
