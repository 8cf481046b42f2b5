"""The life of a joint as text for a terminal."""

from rich.console import Console
from rich.table import Table

from selector.lifetime.screens import Life
from selector.record import life_words

COLUMNS = ("quantity", "answer", "standing", "law", "trust")


def show(console: Console, life: Life) -> None:
    """Print finding, a table a screen with its flags and sources below, and what has to be said once."""
    console.print(life_words.finding(life), style="bold")
    for group in life.groups:
        console.print(f"\n{group.title}", style="bold")
        rows = [life_words.row(answer) for answer in group.answers]
        if rows:
            table = Table(box=None, pad_edge=False, header_style="bold")
            for name in COLUMNS:
                table.add_column(name, overflow="fold")
            for row in rows:
                table.add_row(*(row[name] for name in COLUMNS))
            console.print(table)
        flags = dict.fromkeys(flag for answer in group.answers for flag in life_words.flags_of(answer))
        for told in (*flags, *group.notes):
            console.print(f"- {told}")
        sources = dict.fromkeys(source for row in rows for source in row["source"].split("; "))
        if sources:
            console.print(f"Sources: {', '.join(sources)}")
        if group.missing:
            console.print(life_words.missing_text(group))
    console.print("\nBefore anything rests on this", style="bold")
    for caution in life.cautions:
        console.print(f"- {caution}")
