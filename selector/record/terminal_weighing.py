"""How sure an order is, as text for a terminal."""

from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.table import Table

from selector.record.robustness_words import (
    band_rows,
    challengers,
    companion,
    contender_rows,
    known_of,
    measurement_rows,
    overturn_lines,
    sentence,
)
from selector.robustness import Robustness
from selector.weighing_marks import marks

MOST_PLACES = 8


def show(console: Console, found: Robustness) -> None:
    """Print the finding, the contenders, weights, smallest changes, measurements."""
    console.print(sentence(found), style="bold")
    if told := companion(found):
        console.print(told)
    console.print(f"Known of the weights: {known_of(found)}. {found.region}\n")
    print_rows(console, contender_rows(found))
    _lines(console, "Who may lead, and who may not", challengers(found))
    rows = [
        {
            "criterion": row["criterion"],
            "now": f"{row['weight']:.1f}",
            "from": f"{row['low']:.1f}",
            "to": f"{row['high']:.1f}",
            "below it leads": row["below"],
            "above it leads": row["above"],
        }
        for row in band_rows(found)
    ]
    if rows and len(found.contenders) > 1:
        console.print("\nWeights between which the leader stays first, %", style="bold")
        print_rows(console, rows)
    _lines(console, "Smallest changes that bring a rival level", overturn_lines(found))
    if found.measurements:
        console.print("\nWhat a measurement would narrow", style="bold")
        print_rows(console, measurement_rows(found)[:MOST_PLACES])
    chances = found.chances
    console.print(
        f"\nDrawn: {chances.draws} draws, seed {chances.seed}; weights: {chances.weights}; data: {chances.data}."
        " A share of none is a bound, not an impossibility."
    )
    _lines(console, "To know of the weighing", marks(found.decision))


def _lines(console: Console, title: str, lines: Sequence[str]) -> None:
    if lines:
        console.print(f"\n{title}", style="bold")
    for line in lines:
        console.print(f"- {line}")


def print_rows(console: Console, rows: Sequence[Mapping[str, object]]) -> None:
    """Print rows under the names of the first one's columns."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in rows[0]:
        table.add_column(name, overflow="fold")
    for row in rows:
        table.add_row(*(str(value) for value in row.values()))
    console.print(table)
