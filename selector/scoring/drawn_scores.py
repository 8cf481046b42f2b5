"""How draws of weights become scores: the additive value, TOPSIS and VIKOR, as matrix products on pieces of draws.

No array of draws by alternatives by criteria is ever made.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from selector.scoring.ordering import FULL, NARROW, wide_packing
from selector.scoring.ranking import TIE

Matrix = NDArray[np.float64]
Whole = NDArray[np.int64]
ROUNDING_32, ROUNDING_64 = 2.0**-24, 2.0**-53
VIKOR_V = 0.5
NARROWEST = 1e-4  # a spread of regrets below this is not stretched in fast arithmetic
NEVER = float("inf")


def added_up(weights: Matrix, worths: Matrix) -> Matrix:
    """Return weighted sums, shape (r, m), column after column: equal to the last bit however draws are grouped.

    Parameters
    ----------
    weights : array (r, n)
    worths : array (m, n)
    """
    total = np.zeros((len(weights), len(worths)))
    for column in range(worths.shape[1]):
        total += weights[:, column, None] * worths[:, column]
    return total


def picked(weights: Matrix, worths: Matrix, rows: Whole, alternatives: Whole) -> Matrix:
    """Return single weighted sums, shape (k,), with the same bits as `added_up` gives."""
    total = np.zeros(len(rows))
    for column in range(worths.shape[1]):
        total += weights[rows, column] * worths[alternatives, column]
    return total


class Additive:
    """The additive value of worths from 0 to 100, shape (m, n)."""

    def __init__(self, worths: Matrix) -> None:
        self.worths = worths
        self.count, n = worths.shape
        # Best first means ascending, so that a plain sort does.
        falling, offset = np.ascontiguousarray(FULL - worths.T), wide_packing(self.count).offset
        self._wide = offset + falling
        self._narrow = (NARROW.offset + falling).astype(np.float32)
        # Two scores, each off by: half a last place for the value and for each of n partial sums, and the relative
        # rounding of weight and product. Partial sums stay below twice the offset.
        self._gap32: float = TIE + 2 * ((n + 2) * NARROW.offset + 2 * (NARROW.offset + FULL)) * ROUNDING_32
        self._gap64: float = TIE + 2 * ((n + 2) * offset + 2 * (offset + FULL)) * ROUNDING_64

    def coarse(self, weights: Matrix, out: NDArray[np.float32]) -> float:
        """Write single-precision scores."""
        np.matmul(weights.astype(np.float32), self._narrow, out=out)
        return self._gap32

    def fine(self, weights: Matrix, extra: Matrix | None, out: Matrix) -> float:
        """Write double-precision scores."""
        np.matmul(weights, self._wide, out=out)
        if extra is not None:
            np.subtract(out, extra, out=out)
        return self._gap64

    def exact(self, weights: Matrix, extra: Matrix | None, rows: Whole, alternatives: Whole) -> tuple[Matrix, float]:
        """Return exact scores, 0 to 100."""
        merits = picked(weights, self.worths, rows, alternatives)
        return (merits if extra is None else merits + extra[rows, alternatives]), TIE


class Topsis:
    """TOPSIS by vector norm: distances to the best and worst of the list, by products with squared weights."""

    def __init__(self, values: Matrix, directions: Sequence[str]) -> None:
        signed = comparable(values, directions)
        norm = np.sqrt((signed**2).sum(axis=0))
        scaled = signed / np.where(norm > 0, norm, 1.0)
        self.count = len(values)
        self._offset = wide_packing(self.count).offset
        self.to_best = (scaled.max(axis=0) - scaled) ** 2
        self.to_worst = (scaled - scaled.min(axis=0)) ** 2
        self._best = np.ascontiguousarray(FULL * self.to_best.T)
        self._both = np.ascontiguousarray((self.to_best + self.to_worst).T)
        # The share d+^2 / (d+^2 + d-^2) orders as the closeness does; a closeness moves it by at most twice as much.
        self._gap = FULL * (2 * TIE + 4 * (values.shape[1] + 6) * ROUNDING_64) + 4 * self._offset * ROUNDING_64

    def fine(self, weights: Matrix, extra: Matrix | None, out: Matrix) -> float:
        """Write double-precision shares."""
        squares = weights**2
        both = squares @ self._both
        np.matmul(squares, self._best, out=out)
        with np.errstate(invalid="ignore", divide="ignore"):
            np.divide(out, both, out=out)
        np.add(out, self._offset, out=out)
        return self._gap if both.min() > 1e-280 else NEVER

    def exact(self, weights: Matrix, extra: Matrix | None, rows: Whole, alternatives: Whole) -> tuple[Matrix, float]:
        """Return closeness, 0 to 1."""
        squares = weights**2
        best, worst = (np.sqrt(picked(squares, part, rows, alternatives)) for part in (self.to_best, self.to_worst))
        both = best + worst
        # A draw that puts its weight only where all are equal tells nobody apart.
        return np.where(both > 0, worst / np.where(both > 0, both, 1.0), 0.5), TIE


class Vikor:
    """VIKOR, v = 0.5: summed regret by a product, worst single regret by a running maximum over criteria."""

    def __init__(self, values: Matrix, directions: Sequence[str]) -> None:
        signed = comparable(values, directions)
        spread = np.ptp(signed, axis=0)
        self.count = len(values)
        self._offset = wide_packing(self.count).offset
        self.regrets = (signed.max(axis=0) - signed) / np.where(spread > 0, spread, 1.0)
        self._columns = np.ascontiguousarray(self.regrets.T)

    def _worst(self, weights: Matrix) -> Matrix:
        worst: Matrix = weights[:, 0, None] * self._columns[0]
        part = np.empty_like(worst)
        for column in range(1, len(self._columns)):
            np.multiply(weights[:, column, None], self._columns[column], out=part)
            np.maximum(worst, part, out=worst)
        return worst

    def fine(self, weights: Matrix, extra: Matrix | None, out: Matrix) -> float:
        """Write double-precision Q."""
        np.matmul(weights, self._columns, out=out)
        worst, narrowest = self._worst(weights), NEVER
        for part in (out, worst):
            low = part.min(axis=1, keepdims=True)
            spread = part.max(axis=1, keepdims=True) - low
            narrowest = min(narrowest, float(spread.min()))
            part -= low
            with np.errstate(invalid="ignore", divide="ignore"):
                part *= FULL / 2 / spread
        out += worst
        out += self._offset
        if narrowest < NARROWEST:
            return NEVER
        return FULL * (TIE + 4 * (len(self._columns) + 6) * ROUNDING_64 / narrowest) + 4 * self._offset * ROUNDING_64

    def exact(self, weights: Matrix, extra: Matrix | None, rows: Whole, alternatives: Whole) -> tuple[Matrix, float]:
        """Return 1 - Q; a spread that is only rounding has no say."""
        # Q needs the whole draw, for its spread.
        some, where = np.unique(rows, return_inverse=True)
        weights, q = weights[some], np.zeros((len(some), self.count))
        for part, share in ((added_up(weights, self.regrets), VIKOR_V), (self._worst(weights), 1 - VIKOR_V)):
            low = part.min(axis=1, keepdims=True)
            spread = part.max(axis=1, keepdims=True) - low
            q += np.where(spread > TIE, share * (part - low) / np.where(spread > TIE, spread, 1.0), 0.0)
        return 1 - q[where, alternatives], TIE


def comparable(values: Matrix, directions: Sequence[str]) -> Matrix:
    """Return values, higher is better, each column sized to about 1; a column equal but for rounding becomes zero."""
    largest = np.abs(values).max(axis=0)
    # By a power of two, exactly, so that no square overflows.
    sized = np.ldexp(values, -np.frexp(largest)[1])
    signed: Matrix = sized * np.array([1.0 if word == "higher" else -1.0 for word in directions])
    return np.where(np.ptp(sized, axis=0) > TIE, signed, 0.0)
