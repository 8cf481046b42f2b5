"""What is stated about weights, as one region of the simplex: contents, emptiness, and which sampler fits."""

import numpy as np
import pytest

from selector.errors import InputError
from selector.scoring.admissible import Ratio, anything, around, both, bounded, fixed, ordered, ratios


def test_a_region_holds_what_was_stated_and_nothing_else():
    order = ordered([(1,), (0, 2)])
    assert order.contains([0.2, 0.5, 0.3])
    assert order.contains([0.3, 0.4, 0.3])
    assert not order.contains([0.5, 0.3, 0.2])
    assert anything(3).contains([1, 0, 0])
    assert not anything(3).contains([0.5, 0.2, 0.2])
    assert not anything(3).contains([0.5, 0.5])
    assert not anything(2).contains([1.5, -0.5])
    near = around([2, 1, 1], 0.1)
    assert near.contains([0.55, 0.225, 0.225])
    assert not near.contains([0.56, 0.22, 0.22])
    twice = ratios(2, [Ratio(0, 1, 2, np.inf)])
    assert twice.contains([2 / 3, 1 / 3])
    assert not twice.contains([0.6, 0.4])
    capped = ratios(2, [Ratio(0, 1, 0, 3)])
    assert capped.contains([0.75, 0.25])
    assert not capped.contains([0.8, 0.2])
    assert fixed([1, 3]).contains([0.25, 0.75])
    assert not fixed([1, 3]).contains([0.26, 0.74])


@pytest.mark.parametrize(
    ("region", "sampler"),
    [
        (anything(3), "simplex"),
        (anything(1), "point"),
        (ordered([(0, 1, 2)]), "simplex"),
        (ordered([(2,), (0,), (1,)]), "ordered"),
        (ordered([(2,), (0, 1)]), "ordered"),
        (bounded([0.1, 0.2, 0], [1, 1, 1]), "lower"),
        (bounded([0.1, 0.2, 0], [0.8, 0.9, 0.7]), "lower"),
        (bounded([0, 0, 0], [1, 1, 1]), "simplex"),
        (bounded([0.1, 0.2, 0], [0.5, 1, 1]), "bounded"),
        (bounded([0.5, 0.25, 0.25], [1, 1, 1]), "point"),
        (bounded([0, 0, 0], [0.5, 0.25, 0.25]), "point"),
        (around([2, 1, 1], 0.2), "bounded"),
        (around([1, 1], 0.2), "lower"),
        (fixed([1, 1]), "point"),
        (ratios(2, [Ratio(0, 1, 1, 2)]), "mixed"),
        (both(ordered([(0,), (1,)]), bounded([0, 0.1], [1, 1])), "mixed"),
        (both(anything(2), bounded([0, 0.1], [0.7, 1])), "bounded"),
    ],
)
def test_each_region_says_which_sampler_fits(region, sampler):
    assert region.sampler == sampler


def test_statements_that_conflict_are_named_and_only_those():
    loose = bounded([0, 0, 0], [1, 1, 0.9], ("cost", "drop", "wetting"))
    with pytest.raises(InputError) as caught:
        both(
            both(loose, ordered([(0,), (1,), (2,)], ("cost", "drop", "wetting"))),
            bounded([0, 0.5, 0], [0.3, 1, 1], ("cost", "drop", "wetting")),
        )
    (fault,) = caught.value.faults
    assert "cost weighs no less than drop" in fault.value
    assert "cost weighs at most 0.3" in fault.value
    assert "drop weighs at least 0.5" in fault.value
    assert "wetting" not in fault.value


def test_bounds_that_no_sum_meets_are_named():
    with pytest.raises(InputError, match=r"criterion 1 weighs at most 0\.2; criterion 2 weighs at most 0\.3"):
        bounded([0, 0], [0.2, 0.3])
    with pytest.raises(InputError, match=r"criterion 1 weighs at least 0\.7; criterion 2 weighs at least 0\.6"):
        bounded([0.7, 0.6], [1, 1])
    with pytest.raises(InputError, match="at least 3 times"):
        both(ratios(2, [Ratio(0, 1, 3, 4)]), bounded([0, 0.5], [1, 1]))


def test_ratios_alone_that_conflict_leave_only_zero_weights():
    # w0 >= 3 w1 and w1 >= 3 w0 hold for (0, 0) only, which is no weight vector.
    with pytest.raises(InputError, match="criterion 2 weighs at least 3 times criterion 1"):
        ratios(2, [Ratio(0, 1, 3, np.inf), Ratio(1, 0, 3, np.inf)])


@pytest.mark.parametrize(
    "make",
    [
        lambda: anything(0),
        lambda: ordered([]),
        lambda: ordered([(0,), (0,)]),
        lambda: ordered([(0,), ()]),
        lambda: ordered([(0,), (2,)]),
        lambda: bounded([0.5], [0.4]),
        lambda: bounded([-0.1, 0], [1, 1]),
        lambda: bounded([np.nan, 0], [1, 1]),
        lambda: bounded([0, 0], [1]),
        lambda: around([1, -1], 0.1),
        lambda: around([0, 0], 0.1),
        lambda: around([1, 1], -0.1),
        lambda: around([1, 1], np.nan),
        lambda: ratios(2, [Ratio(0, 0, 1, 2)]),
        lambda: ratios(2, [Ratio(0, 2, 1, 2)]),
        lambda: ratios(2, [Ratio(0, 1, 3, 2)]),
        lambda: both(anything(2), anything(3)),
    ],
)
def test_what_cannot_be_a_region_is_refused(make):
    with pytest.raises(InputError):
        make()
