"""Second opinions side by side with our own order, and how far they agree. Each is relative to its list."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.brief import Preference
from selector.errors import InputError
from selector.scoring.criteria import CRITERIA, Level
from selector.scoring.second_opinions import SecondOpinion, agreement, topsis, vikor
from selector.scoring.values import direction


@dataclass(frozen=True)
class Panel:
    """What other methods say of one list.

    Parameters
    ----------
    opinions : tuple of SecondOpinion
        Empty where a method cannot be asked; `refused` then says why.
    agreements : tuple of float or None
        Kendall tau-b of each opinion with our own order of the same alloys; None where it is not defined.
    left_out : tuple of str
        Alloys that lack a value: these methods cannot take bounds.
    refused : str
        Why nothing was asked, empty otherwise.
    """

    opinions: tuple[SecondOpinion, ...]
    agreements: tuple[float | None, ...]
    left_out: tuple[str, ...]
    refused: str = ""


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
    by_worth = [bool(CRITERIA[entry.criterion].levels) or direction(entry.points) == "peak" for entry in preferences]
    table = np.array(
        [[worths[i][j] if by_worth[j] else levels[i][j].value for j in range(len(preferences))] for i in complete],
        dtype=float,
    )
    directions = [
        "higher" if worth else direction(entry.points) for worth, entry in zip(by_worth, preferences, strict=True)
    ]
    chosen = [names[i] for i in complete]
    criteria = [entry.criterion for entry in preferences]
    if len(chosen) < 2:
        return Panel((), (), left_out, "fewer than two alloys have every value")
    try:
        opinions = tuple(method(table, chosen, criteria, weights, directions) for method in (topsis, vikor))
    except InputError as error:
        return Panel((), (), left_out, "; ".join(fault.problem for fault in error.faults))
    own = [-scores[i] for i in complete]
    return Panel(opinions, tuple(agreement(own, opinion.ranks) for opinion in opinions), left_out)
