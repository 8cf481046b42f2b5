"""Anchored additive values and swing weights against worked examples.

Sources stand beside each check; figures derived from a principle of the literature say so.
"""

import numpy as np
import pytest

from selector.scoring.ranking import accumulated, competition_ranks, normalised
from selector.scoring.values import worth


def test_swing_points_to_weights():
    """Procedure of swing weighting as in the decision-analysis textbook of 1986; numbers by exact fractions."""
    assert normalised([100, 80, 40, 20, 10]) == pytest.approx([0.4, 0.32, 0.16, 0.08, 0.04], abs=1e-15)


MATRIX = [(200.0, 10.0), (206.0, 11.0), (230.0, 15.0)]


def table(first, second):
    return np.array([[worth(a, first), worth(b, second)] for a, b in MATRIX])


@pytest.mark.parametrize(
    ("heat", "points", "scores", "ranks"),
    [
        (((160, 100), (240, 0)), [1, 1], [37.5, 36.25, 31.25], [1, 2, 3]),
        (((160, 100), (320, 0)), [2, 1], [58.3333333, 57.5, 54.1666667], [1, 2, 3]),
        # The old weights on the wider range: the order turns over, which is why a moved anchor makes a weight stale.
        (((160, 100), (320, 0)), [1, 1], [50.0, 50.625, 53.125], [3, 2, 1]),
    ],
)
def test_weights_follow_the_anchor_range(heat, points, scores, ranks):
    """Principle: trade-offs with multiple objectives (textbook, 1976); range sensitivity (Management Science 1993)."""
    found = accumulated(table(heat, ((5, 0), (25, 100))), normalised(points))
    assert found == pytest.approx(scores, abs=1e-6)
    assert list(competition_ranks(found)) == ranks


def test_no_rank_reversal_with_anchors():
    """Data of Omega 11(3), 1983, pages 228-230: a copy of the winner turns the order of ratio scales."""
    matrix = np.array([[1, 9, 8], [9, 1, 9], [1, 1, 1], [9, 1, 9]], dtype=float)
    values = np.array([[worth(v, ((1, 0), (9, 100))) for v in row] for row in matrix])
    weights = normalised([1, 1, 1])
    before, after = accumulated(values[:3], weights), accumulated(values, weights)
    assert before == pytest.approx([62.5, 66.6666667, 0], abs=1e-6)
    assert after[:3].tobytes() == before.tobytes()
    assert list(competition_ranks(after)) == [3, 1, 4, 1]
