"""A walk through any region of weights that linear statements leave: uniform in the long run, and says how long.

From the middle of the largest ball inside, many walkers each choose a direction in which the weights keep their sum,
and a point on the chord that the statements leave. Neighbouring stops of one walker resemble each other, so draws are
worth less than independent ones; how much less is measured and returned.
Source: hit-and-run for weights, two papers of 2013 and 2014 in the European Journal of Operational Research, of which
the abstracts were read; the start from the middle is the later one's correction of the earlier.
"""

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.admissible import WHAT, Admissible
from selector.scoring.samplers import Sampler, fixed
from selector.scoring.streams import BLOCK, WEIGHTS, stream
from selector.scoring.support import solved

Matrix = NDArray[np.float64]
WALKERS = 128
STOPS = BLOCK // WALKERS
STEPS_PER_DIMENSION = 5
WARM_UP_PER_DIMENSION = 25
FLAT = 1e-9  # a region thinner than this, in weight, has no width in that direction


def walked(region: Admissible, statement: str, notes: tuple[str, ...] = ()) -> Sampler:
    """Return the sampler that walks through a region.

    Parameters
    ----------
    region : Admissible
        Any; a region flat in some direction (a ratio stated exactly, say) is walked in the directions left.
    statement : str
        What the region says, in words.
    notes : tuple of str
        Why another way was not taken.

    Returns
    -------
    Sampler
        With `lag_one` and `effective` measured on the first block of a trial run.

    Raises
    ------
    InputError
        A region that holds no weights.
    """
    normals, limits = _faces(region)
    middle, basis = middle_of(normals, limits, region.size)
    if basis.shape[1] == 0:
        return fixed(np.clip(middle, 0, None))
    slack = limits - normals @ middle
    turned = normals @ basis
    facing = np.linalg.norm(turned, axis=1) > FLAT
    turned, slack = turned[facing], np.maximum(slack[facing], 0)
    directions = basis.shape[1]
    thin, warm_up = STEPS_PER_DIMENSION * (directions + 1), WARM_UP_PER_DIMENSION * (directions + 1)

    def drawn(seed: int, block: int) -> Matrix:
        generator = stream(seed, WEIGHTS, block)
        at, room = np.zeros((WALKERS, directions)), np.tile(slack, (WALKERS, 1))
        stops = []
        for stop in range(STOPS):
            for _ in range(warm_up + thin if stop == 0 else thin):
                heading = generator.standard_normal((WALKERS, directions))
                speed = heading @ turned.T
                with np.errstate(divide="ignore", invalid="ignore"):
                    reach = room / speed
                ahead = np.where(speed > 0, reach, np.inf).min(axis=1)
                behind = np.where(speed < 0, reach, -np.inf).max(axis=1)
                step = (behind + (ahead - behind) * generator.random(WALKERS))[:, None]
                at += step * heading
                room = np.maximum(room - step * speed, 0)
            room = np.maximum(slack - at @ turned.T, 0)  # rounding does not add up
            stops.append(middle + at @ basis.T)
        found = np.clip(np.concatenate(stops), 0, None)
        return np.asarray(found / found.sum(axis=1, keepdims=True))

    lag_one = _lag_one(drawn(0, 0).reshape(STOPS, WALKERS, region.size))
    effective = float(np.clip((1 - lag_one) / (1 + lag_one), 0.01, 1.0))
    method = f"a walk: {WALKERS} walkers a block, {warm_up} steps to warm up, every {thin}th step kept"
    said = (
        f"Neighbouring stops of a walker correlate by {lag_one:.2f}: a draw is worth {effective:.2f} independent ones."
    )
    return Sampler(region.size, method, statement, drawn, effective, lag_one, (*notes, said))


def _faces(region: Admissible) -> tuple[Matrix, Matrix]:
    """Return every statement as rows `normals @ w <= limits`."""
    n = region.size
    capped = region.upper < 1
    normals = np.vstack([region.a_ub, -np.eye(n), np.eye(n)[capped]])
    return normals, np.concatenate([region.b_ub, -region.lower, region.upper[capped]])


def middle_of(normals: Matrix, limits: Matrix, n: int) -> tuple[Matrix, Matrix]:
    """Return the middle of the largest ball inside the region, and the directions in which the region has width.

    Parameters
    ----------
    normals, limits : array (k, n), array (k,)
        `normals @ w <= limits`, beside weights that sum to 1.
    n : int

    Returns
    -------
    array (n,)
    array (n, d)
        Orthonormal; d is 0 where the region is a point.

    Raises
    ------
    InputError
        No weights meet the statements.
    """
    from scipy.linalg import null_space

    basis = np.asarray(null_space(np.ones((1, n))), dtype=float).reshape(n, n - 1)
    middle, radius = _ball(normals, limits, basis)
    if radius > FLAT:
        return middle, basis
    # Flat: what no weights can meet with room to spare is an equation.
    equations = [np.ones(n)]
    for row, limit in zip(normals, limits, strict=True):
        if limit - _least(row, normals, limits) <= FLAT:
            equations.append(row)
    basis = np.asarray(null_space(np.array(equations), rcond=1e-9), dtype=float).reshape(n, -1)
    middle, _ = _ball(normals, limits, basis)
    return middle, basis


def _ball(normals: Matrix, limits: Matrix, basis: Matrix) -> tuple[Matrix, float]:
    """Return centre and radius of the largest ball, within the directions of `basis`, inside the region."""
    from scipy.optimize import linprog

    n = normals.shape[1]
    widths = np.linalg.norm(normals @ basis, axis=1)
    widths[widths < 1e-9] = 0.0
    answer = linprog(
        np.r_[np.zeros(n), -1.0],
        A_ub=np.column_stack([normals, widths]),
        b_ub=limits,
        A_eq=np.r_[np.ones(n), 0.0][None, :],
        b_eq=[1.0],
        bounds=[(None, None)] * n + [(0, 1)],
        method="highs",
    )
    if answer.status != 0:
        raise InputError(WHAT, [Fault("weights that sum to 1", "cannot meet the statements together")])
    return np.asarray(answer.x[:n], dtype=float), float(answer.x[n])


def _least(row: Matrix, normals: Matrix, limits: Matrix) -> float:
    """Return the least value of `row @ w` in the region."""
    from scipy.optimize import linprog

    n = normals.shape[1]
    answer = linprog(
        row, A_ub=normals, b_ub=limits, A_eq=np.ones((1, n)), b_eq=[1.0], bounds=[(None, None)] * n, method="highs"
    )
    solved(answer)
    return float(answer.fun)


def _lag_one(stops: Matrix) -> float:
    """Return the correlation of neighbouring stops, shape (stops, walkers, n), in the worst criterion, at least 0."""
    apart = stops - stops.mean(axis=(0, 1))
    spread = (apart**2).mean(axis=(0, 1))
    together = (apart[1:] * apart[:-1]).mean(axis=(0, 1))
    told = spread > FLAT**2
    return float(np.max(together[told] / spread[told], initial=0.0))
