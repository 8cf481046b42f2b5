"""A finding with its tables, verdicts and cautions as text for a terminal."""

from collections.abc import Iterable, Mapping, Sequence

from rich.console import Console
from rich.table import Table


def table(console: Console, title: str, rows: Sequence[Mapping[str, str]], notes: Iterable[str] = ()) -> None:
    """Print rows of text under a title, with what is to know of them."""
    console.print(f"\n{title}", style="bold")
    if rows:
        own = Table(box=None, pad_edge=False, header_style="bold")
        for name in dict.fromkeys(key for row in rows for key in row):
            own.add_column(name, overflow="fold")
        for row in rows:
            own.add_row(*(row.get(str(column.header), "") for column in own.columns))
        console.print(own)
    for note in notes:
        console.print(f"- {note}")


def listed(console: Console, title: str, lines: Sequence[str]) -> None:
    """Print lines under a title, nothing where there are none."""
    if lines:
        table(console, title, (), lines)
