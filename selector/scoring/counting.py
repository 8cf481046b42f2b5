"""The run behind rank acceptabilities: draws in pieces, ordered and counted on every thread, put together exactly."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.scoring.drawn_data import Data
from selector.scoring.drawn_scores import Additive, added_up
from selector.scoring.ordering import NO_TIES, Scorer, best_first, index_type
from selector.scoring.ranking import TIE
from selector.scoring.samplers import Sampler
from selector.scoring.space import borrowed, returned
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
    count = scorer.count
    rows = min(run.rows(count), PART if given else BLOCK)

    def work(share: Sequence[Unit]) -> tuple[Tally, Matrix, NDArray[np.int64]]:
        space, tally = borrowed(), Tally(count, run.draws)
        batch = tally.rows_at_once(rows, np.dtype(index_type(count)).itemsize)
        order = space.array("order", (batch, count), index_type(count))
        summed = np.zeros((run.weights.size, count))
        wins = np.zeros((len(pairs), len(pairs)), dtype=np.int64)
        block = -1
        for unit in share:
            if unit.block != block:
                block, whole = unit.block, run.weights.drawn(run.seed, unit.block)
            for start in range(unit.start, unit.end, batch):
                end, ties = min(start + batch, unit.end), [NO_TIES]
                for a, b in _pieces(start, end, rows, given is not None):
                    extra = None
                    if given:
                        if a % PART == 0:
                            generators = given.streams(run.seed, block, a)
                        extra = given.added(generators, whole[a:b])
                    tied = best_first(scorer, whole[a:b], extra, space, order[a - start : b - start])
                    if len(tied):
                        tied[:, 0] += a - start
                        ties.append(tied)
                    if pairs:
                        wins += _pair_wins(scorer, whole[a:b], extra, pairs)
                seen, tied = order[: end - start], np.concatenate(ties)
                _add_weights(summed, seen[:, 0], whole[start:end], tied)
                tally.add(seen, tied, space)
        returned(space)
        return tally, summed, wins

    done = shared_out(work, run.draws, run.threads)
    tallies = [part[0] for part in done]
    counts, ranks, _ = total(tallies)
    summed = np.sum([part[1] for part in done], axis=0).T / WEIGHT_STEPS
    firsts = counts[:, 0, None]
    central = np.where(firsts > 0, summed / np.where(firsts > 0, firsts, 1.0), np.nan)
    wins = np.sum([part[2] for part in done], axis=0) / (2 * run.draws)
    return Counted(counts / run.draws, tallies[0].edges, ranks / run.draws, central, np.asarray(wins))


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


def _add_weights(summed: Matrix, firsts: NDArray[np.int64], drawn: Matrix, ties: NDArray[np.int64]) -> None:
    """Add the weights of draws to those who were first, in whole steps; a tie shares them."""
    n, count = summed.shape
    steps = np.rint(drawn.T * WEIGHT_STEPS)
    places = firsts + count * np.arange(n)[:, None]
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
