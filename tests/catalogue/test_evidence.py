"""The rule that turns observations into one value with an interval, on cases worked by hand."""

import random
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.catalogue.evidence import GRADES, ORIGINS, Observation, choose, computed, nothing

STANDINGS = ("usable", "not comparable", "implausible")


def row(
    id: str,
    value: float | None = None,
    *,
    low: float | None = None,
    high: float | None = None,
    origin: str = "tabulated",
    grade: str = "medium",
    standing: str = "usable",
) -> Observation:
    reason = "" if standing == "usable" else "a reason"
    return Observation(
        id, "Sn", "tensile_mpa", value, low, high, "MPa", "", "", f"source-{id}", origin, grade, standing, reason
    )


def chosen(*rows: Observation) -> tuple[str | None, float | None, float | None, float | None]:
    entry = choose("tensile_mpa", "MPa", rows)
    return entry.chosen.id if entry.chosen else None, entry.value, entry.low, entry.high


@pytest.mark.parametrize(
    ("value", "low", "high", "told"),
    [
        (-5, -10, 0, "-5 (-10 to 0)"),  # an end of 0 is an end
        (5, 0, 10, "5 (0 to 10)"),
        (5, None, None, "5"),
        (5, None, 7, "5 (5 to 7)"),
        (None, 3, 4, "3 to 4"),
        (None, None, 41, "at most 41"),
        (None, None, 0, "at most 0"),
        (None, 0, None, "at least 0"),
        (None, None, None, "unknown"),
    ],
)
def test_a_row_is_told_with_the_ends_that_it_states(value, low, high, told):
    assert row("a", value, low=low, high=high).told == told


def test_grade_beats_origin():
    rows = (row("a", 30, origin="measured", grade="low"), row("b", 40, origin="memory", grade="medium"))
    assert chosen(*rows) == ("b", 40, 30, 40)


@pytest.mark.parametrize(("better", "worse"), list(pairwise(GRADES)))
def test_a_better_grade_wins(better, worse):
    assert chosen(row("a", 30, grade=worse), row("b", 40, grade=better)) == ("b", 40, 30, 40)


@pytest.mark.parametrize(("better", "worse"), list(pairwise(ORIGINS)))
def test_among_equal_grades_the_better_origin_wins(better, worse):
    assert chosen(row("a", 30, origin=worse), row("b", 40, origin=better)) == ("b", 40, 30, 40)


def test_the_order_of_origins_is_measured_tabulated_computed_memory():
    assert ORIGINS == ("measured", "tabulated", "computed", "memory")
    assert GRADES == ("high", "medium", "low")


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ((10, 20, 60), 20),  # the median is a figure of its own
        ((10, 20, 30, 100), 20),  # median 25: 20 and 30 are as near, the lower is taken
        ((10, 24, 30, 100), 24),  # median 27, 3 from either
        ((10, 20, 29, 100), 20),  # median 24.5
        ((5, 5, 80), 5),
        ((40, 38), 38),  # of two, the lower
        ((0, -4, 8), 0),
    ],
)
def test_among_equals_the_figure_nearest_the_median_is_chosen_and_nothing_is_averaged(values, expected):
    rows = [row(f"r{index}", value) for index, value in enumerate(values)]
    _, value, low, high = chosen(*rows)
    assert (value, low, high) == (expected, min(values), max(values))
    assert value in values


def test_equal_figures_go_by_the_lowest_id():
    assert chosen(row("b", 30), row("a", 30), row("c", 30))[0] == "a"


def test_the_median_is_of_equals_only_while_the_interval_covers_every_usable_row():
    rows = (
        row("a", 30, grade="high"),
        row("b", 32, grade="high"),
        row("c", 35, grade="high"),
        row("d", 90, grade="low"),
        row("e", 45, low=12, high=50, grade="medium"),
        row("f", low=95, high=99, grade="low"),
        row("g", 500, grade="high", standing="implausible"),
        row("h", 1, grade="high", standing="not comparable"),
    )
    assert chosen(*rows) == ("b", 32, 12, 99)


@pytest.mark.parametrize("standing", ["implausible", "not comparable"])
def test_a_row_set_aside_is_kept_as_candidate_and_never_chosen(standing):
    bad = row("a", 999, origin="measured", grade="high", standing=standing)
    entry = choose("tensile_mpa", "MPa", (bad, row("b", 30, origin="memory", grade="low")))
    assert (entry.value, entry.interval, entry.source) == (30, (30, 30), "source-b")
    assert bad in entry.candidates
    alone = choose("tensile_mpa", "MPa", (bad,))
    assert (alone.value, alone.interval, alone.chosen, alone.grade) == (None, None, None, "none")
    assert alone.candidates == (bad,)


def test_rows_with_ends_and_no_figure_give_an_interval_without_a_value():
    entry = choose("tensile_mpa", "MPa", (row("a", low=20, high=30), row("b", high=45, grade="high"), row("c", low=8)))
    assert (entry.value, entry.interval) == (None, (8, 45))
    assert entry.chosen is not None
    assert entry.chosen.id == "b"


def test_a_figure_of_a_lower_grade_beats_ends_without_a_figure():
    assert chosen(row("a", low=20, high=30, grade="high"), row("b", 50, grade="low")) == ("b", 50, 20, 50)


def test_nothing_gives_nothing():
    entry = choose("tensile_mpa", "MPa", ())
    assert (entry.value, entry.interval, entry.chosen, entry.candidates) == (None, None, None, ())
    assert entry == nothing("tensile_mpa", "MPa")
    assert choose("tensile_mpa", "MPa", (row("a"),)).value is None  # usable, yet without a figure


FIGURES = st.one_of(st.none(), st.integers(-50, 50).map(float))
OBSERVATIONS = st.lists(
    st.builds(
        lambda value, low, high, origin, grade, standing: row(
            "", value, low=low, high=high, origin=origin, grade=grade, standing=standing
        ),
        FIGURES,
        FIGURES,
        FIGURES,
        st.sampled_from(ORIGINS),
        st.sampled_from(GRADES),
        st.sampled_from(STANDINGS),
    ),
    max_size=8,
).map(lambda rows: [replace(entry, id=f"o{index:02d}") for index, entry in enumerate(rows)])


@given(OBSERVATIONS, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_nothing(rows: list[Observation], shuffler: random.Random):
    shuffled = rows.copy()
    shuffler.shuffle(shuffled)
    assert choose("tensile_mpa", "MPa", shuffled) == choose("tensile_mpa", "MPa", rows)


@given(OBSERVATIONS)
def test_what_always_holds(rows: list[Observation]):
    entry = choose("tensile_mpa", "MPa", rows)
    usable = [one for one in rows if one.standing == "usable" and one.figures]
    assert sorted(entry.candidates, key=lambda one: one.id) == rows
    one_sided = not any(one.value is not None for one in usable) and not (
        any(one.low is not None for one in usable) and any(one.high is not None for one in usable)
    )
    assert (entry.chosen is None) == one_sided == (entry.interval is None)
    if entry.chosen is None or entry.interval is None:
        return
    assert entry.chosen in usable
    assert entry.value == entry.chosen.value
    assert entry.interval == (
        min(f for one in usable for f in one.figures),
        max(f for one in usable for f in one.figures),
    )
    if entry.value is not None:
        assert entry.interval[0] <= entry.value <= entry.interval[1]
        ranks = [(GRADES.index(one.grade), ORIGINS.index(one.origin)) for one in usable if one.value is not None]
        assert (GRADES.index(entry.grade), ORIGINS.index(entry.origin)) == min(ranks)


def test_a_computed_quantity_is_no_better_than_the_worst_that_went_in():
    good = choose("a", "K", (row("a", 1, grade="high"),))
    poor = choose("b", "K", (row("b", 2, grade="low"),))
    entry = computed("c", "K", 1, 0, 2, "difference", (good, poor, nothing("d", "K")))
    assert (entry.grade, entry.origin, entry.source) == ("low", "computed", "source-a; source-b")
    assert len(entry.inputs) == 3
    assert computed("c", "K", None, None, None, "difference", ()).grade == "none"
