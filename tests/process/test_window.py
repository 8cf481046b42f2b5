"""The reflow window: room by hand, ties, defaults, hybrids, and what cannot be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.window import (
    Limit,
    default_limit,
    family_of,
    headroom_k,
    hybrid_window,
    lowest_peak_c,
    part_defaults,
    profile_limits,
    ramp_time_s,
    rating_headroom_k,
    reflow_window,
    rework_range_c,
    window_rows,
)

FILM = Limit("film", 150, "film")
PART = Limit("connector", 200)


def faults(call, *arguments, **named):
    with pytest.raises(InputError) as caught:
        call(*arguments, **named)
    return {fault.where for fault in caught.value.faults}


def test_room_by_hand():
    found = reflow_window(139, [PART, FILM])
    assert (found.low_c, found.high_c, found.width_k, found.is_open) == (159, 150, -14, False)
    assert found.deciding == (FILM,)
    assert found.limits == (FILM, PART)
    assert reflow_window(118, [FILM]).width_k == 7
    exact = reflow_window(125, [FILM])
    assert (exact.width_k, exact.is_open) == (0, True)
    # A tie in decimal, which floats miss by a hair.
    assert reflow_window(100, [Limit("film", 127.6, "film")], 22.7, 4.9).is_open


def test_ties_are_all_named_and_no_limit_is_no_answer():
    other = Limit("adhesive", 150, "adhesive")
    assert set(reflow_window(100, [FILM, other, PART]).deciding) == {FILM, other}
    alone = reflow_window(139, [])
    assert (alone.high_c, alone.width_k, alone.is_open, alone.deciding) == (None, None, None, ())


def test_an_unusual_superheat_is_told():
    assert reflow_window(139, [FILM], superheat_k=10).cautions
    assert reflow_window(139, [FILM]).cautions == ()


@given(st.floats(80, 300), st.floats(60, 320), st.floats(0, 50), st.floats(0, 20), st.floats(0.1, 20))
def test_every_input_moves_the_room_its_own_way(limit, liquidus, superheat, spread, step):
    room = headroom_k(limit, liquidus, superheat, spread)
    assert headroom_k(limit + step, liquidus, superheat, spread) > room
    assert headroom_k(limit, liquidus + step, superheat, spread) < room
    assert headroom_k(limit, liquidus, superheat + step, spread) < room
    assert headroom_k(limit, liquidus, superheat, spread + step) < room
    assert rating_headroom_k(limit, float(lowest_peak_c(liquidus, superheat)), spread) == pytest.approx(room)


def test_arrays_go_through():
    assert headroom_k(np.array([150, 260]), 139, 20, 5) == pytest.approx([-14, 96])


def test_defaults_are_marked_and_their_lower_end_counts():
    found = reflow_window(217, [default_limit("connector PBT", "J3")])
    (entry,) = found.limits
    assert (entry.name, entry.limit_c, entry.assumed) == ("J3", 200, True)
    assert "to 215 degC if rated" in entry.note
    assert "J3: 200 degC is a default for its kind" in found.cautions
    assert any(
        "not made for an oven" in text
        for text in reflow_window(139, [default_limit("LCD, e-paper, touch film")]).cautions
    )
    assert any("at most 3 reflows" in text for text in reflow_window(139, [default_limit("FR-4 laminate")]).cautions)
    assert all(entry.assumed and entry.source for entry in part_defaults().values())


@pytest.mark.parametrize(
    ("kind", "limit", "fits"),
    [("PET film", 120, "In-Bi-Sn"), ("PEN film", 155, ""), ("connector PBT", 200, ""), ("FR-4 laminate", 260, "")],
)
def test_the_defaults_of_the_table(kind, limit, fits):
    assert part_defaults()[kind].limit_c == limit


def test_a_hybrid_stops_where_its_balls_melt():
    found = hybrid_window(139, 217, [Limit("laminate", 260, "laminate")])
    assert (found.high_c, found.deciding[0].name) == (217, "balls stay solid")
    assert found.width_k == 217 - 164
    assert sum("lead" in text for text in found.cautions) == 1
    assert faults(hybrid_window, 217, 217, []) == {"ball_solidus_c"}


def test_rework_adds_20_to_30_kelvin():
    assert rework_range_c(220) == (240, 250)


def test_families_and_their_limits():
    assert [family_of(c) for c in (139, 174.9, 175, 183, 209.9, 210, 217)] == [
        "low-temperature",
        "low-temperature",
        "tin-lead",
        "tin-lead",
        "tin-lead",
        "lead-free",
        "lead-free",
    ]
    above = {
        row.family: (row.low, row.high)
        for f in ("lead-free", "tin-lead", "low-temperature")
        for row in profile_limits(f)
        if row.item == "time above liquid"
    }
    assert above == {"lead-free": (60, 150), "tin-lead": (60, 150), "low-temperature": (45, 120)}
    assert {row.origin for row in profile_limits("low-temperature")} == {"memory", "practice"}
    assert profile_limits("gold") == ()


def test_rows_for_a_chart():
    first, film, part = window_rows(reflow_window(118, [PART, FILM]))
    assert (first["from_c"], first["to_c"], first["kind"]) == (138, 143, "peak")
    assert (film["name"], film["to_c"], film["headroom_k"], film["assumed"]) == ("film", 150, 7, False)
    assert part["headroom_k"] == 57


@pytest.mark.parametrize(
    ("call", "arguments", "where"),
    [
        (lowest_peak_c, (139 + 400, 20), "liquidus_c"),
        (lowest_peak_c, (139, -1), "superheat_k"),
        (headroom_k, (150, 139, 20, -5), "spread_k"),
        (headroom_k, (5, 139, 20, 5), "limit_c"),
        (rating_headroom_k, (533.15 + 100, 245, 5), "rating_limit_c"),
        (ramp_time_s, (217, 245, 0), "ramp_k_s"),
        (ramp_time_s, (245, 217, 3), "to_c"),
        (reflow_window, (139, [Limit("x", 10)]), "x_limit_c"),
        (reflow_window, (139, [Limit("x", 100, "sauce")]), "limits, x"),
        (default_limit, ("unobtainium",), "kind"),
        (rework_range_c, (-300,), "liquidus_c"),
        (family_of, (float("nan"),), "liquidus_c"),
    ],
)
def test_what_cannot_be_names_its_input(call, arguments, where):
    assert where in faults(call, *arguments)
