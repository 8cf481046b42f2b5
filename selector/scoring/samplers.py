"""Draws of weights from what people have stated about them, each with its own way and its own confession.

Uniform over the region stated is itself a strong statement: among ten criteria it puts nearly all weights below a
quarter, and splitting a criterion in two changes every answer. Nothing stated, an order, and lower bounds are drawn
exactly; upper bounds by rejection; anything else by a walk through the region (`hit_and_run`).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.scoring.admissible import Admissible, bounded
from selector.scoring.streams import BLOCK, TRIAL, WEIGHTS, blocks, checked, stream

Matrix = NDArray[np.float64]
TRIALS = 20_000
LEAST_ACCEPTED = 0.01
SPREAD = (0.05, 0.95)


@dataclass(frozen=True, eq=False)
class Sampler:
    """A source of weights in fixed blocks.

    Parameters
    ----------
    size : int
        Criteria, n.
    method : str
        How the draws are made, in words.
    statement : str
        What they are drawn from, in words.
    drawn : callable
        (seed, number of a block) -> array (1024, n), each row at least 0 and summing to 1.
    effective : float
        How many independent draws one draw is worth, 0 to 1; 1 where draws are independent.
    lag_one : float
        Correlation of neighbouring draws in the worst criterion; 0 where draws are independent.
    notes : tuple of str
        What a reader must know: a way that was given up, a spread that is implied.
    point : bool
        Whether every draw is the same.
    """

    size: int
    method: str
    statement: str
    drawn: Callable[[int, int], Matrix]
    effective: float = 1.0
    lag_one: float = 0.0
    notes: tuple[str, ...] = ()
    point: bool = False

    def draws(self, number: int, seed: int) -> Matrix:
        """Return this many draws, shape (number, n); a longer run begins with the same ones."""
        checked(number, seed)
        return np.concatenate([self.drawn(seed, block)[:rows] for block, rows in blocks(number)])


def _simplex(generator: np.random.Generator, n: int, rows: int = BLOCK) -> Matrix:
    """Return uniform weights, shape (n, rows): exponentials over their sum."""
    drawn = generator.standard_exponential((n, rows))
    drawn /= drawn.sum(axis=0)
    return drawn


def uniform(n: int) -> Sampler:
    """Return the sampler of all weights there are over n criteria, uniformly.

    Parameters
    ----------
    n : int
        At least 1.
    """
    _at_least_one(n)
    return Sampler(
        n, "exponentials over their sum", "any weights at all", lambda seed, b: _simplex(stream(seed, WEIGHTS, b), n).T
    )


def ordered(groups: Sequence[Sequence[int]]) -> Sampler:
    """Return the sampler of weights in an order, uniformly: each draw sorted, each group in its drawn order.

    Parameters
    ----------
    groups : sequence of sequence of int
        Indices of criteria, heaviest first, each once; nothing is stated within a group. The mean over an order
        without groups is the rank-order centroid.

    Raises
    ------
    InputError
        Groups that do not name every criterion once.
    """
    flat = [index for group in groups for index in group]
    if not flat or sorted(flat) != list(range(len(flat))):
        fault = Fault("order", "does not name every criterion once", shown([list(group) for group in groups]))
        raise InputError("the order of the weights", [fault])

    def drawn(seed: int, block: int) -> Matrix:
        given = _simplex(stream(seed, WEIGHTS, block), len(flat)).T
        found, start = np.empty_like(given), 0
        by_size = np.argsort(-given, axis=1, kind="stable")
        for group in groups:
            # Back in drawn order within the group: there every order is equally likely.
            members = np.sort(by_size[:, start : start + len(group)], axis=1)
            found[:, list(group)] = np.take_along_axis(given, members, axis=1)
            start += len(group)
        return found

    text = " >= ".join(",".join(str(index + 1) for index in group) for group in groups)
    return Sampler(len(flat), "sorted exponentials over their sum", f"weights in the order {text}", drawn)


def above(lower: Sequence[float] | Matrix) -> Sampler:
    """Return the sampler of weights above lower bounds, uniformly: what the bounds leave is shared out.

    Parameters
    ----------
    lower : sequence of float, length n
        At least 0, summing to less than 1.

    Raises
    ------
    InputError
        Bounds that break this.
    """
    low = np.array(lower, dtype=float)
    if low.ndim != 1 or not low.size or not np.all(low >= 0) or not low.sum() < 1:
        allowed = "each at least 0, summing to less than 1"
        raise InputError("the lower bounds of the weights", [Fault("bounds", "cannot be met", shown(lower), allowed)])
    left = 1 - low.sum()

    def drawn(seed: int, block: int) -> Matrix:
        return np.asarray((low[:, None] + left * _simplex(stream(seed, WEIGHTS, block), low.size)).T)

    bounds = ", ".join(f"{bound:.3g}" for bound in low)
    return Sampler(low.size, "lower bounds plus a shared rest", f"weights of at least {bounds}", drawn)


def between(lower: Sequence[float] | Matrix, upper: Sequence[float] | Matrix) -> Sampler:
    """Return the sampler of weights between bounds: shared out from one end, rejected beyond the other.

    The end that wastes fewer draws is taken, by trial. Where fewer than one draw in a hundred would be accepted, it
    falls back to a walk and says so.

    Parameters
    ----------
    lower, upper : sequence of float, length n

    Raises
    ------
    InputError
        Bounds that no weights meet.
    """
    region = bounded(lower, upper)
    low, high = region.lower, region.upper
    # What the others leave at most is a bound too.
    low = np.maximum(low, 1 - (high.sum() - high))
    high = np.minimum(high, 1 - (low.sum() - low))
    bounds = ", ".join(f"{a:.3g} to {b:.3g}" for a, b in zip(low, high, strict=True))
    statement = f"weights within {bounds}"

    def offered(generator: np.random.Generator, rows: int, from_below: bool) -> Matrix:
        shares = _simplex(generator, low.size, rows)
        if from_below:
            found = low[:, None] + (1 - low.sum()) * shares
            return np.asarray(found[:, np.all(found <= high[:, None], axis=0)])
        found = high[:, None] - (high.sum() - 1) * shares
        return np.asarray(found[:, np.all(found >= low[:, None], axis=0)])

    trials = {below: offered(stream(0, TRIAL, 0, int(below)), TRIALS, below).shape[1] for below in (True, False)}
    below = trials[True] >= trials[False]
    accepted = trials[below] / TRIALS
    if accepted < LEAST_ACCEPTED:
        from selector.scoring.hit_and_run import walked

        share = f"{trials[below]} of {TRIALS:,} trial draws met the bounds"
        return walked(region, statement, (f"Rejection would be hopeless ({share}): a walk takes its place.",))

    def drawn(seed: int, block: int) -> Matrix:
        generator, parts, have = stream(seed, WEIGHTS, block), [], 0
        while have < BLOCK:
            parts.append(offered(generator, int(1.1 * (BLOCK - have) / accepted) + 64, below))
            have += parts[-1].shape[1]
        return np.concatenate(parts, axis=1)[:, :BLOCK].T

    end = "lower" if below else "upper"
    method = f"{end} bounds and a shared rest, {100 * accepted:.0f} % of it accepted"
    return Sampler(low.size, method, statement, drawn)


def fixed(weights: Sequence[float] | Matrix) -> Sampler:
    """Return the source of one weight vector over and over, for uncertainty of the data alone.

    Parameters
    ----------
    weights : sequence of float, length n
        Finite, at least 0, not all 0; brought to a sum of 1.
    """
    w = _usable(weights)
    block = np.tile(w, (BLOCK, 1))
    return Sampler(w.size, "the weights themselves", "exactly the given weights", lambda seed, b: block, point=True)


def around(weights: Sequence[float] | Matrix, concentration: float) -> Sampler:
    """Return the sampler of weights about given ones (Dirichlet), with the spread it implies in the notes.

    Parameters
    ----------
    weights : sequence of float, length n
        The mean of the draws; finite, at least 0, not all 0; brought to a sum of 1.
    concentration : float
        Above 0, without unit and without agreed meaning: choose it by `implied_ranges`.

    Raises
    ------
    InputError
        Weights or a concentration that cannot be used.
    """
    w = _usable(weights)
    ranges = implied_ranges(w, concentration)

    def drawn(seed: int, block: int) -> Matrix:
        found = stream(seed, WEIGHTS, block).standard_gamma((concentration * w)[:, None], (w.size, BLOCK))
        total = found.sum(axis=0)
        # At tiny concentrations every gamma can round to zero: the whole weight then lies on one criterion.
        lost = total <= 0
        if lost.any():
            found[int(np.argmax(w)), lost] = total[lost] = 1.0
        found /= total
        return found.T

    spreads = ", ".join(f"{100 * a:.0f} to {100 * b:.0f} %" for a, b in ranges)
    note = f"Implied 5 to 95 % range of each weight: {spreads}."
    return Sampler(
        w.size, f"Dirichlet of concentration {concentration:g}", "about the given weights", drawn, 1.0, 0.0, (note,)
    )


def implied_ranges(weights: Sequence[float] | Matrix, concentration: float) -> tuple[tuple[float, float], ...]:
    """Return the 5 and 95 % points of each weight that a concentration implies, from the beta distribution.

    Parameters
    ----------
    weights : sequence of float, length n
    concentration : float
        Above 0.

    Returns
    -------
    tuple of n pairs of float

    Raises
    ------
    InputError
        Weights or a concentration that cannot be used.
    """
    w = _usable(weights)
    if not (np.isfinite(concentration) and concentration > 0):
        fault = Fault("concentration", "cannot be used", shown(concentration), "a number above 0")
        raise InputError("the spread about the weights", [fault])
    from scipy.special import betaincinv

    found = []
    for share in w:
        if share in (0.0, 1.0):
            found.append((float(share), float(share)))
        else:
            a, b = concentration * share, concentration * (1 - share)
            found.append((float(betaincinv(a, b, SPREAD[0])), float(betaincinv(a, b, SPREAD[1]))))
    return tuple(found)


def sampler(region: Admissible) -> Sampler:
    """Return the sampler that fits a region of admissible weights.

    Parameters
    ----------
    region : Admissible

    Raises
    ------
    InputError
        A region that holds no weights.
    """
    from selector.scoring.hit_and_run import walked

    kind = region.sampler
    if kind == "point" and not region.b_ub.size:
        at = region.lower if abs(region.lower.sum() - 1) <= 1e-9 else region.upper
        found = fixed(at if region.size > 1 else [1.0])
    elif kind == "simplex":
        found = uniform(region.size)
    elif kind == "ordered":
        found = ordered(region.order or ())
    elif kind == "lower":
        found = above(region.lower)
    elif kind == "bounded":
        found = between(region.lower, region.upper)
    else:
        found = walked(region, region.described)
    return replace(found, statement=region.described)


def _usable(weights: Sequence[float] | Matrix) -> Matrix:
    w = np.array(weights, dtype=float)
    if w.ndim != 1 or not w.size or not np.all(np.isfinite(w)) or np.any(w < 0) or w.sum() <= 0:
        fault = Fault("weights", "cannot be used", shown(weights), "finite, at least 0, not all 0")
        raise InputError("the weights", [fault])
    return np.asarray(w / w.sum(), dtype=float)


def _at_least_one(n: int) -> None:
    if isinstance(n, bool) or not isinstance(n, int | np.integer) or n < 1:
        raise InputError("the weights", [Fault("criteria", "cannot be used", shown(n), "a whole number, 1 or more")])
