"""What a reader must know of anchors and weights before trusting an order: drafts, stale weights, overlaps."""

import numpy as np

from selector.decision import Decision
from selector.scoring.anchors import clipping, drafts, stale
from selector.scoring.counted_twice import limited_too, overlaps
from selector.scoring.criteria import CRITERIA


def marks(decision: Decision) -> tuple[str, ...]:
    """Return what marks the weighing of a decision, a sentence each, the gravest first.

    Parameters
    ----------
    decision : Decision

    Returns
    -------
    tuple of str
        Draft anchors, weights that nobody confirmed for their anchors, limits that are preferred as well without a
        stated reason, criteria that count nearly one thing, and levels of admitted alloys beyond the anchors.
    """
    preferences = decision.weighing.preferences
    weighed = sorted(
        (entry for entry in preferences if entry.swing > 0), key=lambda entry: list(CRITERIA).index(entry.criterion)
    )
    levels = [[share.level for share in entry.shares] for entry in decision.admitted]
    values = np.array([[np.nan if level.value is None else level.value for level in row] for row in levels])
    found = [
        *(f"Draft. {text}" for text in drafts(preferences)),
        *(f"Stale weight. {entry.text}" for entry in stale(preferences, preferences)),
        *(entry.text for entry in limited_too(preferences, decision.brief) if not entry.reason),
        *(entry.text for entry in (overlaps(weighed, values) if levels else ())),
        *(entry.text for entry in clipping(weighed, levels) if entry.text),
    ]
    return tuple(text if text.endswith((".", "?")) else f"{text}." for text in found)
