"""Second opinions side by side with our own order, how far they agree, and where they part."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.brief import Preference
from selector.errors import InputError
from selector.scoring.concordance import Parting, kendall_w, partings
from selector.scoring.criteria import CRITERIA, Level
from selector.scoring.fixed_opinions import geometric_value, spotis
from selector.scoring.outranking import Preferring, promethee
from selector.scoring.ranking import competition_ranks
from selector.scoring.second_opinions import SecondOpinion, agreement, topsis, vikor
from selector.scoring.values import direction, worth_bounds

# A lead beyond the data's own uncertainty by a tenth of the range counts fully in PROMETHEE II: our choice.
FULL_LEAD = 10.0
NOT_ASKED = (
    "MOORA, MultiMOORA, ELECTRE, WASPAS, CODAS, COPRAS, EDAS, MARCOS, OCRA, ARAS, CoCoSo, MABAC, MAIRCA, PROBID, RAM "
    "and SIMUS are not asked: their results change when all weights are doubled, or turn over at a negative value or a "
    "zero, or add no new view (each with its reason in `gate.NOT_OFFERED`). Entropy, CRITIC and MEREC describe a list "
    "and weigh nothing."
)


@dataclass(frozen=True)
class Panel:
    """What other methods say of one list.

    Parameters
    ----------
    opinions : tuple of SecondOpinion
        Empty where no method can be asked; `refused` then says why.
    agreements : tuple of float or None
        Kendall tau-b of each opinion with our own order of the same alloys; None where it is not defined.
    left_out : tuple of str
        Alloys that lack a value: these methods cannot take bounds.
    refused : str
        Why nothing was asked, empty otherwise.
    concordance : float or None
        Kendall's W over our own order and all opinions; to be shown with `concordance.W_WARNING`.
    partings : tuple of Parting
        Pairs among our first five that some method turns round.
    not_asked : str
        Which methods are left out of the panel, and why.
    """

    opinions: tuple[SecondOpinion, ...]
    agreements: tuple[float | None, ...]
    left_out: tuple[str, ...]
    refused: str = ""
    concordance: float | None = None
    partings: tuple[Parting, ...] = ()
    not_asked: str = NOT_ASKED


def panel(
    names: Sequence[str],
    levels: Sequence[Sequence[Level]],
    worths: Sequence[Sequence[float | None]],
    scores: Sequence[float],
    preferences: Sequence[Preference],
    weights: Sequence[float],
) -> Panel:
    """Return the second opinions on the alloys that have every value.

    Parameters
    ----------
    names : sequence of m str
    levels, worths : m rows of n entries
        Raw levels and their worths, 0 to 100.
    scores : sequence of m float
        Our own scores, by which the orders are compared.
    preferences, weights : n entries
        Ordered and single-peaked criteria enter by their worth, since their levels are not numbers of that kind.
    """
    complete = [i for i, row in enumerate(worths) if all(entry is not None for entry in row)]
    left_out = tuple(name for i, name in enumerate(names) if i not in complete)
    chosen = [names[i] for i in complete]
    if len(chosen) < 2:
        return Panel((), (), left_out, "fewer than two alloys have every value")
    some = [levels[i] for i in complete]
    table = np.array([worths[i] for i in complete], dtype=float)
    try:
        opinions = tuple(ask() for ask in _questions(chosen, some, table, preferences, weights))
    except InputError as error:
        return Panel((), (), left_out, "; ".join(fault.problem for fault in error.faults))
    own = [-scores[i] for i in complete]
    ranks = competition_ranks(-np.array(own)).tolist()
    return Panel(
        opinions,
        tuple(agreement(own, opinion.ranks) for opinion in opinions),
        left_out,
        "",
        kendall_w([ranks, *(opinion.ranks for opinion in opinions)]),
        partings(chosen, ranks, [(opinion.method, opinion.ranks) for opinion in opinions]),
    )


def _questions(
    names: list[str],
    levels: Sequence[Sequence[Level]],
    worths: NDArray[np.float64],
    preferences: Sequence[Preference],
    weights: Sequence[float],
) -> list[Callable[[], SecondOpinion]]:
    """Return each method with what it is asked; relative ones first."""
    criteria = [entry.criterion for entry in preferences]
    ordered = [bool(CRITERIA[entry.criterion].levels) for entry in preferences]
    directions = [direction(entry.points) for entry in preferences]
    by_worth = [levels_only or way == "peak" for levels_only, way in zip(ordered, directions, strict=True)]
    raw = worths.copy()
    for j, uses_worth in enumerate(by_worth):
        if not uses_worth:
            raw[:, j] = [row[j].value for row in levels]
    ways = ["higher" if uses_worth else way for uses_worth, way in zip(by_worth, directions, strict=True)]
    fixed, bounds, ideals = worths.copy(), [(0.0, 100.0)] * len(criteria), [100.0] * len(criteria)
    for j, entry in enumerate(preferences):
        if not ordered[j]:
            # Between the outer anchors, with the best level as the target.
            fixed[:, j] = [row[j].value for row in levels]
            bounds[j] = (entry.points[0][0], entry.points[-1][0])
            best = [level for level, worth in entry.points if worth == max(w for _, w in entry.points)]
            ideals[j] = {"higher": bounds[j][1], "lower": bounds[j][0]}.get(directions[j], sum(best) / len(best))
    upward = ["higher"] * len(criteria)
    preferring = [_preferring([row[j] for row in levels], entry) for j, entry in enumerate(preferences)]
    return [
        lambda: topsis(raw, names, criteria, weights, ways),
        lambda: vikor(raw, names, criteria, weights, ways),
        lambda: promethee(worths, names, criteria, weights, upward, preferring),
        lambda: spotis(fixed, names, criteria, weights, bounds, ideals),
        lambda: geometric_value(worths, names, criteria, weights),
    ]


def _preferring(column: Sequence[Level], entry: Preference) -> Preferring:
    """Return how a lead in worth counts: not below the list's middle half-width of the data, fully 10 points above."""
    widths = []
    for level in column:
        if level.low is not None and level.high is not None:
            low, high = worth_bounds(level.low, level.high, entry.points)
            widths.append((high - low) / 2)
    indifference = float(np.median(widths)) if widths else 0.0
    return Preferring("linear", indifference, indifference + FULL_LEAD)
