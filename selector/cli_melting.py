"""The verbs about melting: `melt`, `blend`, `freeze`, `diagram` and `recompute`.

Exit codes: 0 answered, 1 the solver failed on something or the table is stale, 2 an input that cannot be used.
"""

import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from selector.asked import (
    Named,
    contents,
    element_of,
    mass_share,
    most_wt,
    named,
    refuse,
    temperatures,
    typed_alloys,
)
from selector.catalogue import load
from selector.composition import Composition, decimal_text
from selector.console import CsvOption, DataOption, JsonOption, console, print_json, progress
from selector.errors import Fault, InputError, shown
from selector.melting import diagram as sections
from selector.melting import mixing, table
from selector.melting.alloy import Melting
from selector.melting.coverage import coverage
from selector.melting.lever import lever, state_of
from selector.melting.store import melting_of
from selector.record import charts_melting, plain_melting, terminal_melting
from selector.record.files import CHART_WIDTH, output_faults, write_chart
from selector.record.plain import csv_text
from selector.record.plain_melting import Answer, LiquidAt

AlloysArgument = Annotated[
    list[str] | None, typer.Argument(metavar="ALLOY...", help="Any spelling: SAC305, Sn-58Bi, 63/37, Sn42Bi57Ag1.")
]
FileOption = Annotated[
    Path | None,
    typer.Option("--file", metavar="FILE", help="Alloys one a line; blank lines and # comments are skipped."),
]
OutputOption = Annotated[
    Path | None, typer.Option("-o", "--output", metavar="FILE", help="Write the chart: a name in .svg or .png.")
]
DarkOption = Annotated[bool, typer.Option("--dark", help="Draw the chart on a dark ground.")]


def _finish(answers: Sequence[Answer]) -> NoReturn:
    raise typer.Exit(1 if any(answer.all_failures for answer in answers) else 0)


def _told(path: Path, size: int) -> None:
    # On stderr: the answer itself may be JSON or CSV.
    print(f"{path}: {size / 1000:.0f} kB", file=sys.stderr)


def _melting(alloys: Sequence[Composition]) -> tuple[Melting, ...]:
    with progress("melting", len(set(alloys))) as done:
        return melting_of(alloys, done)


def _at(alloy: Composition, melting: Melting, wanted: Sequence[float]) -> tuple[tuple[LiquidAt, ...], tuple[str, ...]]:
    """Return how much is liquid at temperatures, and where the solver failed."""
    found, failures = [], []
    for temperature_c in wanted:
        settled = _settled(alloy, melting, temperature_c)
        # Where liquid remains at the end of the curve, nothing is known below it.
        followed = melting.last_liquid_c is not None or (melting.curve and temperature_c >= melting.curve[-1][0])
        frozen = melting.liquid_as_frozen(temperature_c) if followed else None
        found.append(LiquidAt(temperature_c, frozen, settled))
        if settled is None and melting.liquidus_c is not None:
            failures.append(f"liquid at equilibrium at {temperature_c:g} degC: the solver found no checked answer")
    return tuple(found), tuple(failures)


def _settled(alloy: Composition, melting: Melting, temperature_c: float) -> float | None:
    try:
        return state_of(alloy, melting, temperature_c).liquid
    except InputError:
        # No solver is installed: `melt` has told it already, with what to do.
        return None


def melt(
    alloy: AlloysArgument = None,
    file: FileOption = None,
    at: Annotated[
        list[str] | None, typer.Option("--at", metavar="DEGC", help="Also how much is liquid there; may be repeated.")
    ] = None,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    data: DataOption = None,
) -> None:
    """Compute how alloys melt: solidus, T90, T98, liquidus, remelt onset, the first liquid as frozen, with grades."""
    faults: list[Fault] = []
    wanted = temperatures(at or [], faults)
    found = named(typed_alloys(alloy or [], file), load(data), faults)
    refuse(faults)
    _show_melting(found, wanted, as_json, as_csv)


def _show_melting(found: Sequence[Named], wanted: Sequence[float], as_json: bool, as_csv: bool) -> None:
    results = _melting([entry.composition for entry in found])
    answers = [
        Answer(entry.name, entry.composition, melting, *_at(entry.composition, melting, wanted))
        for entry, melting in zip(found, results, strict=True)
    ]
    if as_json:
        print_json([plain_melting.one(answer) for answer in answers])
    elif as_csv:
        print(csv_text([plain_melting.row(answer) for answer in answers]), end="")
    else:
        terminal_melting.alloys(console(), answers)
    _finish(answers)


def freeze(
    alloy: AlloysArgument = None,
    file: FileOption = None,
    output: OutputOption = None,
    dark: DarkOption = False,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    data: DataOption = None,
) -> None:
    """Compute how alloys freeze: liquid by temperature, by Scheil-Gulliver and by the lever rule; the solids."""
    faults = output_faults(output)
    found = named(typed_alloys(alloy or [], file), load(data), faults)
    refuse(faults)
    results = _melting([entry.composition for entry in found])
    answers, paths = [], []
    with progress("lever rule", len(found)) as done:
        for count, (entry, melting) in enumerate(zip(found, results, strict=True), start=1):
            path = lever(entry.composition, melting)
            gaps = [f"{point.temperature_c:.1f}" for point in path if point.liquid is None]
            failed = (f"lever rule: the solver found no checked answer at {', '.join(gaps)} degC",) if gaps else ()
            answers.append(Answer(entry.name, entry.composition, melting, failures=failed))
            paths.append(path)
            done(count)
    both = list(zip(answers, paths, strict=True))
    if as_json:
        print_json([plain_melting.frozen(answer, path) for answer, path in both])
    elif as_csv:
        print(csv_text([row for answer, path in both for row in plain_melting.freezing_rows(answer, path)]), end="")
    else:
        for answer, path in both:
            terminal_melting.freezing(console(), answer, path)
            print()
    if output is not None:
        import altair as alt

        charts = [
            charts_melting.freezing_curves(answer.name, answer.melting, path).properties(width=CHART_WIDTH)
            for answer, path in both
        ]
        _told(output, write_chart(charts[0] if len(charts) == 1 else alt.vconcat(*charts), output, dark))
    _finish(answers)


@dataclass(frozen=True)
class _Mixture:
    """What `blend` was asked: one mixture, or a curve against a share or a trace."""

    one: Named
    other: Named | None
    share: Fraction | None
    added: Mapping[str, Fraction]
    trace: str
    up_to: float | None


def _mixture(
    found: Sequence[Named],
    other: str | None,
    share: str | None,
    trace: Sequence[str],
    up_to: str | None,
    faults: list[Fault],
) -> _Mixture | None:
    """Return what was asked in order, None where it does not hold together."""
    part = mass_share(share, faults)
    most = None if up_to is None else most_wt(up_to, faults)
    bare = [text for text in trace if "=" not in text]
    element = ""
    if up_to is not None and len(bare) == 1 and len(trace) == 1:
        element = element_of(f"--trace {shown(bare[0])}", bare[0], faults) or ""
        if other is not None:
            faults.append(Fault("ALLOY", "a curve against a trace is of one alloy", shown(other), "leave it out"))
    elif up_to is not None:
        given = ", ".join(trace) or "none"
        faults.append(Fault("--trace", "a curve against a trace is of one element", given, "--trace Pb --up-to 5"))
    added = contents("--trace", [text for text in trace if "=" in text or up_to is None], faults)
    if other is None and share is not None:
        faults.append(
            Fault("--share", "needs a second alloy to be the share of", shown(share), "blend A B --share 0.3")
        )
    if other is None and not trace:
        faults.append(Fault("blend", "names nothing to mix in", allowed="a second alloy, or --trace Pb=0.5"))
    if faults:
        return None
    return _Mixture(found[0], found[1] if other is not None else None, part, added, element, most)


def blend(
    one: Annotated[str, typer.Argument(metavar="A", help="An alloy by any spelling.")],
    other: Annotated[str | None, typer.Argument(metavar="[B]", help="What is mixed in.")] = None,
    share: Annotated[
        str | None, typer.Option("--share", metavar="S", help="Mass share of B, 0 to 1; the whole curve without it.")
    ] = None,
    trace: Annotated[
        list[str] | None,
        typer.Option("--trace", metavar="Pb=0.5", help="wt% of an element in the mixture; may be repeated."),
    ] = None,
    up_to: Annotated[
        str | None, typer.Option("--up-to", metavar="WT%", help="With --trace Pb: the curve from 0 to this content.")
    ] = None,
    output: OutputOption = None,
    dark: DarkOption = False,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    data: DataOption = None,
) -> None:
    """Compute how two alloys melt when mixed by mass, with traces; or remelt onset and T98 against share or trace."""
    faults = output_faults(output)
    typed = [("", text) for text in (one, other) if text is not None]
    found = named(typed, load(data), faults, cover=False)
    asked = _mixture(found, other, share, trace or [], up_to, faults)
    if asked is not None and output is not None and (asked.share is not None or (not asked.other and not asked.trace)):
        faults.append(Fault("--output", "one mixture is no curve to draw", shown(str(output)), "leave out --share"))
    refuse(faults)
    assert asked is not None
    _covered(asked)
    if asked.other is None and not asked.trace:
        mixture = mixing.with_trace(asked.one.composition, asked.added)
        _show_melting([Named(one, _name(asked), mixture)], (), as_json, as_csv)
    elif asked.other is not None and asked.share is not None:
        mixture = mixing.blend(asked.one.composition, asked.other.composition, asked.share, asked.added)
        _show_melting([Named(one, _name(asked), mixture)], (), as_json, as_csv)
    else:
        _show_curve(asked, output, dark, as_json, as_csv)


def _name(asked: _Mixture) -> str:
    parts = (
        [f"{decimal_text(asked.share * 100)} % {asked.other.name}"] if asked.other and asked.share is not None else []
    )
    parts += [f"{decimal_text(wt)} wt% {element}" for element, wt in asked.added.items()]
    return f"{asked.one.name} with {' and '.join(parts)}"


def _covered(asked: _Mixture) -> None:
    """Refuse a mixture that the engine does not cover; in a curve the ends hold the most of every element."""
    shares = [asked.share] if asked.share is not None else [0, 1]
    if asked.other is not None:
        ends = [mixing.blend(asked.one.composition, asked.other.composition, share, asked.added) for share in shares]
    else:
        traces = [{asked.trace: asked.up_to}] if asked.trace else [asked.added]
        ends = [mixing.with_trace(asked.one.composition, trace) for trace in traces]
    faults: list[Fault] = []
    for mixture in ends:
        try:
            coverage(mixture)
        except InputError as error:
            faults += error.faults
    refuse(faults)


def _show_curve(asked: _Mixture, output: Path | None, dark: bool, as_json: bool, as_csv: bool) -> None:
    one, added = asked.one, {element: decimal_text(wt) for element, wt in asked.added.items()}
    if asked.other is None:
        assert asked.up_to is not None
        with progress("mixtures", mixing.STEPS + 1) as done:
            points = mixing.trace_curve(one.composition, asked.trace, asked.up_to, told=done)
        places: list[Mapping[str, object]] = [{"trace": asked.trace, "trace_wt": point.share} for point in points]
        title, axis, scale = f"{one.name} with {asked.trace}", f"wt% {asked.trace}", 1.0
        chart = charts_melting.blend_curves(points, one.name, trace=asked.trace) if output else None
    else:
        with progress("mixtures", mixing.STEPS + 1) as done:
            points = mixing.blend_curve(one.composition, asked.other.composition, asked.added, told=done)
        places = [{"share": point.share} for point in points]
        extra = "".join(f", {wt} wt% {element} added" for element, wt in added.items())
        title, axis, scale = f"{one.name} mixed with {asked.other.name}{extra}", f"% {asked.other.name} by mass", 100.0
        chart = charts_melting.blend_curves(points, one.name, asked.other.name, added=added) if output else None
    answers = [Answer(str(point.composition), point.composition, point.melting) for point in points]
    pairs = list(zip(places, answers, strict=True))
    if as_json:
        print_json(plain_melting.along(pairs))
    elif as_csv:
        print(csv_text(plain_melting.along_rows(pairs)), end="")
    else:
        along = [(point.share * scale, answer) for point, answer in zip(points, answers, strict=True)]
        terminal_melting.along(console(), title, axis, along)
    if output is not None and chart is not None:
        _told(output, write_chart(chart.properties(width=CHART_WIDTH), output, dark))
    _finish(answers)


def diagram(
    one: Annotated[str, typer.Argument(metavar="Sn", help="The element on the left.")],
    other: Annotated[str, typer.Argument(metavar="Bi", help="The element along the axis.")],
    held: Annotated[
        list[str] | None,
        typer.Option("--with", metavar="Ag=1", help="wt% of another element, held all along; may be repeated."),
    ] = None,
    output: OutputOption = None,
    dark: DarkOption = False,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
) -> None:
    """Compute a section between two elements: liquidus, T98, solidus and remelt onset against wt%, with grades."""
    faults = output_faults(output)
    left = element_of("the first element", one, faults, in_full=True)
    right = element_of("the second element", other, faults, in_full=True)
    fixed = contents("--with", held or [], faults)
    if left is not None and left == right:
        faults.append(Fault("elements", "the same element twice", left, "two elements, such as Sn Bi"))
    twice = [element for element in fixed if element in (left, right)]
    faults += [
        Fault(f"--with {element}", "is an end of the diagram already", allowed="another element") for element in twice
    ]
    refuse(faults)
    assert left is not None
    assert right is not None
    with progress("section", sections.STEPS + 1) as done:
        points = sections.section(left, right, fixed, told=done)
    told = {element: decimal_text(wt) for element, wt in fixed.items()}
    answers = [Answer(str(point.composition), point.composition, point.melting) for point in points]
    pairs: list[tuple[Mapping[str, object], Answer]] = [
        ({"element": right, "wt": point.wt}, answer) for point, answer in zip(points, answers, strict=True)
    ]
    if as_json:
        print_json(plain_melting.along(pairs))
    elif as_csv:
        print(csv_text(plain_melting.along_rows(pairs)), end="")
    else:
        title = f"{left}-{right}" + "".join(f" with {wt} wt% {element}" for element, wt in told.items())
        along = [(point.wt, answer) for point, answer in zip(points, answers, strict=True)]
        terminal_melting.along(console(), title, f"wt% {right}", along, whole=True)
    if output is not None:
        chart = charts_melting.section_chart(points, left, right, told).properties(width=CHART_WIDTH)
        _told(output, write_chart(chart, output, dark))
    _finish(answers)


def recompute(
    check: Annotated[
        bool, typer.Option("--check", help="Only say which rows are stale; ends with 1 if any is.")
    ] = False,
) -> None:
    """Make data/melting.csv anew on all cores, and say which alloys moved."""
    alloys = tuple(load().alloys.values())
    if check:
        stale = table.stale(alloys)
        for name in stale:
            print(f"stale: {name}")
        print(
            f"{len(stale)} of {len(table.wanted(alloys))} rows are stale" if stale else "every row is of today's inputs"
        )
        raise typer.Exit(1 if stale else 0)
    table.refuse_unwritable()
    before = table.held()
    with progress("recompute", len(table.wanted(alloys))) as done:
        rows = table.recompute(alloys, workers=os.cpu_count() or 1, told=lambda count, _: done(count))
    table.write(rows)
    for line in table.changes(before, rows):
        print(line)
    failed = [table.called(row["alloy"], row["lead_wt"]) for row in rows if "failed: " in row["notes"]]
    print(f"{len(rows)} rows written; the solver failed on {', '.join(failed) or 'none'}")
    raise typer.Exit(1 if failed else 0)
