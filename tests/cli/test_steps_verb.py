"""`steps`: assignments ranked, the ladder, what blocks, and what is refused."""

import pytest

from selector.catalogue import load
from selector.planning import plan_for
from selector.process.steps import PartLimit, Step

STACK = ("--step", "die attach:340", "--step", "module:260", "--step", "board:200")
APART = ("--meets", "module=none", "--meets", "board=none")
BRIEF = """
title = "stack"
ipc_class = 2
[use]
equipment = "monitoring and control"
sweat_or_chloride = false
sealed = true
[service]
minimum_c = -25
maximum_c = 70
cyclic_range_k = 40
cycles_per_day = 2
shock = true
[process]
superheat_k = 25
board_spread_k = 0
form = "paste"
routes = ["reflow"]
[[markets]]
market = "EU"
date = 2027-01-15
[[bans]]
element = "In"
limit_ppm = 1000
reason = "scarce"
[[parts]]
name = "sensor"
rating_c = 200
rating_at = "body"
finish = "matte tin"
ball_alloy = "none"
lead_bearing = false
[[steps]]
name = "die attach"
limits = [{name = "die", limit_c = 340}]
[[steps]]
name = "module"
limits = [{name = "substrate", limit_c = 260}]
meets = []
[[steps]]
name = "board"
limits = [{name = "sensor", limit_c = 200}]
meets = []
"""


@pytest.fixture
def stack(tmp_path):
    path = tmp_path / "stack.toml"
    path.write_text(BRIEF, encoding="utf-8")
    return path


def test_typed_steps_are_ranked_by_margin_alone_and_every_rung_keeps_its_limits(run):
    done = run("steps", *STACK, *APART, "--json", "--top", 3)
    assert (done.code, done.err) == (0, "")
    found = done.json()
    assert found["candidates"] >= 60
    assert found["by_merit"] == []
    assert len(found["by_margin"]) == 3
    assert found["left_out"] == []
    for entry in found["by_margin"]:
        assert entry["merit"] is None
        for rung in entry["ladder"]:
            assert rung["limit_margin_k"] >= entry["tightest_reserve_k"] >= 0
            assert rung["earlier_margin_k"] is None or rung["earlier_margin_k"] >= found["margin_k"]
    reserves = [entry["tightest_reserve_k"] for entry in found["by_margin"]]
    assert reserves == sorted(reserves, reverse=True)


def test_a_brief_brings_merit_and_its_law_and_bans_screen_the_pool(run, stack):
    found = run("steps", stack, "--json").json()
    names = {entry["alloy"] for entry in found["left_out"]}
    assert {"Sn-37Pb", "In-48Sn"} <= names
    assert found["screened_by"] == ["EU, 2027-01-15", "ban on In over 1000 ppm"]
    used = {alloy for entry in found["by_merit"] + found["by_margin"] for alloy in entry["alloys"]}
    assert not used & names
    assert not used & {entry["alloy"] for entry in found["left_open"]}
    merits = [entry["merit"] for entry in found["by_merit"]]
    assert merits == sorted(merits, reverse=True)
    assert merits[0] > 0


def test_an_assignment_with_an_alloy_that_law_leaves_open_is_undecided(run, stack):
    found = run("steps", stack, "--json", "--top", 20).json()
    left_open = {entry["alloy"] for entry in found["left_open"]}
    assert left_open
    touched = [entry for entry in found["undecided_first"] if left_open & set(entry["alloys"])]
    assert touched
    assert all(any("the brief leaves it open" in told for told in entry["open"]) for entry in touched)


def test_the_text_tells_finding_ladder_and_that_it_is_a_screen(run, stack):
    done = run("steps", stack)
    lines = done.out.splitlines()
    assert "hold for certain" in lines[0]
    for heading in ("Best by merit", "Best by tightest margin"):
        assert heading in lines
    assert any(line.startswith("Ladder: ") for line in lines)
    assert lines[-1] == "This is a screening aid. It has qualified no joint."


def test_no_assignment_that_holds_uses_an_alloy_that_the_shortlist_does_not_admit(run):
    for brief in ("skin-patch", "sensor-stack"):
        found = run("steps", brief, "--json", "--top", 20).json()
        listed = run("shortlist", brief, "--json").json()
        heat = {"process_peak", "soldering_steps"}
        out = {
            entry["alloy"]
            for entry in listed["undecided"] + listed["ruled_out"]
            if any(v["outcome"] in ("fail", "unknown") and v["rule"] not in heat for v in entry["verdicts"])
        }
        assert out
        used = {name for entry in found["by_merit"] + found["by_margin"] for name in entry["alloys"]}
        assert used
        assert not used & out


def test_the_board_of_a_brief_without_steps_is_a_step_that_allow_may_name(run):
    done = run("steps", "motor-drive", "--allow", "board=SAC305", "--json")
    assert (done.code, done.json()["by_merit"][0]["alloys"]) == (0, ["SAC305"])
    ruled = run("steps", "motor-drive", "--allow", "board=Bi-42Sn", "--json")
    assert ruled.code == 1
    assert "the brief rules out every alloy that board may use: Bi-42Sn" in ruled.json()["finding"]


def test_where_none_holds_it_says_what_blocks_and_the_smallest_opening(run):
    done = run(
        "steps", "--step", "one:260", "--step", "two:160", "--allow", "one=SAC305", "--allow", "two=Bi-42Sn",
        "--meets", "two=none", "--json",
    )  # fmt: skip
    assert done.code == 1
    found = done.json()
    assert found["feasible"] == 0
    (opening,) = found["openings"]
    assert (opening["step"], opening["opens"]) == ("two", ["SAC305", "Bi-42Sn"])
    assert opening["change_k"] == pytest.approx(opening["to"] - 160)
    assert "smallest change: step two: raise lowest limit from 160" in found["blocks"]
    (nearest,) = found["nearest"]
    assert (nearest["alloys"], nearest["holds_if"]) == (opening["opens"], opening["text"])
    assert nearest["ladder"][1]["limit_margin_k"] == pytest.approx(-opening["change_k"])


def test_lead_and_indium_that_touch_stop(run):
    given = ("--step", "a:300", "--step", "b:300", "--allow", "a=Sn-37Pb", "--allow", "b=In-48Sn", "--json")
    assert run("steps", *given, "--meets", "b=none").json()["feasible"] == 1
    assert run("steps", *given).json()["undecided_first"][0]["open"] == [
        "b: holds if its metal never meets that of a: indium and lead"
    ]
    assert run("steps", *given, "--meets", "b=a").json()["undecided"] == 0


def test_a_chart_and_csv_are_written(run, tmp_path):
    out = tmp_path / "ladder.svg"
    done = run("steps", *STACK, *APART, "--csv", "--top", 2, "-o", out)
    assert [list(row)[:3] for row in done.rows()] == [["die attach", "module", "board"]] * 2
    text = out.read_text(encoding="utf-8")
    assert "die attach" in text
    assert "holds" in text
    assert "Grey tick: lowest limit." in text


def test_every_fault_of_what_is_typed_comes_at_once(run):
    run("steps").check_refusal(("BRIEF", "is missing"))
    run("steps", "--step", "a:hot", "--allow", "b=SAC305", "--top", 0).check_refusal(
        ("--step", "no temperature"), ("--allow", "names no step"), ("--top", "outside")
    )
    run("steps", "--step", "a:533").check_refusal(("--step", "533? if kelvin, 259.9 degC"))
    run("steps", "--step", "a:200", "--allow", "a=Xx99").check_refusal(
        ("steps[0].allowed", "catalogue"), ("steps[0].allowed", "element")
    )
    run("steps", "--step", "a:9999", "--meets", "a=b").check_refusal(("limit_c", "outside"), ("meets", "before"))


def test_the_planner_agrees_with_the_pool_that_it_is_given():
    steps = (
        Step("one", (PartLimit("x", 250),), ("SAC305",)),
        Step("two", (PartLimit("y", 180),), ("Bi-42Sn",), meets=()),
    )
    planned = plan_for(steps, load())
    (best,) = planned.best("margin")
    assert best.alloys == ("SAC305", "Bi-42Sn")
    assert best.merit is None
    assert [rung.lowest_earlier for rung in best.rungs] == ["", "one"]
    # SAC305 melts again at 216 at the least; Bi-42Sn is liquid at 141.4 at the most and peaks 25 higher.
    assert best.rungs[1].earlier_margin_k == pytest.approx(49.6)


def test_a_heavy_part_upside_down_asks_for_its_area_unless_its_joints_stay_solid(run):
    one = ("--step", "both sides:260", "--allow", "both sides=SAC305", "--hanging-g", 7.3, "--json")
    found = run("steps", *one).json()["part_upside_down"]
    assert (found["outcome"], found["reason"]) == ("unknown", "the wetted area and the joint edge are missing")
    assert "157 mm2 wetted or more (314 with a safety of 2" in found["threshold"]
    two = ("--step", "first:260", "--step", "second:200", "--allow", "first=SAC305", "--allow", "second=Bi-42Sn")
    cured = run("steps", *two, "--meets", "second=none", "--hanging-g", 7.3)
    assert "Part upside down in the last step: holds. the first side stays solid, by 49.6 K" in cured.out
    assert (
        run("steps", *one[:4], "--hanging-g", 7.3, "--wetted-mm2", 100, "--json").json()["part_upside_down"]["outcome"]
        == "fail"
    )


def test_every_option_that_cannot_be_is_told_at_once_and_none_is_overruled_by_a_later_one(run):
    two = ("--step", "a:250", "--step", "b:200")
    run(
        "steps", *two, "--margin-k", "nan", "--hanging-g", -1, "--wetted-mm2", -2, "--edge-mm", "inf", "--step", "c:nan"
    ).check_refusal(("--margin-k",), ("--hanging-g",), ("--wetted-mm2",), ("--edge-mm",), ("limit_c",))
    run(
        "steps", *two, "--allow", "a=SAC305", "--allow", "a=Sn-37Pb", "--meets", "b=a", "--meets", "b=none"
    ).check_refusal(("--allow", "given twice"), ("--meets", "given twice"))
    run("steps", *two, "--allow", "a=none", "--meets", "b=", "--wetted-mm2", 5).check_refusal(
        ("--allow", "names nothing"), ("--meets", "names nothing"), ("--hanging-g", "is missing")
    )
