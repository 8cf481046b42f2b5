"""What every verb of the command line shares: options of one name, and how things are printed."""

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from selector.errors import printable as printable

WIDTH_WHEN_PIPED = 140

DataOption = Annotated[
    Path | None, typer.Option("--data", metavar="FOLDER", help="Use the tables of this folder, checked in full first.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for machines.")]
CsvOption = Annotated[bool, typer.Option("--csv", help="Print CSV for a spreadsheet.")]


def console() -> Console:
    """Return where text for people goes."""
    return Console(width=None if sys.stdout.isatty() else WIDTH_WHEN_PIPED, highlight=False, markup=False, emoji=False)


def print_json(content: object) -> None:
    """Print JSON that every reader takes: no NaN, no infinity."""
    print(json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False))


@contextmanager
def progress(title: str, total: int) -> Iterator[Callable[[int], None]]:
    """Show how many of `total` are done, on a terminal only and beside the output, and leave nothing behind."""
    if not sys.stderr.isatty():
        yield lambda done: None
        return
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=total)
        yield lambda done: bar.update(task, completed=done)
