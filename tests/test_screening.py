"""Screening as a whole: a stricter demand never admits, and three-state answers add up as they should."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.brief import changed, read, shipped
from selector.catalogue import load
from selector.screening import saving_edits, screen
from selector.verdict import Edit, Measured, Outcome, Standing, Verdict, at_least, at_most, standing

ORDER = {Standing.RULED_OUT: 0, Standing.UNDECIDED: 1, Standing.ADMITTED: 2}
ALLOYS = load().listed()


def standings(brief):
    return {alloy.id: ORDER[screen(brief, load(), alloy).standing] for alloy in ALLOYS}


tightened = st.one_of(
    st.tuples(st.just("parts[0].rating_c"), st.floats(60, 300), st.floats(0, 120), st.just(-1)),
    st.tuples(st.just("board.base_limit_c"), st.floats(60, 300), st.floats(0, 120), st.just(-1)),
    st.tuples(st.just("process.superheat_k"), st.floats(0, 60), st.floats(0, 60), st.just(1)),
    st.tuples(st.just("process.board_spread_k"), st.floats(0, 30), st.floats(0, 30), st.just(1)),
    st.tuples(st.just("service.maximum_c"), st.floats(20, 150), st.floats(0, 60), st.just(1)),
    st.tuples(st.just("ipc_class"), st.integers(1, 2), st.integers(1, 1), st.just(1)),
)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(["skin-patch", "motor-drive", "river-logger"]), tightened)
def test_a_stricter_limit_never_admits(name, change):
    path, value, step, sign = change
    brief = read(shipped(name))
    loose = changed(brief, [Edit("service.cyclic_range_k", 0.0, ""), Edit(path, value, "")])
    strict = changed(loose, [Edit(path, value + sign * step, "")])
    before, after = standings(loose), standings(strict)
    for alloy, place in after.items():
        assert place <= before[alloy], (alloy, path)


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["skin-patch", "motor-drive", "river-logger"]),
    st.sampled_from(
        [
            "parts[0].rating_c",
            "parts[1].rating_at",
            "parts[0].finish",
            "board.base_limit_c",
            "process.superheat_k",
            "service.maximum_c",
            "service.cyclic_range_k",
            "ipc_class",
            "use.sweat_or_chloride",
            "use.sealed",
            "use.equipment",
        ]
    ),
)
def test_forgetting_a_demand_never_admits_a_ruled_out_alloy_silently(name, path):
    """An alloy ruled out may become open when its demand is forgotten, but never admitted."""
    brief = read(shipped(name))
    edits = [Edit(path, "unknown", "")]
    if path.endswith("finish"):
        edits.append(Edit(path.replace("finish", "lead_bearing"), "unknown", ""))
    before, after = standings(brief), standings(changed(brief, edits))
    for alloy, place in after.items():
        assert not (place == 2 and before[alloy] == 0), (alloy, path)


@pytest.mark.parametrize(
    ("low", "high", "limit", "most", "least"),
    [
        (1, 2, 2, Outcome.PASS, Outcome.UNKNOWN),
        (1, 2, 3, Outcome.PASS, Outcome.FAIL),
        (1, 2, 1, Outcome.UNKNOWN, Outcome.PASS),
        (1, 2, 0, Outcome.FAIL, Outcome.PASS),
        (1, 2, 1.5, Outcome.UNKNOWN, Outcome.UNKNOWN),
        (2, 2, 2, Outcome.PASS, Outcome.PASS),
    ],
)
def test_a_limit_inside_the_interval_is_unknown(low, high, limit, most, least):
    assert at_most(low, high, limit) is most
    assert at_least(low, high, limit) is least


def test_one_fail_rules_out_else_one_unknown_leaves_undecided():
    def row(*outcomes):
        return [Verdict("r", outcome, "why", "from") for outcome in outcomes]

    assert standing(row(Outcome.PASS, Outcome.NOT_APPLICABLE, Outcome.DUTY)) is Standing.ADMITTED
    assert standing(row(Outcome.PASS, Outcome.UNKNOWN)) is Standing.UNDECIDED
    assert standing(row(Outcome.UNKNOWN, Outcome.FAIL)) is Standing.RULED_OUT
    assert standing([]) is Standing.ADMITTED


def test_an_exact_quantity_has_no_width():
    assert Measured.exactly(3.0, "ppm") == Measured(3.0, 3.0, 3.0, "ppm")


def test_what_no_field_can_mend_offers_no_change():
    brief = read(shipped("river-logger"))
    lead = screen(brief, load(), load().find("Sn-37Pb"))
    assert saving_edits(brief, load(), lead) == ()


def test_shock_takes_a_bismuth_rich_grade_one_ductility_band_down():
    patch, motor = read(shipped("skin-patch")), read(shipped("river-logger"))
    alloy = load().find("Sn-40Bi")
    bands = ["very good", "good", "moderate", "low", "brittle"]
    hard, soft = (screen(brief, load(), alloy).ductility for brief in (patch, motor))
    for with_shock, without in zip(hard, soft, strict=True):
        assert bands.index(with_shock) == min(bands.index(without) + 1, len(bands) - 1)
