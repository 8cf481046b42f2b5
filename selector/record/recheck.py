"""Saved decisions asked again: which verdicts the rules as they are now would change, file by file.

Read are decision records and composition sheets in HTML, and what `shortlist --json` printed. Every other file is
named with the reason why it cannot be asked again.
"""

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

from selector.compliance.saved import Change, Rechecked, recheck
from selector.datafiles import read_text
from selector.errors import Fault, InputError, printable, shown
from selector.record.compliance import NOT_ADVICE
from selector.record.plain import guarded

LARGEST_BYTES = 20_000_000
MOST_FILES = 10_000
BLOCK = re.compile(r'<script type="application/json" id="(?:decision|sheet)">(.*?)</script>', re.DOTALL)
SAVE_AGAIN = "save the decision record (HTML), the sheet (HTML) or `shortlist --json`"


@dataclass(frozen=True)
class Asked:
    """One file that was asked again.

    Parameters
    ----------
    file : str
        Its place in the folder.
    title : str
        Of the brief, or the alloy of a sheet.
    data_hash : str
        Of the data with which it was saved.
    found : Rechecked
    """

    file: str
    title: str
    data_hash: str
    found: Rechecked


@dataclass(frozen=True)
class Recheck:
    """What a folder comes to: files asked again, and files that could not be, with the reason."""

    asked: tuple[Asked, ...]
    aside: tuple[tuple[str, str], ...]

    @property
    def changes(self) -> int:
        """Return how many verdicts change in all."""
        return sum(len(entry.found.changes) for entry in self.asked)


def recheck_folder(folder: Path, on: date | None = None) -> Recheck:
    """Ask every saved decision of a folder again, folders within it too.

    Parameters
    ----------
    folder : Path
    on : date, optional
        Another day to ask about; each decision's own where left out.

    Raises
    ------
    InputError
        The folder is none, cannot be read, or holds no saved decision at all.
    """
    what = "the folder of decisions"
    if not folder.is_dir():
        problem = "is a file" if folder.exists() else "does not exist"
        raise InputError(what, [Fault(str(folder), problem, allowed="a folder of saved decisions")])
    try:
        files = sorted(path for path in folder.rglob("*") if not path.is_dir())
    except OSError as error:
        raise InputError(what, [Fault(str(folder), f"cannot be read ({error.strerror})")]) from None
    if len(files) > MOST_FILES:
        problem = "holds too many files"
        raise InputError(what, [Fault(str(folder), problem, f"{len(files):,}", f"at most {MOST_FILES:,}")])
    asked: list[Asked] = []
    aside: list[tuple[str, str]] = []
    for path in files:
        name = printable(path.relative_to(folder).as_posix())
        try:
            asked.append(_asked(path, name, on))
        except InputError as error:
            told = [str(fault).removeprefix(f"{path}: ").removeprefix(f"{name}: ") for fault in error.faults[:3]]
            aside.append((name, printable("; ".join(told))))
    if not files:
        raise InputError(what, [Fault(str(folder), "is empty: it holds no saved decision", remedy=SAVE_AGAIN)])
    if not asked:
        reasons = [Fault(name, reason) for name, reason in aside]
        raise InputError(what, [*reasons, Fault(str(folder), "holds no saved decision", remedy=SAVE_AGAIN)])
    return Recheck(tuple(asked), tuple(aside))


def _asked(path: Path, name: str, on: date | None) -> Asked:
    content = _content(path, name)
    if isinstance(content, list):
        problem = "is a list of verdicts without use and day, as `comply --json` prints it: it cannot be asked again"
        raise InputError(name, [Fault(name, problem, remedy=SAVE_AGAIN)])
    if not isinstance(content, dict) or "compliance" not in content:
        raise InputError(name, [Fault(name, "is JSON, but no saved decision", remedy=SAVE_AGAIN)])
    brief = content.get("brief")
    title = brief.get("title") if isinstance(brief, dict) else content.get("alloy")
    found = recheck(content["compliance"], on)
    return Asked(name, printable(str(title or "")), printable(str(content.get("data_hash", ""))), found)


def _content(path: Path, name: str) -> Any:
    """Return the JSON of a file, or that in an HTML record."""
    ending = path.suffix.lower()
    if ending not in (".json", ".html", ".htm"):
        if ending in (".csv", ".xml", ".xlsx"):
            problem = f"is not asked again: a {ending} file keeps contents or verdicts, not what was asked"
            raise InputError(name, [Fault(name, problem, remedy="save the sheet or the record as HTML too")])
        raise InputError(name, [Fault(name, "is no saved decision by its ending", shown(ending), ".html, .json")])
    if not path.is_file():
        raise InputError(name, [Fault(name, "is no ordinary file, or a link that leads nowhere")])
    text = read_text(path, name, LARGEST_BYTES)
    if ending != ".json":
        block = BLOCK.search(text)
        if block is None:
            problem = "holds no decision: it is not a record of this tool, or its data was cut out"
            raise InputError(name, [Fault(name, problem, remedy=SAVE_AGAIN)])
        text = block[1]
    try:
        content = json.loads(text)
        if "\\u" in text:
            json.dumps(content, ensure_ascii=False).encode()  # half a character can be escaped, but never be printed
    except (ValueError, RecursionError) as error:
        raise InputError(name, [Fault(name, f"holds JSON that cannot be read ({printable(str(error))})")]) from None
    return content


def place(change: Change) -> str:
    """Return markets and day of a change in words; a customer's ban has no day."""
    where = ", ".join(change.markets) or "any market"
    return f"{where}, any day" if change.on == date.max else f"{where}, {change.on}"


def said(word: str) -> str:
    """Return a saved verdict in words."""
    return word.replace("_", " ")


def plain(found: Recheck) -> dict[str, object]:
    """Return a recheck as plain data: what `comply --recheck --json` prints."""
    return {
        "changes": found.changes,
        "files": [
            {
                "file": entry.file,
                "title": entry.title,
                "data_hash_then": entry.data_hash,
                "unchanged": entry.found.unchanged,
                "rule_sets": [
                    {"rule_set": name, "known_to_then": then or None, "known_to_now": now or None}
                    for name, then, now in entry.found.rule_dates
                ],
                "changes": [
                    {
                        "alloy": change.alloy,
                        "rule_id": change.rule_id,
                        "rule_set": change.rule_set,
                        "markets": list(change.markets),
                        "on": None if change.on == date.max else str(change.on),
                        "old": change.old,
                        "new": change.new,
                        "reason": change.reason,
                    }
                    for change in entry.found.changes
                ],
            }
            for entry in found.asked
        ],
        "not_asked": [{"file": name, "reason": reason} for name, reason in found.aside],
    }


def rows(found: Recheck) -> list[dict[str, str]]:
    """Return one row a changed verdict, and one a file without any or that could not be asked."""
    table = []
    for entry in found.asked:
        for change in entry.found.changes or (None,):
            table.append(
                {
                    "file": guarded(entry.file),
                    "alloy": "" if change is None else guarded(change.alloy),
                    "rule_id": "" if change is None else change.rule_id,
                    "asked": "" if change is None else place(change),
                    "old": "" if change is None else change.old,
                    "new": "unchanged" if change is None else change.new,
                    "reason": "" if change is None else guarded(change.reason),
                }
            )
    for name, reason in found.aside:
        empty = dict.fromkeys(("alloy", "rule_id", "asked", "old"), "")
        table.append({"file": guarded(name), **empty, "new": "not asked", "reason": guarded(reason)})
    return table


def show(console: Console, found: Recheck, on: date | None = None) -> None:
    """Print what changes, file by file, the dates of the rule sets that moved, and which files were not asked."""
    told = "each decision's own day" if on is None else f"{on} instead of each decision's own day"
    console.print(f"Asked about: {told}.")
    for entry in found.asked:
        console.print(f"\n{entry.file}: {entry.title}", style="bold")
        if entry.found.changes:
            table = Table(box=None, pad_edge=False, header_style="bold")
            for name in ("rule", "asked", "then", "now", "alloys", "reason"):
                table.add_column(name, overflow="fold", min_width=6)
            alike: dict[tuple[str, ...], list[str]] = {}
            for change in entry.found.changes:
                key = (change.rule_id, place(change), said(change.old), said(change.new), change.reason)
                alike.setdefault(key, []).append(change.alloy)
            for (*cells, reason), alloys in alike.items():
                table.add_row(*map(printable, (*cells, ", ".join(alloys), reason)))
            console.print(table)
        console.print(f"{len(entry.found.changes)} changed, {entry.found.unchanged} unchanged.")
        console.print(_dates(entry.found.rule_dates))
    if found.aside:
        console.print("\nNot asked again", style="bold")
        for name, reason in found.aside:
            console.print(f"{name}: {reason}")
    files = f"{len(found.asked)} saved decision{'s' if len(found.asked) != 1 else ''}"
    verb = f"{found.changes} verdict{'s' if found.changes != 1 else ''} changed"
    console.print(f"\n{files} asked again: {verb if found.changes else 'nothing changed'}.", style="bold")
    console.print(NOT_ADVICE)


def _dates(dates: Iterable[tuple[str, str, str]]) -> str:
    moved = [
        printable(f"{name} {then or 'not there'} then, {now or 'gone'} now") for name, then, now in dates if then != now
    ]
    days = sorted({now for _, _, now in dates if now})
    return f"Rule sets known to: {'; '.join(moved)}." if moved else f"Rule sets known to {days[-1]}, as then."
