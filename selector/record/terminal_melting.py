"""Computed melting as text for a terminal."""

from collections.abc import Sequence
from itertools import pairwise

from rich.console import Console
from rich.table import Table

from selector.figures import NOT_KNOWN, figure, spread
from selector.melting.alloy import Melting
from selector.melting.lever import LeverPoint
from selector.record import melting_words
from selector.record.charts_melting import grades_in_words
from selector.record.plain_melting import Answer, frozen_points

LEVELS = (0.98, 0.95, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05, 0.02)


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in columns:
        table.add_column(name, overflow="fold")
    return table


def percent(fraction: float | None) -> str:
    """Return a mass fraction as a percentage with its sign."""
    return NOT_KNOWN if fraction is None else f"{melting_words.percent(fraction)} %"


def first_liquid(found: Melting) -> str:
    """Return how much melts first as frozen, and where."""
    if found.first_liquid_mass is None or found.last_liquid_c is None:
        return NOT_KNOWN
    return f"{percent(found.first_liquid_mass)} near {figure(found.last_liquid_c)}"


def trust(found: Melting) -> str:
    """Return the grade with its half-width."""
    return f"{found.grade}, to {figure(found.half_width_k)} K"


def alloys(console: Console, answers: Sequence[Answer]) -> None:
    """Print how alloys melt, then what is to know of each."""
    table = _table("alloy", "solidus", "T90", "T98", "liquidus", "remelt onset", "first liquid as frozen", "grade")
    for answer in answers:
        found = answer.melting
        table.add_row(
            answer.name,
            figure(found.solidus_c),
            figure(found.t90_c),
            figure(found.t98_c),
            figure(found.liquidus_c),
            spread(found.remelt_onset_c, found.onset_low_c, found.onset_high_c),
            first_liquid(found),
            trust(found),
        )
    console.print("Computed melting, degC; liquid in % by mass", style="bold")
    console.print(table)
    if any(answer.liquid_at for answer in answers):
        console.print("\nLiquid at a temperature", style="bold")
        table = _table("alloy", "degC", "as frozen", "at equilibrium")
        for answer in answers:
            for entry in answer.liquid_at:
                table.add_row(
                    answer.name, figure(entry.temperature_c), percent(entry.as_frozen), percent(entry.at_equilibrium)
                )
        console.print(table)
    for answer in answers:
        console.print(f"\n{answer.name} = {answer.composition} wt%", style="bold")
        console.print(f"- remelt onset: {answer.melting.onset_rule}")
        _notes(console, answer)


def _notes(console: Console, answer: Answer) -> None:
    for note in answer.melting.notes:
        console.print(f"- {note}")
    for failure in answer.all_failures:
        console.print(f"- failed: {failure}")


def freezing(console: Console, answer: Answer, path: Sequence[LeverPoint]) -> None:
    """Print how an alloy freezes: solids in their order, the last liquid, temperature against liquid fraction."""
    found = answer.melting
    console.print(f"{answer.name} = {answer.composition} wt%, {trust(found)}", style="bold")
    if found.phases:
        table = _table("", "solid as frozen", "begins, degC", "in the end, by mass")
        for place, (name, begins, mass) in enumerate(found.phases, start=1):
            # Looked for at every kelvin.
            table.add_row(str(place), name, f"{begins:.0f}", percent(mass))
        console.print(table)
    if found.last_liquid_c is not None and found.last_mass is not None:
        console.print(
            f"Last liquid: {percent(found.last_mass)} by mass freezes at once at {figure(found.last_liquid_c)} degC."
        )
    else:
        console.print("Last liquid: unknown.")
    if found.remelt_onset_c is None:
        console.print(f"Remelt onset: unknown, {found.onset_rule}.\n")
    else:
        console.print(f"Remelt onset {figure(found.remelt_onset_c)} degC: {found.onset_rule}.")
        console.print(f"What melts up to it: {', '.join(found.onset_phases) or 'none that is told'}.\n")
    if found.curve:
        frozen: list[tuple[float, float | None]] = list(frozen_points(found))
        lever = [(point.temperature_c, point.liquid) for point in path] if len(found.elements) > 1 else frozen
        table = _table("liquid, by mass", "as frozen (Scheil-Gulliver), degC", "at equilibrium (lever rule), degC")
        # The ends are known better than the points of a curve tell them.
        table.add_row(percent(1.0), figure(found.liquidus_c), figure(found.liquidus_c))
        for level in LEVELS:
            table.add_row(percent(level), figure(reached(frozen, level)), figure(reached(lever, level)))
        table.add_row(percent(0.0), figure(found.last_liquid_c), figure(found.solidus_c))
        console.print(table)
    _notes(console, answer)


def reached(curve: Sequence[tuple[float, float | None]], level: float) -> float | None:
    """Return where a falling curve comes down to a liquid fraction, degC; None where it does not, or in a gap."""
    for (upper_c, upper), (lower_c, lower) in pairwise(curve):
        if upper is None or lower is None or not lower <= level <= upper:
            continue
        return lower_c if upper == lower else lower_c + (upper_c - lower_c) * (level - lower) / (upper - lower)
    return None


def along(console: Console, title: str, axis: str, points: Sequence[tuple[float, Answer]], whole: bool = False) -> None:
    """Print a curve: remelt onset and T98 against a share, and solidus and liquidus where it is a section.

    Parameters
    ----------
    axis : str
        What the share is, with its unit.
    whole : bool
        Whether to print solidus and liquidus too.
    """
    console.print(title, style="bold")
    ends = ("solidus", "liquidus") if whole else ()
    table = _table(axis, *ends, "T98, degC", "remelt onset, degC", "first liquid as frozen", "grade")
    for at, answer in points:
        found = answer.melting
        table.add_row(
            figure(at),
            *((figure(found.solidus_c), figure(found.liquidus_c)) if whole else ()),
            figure(found.t98_c),
            spread(found.remelt_onset_c, found.onset_low_c, found.onset_high_c),
            first_liquid(found),
            trust(found),
        )
    console.print(table)
    console.print(grades_in_words([(at, answer.melting) for at, answer in points], axis))
    seen: dict[str, list[float]] = {}
    for at, answer in points:
        # A caution of one mixture stands in its row already, as its first liquid.
        told = [note for note in answer.melting.notes if not note.startswith(melting_words.CAUTION)]
        for line in (*told, *(f"failed: {failure}" for failure in answer.all_failures)):
            seen.setdefault(line, []).append(at)
    for line, places in seen.items():
        where = figure(places[0]) if len(places) == 1 else f"{figure(places[0])} to {figure(places[-1])}"
        console.print(f"- at {where}: {line}")
