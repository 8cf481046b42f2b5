"""The one validating door in front of scikit-criteria.

The library takes gaps, repeated names and negative weights without a word and then answers wrongly, so
nothing reaches it except through `decision_matrix`. Its methods are a closed list, with a reason for each
one offered and each one left out. It is imported inside functions, because that costs more than a second.
"""

import math
from collections.abc import Mapping, Sequence
from numbers import Real
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown

if TYPE_CHECKING:
    from skcriteria import DecisionMatrix

WHAT = "the decision matrix"
DIRECTIONS = ("higher", "lower")
FEWEST_ALTERNATIVES = 2

OFFERED: Mapping[str, str] = MappingProxyType(
    {
        "WeightedSumModel": "confirms the project's own additive score on values already anchored to 0..1",
        "TOPSIS": "a widely taught second opinion; always vector-scaled, so that no unit outweighs the weights",
        "VIKOR": "a second opinion that looks at the worst regret; it scales raw values itself",
        "SPOTIS": "distance to the ideal on fixed bounds: independent of the list, straight lines between the anchors",
    }
)
_SPREAD = "describes the spread of the current list, never importance"
_SCREEN = "several limits in one filter meet the wrong criteria, and a gap passes or fails unseen"
NOT_OFFERED: Mapping[str, str] = MappingProxyType(
    {
        name: reason
        for names, reason in (
            ("WASPAS ELECTRE1 CoCoSo CODAS PROBID", "its result changes when all weights are doubled"),
            ("FullMultiplicativeForm MultiMOORA", "weights have no effect on its multiplicative form"),
            ("SIMUS", "ignores the weights, ties everything on negative values and prints a solver log"),
            ("ARAS EDAS OCRA MARCOS", "reverses the order of a criterion whose values are all negative"),
            ("WeightedProductModel", "needs a ratio scale without zero, which a temperature is not"),
            ("COPRAS", "refuses a matrix without a criterion to minimise"),
            ("MAIRCA", "refuses negative values and a criterion that is zero throughout"),
            ("RatioMOORA ReferencePointMOORA SimplifiedPROBID RAM MABAC ELECTRE2", "adds no new view"),
            ("ERVD RIM", "needs reference points; with the anchors it only repeats the additive score"),
            ("EqualWeighter", "equal weights are a statement about importance, which a person must make"),
            ("StdWeighter EntropyWeighter MEREC GiniWeighter", _SPREAD),
            ("CRITIC Critic", f"{_SPREAD}; a constant criterion makes all its weights NaN"),
            ("RANCOM", "its manual and its result disagree on whether a low input means important"),
            ("SimpleImputer IterativeImputer KNNImputer", "an imputed gap looks measured; unknown stays unknown"),
            ("Filter FilterEQ FilterGE FilterGT FilterLE FilterLT FilterIn FilterNotIn FilterNE", _SCREEN),
            ("FilterNonDominated DecisionMatrix.dominance", "lets a row with a gap dominate a complete one"),
            ("SumScaler", "reverses the order where the values of a criterion sum to less than zero"),
            ("CenitDistance CenitDistanceMatrixScaler", "turns the values round but not the direction"),
            ("MinMaxScaler MaxAbsScaler MaxScaler StandarScaler", "takes its anchors from the list"),
            ("VectorScaler", "runs inside TOPSIS and nowhere else"),
            ("InvertMinimize MinimizeToMaximize", "1/x makes a negative cost, the best, the worst"),
            ("BenefitCostInverter", "a cost of zero wipes out its whole criterion"),
            ("MinMaxInverter", "one gap turns its whole criterion into zeros"),
            ("NegateMinimize", "not needed: the offered methods take directions"),
            ("PushNegatives AddValueToZero", "moves the zero of the data, and with it every ratio"),
            ("RankResult.untied_rank_ FallbackTieBreaker", "breaks ties by place in the list, and wrongly"),
            ("DecisionMatrix.loc DecisionMatrix.iloc", "leaves weights and directions behind; use `restricted`"),
            ("DecisionMatrix.__getitem__", "leaves weights and directions behind; use `restricted`"),
            ("SKCPipeline SKCCombinatorialPipeline", "hides the order of its steps, on which results depend"),
            ("RankInvariantChecker RankTransitivityChecker RankClonesChecker", "examines methods, not decisions"),
            ("RanksComparator", "gives NaN for a constant ranking; use `agreement`"),
        )
        for name in names.split()
    }
)


def decision_matrix(
    values: NDArray[np.float64] | Sequence[Sequence[float]],
    alternatives: Sequence[str],
    criteria: Sequence[str],
    weights: Sequence[float] | NDArray[np.float64],
    directions: Sequence[str],
) -> "DecisionMatrix":
    """Return a library decision matrix of checked input, its weights summing to 1.

    Parameters
    ----------
    values : array or sequence of rows, shape (m, n)
        One row an alternative, one column a criterion, each column in its own unit. A labelled table is
        refused: its names could contradict the names given here.
    alternatives : sequence of str, length m
        At least two, all different.
    criteria : sequence of str, length n
        At least one, all different.
    weights : sequence of float, length n
        Finite, none negative, not all zero; any common factor, without unit.
    directions : sequence of {"higher", "lower"}, length n
        Which end of each criterion is better.

    Returns
    -------
    skcriteria.DecisionMatrix
        With the names, order and directions given.

    Raises
    ------
    InputError
        With every fault of all five inputs at once, each naming its alternative and criterion.
    """
    faults: list[Fault] = []
    rows = _names(alternatives, "alternative", FEWEST_ALTERNATIVES, faults)
    columns = _names(criteria, "criterion", 1, faults)
    table = _table(values, rows, columns, faults)
    shares = _shares(weights, columns, faults)
    for name, word in zip(columns, items(directions, "directions", len(columns) or None, faults), strict=False):
        if not (isinstance(word, str) and word in DIRECTIONS):
            faults.append(Fault(f"direction of {name}", "is unknown", shown(word), " or ".join(DIRECTIONS)))
    if faults:
        raise InputError(WHAT, faults)

    from skcriteria import mkdm

    senses = [max if word == "higher" else min for word in directions]
    return mkdm(table, senses, weights=shares, alternatives=list(alternatives), criteria=list(criteria))


def restricted(matrix: "DecisionMatrix", criteria: Sequence[str]) -> "DecisionMatrix":
    """Return the matrix with only these criteria, in this order, each with its own weight and direction.

    The library's own column selection leaves weights and directions behind, so the matrix is rebuilt.

    Parameters
    ----------
    matrix : skcriteria.DecisionMatrix
        As `decision_matrix` returned it.
    criteria : sequence of str
        Names found in the matrix; the weights are brought back to a sum of 1.

    Returns
    -------
    skcriteria.DecisionMatrix
        All alternatives, the chosen criteria.

    Raises
    ------
    InputError
        An unknown or repeated name, none at all, or only criteria of zero weight.
    """
    from skcriteria import Objective

    known = list(matrix.matrix.columns)
    faults: list[Fault] = []
    names = items(criteria, "criteria", None, faults)
    for name in names:
        if name not in known:
            faults.append(Fault("criteria", "is not in this matrix", shown(name), ", ".join(map(shown, known))))
    if faults:
        raise InputError(WHAT, faults)
    at = [known.index(name) for name in names]
    weights, senses = matrix.weights.to_numpy()[at], matrix.objectives.to_list()
    directions = ["higher" if senses[j] is Objective.MAX else "lower" for j in at]
    values = matrix.matrix.to_numpy()[:, at]
    return decision_matrix(values, list(matrix.matrix.index), [known[j] for j in at], weights, directions)


def _missing(thing: object) -> bool:
    """Return whether a cell is a gap."""
    return thing is None or (isinstance(thing, Real) and thing != thing)


def finite(thing: object, where: str, faults: list[Fault]) -> float:
    """Return a number as a float; anything else is added to `faults` and comes back as NaN."""
    if _missing(thing):
        faults.append(Fault(where, "has no value", remedy="measure it or leave it out; no gap is filled in"))
    elif isinstance(thing, bool | np.bool_) or not isinstance(thing, Real):
        faults.append(Fault(where, f"is not a number but a {type(thing).__name__}", shown(thing)))
    else:
        try:
            number = float(thing)
        except OverflowError:
            number = math.inf
        if math.isfinite(number):
            return number
        faults.append(Fault(where, "is not finite", shown(number)))
    return math.nan


def items(thing: object, where: str, length: int | None, faults: list[Fault]) -> list[object]:
    """Return an ordered collection without labels as a list; empty, with a fault, where it is none.

    At another length than asked for, nobody can tell which item belongs to which name.
    """
    found: list[object]
    if isinstance(thing, np.ndarray) and thing.ndim >= 1 and thing.dtype.kind not in "mM":
        found = thing.tolist()
    elif isinstance(thing, Sequence) and not isinstance(thing, str | bytes):
        found = list(thing)
    else:
        labelled = "has labels of its own, which could contradict the names given; hand over .to_numpy()"
        problem = labelled if hasattr(thing, "to_numpy") else "is not a list, tuple or plain array"
        faults.append(Fault(where, problem, type(thing).__name__))
        return []
    if length is not None and len(found) != length:
        faults.append(Fault(where, "has the wrong length", str(len(found)), str(length)))
        return []
    return found


def _names(names: object, kind: str, fewest: int, faults: list[Fault]) -> list[str]:
    """Return a printable label for each name, adding faults for names that cannot be used."""
    every = "criteria" if kind == "criterion" else "alternatives"
    labels: list[str] = []
    seen: set[str] = set()
    known = len(faults)
    for number, name in enumerate(items(names, every, None, faults), start=1):
        usable = isinstance(name, str) and bool(name.strip()) and name.isprintable()
        labels.append(f"{kind} {shown(name)}" if usable else f"{kind} no. {number}")
        if not usable:
            faults.append(Fault(labels[-1], "has no usable name", shown(name), "printable text"))
        elif str(name).strip() in seen:
            faults.append(Fault(labels[-1], "is named more than once", remedy="give each its own name"))
        seen.add(str(name).strip())
    if len(labels) < fewest and (labels or len(faults) == known):
        faults.append(Fault(every, "are too few to compare", str(len(labels)), f"{fewest} or more"))
    return labels


def _table(values: object, rows: list[str], columns: list[str], faults: list[Fault]) -> NDArray[np.float64]:
    """Return the values as floats, adding a fault for every row and cell that cannot be used."""
    lines = items(values, "values", len(rows) or None, faults)
    width = len(columns) or None
    cells = [items(line, f"values of {row}", width, faults) for row, line in zip(rows, lines, strict=False)]
    table = np.full((len(cells), len(columns)), np.nan)
    for j, column in enumerate(columns):
        if cells and all(line and _missing(line[j]) for line in cells):
            faults.append(Fault(column, "has no value for any alternative", remedy="leave the criterion out"))
            continue
        for i, line in enumerate(cells):
            if line:
                table[i, j] = finite(line[j], f"{rows[i]}, {column}", faults)
    return table


def _shares(weights: object, columns: list[str], faults: list[Fault]) -> NDArray[np.float64]:
    """Return the weights divided by their sum, adding faults for weights that mean nothing."""
    known = len(faults)
    given = items(weights, "weights", len(columns) or None, faults)
    shares = [finite(weight, f"weight of {name}", faults) for name, weight in zip(columns, given, strict=False)]
    for name, share in zip(columns, shares, strict=False):
        if share < 0:
            faults.append(Fault(f"weight of {name}", "is negative", shown(share), "0 or more"))
    largest = max(shares, default=math.nan)
    if len(faults) == known and largest == 0:
        faults.append(Fault("weights", "sum to zero", allowed="a sum above 0"))
    if len(faults) > known:
        return np.array(shares)
    # Dividing by the largest first keeps the sum of huge or tiny weights in range.
    relative = [share / largest for share in shares]
    return np.array(relative) / math.fsum(relative)
