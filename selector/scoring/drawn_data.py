"""Draws of the data within their intervals, one criterion at a time, never as one array of everything.

Uniform within the interval of each cell: of its worth, or of its level where a curve is given. Cells are drawn
independently; two criteria that rest on one measurement then disagree more than they really can, which widens the
answer.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.scoring.streams import BLOCK, DATA, PART, stream
from selector.scoring.values import FULL

Matrix = NDArray[np.float64]
Curve = Callable[[Matrix], Matrix]


@dataclass(frozen=True, eq=False)
class Column:
    """The cells of one criterion that are drawn.

    Parameters
    ----------
    number : int
        Of the criterion.
    cells : array (k,) of int
        Alternatives whose cell has an interval.
    low, span : array (k,)
        Of the worth, or of the level where there is a curve.
    curve : callable or None
        Levels of any shape -> worths, 0 to 100.
    """

    number: int
    cells: NDArray[np.int64]
    low: Matrix
    span: Matrix
    curve: Curve | None = None


@dataclass(frozen=True, eq=False)
class Data:
    """Worths of which some are intervals.

    Parameters
    ----------
    base : array (m, n)
        Worths of the certain cells; 0 where the cell is drawn.
    columns : tuple of Column
        Empty where everything is certain.
    described : str
        How the data are drawn, in words.
    """

    base: Matrix
    columns: tuple[Column, ...]
    described: str

    def streams(self, seed: int, block: int, row: int) -> list[np.random.Generator]:
        """Return a stream for each drawn column of the part of a block that begins at this row."""
        part = block * (BLOCK // PART) + row // PART
        # Cells of one criterion drawn by level and by worth must not share their numbers.
        return [stream(seed, DATA, part, 2 * each.number + (each.curve is not None)) for each in self.columns]

    def added(self, generators: Sequence[np.random.Generator], weights: Matrix) -> Matrix:
        """Return what the drawn cells add to each score, shape (r, m), for weights of shape (r, n)."""
        extra = np.zeros((len(weights), len(self.base)))
        for column, each in zip(self.columns, generators, strict=True):
            worths = self.worths(column, each, len(weights))
            worths *= weights[:, column.number, None]
            if len(column.cells) == extra.shape[1]:
                extra += worths
            else:
                extra[:, column.cells] += worths
        return extra

    @staticmethod
    def worths(column: Column, generator: np.random.Generator, rows: int) -> Matrix:
        """Return the next `rows` draws of one column's cells, as worths, shape (rows, k)."""
        found = generator.random((rows, len(column.cells)))
        found *= column.span
        found += column.low
        return found if column.curve is None else np.array(column.curve(found), dtype=float)


def data(
    low: Matrix,
    high: Matrix,
    curves: Sequence[Curve | None] | None = None,
    level_low: Matrix | None = None,
    level_high: Matrix | None = None,
) -> Data:
    """Return checked data for sampling.

    Parameters
    ----------
    low, high : array (m, n)
        Worths, 0 to 100; equal where the cell is certain, 0 and 100 where nothing is known.
    curves : sequence of callable or None, length n, optional
        For a criterion drawn uniformly in its level: levels -> worths. A cell without finite level bounds is drawn
        in its worth all the same.
    level_low, level_high : array (m, n), optional
        Needed with curves; NaN where unknown.

    Raises
    ------
    InputError
        Shapes that differ, worths that are no numbers, outside 0 to 100 or crossed; all faults at once.
    """
    bottom, top = np.array(low, dtype=float), np.array(high, dtype=float)
    if bottom.ndim != 2 or bottom.shape != top.shape or 0 in bottom.shape:
        shapes = f"{bottom.shape} and {top.shape}"
        raise InputError("the worths", [Fault("bounds", "are not two tables of one shape", shapes)])
    wrong = ~((bottom >= 0) & (bottom <= top) & (top <= FULL))
    faults = [
        Fault(
            f"alternative no. {i + 1}, criterion no. {j + 1}",
            "has no usable interval of worth",
            f"{shown(bottom[i, j])} to {shown(top[i, j])}",
            "0 <= low <= high <= 100",
        )
        for i, j in np.argwhere(wrong)
    ]
    if faults:
        raise InputError("the worths", faults)
    uncertain = top > bottom
    columns: list[Column] = []
    in_level = 0
    for j in range(bottom.shape[1]):
        cells = np.flatnonzero(uncertain[:, j])
        curve = None if curves is None else curves[j]
        if curve is not None and level_low is not None and level_high is not None:
            known = np.isfinite(level_low[cells, j]) & np.isfinite(level_high[cells, j])
            by_level, cells = cells[known], cells[~known]
            if by_level.size:
                start = level_low[by_level, j]
                columns.append(Column(j, by_level, start, level_high[by_level, j] - start, curve))
                in_level += by_level.size
        if cells.size:
            columns.append(Column(j, cells, bottom[cells, j], top[cells, j] - bottom[cells, j]))
    total = int(uncertain.sum())
    described = "the data as they are"
    if total:
        ways = [
            f"{count} cells uniform in their {what}"
            for count, what in ((total - in_level, "worth"), (in_level, "level"))
            if count
        ]
        described = "data drawn within their intervals, independently: " + " and ".join(ways)
    return Data(np.where(uncertain, 0.0, bottom), tuple(columns), described)
