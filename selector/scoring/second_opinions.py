"""Other people's ranking methods on the same list, shown only to see where they disagree.

TOPSIS and VIKOR take their yardstick from the list itself: adding or removing an alternative can change
the order of the others. SPOTIS on fixed bounds does not. They never decide; the label of every result says what the
order depends on.
"""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.scoring.gate import NOT_OFFERED, OFFERED, WHAT, decision_matrix, finite, items, restricted
from selector.scoring.ranking import TIE, competition_ranks

if TYPE_CHECKING:
    from skcriteria import DecisionMatrix

Table = NDArray[np.float64] | Sequence[Sequence[float]]
Numbers = NDArray[np.float64] | Sequence[float]

VIKOR_V = 0.5


@dataclass(frozen=True)
class SecondOpinion:
    """What another method says about this list.

    Parameters
    ----------
    method : str
        A key of `gate.OFFERED`, "PROMETHEE II" or "Geometric value".
    label : str
        For a heading; says whether the order is relative to this list.
    alternatives : tuple of str, length m
        In the order given.
    ranks : tuple of int, length m
        Competition ranks: 1, 2, 2, 4.
    scores : tuple of float, length m
        The method's own score, 0 to 1, without unit.
    note : str
        Which end of the score is better, and which criteria had no say.
    """

    method: str
    label: str
    alternatives: tuple[str, ...]
    ranks: tuple[int, ...]
    scores: tuple[float, ...]
    note: str


def evaluate(
    method: str,
    matrix: "DecisionMatrix",
    bounds: NDArray[np.float64] | None = None,
    ideals: NDArray[np.float64] | None = None,
) -> dict[str, NDArray[np.float64]]:
    """Return the scores of one offered method; never the library's ranks, which split equal scores.

    Parameters
    ----------
    method : {"WeightedSumModel", "TOPSIS", "VIKOR", "SPOTIS"}
        TOPSIS runs on vector-scaled values with the Euclidean metric, VIKOR on raw values with v = 0.5.
    matrix : skcriteria.DecisionMatrix
        Passed through the gate again, wherever it comes from.
    bounds : array, shape (n, 2), optional
        Fixed bounds of SPOTIS, rising; without them it would take them from the list, which is refused.
    ideals : array, shape (n,), optional
        Best levels of SPOTIS, within the bounds.

    Returns
    -------
    dict of str to array, shape (m,)
        `score` or `closeness` (higher is better), VIKOR's `s`, `r` and `q`, or the `distance` of SPOTIS (lower is
        better).

    Raises
    ------
    InputError
        A method not offered, with the reason; a matrix the gate refuses; numbers without an order.
    """
    if method not in OFFERED:
        reason = NOT_OFFERED.get(method, "nothing by this name is known here")
        fault = Fault("method", f"is not offered: {reason}", shown(method), ", ".join(OFFERED))
        raise InputError("the request for a ranking method", [fault])
    matrix = restricted(matrix, list(matrix.matrix.columns))
    if method == "SPOTIS" and (bounds is None or ideals is None):
        raise InputError("the request for a ranking method", [Fault("SPOTIS", "lacks fixed bounds and ideal levels")])

    from skcriteria.agg.simple import WeightedSumModel
    from skcriteria.agg.spotis import SPOTIS
    from skcriteria.agg.topsis import TOPSIS
    from skcriteria.agg.vikor import VIKOR
    from skcriteria.preprocessing.scalers import VectorScaler

    try:
        # What the library warns of (costs, flat criteria) is dealt with before or said in the note.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if method == "WeightedSumModel":
                found = {"score": WeightedSumModel().evaluate(matrix).extra_["score"]}
            elif method == "TOPSIS":
                scaled = VectorScaler(target="matrix").transform(matrix.replace(matrix=_unit_sized(matrix)))
                found = {"closeness": TOPSIS().evaluate(scaled).extra_["similarity"]}
            elif method == "SPOTIS":
                found = {"distance": SPOTIS().evaluate(matrix, bounds=bounds, isp=ideals).extra_["score"]}
            else:
                extra = VIKOR(v=VIKOR_V).evaluate(matrix.replace(matrix=_unit_sized(matrix))).extra_
                found = {"s": extra["s_k"], "r": extra["r_k"], "q": extra["q_k"]}
    except ValueError as error:
        raise InputError(WHAT, [Fault(method, f"gives no order on these numbers ({error})")]) from error
    return {name: np.array(column, dtype=np.float64) for name, column in found.items()}


def topsis(
    values: Table, alternatives: Sequence[str], criteria: Sequence[str], weights: Numbers, directions: Sequence[str]
) -> SecondOpinion:
    """Return the order by TOPSIS (vector norm, Euclidean metric): closeness to the best values in the list.

    The unit of a criterion does not matter but its zero does: degrees Celsius and kelvin differ.

    Parameters
    ----------
    values, alternatives, criteria, weights, directions
        Raw values in their own units, as `gate.decision_matrix` takes them.

    Returns
    -------
    SecondOpinion
        Scores are closeness, 1 at best.

    Raises
    ------
    InputError
        What the gate refuses (a single alternative among it), or no criterion tells the alternatives apart.
    """
    matrix, left_out = _telling(decision_matrix(values, alternatives, criteria, weights, directions))
    closeness = evaluate("TOPSIS", matrix)["closeness"]
    note = "Closeness by vector norm: higher is better; it depends on where each scale has its zero."
    return _opinion("TOPSIS", alternatives, closeness, closeness, note + left_out)


def vikor(
    values: Table, alternatives: Sequence[str], criteria: Sequence[str], weights: Numbers, directions: Sequence[str]
) -> SecondOpinion:
    """Return the order by VIKOR (v = 0.5): half the summed, half the worst single regret.

    Ranks follow Q alone; the method's compromise set, which may put several first, is not formed.

    Parameters
    ----------
    values, alternatives, criteria, weights, directions
        Raw values in their own units, as `gate.decision_matrix` takes them.

    Returns
    -------
    SecondOpinion
        Scores are Q, 0 at best.

    Raises
    ------
    InputError
        What the gate refuses (a single alternative among it), or no criterion tells the alternatives apart.
    """
    matrix, left_out = _telling(decision_matrix(values, alternatives, criteria, weights, directions))
    found = evaluate("VIKOR", matrix)
    q, note = found["q"], "Q with v = 0.5: lower is better."
    if min(np.ptp(found["s"]), np.ptp(found["r"])) <= TIE:
        # The library stretches any spread to 0..1, even one that is only rounding.
        q = VIKOR_V * _stretched(found["s"]) + (1 - VIKOR_V) * _stretched(found["r"])
        note += " All alternatives tie on the summed or on the worst regret, which then has no say."
    return _opinion("VIKOR", alternatives, q, -q, note + left_out)


def weighted_sum_check(value_matrix: Table, weights: Numbers) -> NDArray[np.float64]:
    """Return the library's weighted sums, to confirm the project's own additive score to 1e-12.

    Parameters
    ----------
    value_matrix : array, shape (m, n)
        Anchored values from 0 to 1, higher is better; at least two rows.
    weights : sequence of float, length n
        Any common factor.

    Returns
    -------
    array, shape (m,)
        Scores from 0 to 1; rank them with `ranking.competition_ranks`.

    Raises
    ------
    InputError
        What the gate refuses, or values outside 0..1, which were not anchored.
    """
    rows, columns = _numbered("row", value_matrix), _numbered("value", weights)
    matrix = decision_matrix(value_matrix, rows, columns, weights, ["higher"] * len(columns))
    numbers = matrix.matrix.to_numpy()
    outside = np.argwhere((numbers < 0) | (numbers > 1))
    faults = [Fault(f"{rows[i]}, {columns[j]}", "is not anchored", shown(numbers[i, j]), "0 to 1") for i, j in outside]
    if faults:
        raise InputError(WHAT, faults)
    return evaluate("WeightedSumModel", matrix)["score"]


def agreement(rank_a: Numbers, rank_b: Numbers) -> float | None:
    """Return Kendall's tau-b of two rankings of the same alternatives in the same order.

    Parameters
    ----------
    rank_a, rank_b : sequence of float, length m
        Ranks; ties allowed.

    Returns
    -------
    float or None
        From -1 (reversed) to 1 (same order); None where a ranking ties everything or holds fewer than two.

    Raises
    ------
    InputError
        Different lengths, or a rank without a value.
    """
    faults: list[Fault] = []
    first = items(rank_a, "first ranking", None, faults)
    second = items(rank_b, "second ranking", len(first), faults)
    a = [finite(rank, f"first ranking, no. {i}", faults) for i, rank in enumerate(first, start=1)]
    b = [finite(rank, f"second ranking, no. {i}", faults) for i, rank in enumerate(second, start=1)]
    if faults:
        raise InputError("the two rankings", faults)
    if len(set(a)) < 2 or len(set(b)) < 2:
        return None

    from scipy.stats import kendalltau

    return float(kendalltau(a, b).statistic)


def _opinion(
    method: str, alternatives: Sequence[str], scores: NDArray[np.float64], merit: NDArray[np.float64], note: str
) -> SecondOpinion:
    """Return the result ranked by merit, and labelled so that nobody forgets what the order is relative to."""
    return opinion(method, f"{method}, relative to this list", alternatives, scores, merit, note)


def opinion(
    method: str,
    label: str,
    alternatives: Sequence[str],
    scores: NDArray[np.float64],
    merit: NDArray[np.float64],
    note: str,
) -> SecondOpinion:
    """Return a result ranked by merit, higher is better, in competition ranks."""
    ranks = tuple(competition_ranks(merit).tolist())
    return SecondOpinion(method, label, tuple(alternatives), ranks, tuple(scores.tolist()), note)


def _unit_sized(matrix: "DecisionMatrix") -> NDArray[np.float64]:
    """Return the values with each column divided by a power of two, exactly, so that no square overflows."""
    values: NDArray[np.float64] = matrix.matrix.to_numpy()
    sized: NDArray[np.float64] = np.ldexp(values, -np.frexp(np.abs(values).max(axis=0))[1])
    return sized


def _stretched(regrets: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return regrets stretched to 0..1, or zeros where they differ by rounding only."""
    spread = np.ptp(regrets)
    return (regrets - regrets.min()) / spread if spread > TIE else np.zeros_like(regrets)


def _telling(matrix: "DecisionMatrix") -> tuple["DecisionMatrix", str]:
    """Return the matrix without criteria that cannot tell the alternatives apart, and a remark on those."""
    telling = (np.ptp(_unit_sized(matrix), axis=0) > TIE) & (matrix.weights.to_numpy() > 0)
    names = list(matrix.matrix.columns)
    if not telling.any():
        problem = "no criterion that carries weight tells these alternatives apart, so there is no order"
        raise InputError("the request for a second opinion", [Fault("values", problem)])
    silent = ", ".join(name for name, tells in zip(names, telling, strict=True) if not tells)
    remark = f" Without a say, being equal throughout or without weight: {silent}." if silent else ""
    return restricted(matrix, [name for name, tells in zip(names, telling, strict=True) if tells]), remark


def _numbered(kind: str, things: object) -> list[str]:
    """Return names for things that need none but for a message."""
    return [f"{kind} {number}" for number, _ in enumerate(items(things, kind, None, []), start=1)]
