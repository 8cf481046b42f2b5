"""How sure the order is, as the record tells it: exact answers, sampled chances, other methods, and marks."""

from dataclasses import dataclass
from typing import Any

from selector.decision import Decision, second_opinions
from selector.record import charts_robustness, opinion_words
from selector.record.robustness_words import (
    FIRST,
    band_rows,
    challengers,
    companion,
    contender_rows,
    known_of,
    measurement_rows,
    overturn_lines,
    place_texts,
    sentence,
)
from selector.robustness import Robustness, robustness
from selector.weighing_marks import marks

MOST_PLACES, MOST_ALLOYS, MOST_MEASURED = 14, 20, 8


@dataclass(frozen=True)
class Section:
    """What the template shows of how sure an order is.

    Parameters
    ----------
    found : Robustness
    sentence, companion, known, drawn : str
    places : tuple of str
        Headings of the chances.
    chances : tuple of (alloy, ((text, share), ...))
    contenders, bands, measurements : list of rows
    challengers, overturns, marks, opinions : tuple of str
    chart : chart of the bands, or None where there is no rival
    """

    found: Robustness
    sentence: str
    companion: str
    known: str
    drawn: str
    places: tuple[str, ...]
    chances: tuple[tuple[str, tuple[tuple[str, float], ...]], ...]
    contenders: list[dict[str, object]]
    bands: list[dict[str, object]]
    measurements: list[dict[str, object]]
    challengers: tuple[str, ...]
    overturns: tuple[str, ...]
    marks: tuple[str, ...]
    opinions: tuple[str, ...]
    chart: Any


def section(decision: Decision) -> Section | None:
    """Return how sure the order is where only the order of the weights is known; None where nothing is admitted."""
    found = robustness(decision)
    if found is None:
        return None
    others = second_opinions(decision)
    chances, several = found.chances, len(found.contenders) > 1
    bands = band_rows(found) if several else []
    texts = place_texts(found)
    return Section(
        found,
        f"{sentence(found)} {opinion_words.chair(decision, others)}",
        companion(found),
        f"{known_of(found)}: {found.region}",
        f"{chances.draws} draws, seed {chances.seed}; weights: {chances.weights}; figures: {chances.data}",
        tuple(str(first) if first == last else f"{first}-{last}" for first, last in chances.bins[:MOST_PLACES]),
        tuple(
            (entry.alloy, tuple(zip(texts[i][:MOST_PLACES], map(float, chances.shares[i]), strict=False)))
            for i, entry in enumerate(found.contenders[:MOST_ALLOYS])
        ),
        # How often each is first stands above already.
        [{name: value for name, value in row.items() if name != FIRST} for row in contender_rows(found)],
        bands,
        measurement_rows(found)[:MOST_MEASURED],
        challengers(found),
        overturn_lines(found),
        marks(decision),
        opinion_words.lines(decision, others),
        charts_robustness.weight_bands(bands) if bands else None,
    )
