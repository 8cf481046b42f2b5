"""`steps --route`: reaction, mixed and undercooled powder as candidates of their step, process apart from onset."""

import pytest

from selector.asked_routes import typed_routes
from selector.brief import from_raw
from selector.catalogue import load
from selector.planning import plan_for
from selector.process.steps import PartLimit, Step

TWO = ("--step", "board:260", "--step", "top:150", "--allow", "board=In-48Sn", "--allow", "top=In-48Sn")
APART = ("--meets", "top=none", "--json")
STEPS = (Step("board", (PartLimit("x", 260.0),)), Step("top", (PartLimit("y", 150.0),), ("In-48Sn",), meets=()))


def made(*texts, steps=STEPS):
    faults = []
    found = typed_routes([(f"line {n}", text) for n, text in enumerate(texts, 1)], steps, load(), faults)
    return found, faults


def test_only_a_measured_trace_lifts_the_onset_of_a_reacted_joint(run):
    """The worked figure of docs/steps.md: 138 - (118 + 25) = -5, 201 - 143 = 58, peak 190 + 5."""
    told = run("steps", *TWO, "--route", "board=reaction:Sn-58Bi+Cu@190,reacted=201", *APART)
    assert (told.code, told.json()["feasible"]) == (1, 0)
    done = run("steps", *TWO, "--route", "board=reaction:Sn-58Bi+Cu@190,reacted=201,onset=201", *APART)
    (best,) = done.json()["by_margin"]
    first, second = best["ladder"]
    assert best["alloys"] == ["Bi-42Sn + Cu by transient liquid phase", "In-48Sn"]
    assert (first["process_c"], first["peak_c"], first["onset_c"]) == ([190, 190], [195, 195], [201, 201])
    assert second["earlier_margin_k"] == pytest.approx(58, abs=0.1)


def test_without_a_trace_it_says_so_and_the_margin_is_told():
    (route,), faults = made("board=reaction:Sn-58Bi+Cu@190,reacted=201")
    assert faults == []
    assert route.candidate.onset_c == (138, 139)
    assert "the lower onset is taken until a measured trace" in " ".join(route.candidate.cautions)


def test_a_partner_that_lowers_the_onset_counts_and_one_outside_the_engine_leaves_it_open():
    (tin, nickel), faults = made("board=reaction:Sn+Cu@260", "board=reaction:Sn-58Bi+Ni@190")
    assert faults == []
    assert tin.candidate.onset_c[0] < 227.5 < tin.candidate.onset_c[1] < 231
    assert nickel.candidate.onset_c is None
    assert nickel.candidate.melts_for_rework_c is None


def test_mixed_powders_keep_their_own_process_and_say_what_rework_melts():
    (route,), faults = made("board=mixed:Sn-58Bi+SAC305@170,share=0.6")
    assert faults == []
    found = route.candidate
    assert (found.process_c, found.onset_c) == ((170, 170), (138, 139))
    assert 195 < found.melts_for_rework_c[0] < found.melts_for_rework_c[1] < 220


def test_a_route_stands_in_the_pool_of_its_own_step_alone_and_beside_reflow():
    routes, _ = made("board=undercooled:Sn-58Bi")
    plan = plan_for(STEPS, load(), joined=routes).plan
    names = {plan.names(row) for row in plan.feasible}
    assert ("SAC305", "In-48Sn") in names
    assert {alloys[1] for alloys in names} == {"In-48Sn"}
    assert "Bi-42Sn by undercooled powder" not in {alloys[1] for alloys in names}


def test_a_brief_asks_service_of_the_joint_and_its_bans_of_the_metal():
    routes, _ = made(
        "board=reaction:Sn-58Bi+Cu@190,onset=201", "board=reaction:SAC305+Cu@250,onset=99", "board=undercooled:In-48Sn"
    )
    bans = [{"element": "In", "limit_ppm": 1000, "reason": "scarce"}]
    brief = from_raw(
        {
            "title": "hot",
            "ipc_class": 2,
            "service": {"maximum_c": 100.0, "cyclic_range_k": 10.0, "cycles_per_day": 1.0, "shock": False},
            "bans": bans,
        }
    )
    out = dict(plan_for(STEPS, load(), brief, joined=routes).left_out)
    assert out["SAC305 + Cu by transient liquid phase"].rule == "service_heat"
    assert out["In-48Sn by undercooled powder"].outcome == "fail"
    assert "Bi-42Sn + Cu by transient liquid phase" not in out


def test_the_ladder_tells_route_and_process_in_words_and_chart(run, tmp_path):
    out = tmp_path / "ladder.svg"
    done = run("steps", *TWO, "--route", "board=reaction:Sn-58Bi+Cu@190,onset=201", *APART[:2], "-o", out)
    for part in ("route", "process", "190"):
        assert part in done.out
    assert "transient liquid phase" in out.read_text(encoding="utf-8")


def test_every_fault_of_every_route_comes_at_once(run):
    run("steps", *TWO, "--route", "cold", "--route", "roof=mixed:SAC305@100", "--top", 0).check_refusal(
        ("--top", "outs")
    )
    routes, faults = made(
        "cold",
        "roof=mixed:SAC305@hot",
        "board=reaction:Sn-58Bi+Cu",
        "board=reaction:Sn-58Bi+Cu@100",
        "board=mixed:Sn-58Bi+SAC305,share=60,speed=2",
        "board=mixed:Sn-58Bi+Sn-37Pb@190,share=0.5",
        "board=undercooled:Xx99",
        "board=undercooled:Sn-58Bi",
        "board=undercooled:Sn-58Bi",
    )
    told = [f"{fault.where}: {fault.problem}" for fault in faults]
    for part in (
        "line 1: is no route", "line 2: names no step", "line 2: names other metals", "line 2: DEGC: is not a number",
        "line 2: has no share", "line 3: has no process", "line 4: DEGC:", "line 5: is no figure",
        "line 5: share: lies outside", "line 6: metals: meet", "line 7:", "line 9: is given twice",
    ):  # fmt: skip
        assert any(entry.startswith(part) for entry in told), part
    assert [route.step for route in routes] == ["board"]


def test_a_figure_that_is_no_number_hides_no_other_fault():
    _, faults = made(
        "board=reaction:Sn-58Bi+Cu@190,share=1.5,hold_min=nan,bondline_um=-3", "board=undercooled:SAC305@230"
    )
    assert [(fault.where, fault.problem.split(":")[0]) for fault in faults] == [
        ("line 1", "hold_min"), ("line 1", "share"), ("line 1", "bondline_um"), ("line 2", "DEGC"),
    ]  # fmt: skip


def test_law_and_bans_are_asked_of_the_partner_too_and_lead_may_not_meet_bismuth_in_it():
    routes, faults = made("board=reaction:SAC305+Pb@330", "board=reaction:Sn-58Bi+Pb@330")
    assert [fault.problem for fault in faults] == ["metals: meet in one joint: a stop"]
    brief = from_raw({"title": "no lead", "bans": [{"element": "Pb", "limit_ppm": 1000, "reason": "the customer"}]})
    out = dict(plan_for(STEPS, load(), brief, joined=routes).left_out)
    assert out["SAC305 + Pb by transient liquid phase"].rule == "customer_ban"
