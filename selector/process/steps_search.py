"""The enumeration behind the steps planner: every assignment, grown step by step in arrays, exactly.

A row that cannot hold even at the favourable ends of its intervals is dropped as soon as that is seen; nothing else is.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int32]
BoolArray = NDArray[np.bool_]
Ends = tuple[FloatArray, FloatArray]
CELLS = 2_000_000
DECIMALS = 6  # far below any measurement, so that a tie in decimal is a tie here


@dataclass(frozen=True)
class Rules:
    """The least remelt margin, K, how many assignments are held at most, and whether only certain ones are."""

    margin_k: float
    most: int
    certain_only: bool = False


@dataclass(frozen=True)
class Search:
    """The problem as arrays over the pool of candidates.

    Parameters
    ----------
    allowed : tuple of array of int
        Candidates of each step.
    limits : tuple of float
        Lowest known limit of each step, degC; infinite where none.
    limit_open : tuple of bool
        Whether a step has a limit that is not known.
    process : tuple of (array, array)
        Peak of each candidate in each step, ends in degC.
    rework, onset : (array, array)
        What rework must melt, and the remelt onset; ends in degC.
    rise_k : tuple of float
        Superheat and spread of each step.
    reworks : tuple of int
        The step that each reworks; -1 for none.
    same_metal : tuple of bool
        Rework with the metal that is there.
    may_remelt : tuple of frozenset of int
    meets : tuple of frozenset of int or None
    stops, doubts : (candidates, candidates) array of bool
        Metals that must not meet, and those whose meeting leaves a question.
    mixed : (array, array)
        Onset of a joint reworked with another alloy, (joint, metal) ends in degC.
    """

    allowed: tuple[IntArray, ...]
    limits: tuple[float, ...]
    limit_open: tuple[bool, ...]
    process: tuple[Ends, ...]
    rework: Ends
    onset: Ends
    rise_k: tuple[float, ...]
    reworks: tuple[int, ...]
    same_metal: tuple[bool, ...]
    may_remelt: tuple[frozenset[int], ...]
    meets: tuple[frozenset[int] | None, ...]
    stops: BoolArray
    doubts: BoolArray
    mixed: Ends


@dataclass(frozen=True)
class Found:
    """Assignments, whether each surely holds, its slack and tightest remelt margin, and its peaks, pessimistic ends.

    Parameters
    ----------
    rows : (assignments, steps) array of int
    sure : (assignments,) array of bool
    slack_k, remelt_k : (assignments,) array
    peaks_c : (assignments, steps) array
    """

    rows: IntArray
    sure: BoolArray
    slack_k: FloatArray
    remelt_k: FloatArray
    peaks_c: FloatArray


@dataclass(frozen=True)
class _Grown:
    """Assignments of the first steps; `low` and `high` are the present onset of every joint made so far."""

    rows: IntArray
    sure: BoolArray
    slack_k: FloatArray
    remelt_k: FloatArray
    peaks_c: FloatArray
    low: FloatArray
    high: FloatArray

    def part(self, start: int, end: int) -> "_Grown":
        return _Grown(*(getattr(self, name)[start:end] for name in self.__dataclass_fields__))


def enumerate_assignments(search: Search, rules: Rules) -> Found:
    """Return every assignment that holds, or may hold.

    Raises
    ------
    InputError
        More of them than `rules.most`.
    """
    one = np.ones(1)
    grown = _Grown(
        np.zeros((1, 0), dtype=np.int32),
        np.ones(1, dtype=bool),
        one * np.inf,
        one * np.inf,
        np.zeros((1, 0)),
        np.zeros((1, 0)),
        np.zeros((1, 0)),
    )
    for step, allowed in enumerate(search.allowed):
        block = max(1, CELLS // max(1, len(allowed)))
        parts, total = [], 0
        for start in range(0, len(grown.rows), block):
            parts.append(_grow(search, rules, grown.part(start, start + block), step))
            total += len(parts[-1].rows)
            if total > rules.most:
                told = f"over {rules.most:,} after step {step + 1}"
                remedy = "allow fewer alloys a step, or state the limits and onsets that are not known"
                raise InputError(
                    "the soldering steps", [Fault("candidates", "give too many assignments", told, remedy=remedy)]
                )
        if not parts:
            parts = [_grow(search, rules, grown, step)]
        grown = _Grown(*(np.concatenate([getattr(p, name) for p in parts]) for name in _Grown.__dataclass_fields__))
    return Found(grown.rows, grown.sure, grown.slack_k, grown.remelt_k, grown.peaks_c)


def _grow(search: Search, rules: Rules, held: _Grown, step: int) -> _Grown:
    pick = search.allowed[step]
    count = len(held.rows)
    low, high = _peaks(search, held, step)
    limit = search.limits[step]
    room = np.round(limit - high, DECIMALS) if np.isfinite(limit) else np.full(high.shape, np.inf)
    sure = held.sure[:, None] & (room >= 0) & ~np.array(search.limit_open[step])
    maybe = np.round(limit - low, DECIMALS) >= 0
    sure, maybe = np.broadcast_to(sure, (count, len(pick))).copy(), np.broadcast_to(maybe, (count, len(pick))).copy()
    slack = np.minimum(held.slack_k[:, None], room)
    remelt = np.broadcast_to(held.remelt_k[:, None], (count, len(pick))).copy()
    reworked = search.reworks[step]
    if search.same_metal[step]:
        maybe &= held.rows[:, reworked, None] == pick
    for joint in range(held.rows.shape[1]):
        stops = search.stops[held.rows[:, joint, None], pick]
        doubts = search.doubts[held.rows[:, joint, None], pick]
        touching = search.meets[step]
        if touching is None and joint != reworked:
            sure &= ~(stops | doubts)
        elif joint == reworked or (touching is not None and joint in touching):
            maybe &= ~stops
            sure &= ~doubts
        if joint == reworked or joint in search.may_remelt[step] or search.reworks[joint] >= 0:
            # A rework leaves no joint of its own: the onset of the joint that it mended was taken down with it.
            continue
        margin = np.round(held.low[:, joint, None] - high, DECIMALS)
        sure &= margin >= rules.margin_k
        maybe &= np.round(held.high[:, joint, None] - low, DECIMALS) >= rules.margin_k
        remelt = np.minimum(remelt, margin)
        slack = np.minimum(slack, margin - rules.margin_k)
    rows, cols = np.nonzero(sure & maybe if rules.certain_only else maybe)
    chosen = pick[cols]
    new_low = np.concatenate([held.low[rows], search.onset[0][chosen, None]], axis=1)
    new_high = np.concatenate([held.high[rows], search.onset[1][chosen, None]], axis=1)
    if reworked >= 0:
        joint_metal = held.rows[rows, reworked]
        new_low[:, reworked] = np.minimum(new_low[:, reworked], search.mixed[0][joint_metal, chosen])
        new_high[:, reworked] = np.minimum(new_high[:, reworked], search.mixed[1][joint_metal, chosen])
    wide = np.broadcast_to(high, (count, len(pick)))
    return _Grown(
        np.concatenate([held.rows[rows], chosen[:, None]], axis=1).astype(np.int32),
        (sure & maybe)[rows, cols],
        np.broadcast_to(slack, (count, len(pick)))[rows, cols],
        remelt[rows, cols],
        np.concatenate([held.peaks_c[rows], wide[rows, cols][:, None]], axis=1),
        new_low,
        new_high,
    )


def _peaks(search: Search, held: _Grown, step: int) -> Ends:
    """Return the peak of every candidate, (1 or rows, candidates) ends; rework melts the joint and the metal."""
    pick, reworked = search.allowed[step], search.reworks[step]
    low, high = search.process[step][0][pick][None, :], search.process[step][1][pick][None, :]
    if reworked < 0:
        return low, high
    there = held.rows[:, reworked, None]
    rise = search.rise_k[step]
    joint_low, joint_high = search.rework[0][there] + rise, search.rework[1][there] + rise
    own_low, own_high = search.rework[0][pick][None, :] + rise, search.rework[1][pick][None, :] + rise
    return np.maximum(joint_low, own_low), np.maximum(joint_high, own_high)


def relaxed(search: Search, shift_k: float) -> Search:
    """Return the problem with every known limit raised by as much."""
    return replace(search, limits=tuple(limit + shift_k for limit in search.limits))


def without_limit(search: Search, step: int) -> Search:
    """Return the problem with the limits of one step lifted, known and unknown ones."""
    limits = tuple(np.inf if number == step else limit for number, limit in enumerate(search.limits))
    is_open = tuple(number != step and value for number, value in enumerate(search.limit_open))
    return replace(search, limits=limits, limit_open=is_open)
