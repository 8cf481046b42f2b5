"""How often each alternative takes each rank when weights, and data, are drawn from what is known about them (SMAA-2).

Sampling answers what no closed form does. A share comes with its standard error, and a share of zero means "below about
3 in the number of draws", never "cannot": in a list of 60 a million draws have missed alternatives that a linear
program finds to be possible winners.
Source: the definitions of Operations Research 49(3), 2001, 444-454, from memory; exact polygons in tests/published.
"""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.scoring.counting import Counted, Run, first_shares, sampled
from selector.scoring.drawn_data import Data, data
from selector.scoring.drawn_scores import Additive, Topsis, Vikor, comparable
from selector.scoring.gate import DIRECTIONS
from selector.scoring.ordering import Scorer
from selector.scoring.samplers import Sampler
from selector.scoring.streams import check
from selector.scoring.values import FULL

Matrix = NDArray[np.float64]
WHAT = "the sampling"
DRAWS = 10_000
PIECE_MB = 2.0
MOST_ALTERNATIVES = 100_000
MOST_CONFIDENCES = 12
LEAST_SHARED = 3_000_000  # draws times alternatives
METHODS = ("TOPSIS", "VIKOR")


@dataclass(frozen=True, eq=False)
class Acceptability:
    """Shares of draws by alternative and rank.

    Parameters
    ----------
    shares : array (m, bins)
        Rows sum to 1; a tie shares its places equally among its members.
    bins : tuple of (first, last)
        The ranks of each column, counted from 1: single ranks up to 200 alternatives; beyond, single ranks 1 to 10
        and about 100 wider bins.
    mean_rank : array (m,)
        Between 1 and m.
    central_weights : array (m, n)
        Mean of the weights under which the alternative was first; NaN where it never was.
    pairs : tuple of int
        The alternatives compared pair by pair.
    pair_wins : array (s, s)
        Share of draws in which the row's alternative scores more than the column's, ties half; diagonal 1/2.
    confidence : array (m,)
        Share of draws of the data in which the alternative is first under its own central weights; NaN where it never
        was first, or was not among the 12 most often first.
    draws : int
    effective : float
        How many independent draws they are worth.
    seed : int
    weights, weights_method, data : str
        What was drawn, in words.
    notes : tuple of str
    """

    shares: Matrix
    bins: tuple[tuple[int, int], ...]
    mean_rank: Matrix
    central_weights: Matrix
    pairs: tuple[int, ...]
    pair_wins: Matrix
    confidence: Matrix
    draws: int
    effective: float
    seed: int
    weights: str
    weights_method: str
    data: str
    notes: tuple[str, ...]

    @property
    def first(self) -> Matrix:
        """Return the share of draws in which each alternative is first."""
        return np.asarray(self.shares[:, 0])

    @property
    def standard_error(self) -> Matrix:
        """Return the standard error of each share, shape (m, bins)."""
        return standard_error(self.shares, self.effective)


def standard_error(share: Matrix | float, draws: float) -> Matrix:
    """Return sqrt(b (1 - b) / N) of shares b in N independent draws; it is zero at 0 and 1, where it says nothing."""
    b = np.clip(np.asarray(share, dtype=float), 0, 1)
    return np.asarray(np.sqrt(b * (1 - b) / draws))


def chance_text(share: float, draws: float) -> str:
    """Return a share of draws in words, with its standard error.

    Parameters
    ----------
    share : float
        0 to 1.
    draws : float
        Independent draws, or how many the draws are worth.

    Returns
    -------
    str
        "31.2 % (standard error 0.5)"; a share of none is "below about 0.03 %" (3 in N, an upper 95 % limit), one of
        all is "above about 99.97 %".
    """
    rare = min(1.0, 3 / draws)
    # Enough places for the limit itself: 3 in a million must not read 0.00 %.
    places = max(1, int(np.ceil(-np.log10(100 * rare))) + 1)
    if share <= 0:
        return f"below about {100 * rare:.{places}f} %"
    if share >= 1:
        return f"above about {100 * (1 - rare):.{places}f} %"
    error = 100 * float(standard_error(share, draws))
    digits = min(max(1, int(np.ceil(-np.log10(error)))), 6) if error > 0 else 1
    return f"{100 * share:.{digits}f} % (standard error {error:.{digits}f})"


def acceptability(
    worths: Matrix | Data,
    weights: Sampler,
    draws: int = DRAWS,
    seed: int = 1,
    *,
    pairs: Sequence[int] = (),
    threads: int | None = None,
    piece_mb: float = PIECE_MB,
) -> Acceptability:
    """Return rank acceptabilities of the additive value over draws of weights and data together.

    Parameters
    ----------
    worths : array (m, n), or Data
        Worths from 0 to 100; intervals and gaps as `drawn_data.data` makes them.
    weights : Sampler
        Of n criteria.
    draws : int
        1 to 2,000,000.
    seed : int
        0 to 2**64 - 1; the same seed gives the same table to the last bit, whatever `threads` and `piece_mb`.
    pairs : sequence of int
        Alternatives to compare pair by pair, a shortlist: their work grows with its square.
    threads : int, optional
        As many as there are processors.
    piece_mb : float
        Memory for the scores of one piece of draws, MB a thread; about the size of a processor's cache is fastest.

    Returns
    -------
    Acceptability

    Raises
    ------
    InputError
        Worths that are missing or outside 0 to 100, numbers that do not fit; all faults at once.

    Notes
    -----
    Scores closer than 1e-9 to a neighbour tie with it. Validity: as the additive value; what is drawn independently is
    taken to be independent.
    """
    given = worths if isinstance(worths, Data) else _certain(worths)
    scorer = Additive(given.base)
    short = _checked(scorer.count, given.base.shape[1], weights, draws, seed, threads, piece_mb, pairs)
    uncertain = given if given.columns else None
    work = draws * scorer.count * (1 + 4 * len(given.columns))
    run = Run(weights, draws, seed, _threads(threads, work), piece_mb)
    counted = sampled(scorer, uncertain, run, short)
    confidence = np.where(counted.first > 0, 1.0, np.nan)
    if uncertain is not None:
        often = [int(i) for i in np.argsort(-counted.first, kind="stable")[:MOST_CONFIDENCES] if counted.first[i] > 0]
        confidence = np.full(scorer.count, np.nan)
        confidence[often] = first_shares(given, counted.central[often], often, run)
    return _answer(counted, confidence, short, run, given.described, ())


def relative_acceptability(
    method: str,
    values: Matrix,
    directions: Sequence[str],
    weights: Sampler,
    draws: int = DRAWS,
    seed: int = 1,
    *,
    threads: int | None = None,
    piece_mb: float = PIECE_MB,
) -> Acceptability:
    """Return rank acceptabilities by TOPSIS or VIKOR over draws of weights: relative to this list.

    Parameters
    ----------
    method : {"TOPSIS", "VIKOR"}
        TOPSIS by vector norm; VIKOR with v = 0.5, ranked by Q.
    values : array (m, n)
        Raw values without gaps, each column in its own unit.
    directions : sequence of {"higher", "lower"}, length n
    weights, draws, seed, threads, piece_mb
        As in `acceptability`.

    Returns
    -------
    Acceptability
        Without pairs; `confidence` is 1 or NaN, since the data are certain.

    Raises
    ------
    InputError
        An unknown method, gaps, directions or numbers that do not fit; all faults at once.
    """
    table = np.array(values, dtype=float)
    faults = []
    if method not in METHODS:
        faults.append(Fault("method", "is not offered", shown(method), " or ".join(METHODS)))
    if table.ndim != 2 or table.shape[0] < 2 or not np.all(np.isfinite(table)):
        faults.append(Fault("values", "are not a table of finite numbers with two rows or more", shown(table.shape)))
    elif len(directions) != table.shape[1] or any(word not in DIRECTIONS for word in directions):
        faults.append(Fault("directions", "do not fit", shown(list(directions)), "one a criterion, higher or lower"))
    elif not np.any(comparable(table, directions)):
        faults.append(Fault("values", "do not tell the alternatives apart, so there is no order"))
    if faults:
        raise InputError(WHAT, faults)
    scorer: Scorer = Topsis(table, directions) if method == "TOPSIS" else Vikor(table, directions)
    _checked(scorer.count, table.shape[1], weights, draws, seed, threads, piece_mb, ())
    run = Run(weights, draws, seed, _threads(threads, draws * scorer.count), piece_mb)
    counted = sampled(scorer, None, run, ())
    confidence = np.where(counted.first > 0, 1.0, np.nan)
    return _answer(counted, confidence, (), run, "the data as they are", (f"{method}: relative to this list.",))


def _answer(
    counted: Counted, confidence: Matrix, pairs: tuple[int, ...], run: Run, described: str, notes: tuple[str, ...]
) -> Acceptability:
    return Acceptability(
        shares=counted.shares,
        bins=tuple((int(a) + 1, int(b)) for a, b in pairwise(counted.edges)),
        mean_rank=counted.mean_rank,
        central_weights=counted.central,
        pairs=pairs,
        pair_wins=counted.pair_wins,
        confidence=confidence,
        draws=run.draws,
        effective=run.draws * run.weights.effective,
        seed=run.seed,
        weights=run.weights.statement,
        weights_method=run.weights.method,
        data=described,
        notes=(*notes, *run.weights.notes),
    )


def _threads(asked: int | None, work: int) -> int:
    """Return how many threads to use: handing over small pieces costs more than it saves."""
    return asked or (1 if work < LEAST_SHARED else os.cpu_count() or 1)


def _certain(worths: Matrix) -> Data:
    """Return certain worths, checked."""
    table = np.array(worths, dtype=float)
    if table.ndim == 2 and np.isnan(table).any():
        where = np.argwhere(np.isnan(table))
        remedy = "give an interval instead: data(low, high), 0 to 100 where nothing is known"
        faults = [
            Fault(f"alternative no. {i + 1}, criterion no. {j + 1}", "has no worth", remedy=remedy) for i, j in where
        ]
        raise InputError(WHAT, faults)
    if table.ndim == 2 and table.size and table.min() >= 0 and table.max() <= FULL:
        return Data(table, (), "the data as they are")
    return data(table, table)  # which says what is wrong


def _checked(
    count: int,
    n: int,
    weights: Sampler,
    draws: object,
    seed: object,
    threads: object,
    piece_mb: float,
    pairs: Sequence[int],
) -> tuple[int, ...]:
    """Return the shortlist, or refuse what does not fit, all at once."""
    faults = check(draws, seed, threads)
    if weights.size != n:
        faults.append(Fault("weights", "do not fit the criteria", str(weights.size), str(n)))
    if count > MOST_ALTERNATIVES:
        faults.append(Fault("alternatives", "are too many", f"{count:,}", f"at most {MOST_ALTERNATIVES:,}"))
    if not (np.isfinite(piece_mb) and piece_mb > 0):
        faults.append(Fault("piece_mb", "cannot be used", shown(piece_mb), "a number above 0, MB"))
    short = tuple(int(i) for i in pairs)
    if len(set(short)) != len(short) or any(not 0 <= i < count for i in short):
        faults.append(Fault("pairs", "do not name alternatives once each", shown(short), f"0 to {count - 1}"))
    if faults:
        raise InputError(WHAT, faults)
    return short
