"""How sure an order is, as plain data for machines: what `robustness --json` prints and the record holds."""

from dataclasses import asdict

import numpy as np

from selector.record.robustness_words import companion, sentence
from selector.robustness import Robustness
from selector.weighing_marks import marks


def plain(found: Robustness) -> dict[str, object]:
    """Return everything as plain data; a number that is not finite is None."""
    chances = found.chances
    names = [entry.alloy for entry in found.contenders]

    def number(value: float) -> float | None:
        return float(value) if np.isfinite(value) else None

    return {
        "sentence": sentence(found),
        "taken_as_exact": companion(found),
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
        "marks": list(marks(found.decision)),
        "decision": {
            "brief": found.decision.brief.title,
            "data": found.decision.data_hash,
            "version": found.decision.version,
        },
    }
