"""Orders many draws of scores at once, exactly, at little more than the cost of a sort.

A score and the alternative it belongs to are packed into one unsigned integer, so that a plain sort carries the
alternative along. Small lists are first sorted in 32 bits; draws in which two neighbours lie too close for that are
done again in 64 bits, and those that are too close even there are done from the exact scores, where neighbours within
the resolution of a tie share their places. So the answer is exact, and the precision only decides the time.
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
NO_TIES = np.zeros((0, 5), dtype=np.int64)


class Scorer(Protocol):
    """How draws of weights become scores, at three precisions.

    `coarse` and `fine` write the packing's offset at best to 100 more at worst into `out`, shape (r, m), and return the
    least difference between two such scores that certainly separates them by more than a tie; infinity where it
    cannot be had. `exact` returns merits, higher is better, equal to the last bit however draws are grouped, and the
    difference up to which two of them tie.
    """

    @property
    def count(self) -> int:
        """Return the number of alternatives, m."""

    def coarse(self, weights: Matrix, out: NDArray[np.float32]) -> float:
        """Write single-precision scores."""

    def fine(self, weights: Matrix, extra: Matrix | None, out: Matrix) -> float:
        """Write double-precision scores; `extra` (r, m) is merit to add, 0 to 100."""

    def exact(self, weights: Matrix, extra: Matrix | None) -> tuple[Matrix, float]:
        """Return exact merits, shape (r, m), and the tie."""


@dataclass(frozen=True)
class Packing:
    """How a score and an index share an integer.

    Added to an offset, a power of two, scores from 0 to 100 share sign, exponent and leading bits, so that the bits
    left are a fixed-point number; shifting drops the former and makes room below for the index.

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


NARROW = Packing(np.uint32, 9, 2.0**7, 2.0**25)


def wide_packing(count: int) -> Packing:
    """Return the 64-bit packing for a list of this length: 16 bits of index, or as many as it needs."""
    bits = max(16, (count - 1).bit_length())
    return Packing(np.uint64, bits, 2.0 ** (bits - 5), 2.0**57)


def index_type(count: int) -> Any:
    """Return the type that orders of this many alternatives are written in."""
    # Counting a short list needs room for m x m.
    return np.uint32 if count <= MOST_IN_32_BITS or count > 2**16 else np.uint16


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
    doubtful: NDArray[np.int64] | None = None
    if scorer.count <= MOST_IN_32_BITS and extra is None:
        scores = space.array("scores", (len(weights), scorer.count), np.float32)
        gap = scorer.coarse(weights, scores)
        if np.isfinite(gap):
            keys, doubtful = _sorted(scores, gap, NARROW, space)
            np.bitwise_and(keys, NARROW.mask, out=order)
            if not doubtful.size:
                return NO_TIES
    if doubtful is None:
        rows: Any = slice(None)
        numbers = np.arange(len(weights))
    else:
        rows = numbers = doubtful
    scores64 = space.array("scores", (len(numbers), scorer.count), np.float64)
    some = None if extra is None else extra[rows]
    gap = scorer.fine(weights[rows], some, scores64)
    if np.isfinite(gap):
        keys, doubtful = _sorted(scores64, gap, wide, space)
        order[rows] = _indices(keys, wide)
        numbers = numbers[doubtful]
    if not numbers.size:
        return NO_TIES
    merits, tie = scorer.exact(weights[numbers], None if extra is None else extra[numbers])
    return _from_merits(merits, tie, numbers, order)


def _sorted(scores: NDArray[Any], gap: float, packing: Packing, space: Space) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Return the packed, sorted keys in the scores' own memory, and the draws whose order they leave open."""
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
    if not steps.size or steps.min() > least:
        return keys, np.zeros(0, dtype=np.int64)
    # Looked through eight at a time, since there are few.
    flags = space.array("flags", (-(-steps.size // 8), 8), np.bool_)
    flags[-1] = False
    np.less_equal(steps, least, out=flags.reshape(-1)[: steps.size])
    eights = np.flatnonzero(flags.view(np.uint64))
    which, within = np.nonzero(flags[eights])
    places = 8 * eights[which] + within + 1
    return keys, np.unique(places[places % count != 0] // count)


def _indices(keys: NDArray[Any], packing: Packing) -> NDArray[Any]:
    """Return the alternatives held in the low bits of the keys."""
    if packing.shift == 16 and sys.byteorder == "little":
        low: NDArray[Any] = keys.view(np.uint16)[:, ::4]
        return low
    return np.asarray(keys & packing.mask)


def _from_merits(merits: Matrix, tie: float, numbers: NDArray[np.int64], order: NDArray[Any]) -> NDArray[np.int64]:
    """Write the order of exact merits into these rows and return the ties among them."""
    places = np.argsort(-merits, axis=1, kind="stable")
    order[numbers] = places
    merits = np.take_along_axis(merits, places, axis=1)
    same = (merits[:, :-1] - merits[:, 1:]) <= tie
    tied = same.any(axis=1)
    if not tied.any():
        return NO_TIES
    same, places = same[tied], places[tied]
    edge = np.zeros((len(same), 1), dtype=bool)
    after, before = np.hstack([edge, same]), np.hstack([same, edge])  # ties with the one ahead, with the one behind
    at = np.broadcast_to(np.arange(places.shape[1]), places.shape)
    first = np.maximum.accumulate(np.where(after, 0, at), axis=1)
    last = np.minimum.accumulate(np.where(before, places.shape[1], at)[:, ::-1], axis=1)[:, ::-1]
    inside = after | before
    draw = np.broadcast_to(numbers[tied][:, None], places.shape)
    found = [part[inside] for part in (draw, places, at, first, last - first + 1)]
    return np.asarray(np.stack(found, axis=1), dtype=np.int64)
