"""A grid of compliance in one sentence: what passes, what is open and over a limit, what fails and on what."""

from collections.abc import Iterable, Sequence

from selector.record import compliance_words as words
from selector.record.compliance_grid import BINDING, Grid, Row, State
from selector.verdict import Outcome


def summary(found: Grid, markets: Sequence[str], cautions: Sequence[str] = ()) -> str:
    """Return the finding in one sentence: how many pass everywhere, how many are open, what the others fail on.

    Parameters
    ----------
    found : Grid
    markets : sequence of str
    cautions : sequence of str
        Of days far from what the rules know: with one, no pass is claimed.
    """
    total = len(found.rows)
    if not total:
        return "No alloy is judged."
    if cautions:
        return f"No verdict: {'; '.join(cautions)}."
    passing = sum(row.passes_everywhere for row in found.rows)
    opened = sum(row.standing is State.OPEN for row in found.rows)
    failing = [row for row in found.rows if row.standing is State.FAILS]
    days = sorted({entry.as_of for row in found.rows for _, entry in row.deciding()})
    when = f" on {days[0]}" if len(days) == 1 else f" on each market's day, {days[0]} to {days[-1]}" if days else ""
    where = f" in {words.series(markets)}" if markets else " in every market with a rule set"
    if total == 1:
        one = found.rows[0]
        word = {State.FAILS: "fails", State.OPEN: "is open"}.get(one.standing, "passes everywhere")
        beyond = listed_over([one])
        return f"{one.alloy} {word}{when}{where}{_on_what(failing)}{f': {beyond}' if beyond else ''}."
    told = [f"{passing} of {total} alloys {'passes' if passing == 1 else 'pass'} everywhere{when}{where}"]
    over = [row for row in found.rows if row.standing is State.OPEN and listed_over([row])]
    told += [f"{opened} {'is' if opened == 1 else 'are'} open{_of_which(over, opened)}"] if opened else []
    told += [f"{len(failing)} {'fails' if len(failing) == 1 else 'fail'}{_on_what(failing)}"] if failing else []
    return "; ".join(told) + "."


def listed_over(rows: Iterable[Row]) -> str:
    """Return what open cells of law and customers are over, in words; empty where none is over a limit."""
    told = (
        words.over_text(entry)
        for row in rows
        if row.standing is State.OPEN
        for column, entry in row.deciding()
        if column.kind in BINDING
    )
    return words.listed((text for text in told if text), 2)


def _of_which(over: Sequence[Row], opened: int) -> str:
    """Return how many of the open ones are over a limit, and open only on use or evidence."""
    if not over:
        return ""
    told = f", over a limit unless the use or evidence says otherwise: {words.listed((row.alloy for row in over), 3)}"
    return told if len(over) == opened else f", {len(over)} of them{told[1:]}"


def _on_what(failing: Sequence[Row]) -> str:
    """Return what alloys fail on: `, all on lead`, or each element with how many fail on it."""
    on = [
        dict.fromkeys(
            element
            for column, entry in row.deciding()
            if column.kind in BINDING and entry.outcome is Outcome.FAIL
            for element in words.elements_of(entry)
        )
        for row in failing
    ]
    names = words.element_names()
    shared = [element for element in dict.fromkeys(e for each in on for e in each) if all(element in e for e in on)]
    if shared:
        return f"{', all' if len(failing) > 1 else ','} on {words.series(names.get(e, e) for e in shared)}"
    counts = {element: sum(element in each for each in on) for element in dict.fromkeys(e for each in on for e in each)}
    ordered = sorted(counts.items(), key=lambda pair: -pair[1])
    return f", on {', '.join(f'{names.get(e, e)} ({count})' for e, count in ordered)}" if ordered else ""
