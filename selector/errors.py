"""What can be wrong with an input, said to the person who can mend it.

Every error of the product is an `InputError` that carries all `Fault`s of that input at once. A fault says
what is wrong, where (file, row or field path), the value met, what is allowed, and what to do.
"""

from collections.abc import Iterable
from dataclasses import dataclass

LONGEST_SHOWN = 60
MOST_LISTED = 40


def shown(value: object) -> str:
    """Return `value` as short printable text, so that a hostile input cannot flood a message."""
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > 10**18:
        return f"an integer of about {len(format(abs(value), 'x')) * 12 // 10} digits"
    try:
        text = repr(value) if isinstance(value, str) else str(value)
    except (RecursionError, ValueError):
        # A table may hold what Python itself refuses to write out.
        return "something nested too deeply, or an integer too long, to show"
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}… ({len(text):,} characters)"


def printable(line: str) -> str:
    """Return a line without anything that a terminal would take for a command: a path may hold an escape."""
    return "".join(char if char.isprintable() else ascii(char)[1:-1] for char in line)


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input.

    Parameters
    ----------
    where : str
        File, row and field, as the person would look for it.
    problem : str
        What is wrong, in words.
    value : str
        The value met, already shortened by `shown`; empty where there is none.
    allowed : str
        What would be accepted.
    remedy : str
        What to do about it.
    """

    where: str
    problem: str
    value: str = ""
    allowed: str = ""
    remedy: str = ""

    def __str__(self) -> str:
        """Return the fault as one line."""
        parts = [f"{self.where}: {self.problem}"]
        if self.value:
            parts.append(f"got {self.value}")
        if self.allowed:
            parts.append(f"allowed: {self.allowed}")
        if self.remedy:
            parts.append(self.remedy)
        return "; ".join(parts)


class InputError(ValueError):
    """An input that cannot be used, with every fault found in it.

    Parameters
    ----------
    what : str
        The input as a whole ("the brief skin.toml").
    faults : iterable of Fault
        At least one.
    """

    def __init__(self, what: str, faults: Iterable[Fault]) -> None:
        self.what = what
        self.faults = tuple(faults)
        super().__init__(str(self))

    def __str__(self) -> str:
        """Return a heading and a line a fault, capped so that the screen stays readable."""
        count = len(self.faults)
        head = f"{self.what} cannot be used: {count} fault{'s' if count != 1 else ''}."
        lines = [f"  - {fault}" for fault in self.faults[:MOST_LISTED]]
        if count > MOST_LISTED:
            lines.append(f"  … and {count - MOST_LISTED} more")
        return "\n".join([head, *lines])
