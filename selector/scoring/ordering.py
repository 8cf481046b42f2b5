"""Orders many draws of scores at once, exactly, at little more than the cost of a sort.

A score and the alternative it belongs to are packed into one unsigned integer, so that a plain sort carries the
alternative along. Small lists are first sorted in 32 bits; draws in which two neighbours lie too close for that are
done again in 64 bits, and neighbours too close even there are put in order by exact scores, where those within the
resolution of a tie share their places. So the answer is exact, and the precision only decides the time.
"""

import sys
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from selector.scoring.space import Space

Matrix = NDArray[np.float64]
FULL = 100.0
MOST_IN_32_BITS = 256
SHORT = 1000
FEW = 100
NO_TIES = np.zeros((0, 5), dtype=np.int64)
NONE = np.zeros(0, dtype=np.int64)


class Scorer(Protocol):
    """How draws of weights become scores.

    `fine` writes the packing's offset at best to 100 more at worst into `out`, shape (r, m), and returns the least
    difference between two such scores that certainly separates them by more than a tie; infinity where it cannot be
    had. `exact` returns merits of single alternatives in single draws, higher is better, equal to the last bit however
    draws are grouped, and the difference up to which two of them tie.
    """

    @property
    def count(self) -> int:
        """Return the number of alternatives, m."""

    def fine(self, weights: Matrix, extra: Matrix | None, out: Matrix) -> float:
        """Write double-precision scores; `extra` (r, m) is merit to add, 0 to 100."""

    def exact(
        self, weights: Matrix, extra: Matrix | None, rows: NDArray[np.int64], alternatives: NDArray[np.int64]
    ) -> tuple[Matrix, float]:
        """Return exact merits of these alternatives in these draws, shape (k,), and the tie."""


class CoarseScorer(Scorer, Protocol):
    """One that can also do with single precision."""

    def coarse(self, weights: Matrix, out: NDArray[np.float32]) -> float:
        """Write single-precision scores as `fine` does."""


@dataclass(frozen=True)
class Packing:
    """How a score and an index share an integer.

    Added to an offset, a power of two and 1, scores from 0 to 100 share sign, exponent and leading bits, so that those
    left are a fixed-point number; shifting drops the shared ones and makes room below for the index.

    Parameters
    ----------
    whole : type
        Of the integer.
    shift : int
        Bits dropped, which the index then has.
    offset : float
        What scores are added to.
    per_unit : float
        Steps of the integer for a difference of 1 in score.
    """

    whole: Any
    shift: int
    offset: float
    per_unit: float

    @property
    def mask(self) -> Any:
        """Return the bits of the index."""
        return self.whole((1 << self.shift) - 1)


# The 1 keeps a score of 0, a little less by rounding, from falling into the next lower exponent.
NARROW = Packing(np.uint32, 9, 2.0**7 + 1, 2.0**25)


def wide_packing(count: int) -> Packing:
    """Return the 64-bit packing for a list of this length: 16 bits of index, or as many as it needs."""
    bits = max(16, (count - 1).bit_length())
    return Packing(np.uint64, bits, 2.0 ** (bits - 5) + 1, 2.0**57)


def index_type(count: int) -> Any:
    """Return the type that orders of this many alternatives are written in."""
    # Counting a short list needs room for m x m.
    return np.uint32 if count <= MOST_IN_32_BITS or count > 2**16 else np.uint16


def nearly_first(scorer: CoarseScorer, weights: Matrix, space: Space, order: NDArray[Any]) -> NDArray[np.int64]:
    """Write the alternatives of each draw, best first, as single precision sees them; return the draws left open.

    Parameters
    ----------
    scorer : CoarseScorer
        Of at most 256 alternatives.
    weights : array (r, n)
        One draw a row.
    space : Space
    order : array (r, m) of unsigned int
        Written in place; certain but for the draws returned.

    Returns
    -------
    array of int
        Rows to be done again by `best_first`.
    """
    scores = space.array("scores", (len(weights), scorer.count), np.float32)
    gap = scorer.coarse(weights, scores)
    keys, close = _sorted(scores, gap, NARROW, space)
    np.bitwise_and(keys, NARROW.mask, out=order)
    return np.unique(close // scorer.count)


def best_first(
    scorer: Scorer, weights: Matrix, extra: Matrix | None, space: Space, order: NDArray[Any]
) -> NDArray[np.int64]:
    """Write the alternatives of each draw, best first, into `order`; return the ties.

    Parameters
    ----------
    scorer : Scorer
    weights : array (r, n)
        One draw a row.
    extra : array (r, m), optional
        Merit to add, for data that are drawn too.
    space : Space
    order : array (r, m) of unsigned int
        Written in place.

    Returns
    -------
    array (k, 5) of int
        One row for each place in a tie: draw, alternative, the place it was written to, first place and length of the
        run of neighbours that tie. Counted from 0.
    """
    wide = wide_packing(scorer.count)
    scores = space.array("scores", (len(weights), scorer.count), np.float64)
    gap = scorer.fine(weights, extra, scores)
    if np.isfinite(gap):
        keys, close = _sorted(scores, gap, wide, space)
        order[:] = _indices(keys, wide)
    else:
        order[:] = np.arange(scorer.count)
        close = np.arange(order.size)
        close = close[close % scorer.count != 0]
    return _settled(scorer, weights, extra, order, close) if close.size else NO_TIES


def _sorted(scores: NDArray[Any], gap: float, packing: Packing, space: Space) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Return the packed, sorted keys in the scores' own memory, and the places too close to the one before to tell."""
    keys = scores.view(packing.whole)
    np.left_shift(keys, packing.whole(packing.shift), out=keys)
    count = keys.shape[1]
    # Over short rows broadcasting costs twice as much as reading the same numbers again.
    index = space.tile(count, 1, len(keys) if count < SHORT else 1, packing.whole)
    np.bitwise_or(keys, index, out=keys)
    keys.sort(axis=1)
    flat = keys.reshape(-1)
    # Across the end of a row the difference means nothing: it is mostly huge, and left out below where it is not.
    steps = space.array("steps", (flat.size - 1,), packing.whole)
    np.subtract(flat[1:], flat[:-1], out=steps)
    most = 2.0 ** (8 * keys.itemsize - 1)
    least = packing.whole(min(gap * packing.per_unit + 2 * (1 << packing.shift), most))
    if not steps.size or (packing is not NARROW and steps.min() > least):
        return keys, NONE
    close = np.less_equal(steps, least, out=space.array("close", steps.shape, np.bool_))
    # Few are found faster as bytes.
    found: list[int] = []
    text, at = close.tobytes(), -1
    while (at := text.find(1, at + 1)) >= 0 and len(found) <= FEW:
        found.append(at + 1)
    places = np.flatnonzero(close) + 1 if len(found) > FEW else np.array(found, dtype=np.int64)
    return keys, places[places % count != 0]


def _indices(keys: NDArray[Any], packing: Packing) -> NDArray[Any]:
    """Return the alternatives held in the low bits of the keys."""
    if packing.shift == 16 and sys.byteorder == "little":
        low: NDArray[Any] = keys.view(np.uint16)[:, ::4]
        return low
    return np.asarray(keys & packing.mask)


def _settled(
    scorer: Scorer, weights: Matrix, extra: Matrix | None, order: NDArray[Any], close: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Put neighbours that the keys cannot tell apart into the order of their exact merits, and return the ties.

    Parameters
    ----------
    close : array of int
        Places of `order`, counted through, that are too close to the one before.
    """
    places = np.union1d(close - 1, close)
    cluster = np.cumsum(~np.isin(places, close, assume_unique=True))
    row, column = places // scorer.count, places % scorer.count
    alternative = order[row, column].astype(np.int64)
    merits, tie = scorer.exact(weights, extra, row, alternative)
    by_merit = np.lexsort((alternative, -merits, cluster))
    alternative, merits = alternative[by_merit], merits[by_merit]
    order[row, column] = alternative
    apart = np.ones(len(places), dtype=bool)
    apart[1:] = (cluster[1:] != cluster[:-1]) | (merits[:-1] - merits[1:] > tie)
    run = np.cumsum(apart) - 1
    length = np.bincount(run)[run]
    tied = length > 1
    found = (row, alternative, column, column[apart][run], length)
    return np.stack([part[tied] for part in found], axis=1)
