"""Which weights are admissible: what people have stated about them, as one region of the unit simplex.

Weights are at least 0 and sum to 1 (the sum is implied everywhere and never a row). Every statement beyond that is a
bound on one weight or a row `a_ub @ w <= b_ub`, and keeps the words in which it was made, so that statements that
contradict each other can be named. Exact answers and samplers read the same object.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown

Vector = NDArray[np.float64]
WHAT = "what is stated about the weights"
CLOSE = 1e-9  # two sums of weights nearer than this are equal


@dataclass(frozen=True, eq=False)
class Admissible:
    """A region of weights: `a_ub @ w <= b_ub`, `lower <= w <= upper`, `sum(w) == 1`.

    Parameters
    ----------
    a_ub : array (k, n)
    b_ub : array (k,)
    lower, upper : array (n,)
        Within 0 and 1.
    order : tuple of tuple of int, or None
        Groups of criteria, heaviest first, where the region is exactly "no criterion weighs less than one of a later
        group"; None for any other region. Within a group nothing is stated. Its rows are in `a_ub` too.
    described : str
        The whole statement in one sentence.
    rows : tuple of str
        A sentence for each row of `a_ub`.
    names : tuple of str
        What the criteria are called in faults.
    """

    a_ub: Vector
    b_ub: Vector
    lower: Vector
    upper: Vector
    order: tuple[tuple[int, ...], ...] | None
    described: str
    rows: tuple[str, ...]
    names: tuple[str, ...]

    @property
    def size(self) -> int:
        """Return the number of criteria."""
        return int(self.lower.size)

    @property
    def bounds(self) -> Vector:
        """Return lower and upper bound of each weight, (n, 2), in order: rounding may have crossed a point's."""
        return np.column_stack([self.lower, np.maximum(self.lower, self.upper)])

    @property
    def sampler(self) -> str:
        """Return which sampler fits.

        "point": one weight vector only; "simplex": nothing is stated; "ordered": `order` and nothing else; "lower":
        lower bounds only; "bounded": lower and upper bounds; "mixed": rows, for which only hit-and-run is left.
        """
        if self.is_point():
            return "point"
        if self.order is not None:
            return "simplex" if len(self.order) == 1 else "ordered"
        if self.b_ub.size:
            return "mixed"
        # An upper bound that the lower bounds of the others already imply is none.
        if np.all(self.upper >= 1 - (self.lower.sum() - self.lower) - CLOSE):
            return "lower" if self.lower.any() else "simplex"
        return "bounded"

    def is_point(self) -> bool:
        """Return whether the bounds alone leave one weight vector; rows are not looked at."""
        return bool(
            self.size == 1
            or abs(self.lower.sum() - 1) <= CLOSE
            or abs(self.upper.sum() - 1) <= CLOSE
            or np.all(self.upper - self.lower <= CLOSE)
        )

    def contains(self, weights: Sequence[float] | Vector, tolerance: float = CLOSE) -> bool:
        """Return whether a weight vector, shape (n,), is admissible to a tolerance on every statement."""
        w = np.asarray(weights, dtype=float)
        return bool(
            w.shape == (self.size,)
            and abs(w.sum() - 1) <= tolerance
            and np.all(w >= self.lower - tolerance)
            and np.all(w <= self.upper + tolerance)
            and np.all(self.a_ub @ w <= self.b_ub + tolerance)
        )

    def check(self) -> "Admissible":
        """Return the region itself where it holds a weight vector.

        Raises
        ------
        InputError
            No weights meet all statements; the fault names a smallest set of them that conflicts: each could be
            kept if any one of the others were dropped.
        """
        total = 1 - float(self.lower.sum())
        if self.b_ub.size == 0 and total >= -CLOSE and self.upper.sum() >= 1 - CLOSE:
            if np.all(self.lower <= self.upper + CLOSE):
                return self
        elif self.b_ub.size and self._feasible(range(len(self._statements()))):
            return self
        statements = self._statements()
        kept = list(range(len(statements)))
        # Deletion filter: what can go while the rest still conflicts is no part of the conflict.
        for index in tuple(kept):
            rest = [other for other in kept if other != index]
            if not self._feasible(rest):
                kept = rest
        raise InputError(
            WHAT,
            [
                Fault(
                    "weights that sum to 1",
                    "cannot meet these statements together",
                    "; ".join(statements[index][0] for index in kept),
                    remedy="withdraw or loosen one of them",
                )
            ],
        )

    def _statements(self) -> list[tuple[str, str, int]]:
        """Return every statement as (words, kind, index)."""
        found = [(text, "row", index) for index, text in enumerate(self.rows)]
        for index, name in enumerate(self.names):
            if self.lower[index] > 0:
                found.append((f"{name} weighs at least {self.lower[index]:.6g}", "lower", index))
            if self.upper[index] < 1:
                found.append((f"{name} weighs at most {self.upper[index]:.6g}", "upper", index))
        return found

    def _feasible(self, kept: Sequence[int] | range) -> bool:
        """Return whether some weights meet the kept statements."""
        from scipy.optimize import linprog

        statements = self._statements()
        rows = [statements[index][2] for index in kept if statements[index][1] == "row"]
        lower, upper = np.zeros(self.size), np.ones(self.size)
        for index in kept:
            _, kind, at = statements[index]
            if kind == "lower":
                lower[at] = self.lower[at]
            elif kind == "upper":
                upper[at] = self.upper[at]
        if np.any(lower > upper + CLOSE):
            return False
        upper = np.maximum(lower, upper)
        answer = linprog(
            np.zeros(self.size),
            A_ub=self.a_ub[rows] if rows else None,
            b_ub=self.b_ub[rows] if rows else None,
            A_eq=np.ones((1, self.size)),
            b_eq=[1.0],
            bounds=np.column_stack([lower, upper]),
            method="highs",
        )
        return bool(answer.status == 0)


def _named(n: int, names: Sequence[str]) -> tuple[str, ...]:
    return tuple(names) if names else tuple(f"criterion {index + 1}" for index in range(n))


def _region(
    n: int,
    described: str,
    names: Sequence[str],
    rows: Sequence[tuple[Vector, float, str]] = (),
    lower: Vector | None = None,
    upper: Vector | None = None,
    order: tuple[tuple[int, ...], ...] | None = None,
) -> Admissible:
    a_ub = np.array([row for row, _, _ in rows]) if rows else np.zeros((0, n))
    arrays = (
        a_ub,
        np.array([limit for _, limit, _ in rows], dtype=float),
        np.zeros(n) if lower is None else np.asarray(lower, dtype=float),
        np.ones(n) if upper is None else np.asarray(upper, dtype=float),
    )
    for array in arrays:
        array.setflags(write=False)
    return Admissible(*arrays, order, described, tuple(text for _, _, text in rows), _named(n, names))


def anything(n: int, names: Sequence[str] = ()) -> Admissible:
    """Return the whole simplex over n criteria: nothing is stated."""
    if n < 1:
        raise InputError(WHAT, [Fault("criteria", "are none", str(n), "1 or more")])
    return _region(n, "any weights at all", names, order=(tuple(range(n)),))


def ordered(groups: Sequence[Sequence[int]], names: Sequence[str] = ()) -> Admissible:
    """Return the weights that respect a ranking: no criterion weighs less than one of a later group.

    Parameters
    ----------
    groups : sequence of sequence of int
        Indices of criteria, heaviest first, each once. Within a group nothing is stated.
    names : sequence of str, optional

    Raises
    ------
    InputError
        An index missing, repeated or out of range, or an empty group.
    """
    flat = [index for group in groups for index in group]
    n = len(flat)
    if n == 0 or sorted(flat) != list(range(n)) or any(not group for group in groups):
        raise InputError(
            WHAT, [Fault("ranking", "does not name every criterion once", shown(list(groups)), "each index once")]
        )
    called = _named(n, names)
    rows = []
    for above, below in pairwise(groups):
        for heavy in above:
            for light in below:
                row = np.zeros(n)
                row[heavy], row[light] = -1.0, 1.0
                rows.append((row, 0.0, f"{called[heavy]} weighs no less than {called[light]}"))
    text = " >= ".join(", ".join(called[index] for index in group) for group in groups)
    order = tuple(tuple(group) for group in groups)
    return _region(n, f"weights in the order {text}", names, rows, order=order)


def bounded(lower: Sequence[float] | Vector, upper: Sequence[float] | Vector, names: Sequence[str] = ()) -> Admissible:
    """Return the weights between bounds.

    Parameters
    ----------
    lower, upper : array (n,)
        Within 0 and 1; weights sum to 1, so bounds that no sum meets are a conflict.

    Raises
    ------
    InputError
        Bounds outside 0 to 1 or crossed (all at once), or no weights between them.
    """
    low, high = np.array(lower, dtype=float), np.array(upper, dtype=float)
    if low.ndim != 1 or low.shape != high.shape or low.size == 0:
        raise InputError(WHAT, [Fault("bounds", "are not one pair a criterion", f"{low.shape} and {high.shape}")])
    called = _named(low.size, names)
    faults = [
        Fault(f"bounds of {name}", "cannot be used", f"{a:g} to {b:g}", "lower at most upper, both within 0 and 1")
        for name, a, b in zip(called, low, high, strict=True)
        if not 0 <= a <= b <= 1
    ]
    if faults:
        raise InputError(WHAT, faults)
    text = ", ".join(f"{name} {a:.3g} to {b:.3g}" for name, a, b in zip(called, low, high, strict=True))
    return _region(low.size, f"weights between bounds: {text}", names, lower=low, upper=high).check()


def around(weights: Sequence[float] | Vector, share: float, names: Sequence[str] = ()) -> Admissible:
    """Return the weights within a share of given ones: each from w (1 - share) to w (1 + share).

    Parameters
    ----------
    weights : array (n,)
        Finite, at least 0, not all 0; brought to a sum of 1.
    share : float
        0 (these weights and no others) or more, without unit; 0.25 is a quarter.

    Raises
    ------
    InputError
        Weights or share that break this.
    """
    w = np.array(weights, dtype=float)
    if w.ndim != 1 or w.size == 0 or not np.all(np.isfinite(w)) or np.any(w < 0) or w.sum() <= 0:
        allowed = "finite, at least 0, not all 0"
        raise InputError(WHAT, [Fault("weights", "cannot be used", shown(w.tolist()), allowed)])
    if not (np.isfinite(share) and share >= 0):
        raise InputError(WHAT, [Fault("share", "cannot be used", shown(share), "a number of 0 or more")])
    w = w / w.sum()
    low, high = np.clip(w * (1 - share), 0, 1), np.clip(w * (1 + share), 0, 1)
    text = f"every weight within {100 * share:.3g} % of itself"
    return _region(w.size, text, names, lower=low, upper=high)


def fixed(weights: Sequence[float] | Vector, names: Sequence[str] = ()) -> Admissible:
    """Return the region that holds one weight vector only."""
    region = around(weights, 0.0, names)
    return _region(region.size, "exactly the given weights", names, lower=region.lower, upper=region.upper)


@dataclass(frozen=True)
class Ratio:
    """A statement that weight `over` is between `low` and `high` times weight `under`; `high` may be infinite."""

    over: int
    under: int
    low: float
    high: float


def ratios(n: int, statements: Sequence[Ratio], names: Sequence[str] = ()) -> Admissible:
    """Return the weights whose ratios lie between bounds.

    Parameters
    ----------
    n : int
        Number of criteria.
    statements : sequence of Ratio

    Raises
    ------
    InputError
        Indices or bounds that cannot be used (all at once), or statements that conflict.
    """
    faults = [
        Fault(f"ratio {place + 1}", "cannot be used", shown(entry), f"two of {n} criteria, 0 <= low <= high")
        for place, entry in enumerate(statements)
        if not (
            0 <= entry.over < n
            and 0 <= entry.under < n
            and entry.over != entry.under
            and 0 <= entry.low <= entry.high
            and np.isfinite(entry.low)
        )
    ]
    if faults:
        raise InputError(WHAT, faults)
    called = _named(n, names)
    rows = []
    for entry in statements:
        over, under = called[entry.over], called[entry.under]
        if entry.low > 0:
            row = np.zeros(n)
            row[entry.over], row[entry.under] = -1.0, entry.low
            rows.append((row, 0.0, f"{over} weighs at least {entry.low:g} times {under}"))
        if np.isfinite(entry.high):
            row = np.zeros(n)
            row[entry.over], row[entry.under] = 1.0, -entry.high
            rows.append((row, 0.0, f"{over} weighs at most {entry.high:g} times {under}"))
    return _region(n, "; ".join(text for _, _, text in rows) or "any weights at all", names, rows).check()


def both(one: Admissible, other: Admissible) -> Admissible:
    """Return the weights that two regions share.

    Raises
    ------
    InputError
        Different numbers of criteria, or no weights in common; the fault names the statements that conflict.
    """
    if one.size != other.size:
        raise InputError(WHAT, [Fault("criteria", "differ in number", str(other.size), str(one.size))])
    rows = [
        (row, float(limit), text)
        for region in (one, other)
        for row, limit, text in zip(region.a_ub, region.b_ub, region.rows, strict=True)
    ]
    return _region(
        one.size,
        f"{one.described}; {other.described}",
        one.names,
        rows,
        np.maximum(one.lower, other.lower),
        np.minimum(one.upper, other.upper),
    ).check()
