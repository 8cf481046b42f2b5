"""Briefs that once got a wrong answer: each keeps its mend."""

import pytest

from selector.brief import from_raw, read, shipped
from selector.catalogue import load
from selector.challenge import challenge
from selector.cli import main
from selector.decision import decide
from selector.errors import InputError
from selector.findings import moves
from selector.melting.onset import joint_onset
from selector.verdict import Outcome, Standing

CLEAN = {"rating_c": 260, "rating_at": "body", "finish": "matte tin", "ball_alloy": "none", "lead_bearing": False}


def raw(name, **changes):
    tables = read(shipped(name)).model_dump()
    for path, value in changes.items():
        table, _, field = path.partition("__")
        if field:
            tables[table] = {**tables[table], field: value}
        else:
            tables[table] = value
    return tables


def part(name, **fields):
    return {"name": name, **CLEAN, **fields}


def of(tables, alloy):
    return decide(from_raw(tables), load()).of(load().find(alloy))


@pytest.mark.parametrize(
    "changes", [{"process__superheat_k": 300}, {"process__superheat_k": 40, "process__oven_above_joint_k": 250}]
)
def test_a_saving_change_that_no_brief_can_hold_is_not_offered_and_breaks_nothing(changes):
    tables = raw("motor-drive", **changes)
    tables["parts"] = [{**entry, "rating_at": "oven"} for entry in tables["parts"]]
    decision = decide(from_raw(tables), load())
    assert not decision.admitted
    assert any(not candidate.edits for candidate in decision.ruled_out)


@pytest.mark.parametrize("markets", [(), ({"market": "China", "date": "2027-01-01"},)])
def test_a_leaded_alloy_is_never_admitted_where_no_law_was_judged(markets):
    import datetime

    tables = raw("river-logger")
    tables["parts"] = tables["parts"][:1]
    tables["markets"] = [{**entry, "date": datetime.date(2027, 1, 1)} for entry in markets]
    decision = decide(from_raw(tables), load())
    assert not [c.alloy.id for c in decision.admitted if c.alloy.composition.ppm("Pb") > 1000]


@pytest.mark.parametrize("balls", ["unknown", "Sn-50Bi"])
def test_balls_of_which_nothing_is_known_leave_the_joint_open(balls):
    tables = raw("motor-drive", parts=[part("driver", ball_alloy=balls)])
    assert of(tables, "SAC305").standing is not Standing.ADMITTED


@pytest.mark.parametrize(("service_c", "ipc_class"), [(125, 2), (60, 3)])
def test_bismuth_balls_bring_their_onset_and_their_class_into_the_joint(service_c, ipc_class):
    tables = raw("motor-drive", parts=[part("driver", ball_alloy="Sn-58Bi")], ipc_class=ipc_class)
    tables["service"] = {**tables["service"], "maximum_c": service_c, "cyclic_range_k": 50}
    found = of(tables, "SAC305")
    assert found.standing is Standing.RULED_OUT
    assert found.verdict("mixed_joint").outcome is Outcome.FAIL


def test_indium_paste_on_bismuth_balls_is_open_between_their_eutectic_and_the_lower_onset():
    tables = raw("skin-patch", parts=[part("driver", ball_alloy="Sn-58Bi")], use__sweat_or_chloride=False)
    found = of(tables, "In-48Sn").verdict("mixed_joint")
    assert found.outcome is Outcome.UNKNOWN
    assert (found.measured.low, found.measured.high) == (60, 118)


def test_two_failing_balls_keep_their_change():
    balls = [part("one", ball_alloy="Sn-58Bi"), part("two", ball_alloy="Sn-58Bi")]
    tables = raw("river-logger", parts=balls, service__maximum_c=125)
    found = of(tables, "SAC305")
    assert found.standing is Standing.RULED_OUT
    assert "service.maximum_c" in [edit.path for edit in found.edits]
    assert challenge(load().find("SAC305"), from_raw(tables), load()).saved


def test_bismuth_balls_on_a_leaded_finish_stop_any_paste():
    tables = raw("motor-drive", parts=[part("driver", ball_alloy="Sn-58Bi", finish="tin-lead")], ipc_class=2)
    assert of(tables, "SAC305").verdict("lead_with_bismuth").outcome is Outcome.FAIL


def test_moves_tell_the_ban_that_turned_and_one_that_was_lifted():
    def bans(**limits):
        return [{"element": element, "limit_ppm": limit, "reason": "list"} for element, limit in limits.items()]

    base = raw("motor-drive", bans=bans(Pb=100, Ag=50_000))
    tight = raw("motor-drive", bans=bans(Pb=100, Ag=20_000))
    before, after = (decide(from_raw(tables), load()) for tables in (base, tight))
    left = {move.alloy: move.text for move in moves(before, after)}
    assert "30000 ppm Ag" in left["SAC305"]
    lifted = {m.alloy: m.text for m in moves(after, decide(from_raw(raw("motor-drive", bans=[])), load()))}
    assert lifted["SAC305"].startswith("SAC305: no longer asked: 30000 ppm Ag")


def test_nearness_never_compares_kelvin_with_content():
    tables = raw("skin-patch", bans=[{"element": "Ag", "limit_ppm": 29_000, "reason": "list"}])
    tables["parts"] = [{**entry, "rating_c": 260} for entry in tables["parts"]]
    tables["board"] = {**tables["board"], "adhesive": "none"}
    decision = decide(from_raw(tables), load())
    single = [c.edits[0].unit for c in decision.ruled_out if len(c.edits) == 1 and c.edits[0].change is not None]
    assert single == sorted(single, key=("K", "class", "ppm").index)


def test_an_unknown_cyclic_range_is_told_from_where_the_brief_stands():
    tables = raw("motor-drive", ipc_class=2)
    tables["service"] = {**tables["service"], "minimum_c": 20, "maximum_c": 150, "cyclic_range_k": "unknown"}
    asked = []
    for candidate in decide(from_raw(tables), load()).ruled_out:
        paths = [edit.path for edit in candidate.edits]
        assert len(paths) == len(set(paths))
        asked += [edit for edit in candidate.edits if edit.path == "service.cyclic_range_k"]
    assert asked
    assert not [edit.text for edit in asked if "from 100" in edit.text]


def overridden(spelling):
    override = {"rule": "class_and_cycling", "alloy": spelling, "reason": "why", "author": "who"}
    return raw("skin-patch", ipc_class=3, overrides=[override])


@pytest.mark.parametrize("spelling", ["Sn-58Bi", "bismuth-tin-eutectic"])
def test_an_override_by_any_spelling_counts(spelling):
    assert of(overridden(spelling), "Bi-42Sn").verdict("class_and_cycling").outcome is Outcome.PASS


def test_an_override_that_reads_as_another_alloy_is_refused():
    with pytest.raises(InputError, match=r"overrides\[0\]\.alloy: 'Bi 42 Sn 58': reads as .*not in the catalogue"):
        of(overridden("Bi 42 Sn 58"), "Bi-42Sn")


@pytest.mark.parametrize("argument", ["a" * 300, "x\x00y"])
def test_a_brief_whose_name_no_file_can_have_is_told(argument, monkeypatch, capsys):
    monkeypatch.setattr("sys.argv", ["meltwise", "shortlist", argument])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 2
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("balls", "low_c"), [("Bi-11Ag", 138), ("Pb-10Sn", 183), ("In-3Ag", 118), ("Sn-3.5Ag-8In-0.5Bi", 154)]
)
def test_paste_and_ball_may_form_a_lower_eutectic_than_either(balls, low_c):
    found = joint_onset(load().find("SAC305"), load().find(balls))
    assert found.low == pytest.approx(low_c, abs=0.1)
    assert found.value is None or found.value == low_c


def test_tin_paste_on_bismuth_silver_balls_is_open_at_100_degc():
    tables = raw("motor-drive", parts=[part("driver", ball_alloy="Bi-11Ag")], ipc_class=2)
    tables["service"] = {**tables["service"], "maximum_c": 100}
    assert of(tables, "SAC305").standing is not Standing.ADMITTED


def test_local_heat_with_no_parts_listed_is_open():
    tables = raw("motor-drive", parts=[], process__heating="local heat")
    assert of(tables, "SAC305").verdict("process_peak").outcome is Outcome.UNKNOWN


@pytest.mark.parametrize("balls", ["Sn-3.4Ag-4.8Bi", "Sn-8Zn-3Bi"])
def test_leaded_paste_on_balls_with_some_bismuth_is_open(balls):
    tables = raw("motor-drive", parts=[part("driver", ball_alloy=balls)])
    assert of(tables, "Sn-37Pb").verdict("lead_with_bismuth").outcome is Outcome.UNKNOWN


@pytest.mark.parametrize("paste", ["SAC305", "Sn-3.4Ag-4.8Bi", "Sn-3.5Ag-8In-0.5Bi"])
def test_bismuth_balls_on_lead_stop_whatever_the_paste(paste):
    tables = raw("motor-drive", parts=[part("driver", ball_alloy="Sn-58Bi", finish="tin-lead")])
    assert of(tables, paste).verdict("lead_with_bismuth").outcome is Outcome.FAIL


def test_local_heat_and_an_unknown_place_never_rule_out_for_want_of_the_superheat():
    tables = raw("motor-drive", process__heating="local heat", process__superheat_k="unknown")
    tables["parts"] = [part("driver", rating_c=200, rating_at="unknown")]
    assert of(tables, "SAC305").verdict("process_peak").outcome is Outcome.UNKNOWN


def test_equal_limits_in_decimal_are_equal():
    tables = raw("skin-patch", process__superheat_k=18.7, process__board_spread_k=2.6)
    tables["parts"] = [part("radio", rating_c=182.7)]
    verdict = of(tables, "Sn-47Bi").verdict("process_peak")
    assert (verdict.outcome, verdict.margin) == (Outcome.PASS, 0)


def test_an_override_that_lets_a_ball_in_is_told():
    override = {"rule": "class_and_cycling", "alloy": "Sn-58Bi", "reason": "tested at length", "author": "lab"}
    tables = raw("motor-drive", parts=[part("driver", ball_alloy="Sn-58Bi")], overrides=[override])
    tables["service"] = {**tables["service"], "maximum_c": 50, "cyclic_range_k": 50}
    found = of(tables, "SAC305")
    assert found.standing is Standing.ADMITTED
    assert any("tested at length" in caution for caution in found.screened.cautions)


def test_balls_are_told_when_the_superheat_is_not_known():
    tables = raw("motor-drive", parts=[part("driver", ball_alloy="SAC405")], process__superheat_k="unknown")
    assert of(tables, "SAC305").verdict("mixed_joint").outcome is Outcome.PASS


def test_cycles_that_a_day_has_no_room_for_are_refused():
    tables = raw("motor-drive", life__dwell_min=15.0, service__cycles_per_day=48.0)
    from_raw(tables)
    tables["life"]["dwell_min"] = 15.5
    with pytest.raises(InputError) as error:
        from_raw(tables)
    (fault,) = error.value.faults
    assert (fault.where, fault.allowed) == ("the brief: life.dwell_min", "at most 15 min")
