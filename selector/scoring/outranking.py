"""PROMETHEE II: preference flows with thresholds, written out here because no library kept offers them.

Source: European Journal of Operational Research 24 (1986) 228-238 for the six shapes of preference.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.scoring.gate import WHAT, decision_matrix
from selector.scoring.ranking import TIE
from selector.scoring.second_opinions import Numbers, SecondOpinion, Table, opinion

Matrix = NDArray[np.float64]
SHAPES = ("usual", "u-shape", "v-shape", "level", "linear", "gaussian")


@dataclass(frozen=True)
class Preferring:
    """How a lead on one criterion becomes a preference from 0 to 1.

    Parameters
    ----------
    shape : {"usual", "u-shape", "v-shape", "level", "linear", "gaussian"}
        usual: any lead counts fully. u-shape: a lead above `indifference` does. v-shape: rises in a straight line to
        `preference`. level: half between the two, full above. linear: rises between the two. gaussian:
        1 - exp(-lead^2 / (2 preference^2)).
    indifference, preference : float
        In the criterion's unit, at least 0; `preference` above `indifference` where the shape uses it.
    """

    shape: str = "usual"
    indifference: float = 0.0
    preference: float = 0.0

    def of(self, lead: Matrix) -> Matrix:
        """Return the preference for each lead; none where it is not above 0."""
        q, p = self.indifference, self.preference
        if self.shape == "usual":
            found = (lead > 0).astype(float)
        elif self.shape == "u-shape":
            found = (lead > q).astype(float)
        elif self.shape == "level":
            found = np.where(lead > p, 1.0, np.where(lead > q, 0.5, 0.0))
        elif self.shape == "gaussian":
            found = np.where(lead > 0, 1 - np.exp(-(lead**2) / (2 * p**2)), 0.0)
        else:
            start = q if self.shape == "linear" else 0.0
            found = np.clip((lead - start) / (p - start), 0.0, 1.0)
        return np.asarray(found, dtype=float)

    def fault(self, where: str) -> Fault | None:
        """Return what is wrong with it."""
        needs = self.shape in ("v-shape", "level", "linear", "gaussian")
        start = self.indifference if self.shape in ("level", "linear") else 0.0
        numbers = np.isfinite([self.indifference, self.preference]).all() and self.indifference >= 0
        if self.shape in SHAPES and numbers and (not needs or self.preference > start):
            return None
        return Fault(where, "cannot be used", shown(self), "a known shape; 0 <= indifference < preference")


@dataclass(frozen=True, eq=False)
class Flows:
    """How strongly each alternative is preferred to the others (`leaving`), they to it (`entering`), and the net.

    Arrays of shape (m,); `leaving` and `entering` from 0 to 1, `net` from -1 to 1.
    """

    leaving: Matrix
    entering: Matrix

    @property
    def net(self) -> Matrix:
        """Return leaving less entering."""
        return self.leaving - self.entering


def flows(values: Matrix, weights: Matrix, directions: Sequence[str], preferring: Sequence[Preferring]) -> Flows:
    """Return the preference flows, one criterion after another; no array of pairs by criteria is made.

    Parameters
    ----------
    values : array (m, n)
        Finite, m at least 2.
    weights : array (n,)
        Sum to 1.
    directions : sequence of {"higher", "lower"}
    preferring : sequence of Preferring
    """
    count = len(values)
    preference = np.zeros((count, count))
    for column, (direction, how) in enumerate(zip(directions, preferring, strict=True)):
        levels = values[:, column] if direction == "higher" else -values[:, column]
        lead = levels[:, None] - levels[None, :]
        # A difference that is only rounding is no lead.
        lead[np.abs(lead) <= TIE * np.abs(levels).max()] = 0.0
        preference += weights[column] * how.of(lead)
    return Flows(preference.sum(axis=1) / (count - 1), preference.sum(axis=0) / (count - 1))


def promethee(
    values: Table,
    alternatives: Sequence[str],
    criteria: Sequence[str],
    weights: Numbers,
    directions: Sequence[str],
    preferring: Sequence[Preferring] | None = None,
) -> SecondOpinion:
    """Return the order by PROMETHEE II: net flow of preference over all pairs.

    A cost is turned round by its sign, never by 1/x, which would change the preferences.

    Parameters
    ----------
    values, alternatives, criteria, weights, directions
        Raw values in their own units, as `gate.decision_matrix` takes them.
    preferring : sequence of Preferring, length n, optional
        "usual" throughout where left out: every lead counts fully.

    Returns
    -------
    SecondOpinion
        Scores are net flows, -1 to 1.

    Raises
    ------
    InputError
        What the gate refuses, or thresholds that cannot be used.
    """
    matrix = decision_matrix(values, alternatives, criteria, weights, directions)
    how = [Preferring()] * len(list(criteria)) if preferring is None else list(preferring)
    faults = [each.fault(f"preference on {shown(name)}") for name, each in zip(criteria, how, strict=False)]
    told = [fault for fault in faults if fault]
    if len(how) != len(list(criteria)):
        told.append(Fault("preferences", "are not one a criterion", str(len(how)), str(len(list(criteria)))))
    if told:
        raise InputError(WHAT, told)
    net = flows(matrix.matrix.to_numpy(), matrix.weights.to_numpy(), directions, how).net
    shapes = sorted({each.shape for each in how})
    note = f"Net flow of preference ({', '.join(shapes)}): higher is better."
    return opinion("PROMETHEE II", "PROMETHEE II, relative to this list", alternatives, net, net, note)
