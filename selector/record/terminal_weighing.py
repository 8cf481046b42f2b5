"""How sure an order is, as text for a terminal and as plain data for machines."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict

import numpy as np
from rich.console import Console
from rich.table import Table

from selector.record.robustness_words import (
    band_rows,
    challengers,
    contender_rows,
    measurement_rows,
    overturn_lines,
    sentence,
)
from selector.robustness import KNOWLEDGE, Robustness

MOST_PLACES = 8


def show(console: Console, found: Robustness) -> None:
    """Print the finding, the contenders, weights, smallest changes, measurements."""
    console.print(sentence(found), style="bold")
    console.print(f"Known of the weights: {KNOWLEDGE[found.knowledge]}. {found.region}\n")
    print_rows(console, contender_rows(found))
    console.print("\nWho may lead, and who may not", style="bold")
    for line in challengers(found):
        console.print(f"- {line}")
    console.print("\nWeights between which the leader stays first, %", style="bold")
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
    print_rows(console, rows)
    console.print("\nSmallest changes that bring a rival level", style="bold")
    for line in overturn_lines(found):
        console.print(f"- {line}")
    if found.measurements:
        console.print("\nWhat a measurement would settle", style="bold")
        print_rows(console, measurement_rows(found)[:MOST_PLACES])
    chances = found.chances
    console.print(
        f"\nDrawn: {chances.draws} draws, seed {chances.seed}; weights: {chances.weights}; data: {chances.data}."
        " A share of none is a bound, not an impossibility."
    )


def print_rows(console: Console, rows: Sequence[Mapping[str, object]]) -> None:
    """Print rows under the names of the first one's columns."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in rows[0]:
        table.add_column(name, overflow="fold")
    for row in rows:
        table.add_row(*(str(value) for value in row.values()))
    console.print(table)


def plain(found: Robustness) -> dict[str, object]:
    """Return everything as plain data: what `robustness --json` prints."""
    chances = found.chances
    names = [entry.alloy for entry in found.contenders]

    def number(value: float) -> float | None:
        return float(value) if np.isfinite(value) else None

    return {
        "sentence": sentence(found),
        "known": found.knowledge,
        "admissible": found.region,
        "leader": found.leader,
        "contenders": [
            {**asdict(entry), "lead": number(entry.lead), "lead_at_best": number(entry.lead_at_best)}
            for entry in found.contenders
        ],
        "weights": [{**asdict(band), "low": number(band.low), "high": number(band.high)} for band in found.bands],
        "overturns": [asdict(entry) for entry in found.overturns],
        "measurements": [asdict(entry) for entry in found.measurements],
        "chances": {
            "draws": chances.draws,
            "independent_draws": chances.effective,
            "seed": chances.seed,
            "weights": chances.weights,
            "data": chances.data,
            "places": [list(pair) for pair in chances.bins],
            "shares": {name: [float(share) for share in row] for name, row in zip(names, chances.shares, strict=True)},
            "standard_error": {
                name: [float(share) for share in row] for name, row in zip(names, chances.standard_error, strict=True)
            },
            "central_weights": {
                name: None if np.isnan(row).any() else [float(share) for share in row]
                for name, row in zip(names, chances.central_weights, strict=True)
            },
            "confidence": {name: number(share) for name, share in zip(names, chances.confidence, strict=True)},
        },
        "decision": {
            "brief": found.decision.brief.title,
            "data": found.decision.data_hash,
            "version": found.decision.version,
        },
    }
