"""The run behind rank acceptabilities: draws in pieces, ordered and counted on every thread, put together exactly."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from selector.scoring.drawn_data import Data
from selector.scoring.drawn_scores import Additive, added_up
from selector.scoring.ordering import MOST_IN_32_BITS, NO_TIES, Scorer, best_first, index_type, nearly_first
from selector.scoring.ranking import TIE
from selector.scoring.samplers import Sampler
from selector.scoring.space import Space, borrowed, returned
from selector.scoring.streams import BLOCK, PART, Unit, shared_out
from selector.scoring.tally import Tally, total

Matrix = NDArray[np.float64]
# Weights and shares are added up as whole multiples of these, so that the order of adding leaves no trace: two million
# draws of 2**32 still fit the 53 bits of a float.
WEIGHT_STEPS = 2.0**32
SHARES = 2520.0  # divisible by 1 to 10


@dataclass(frozen=True, eq=False)
class Run:
    """What is drawn and how: see `acceptability.acceptability`."""

    weights: Sampler
    draws: int
    seed: int
    threads: int
    piece_mb: float

    def rows(self, count: int) -> int:
        """Return how many draws of `count` numbers make a piece."""
        return int(min(BLOCK, max(1, self.piece_mb * 2**20 // (8 * count))))


@dataclass(frozen=True, eq=False)
class Counted:
    """What was counted.

    Parameters
    ----------
    shares : array (m, bins)
    edges : array (bins + 1,)
        Where bins of ranks begin, counted from 0.
    mean_rank : array (m,)
    central : array (m, n)
        NaN for those never first.
    pair_wins : array (s, s)
    """

    shares: Matrix
    edges: NDArray[np.int64]
    mean_rank: Matrix
    central: Matrix
    pair_wins: Matrix

    @property
    def first(self) -> Matrix:
        """Return the share of firsts, shape (m,)."""
        return np.asarray(self.shares[:, 0])


class _Share:
    """What one thread counts."""

    def __init__(self, scorer: Scorer, run: Run, pairs: Sequence[int]) -> None:
        self.scorer, self.run, self.pairs = scorer, run, list(pairs)
        self.tally = Tally(scorer.count, run.draws)
        self.summed = np.zeros((run.weights.size, scorer.count))
        self.wins = np.zeros((len(self.pairs), len(self.pairs)), dtype=np.int64)
        self._late: list[tuple[Matrix, NDArray[Any]]] = []

    def count_units(self, units: Sequence[Unit], given: Data | None) -> None:
        """Count every draw of these units."""
        count, space, kind = self.scorer.count, borrowed(), index_type(self.scorer.count)
        rows = min(self.run.rows(count), PART if given else BLOCK)
        batch = self.tally.rows_at_once(rows, np.dtype(kind).itemsize)
        order = space.array("order", (batch, count), kind)
        block = -1
        for unit in units:
            if unit.block != block:
                block, drawn = unit.block, self.run.weights.drawn(self.run.seed, unit.block)
            for start in range(unit.start, unit.end, batch):
                end, ties = min(start + batch, unit.end), [NO_TIES]
                for a, b in _pieces(start, end, rows, given is not None):
                    extra = None
                    if given:
                        if a % PART == 0:
                            generators = given.streams(self.run.seed, block, a)
                        extra = given.added(generators, drawn[a:b])
                    tied = self._order(drawn[a:b], extra, space, order[a - start : b - start])
                    if len(tied):
                        tied[:, 0] += a - start
                        ties.append(tied)
                self._count(order[: end - start], drawn[start:end], np.concatenate(ties), space)
        self._done_again(space)
        returned(space)

    def _order(self, weights: Matrix, extra: Matrix | None, space: Space, order: NDArray[Any]) -> NDArray[np.int64]:
        """Write the order of some draws and return the ties; draws in doubt are put off."""
        if self.pairs:
            self.wins += _pair_wins(self.scorer, weights, extra, self.pairs)
        if extra is not None or not isinstance(self.scorer, Additive) or self.scorer.count > MOST_IN_32_BITS:
            return best_first(self.scorer, weights, extra, space, order)
        doubtful = nearly_first(self.scorer, weights, space, order)
        if doubtful.size:
            self._late.append((weights[doubtful], order[doubtful]))
            if sum(len(each) for each, _ in self._late) > BLOCK:
                self._done_again(space)
        return NO_TIES

    def _done_again(self, space: Space) -> None:
        """Take back the draws that were in doubt and count them as they really are: many at once are cheap."""
        if not self._late:
            return
        weights, order = (np.concatenate(parts) for parts in zip(*self._late, strict=True))
        self._late = []
        self._count(order, weights, NO_TIES, space, -1)
        ties = best_first(self.scorer, weights, None, space, order)
        self._count(order, weights, ties, space)

    def _count(
        self, order: NDArray[Any], weights: Matrix, ties: NDArray[np.int64], space: Space, sign: int = 1
    ) -> None:
        _add_weights(self.summed, order[:, 0], weights, ties, space, sign)
        self.tally.add(order, ties, space, sign)


def sampled(scorer: Scorer, given: Data | None, run: Run, pairs: Sequence[int]) -> Counted:
    """Return ranks, central weights and pair wins over draws.

    Parameters
    ----------
    scorer : Scorer
    given : Data, optional
        Where data are drawn too.
    run : Run
    pairs : sequence of int
        Only with `Additive`.
    """

    def work(units: Sequence[Unit]) -> _Share:
        share = _Share(scorer, run, pairs)
        share.count_units(units, given)
        return share

    done = shared_out(work, run.draws, run.threads)
    counts, ranks, _ = total([share.tally for share in done])
    summed = np.sum([share.summed for share in done], axis=0).T / WEIGHT_STEPS
    firsts = counts[:, 0, None]
    central = np.where(firsts > 0, summed / np.where(firsts > 0, firsts, 1.0), np.nan)
    wins = np.sum([share.wins for share in done], axis=0) / (2 * run.draws)
    return Counted(counts / run.draws, done[0].tally.edges, ranks / run.draws, central, np.asarray(wins))


def _pieces(start: int, end: int, rows: int, by_part: bool) -> list[tuple[int, int]]:
    """Return pieces of at most `rows` draws; with data, none reaches over the end of a part."""
    if not by_part:
        return [(a, min(a + rows, end)) for a in range(start, end, rows)]
    found = []
    while start < end:
        stop = min(start + rows, end, (start // PART + 1) * PART)
        found.append((start, stop))
        start = stop
    return found


def _add_weights(
    summed: Matrix, firsts: NDArray[Any], drawn: Matrix, ties: NDArray[np.int64], space: Space, sign: int = 1
) -> None:
    """Add the weights of draws to those who were first, in whole steps; a tie shares them."""
    n, count = summed.shape
    steps = space.array("weights", (n, len(drawn)), np.float64)
    np.rint(np.multiply(drawn.T, sign * WEIGHT_STEPS, out=steps), out=steps)
    places = space.array("places", (n, len(drawn)), np.int64)
    np.add(firsts.astype(np.int64), count * np.arange(n)[:, None], out=places)
    summed += np.bincount(places.reshape(-1), steps.reshape(-1), minlength=n * count).reshape(n, count)
    if len(ties):
        row, alternative, place, _, length = ties[ties[:, 3] == 0].T
        alone = place == 0
        np.subtract.at(summed.T, alternative[alone], steps.T[row[alone]])
        np.add.at(summed.T, alternative, np.floor(steps.T[row] / length[:, None]))


def _pair_wins(scorer: Scorer, weights: Matrix, extra: Matrix | None, pairs: Sequence[int]) -> NDArray[np.int64]:
    """Return twice how often each of a shortlist beats each other one, ties counted once."""
    assert isinstance(scorer, Additive)
    some = list(pairs)
    merits = added_up(weights, scorer.worths[some])
    if extra is not None:
        merits += extra[:, some]
    columns = np.ascontiguousarray(merits.T)
    wins = np.empty((len(some), len(some)), dtype=np.int64)
    for i, own in enumerate(columns):
        ahead = own - columns
        wins[i] = (ahead > TIE).sum(axis=1) + (ahead >= -TIE).sum(axis=1)
    return wins


def first_shares(given: Data, weights: Matrix, own: Sequence[int], run: Run) -> Matrix:
    """Return how often each of some alternatives is first under weights of its own, the data drawn.

    Parameters
    ----------
    given : Data
    weights : array (f, n)
        One row for each alternative asked about.
    own : sequence of f int
        Those alternatives.
    run : Run
        Its draws of data are used, not its weights.

    Returns
    -------
    array (f,)
        0 to 1; a tie shares the place.
    """
    certain = added_up(weights, given.base)
    rows = min(run.rows(certain.shape[1] * max(1, len(own))), PART)

    def work(share: Sequence[Unit]) -> Matrix:
        won = np.zeros(len(own))
        for unit in share:
            for a, b in _pieces(unit.start, unit.end, rows, True):
                if a % PART == 0:
                    generators = given.streams(run.seed, unit.block, a)
                scores = np.repeat(certain[:, None, :], b - a, axis=1)
                for column, each in zip(given.columns, generators, strict=True):
                    worths = given.worths(column, each, b - a)
                    for score, weight in zip(scores, weights[:, column.number], strict=True):
                        score[:, column.cells] += weight * worths
                leading = scores >= scores.max(axis=2, keepdims=True) - TIE
                mine = leading[np.arange(len(own)), :, own]
                won += np.where(mine, np.floor(SHARES / leading.sum(axis=2)), 0).sum(axis=1)
        return won

    return np.asarray(np.sum(shared_out(work, run.draws, run.threads), axis=0) / (SHARES * run.draws))
