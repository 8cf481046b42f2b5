"""How much each criterion tells the alternatives of one list apart: a description of the list, never an importance.

Adding one odd alternative changes these figures, so nothing here reaches the weights of a decision.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.gate import decision_matrix
from selector.scoring.ranking import TIE

Matrix = NDArray[np.float64]
WHAT = "the description of the list"
LABEL = "describes the spread of this list; not an importance"


@dataclass(frozen=True)
class Description:
    """Shares of the spread by criterion.

    Parameters
    ----------
    method : str
    label : str
        Says that it is no importance.
    criteria : tuple of str
    shares : tuple of float
        Sum to 1.
    """

    method: str
    label: str
    criteria: tuple[str, ...]
    shares: tuple[float, ...]


def entropy(values: Matrix, criteria: Sequence[str], directions: Sequence[str]) -> Description:
    """Return shares by entropy: how unevenly a criterion's sum is spread over the list.

    Parameters
    ----------
    values : array (m, n)
        Above 0: the method takes shares of a sum.
    criteria : sequence of n str
    directions : sequence of {"higher", "lower"}
        Without effect here.

    Raises
    ------
    InputError
        Values not above 0, gaps, or a list in which nothing differs.
    """

    def raw(table: Matrix, _: list[bool]) -> Matrix:
        parts = table / table.sum(axis=0)
        return np.asarray(1 + (parts * np.log(parts)).sum(axis=0) / np.log(len(table)))

    return _described("Entropy", values, criteria, directions, raw, positive=True)


def critic(values: Matrix, criteria: Sequence[str], directions: Sequence[str]) -> Description:
    """Return shares by CRITIC: spread times how little a criterion goes along with the others.

    Parameters
    ----------
    values : array (m, n)
        Any sign.
    criteria, directions
        As in `entropy`; a cost is turned round.

    Raises
    ------
    InputError
        Gaps, fewer than two criteria, or a constant criterion, which has no correlation.
    """

    def raw(table: Matrix, costs: list[bool]) -> Matrix:
        span = np.ptp(table, axis=0)
        scaled = (table - table.min(axis=0)) / span
        scaled[:, costs] = 1 - scaled[:, costs]
        return np.asarray(scaled.std(axis=0) * (1 - np.corrcoef(scaled, rowvar=False)).sum(axis=0))

    return _described("CRITIC", values, criteria, directions, raw, constant=False, least=2)


def merec(values: Matrix, criteria: Sequence[str], directions: Sequence[str]) -> Description:
    """Return shares by MEREC: what leaving a criterion out does to the list's logarithmic scores.

    Parameters
    ----------
    values : array (m, n)
        Above 0.
    criteria, directions
        As in `entropy`.

    Raises
    ------
    InputError
        Values not above 0, gaps, or a list in which nothing differs.
    """

    def raw(table: Matrix, costs: list[bool]) -> Matrix:
        n = table.shape[1]
        scaled = table.min(axis=0) / table
        scaled[:, costs] = table[:, costs] / table[:, costs].max(axis=0)
        logs = np.abs(np.log(scaled))
        total = logs.sum(axis=1)
        whole = np.log1p(total / n)
        return np.asarray(np.abs(np.log1p((total[:, None] - logs) / n) - whole[:, None]).sum(axis=0))

    return _described("MEREC", values, criteria, directions, raw, positive=True)


def _described(
    method: str,
    values: Matrix,
    criteria: Sequence[str],
    directions: Sequence[str],
    raw: Callable[[Matrix, list[bool]], Matrix],
    positive: bool = False,
    constant: bool = True,
    least: int = 1,
) -> Description:
    rows = [f"row {number}" for number in range(1, len(values) + 1)]
    # The gate's checks, with weights that only satisfy it.
    matrix = decision_matrix(values, rows, criteria, [1.0] * len(criteria), directions)
    table = matrix.matrix.to_numpy()
    faults = []
    if table.shape[1] < least:
        faults.append(Fault("criteria", "are too few", str(table.shape[1]), f"{least} or more"))
    for name, column in zip(criteria, table.T, strict=True):
        if positive and column.min() <= 0:
            faults.append(Fault(name, f"cannot be described by {method}", f"{column.min():g}", "values above 0"))
        if not constant and np.ptp(column) == 0:
            faults.append(Fault(name, "is constant", f"{column[0]:g}", remedy="leave the criterion out"))
    if not np.any(np.ptp(table, axis=0) > 0):
        faults.append(Fault("values", "do not differ anywhere"))
    if faults:
        raise InputError(WHAT, faults)
    found = raw(table, [word == "lower" for word in directions])
    total = float(found.sum())
    # Rounding alone is nothing to share out.
    if not total > TIE:
        raise InputError(WHAT, [Fault("criteria", f"all go together, so {method} has nothing to share out")])
    return Description(method, LABEL, tuple(criteria), tuple(float(x) for x in found / total))
