"""Weights from judgements of pairs, two derivations side by side, with the consistency of the judgements.

A judgement a_ij says how many times as much the step from worst to best of criterion i matters as that of j; a_ji = 1 /
a_ij. The principal eigenvector and the geometric mean of the rows agree where a_ij a_jk = a_ik throughout. Consistency
index CI = (lambda_max - n) / (n - 1); the ratio CR = CI / RI compares it with random judgements, and depends on whose
table of RI is used, so the table is named. Consistent does not mean right.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType

import numpy as np

from selector.errors import Fault, InputError
from selector.scoring.admissible import Vector
from selector.scoring.ranking import Matrix

WHAT = "the judgements of pairs"
LARGEST_JUDGEMENT = 9.0  # custom of the method
CLOSE = 1e-6
ENOUGH = 0.1  # customary limit of the consistency ratio

# Mean consistency index of random judgements on the scale 1/9 to 9. Memory; 3 to 10 also in public code, and confirmed
# by simulation here to 0.003 (alonso-lamata) and 0.06 (saaty, a small sample of its day).
RANDOM_INDEX: Mapping[str, Mapping[int, float]] = MappingProxyType(
    {
        "saaty": MappingProxyType(
            {3: 0.58, 4: 0.90, 5: 1.12, 6: 1.24, 7: 1.32, 8: 1.41, 9: 1.45, 10: 1.49},
        ),
        "alonso-lamata": MappingProxyType(
            {
                3: 0.5245,
                4: 0.8815,
                5: 1.1086,
                6: 1.2479,
                7: 1.3417,
                8: 1.4056,
                9: 1.4499,
                10: 1.4854,
                11: 1.5141,
                12: 1.5365,
                13: 1.5551,
                14: 1.5713,
                15: 1.5838,
            }
        ),
    }
)
SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "saaty": "The Analytic Hierarchy Process (1980)",
        "alonso-lamata": "IJUFKS 14(4), 445-459 (2006)",
    }
)


@dataclass(frozen=True)
class Triad:
    """Three criteria whose judgements do not fit together: i over j and j over k imply another i over k than was said.

    Parameters
    ----------
    i, j, k : int
    said, implied : float
        a_ik and a_ij a_jk.
    """

    i: int
    j: int
    k: int
    said: float
    implied: float

    @property
    def factor(self) -> float:
        """Return by what factor, 1 or more, the two differ."""
        return max(self.said / self.implied, self.implied / self.said)


@dataclass(frozen=True, eq=False)
class Judged:
    """Weights from pairs and what there is to say about the judgements.

    Parameters
    ----------
    eigenvector, geometric : array (n,)
        Each sums to 1.
    lambda_max, index : float
        Principal eigenvalue and consistency index.
    ratio : float
        Consistency ratio under `table`; 0 for one or two criteria, which cannot contradict themselves.
    table : str
        Name of the random-index table.
    triads : tuple of Triad
        Those that do not fit, worst first.
    """

    eigenvector: Vector
    geometric: Vector
    lambda_max: float
    index: float
    ratio: float
    table: str
    triads: tuple[Triad, ...]

    @property
    def consistent(self) -> bool:
        """Return whether the ratio keeps under the customary 0.1; this does not make the judgements right."""
        return self.ratio < ENOUGH


def matrix_of(n: int, said: Mapping[tuple[int, int], float], names: Sequence[str]) -> Matrix:
    """Return the whole matrix of judgements, (n, n), from one judgement a pair.

    Parameters
    ----------
    n : int
    said : mapping of (i, j) to float
        How many times as much i matters as j: above 0, at most 9 either way.
    names : sequence of n str

    Raises
    ------
    InputError
        Judgements out of range, and pairs that are missing or judged twice; all at once.
    """
    matrix = np.eye(n)
    faults = []
    for (i, j), times in said.items():
        where = f"{names[i]} over {names[j]}"
        if i == j or ((j, i) in said and i > j):
            faults.append(Fault(where, "is judged against itself" if i == j else "is judged twice", f"{times:g}"))
        elif not (np.isfinite(times) and 1 / LARGEST_JUDGEMENT - CLOSE <= times <= LARGEST_JUDGEMENT + CLOSE):
            faults.append(Fault(where, "is no judgement", f"{times:g}", "1/9 to 9 times"))
        else:
            matrix[i, j], matrix[j, i] = times, 1 / times
    for i, j in combinations(range(n), 2):
        if (i, j) not in said and (j, i) not in said:
            faults.append(Fault(f"{names[i]} over {names[j]}", "was not judged", allowed="every pair once"))
    if faults:
        raise InputError(WHAT, faults)
    return matrix


def judged(matrix: Matrix | Sequence[Sequence[float]], table: str = "alonso-lamata") -> Judged:
    """Return weights by eigenvector and by geometric mean, with consistency under a named table.

    Parameters
    ----------
    matrix : array (n, n)
        Positive and reciprocal.
    table : {"alonso-lamata", "saaty"}

    Raises
    ------
    InputError
        A matrix that is not square, positive and reciprocal; a table not known; more criteria than the table goes to.
    """
    a = np.asarray(matrix, dtype=float)
    n = len(a) if a.ndim == 2 else 0
    faults = []
    if a.shape != (n, n) or n == 0 or not np.all(np.isfinite(a)) or np.any(a <= 0):
        faults.append(Fault("judgements", "are no square table of positive numbers", str(a.shape)))
    elif not np.allclose(a * a.T, 1.0, atol=CLOSE, rtol=0):
        i, j = np.unravel_index(int(np.argmax(np.abs(a * a.T - 1))), a.shape)
        text = f"{a[i, j]:g} and {a[j, i]:g}"
        faults.append(Fault(f"judgements {i + 1} over {j + 1}", "and the reverse do not fit", text, "reciprocals"))
    if table not in RANDOM_INDEX:
        faults.append(Fault("random index", "is not a known table", table, ", ".join(RANDOM_INDEX)))
    elif n > 2 and n not in RANDOM_INDEX[table]:
        most = max(RANDOM_INDEX[table])
        remedy = "judge fewer criteria, or ask for swing points"
        faults.append(Fault(f"random index {table}", "does not go so far", f"{n} criteria", f"at most {most}", remedy))
    if faults:
        raise InputError(WHAT, faults)
    values, vectors = np.linalg.eig(a)
    first = int(np.argmax(values.real))
    vector = np.abs(vectors[:, first].real)
    largest = float(values[first].real)
    geometric = np.exp(np.log(a).mean(axis=1))
    index = 0.0 if n < 3 else max(0.0, (largest - n) / (n - 1))
    ratio = 0.0 if n < 3 else index / RANDOM_INDEX[table][n]
    return Judged(vector / vector.sum(), geometric / geometric.sum(), largest, index, ratio, table, _triads(a))


def _triads(a: Matrix) -> tuple[Triad, ...]:
    found = [Triad(i, j, k, float(a[i, k]), float(a[i, j] * a[j, k])) for i, j, k in combinations(range(len(a)), 3)]
    # Rounded, so that the order of equals does not hang on the last bit.
    return tuple(sorted((t for t in found if t.factor > 1 + CLOSE), key=lambda t: (-round(t.factor, 9), t.i, t.j, t.k)))
