"""The page Steps, headless: the ladder and its twin, what is chosen, what is typed, and what blocks."""

import json

import pytest
from test_pages import opened, said, turned, typed

from selector import link
from selector.brief import from_raw

PLAIN = {"finish": "matte tin", "ball_alloy": "none", "lead_bearing": False}
STACK = {
    "title": "Sensor stack",
    "ipc_class": 2,
    "use": {"equipment": "monitoring and control", "sweat_or_chloride": False, "sealed": True},
    "service": {"minimum_c": -25, "maximum_c": 70, "cyclic_range_k": 40, "cycles_per_day": 2, "shock": True},
    "process": {"superheat_k": 25, "board_spread_k": 0, "form": "paste", "routes": ["reflow"]},
    "parts": [{"name": "sensor module", "rating_c": 200, "rating_at": "body", **PLAIN}],
    "steps": [
        {"name": "die attach", "limits": [{"name": "die", "limit_c": 340}], "meets": []},
        {"name": "module", "limits": [{"name": "substrate", "limit_c": 260}], "meets": []},
        {"name": "board", "limits": [{"name": "sensor", "limit_c": 200}], "meets": []},
    ],
}


def stacked(**more):
    raw = from_raw({**STACK, **more}).model_dump(mode="python")
    return opened("steps", c=link.pack(raw))


def ladder(test):
    return test.table[0].value


def chart(test):
    return test.get("vega_lite_chart")[0].proto


def plain(cell):
    return str(cell).replace("\\", "")


@pytest.fixture(scope="module")
def page():
    return stacked()


def test_the_finding_counts_and_the_ladder_has_a_twin_in_words(page):
    assert "by 3 steps hold for certain" in said(page)
    table = ladder(page)
    assert [plain(name) for name in table.index] == ["die attach", "module", "board"]
    gaps = [plain(cell) for cell in table["to that onset, K"]]
    assert gaps[0] == "-"
    assert all(gap.endswith((" holds", " thin")) for gap in gaps[1:])
    alloys = [plain(cell) for cell in table["alloy"]]
    assert all(f"{alloy}, {gap}" in chart(page).alt for alloy, gap in zip(alloys[1:], gaps[1:], strict=True))
    assert "This is a screening aid. It has qualified no joint." in said(page)


def test_the_chart_runs_left_to_right_and_no_meaning_rests_on_colour(page):
    spec = json.loads(chart(page).spec)
    texts = {layer["encoding"]["text"]["field"] for layer in spec["layer"] if "text" in layer["encoding"]}
    assert texts == {"peak", "limit", "gap"}
    dashes = [str(layer["mark"]["strokeDash"]) for layer in spec["layer"] if "strokeDash" in layer["mark"]]
    assert {"[2, 3]", "[7, 4]", "[1, 0]"} <= set(dashes)
    assert all(layer["encoding"]["x"]["sort"] is None for layer in spec["layer"])


def test_the_tightest_margin_gives_another_ladder_and_undecided_says_what_is_open(page):
    first = list(ladder(page)["alloy"])
    page.radio(key="steps_by").set_value("margin").run()
    assert not page.exception
    assert list(ladder(page)["alloy"]) != first
    page.radio(key="steps_by").set_value("undecided").run()
    assert "Open: " in said(page)


def test_a_limit_typed_into_the_table_changes_the_brief_and_the_plan():
    test = stacked()
    typed(test, "steps", 2, **{"limits, degC": "sensor 150"})
    assert test.session_state["case"].brief.steps[2].limits[0].limit_c == 150
    assert "150 (sensor)" in [plain(cell) for cell in ladder(test)["lowest limit, degC"]]
    turned(test, "life")
    turned(test, "steps")
    assert test.session_state["case"].brief.steps[2].limits[0].limit_c == 150


def test_what_cannot_be_read_stays_as_typed_with_its_fault_and_the_last_plan_stands():
    test = stacked()
    typed(test, "steps", 1, **{"limits, degC": "substrate hot", "touches the metal of": "nobody"})
    told = said(test)
    assert "Step 2, limits[0].limit_c: is not a number" in told
    assert "Step 2, meets: names no step before it" in told
    assert test.session_state["case"].raw["steps"][1]["limits"][0]["limit_c"] == "hot"
    assert "hold for certain" in told


def test_where_nothing_holds_the_smallest_change_is_told():
    steps = [
        {"name": "one", "limits": [{"name": "x", "limit_c": 260}], "allowed": ["SAC305"]},
        {"name": "two", "limits": [{"name": "y", "limit_c": 160}], "allowed": ["Bi-42Sn"], "meets": []},
    ]
    test = stacked(steps=steps, parts=[{"name": "z", "rating_c": 300, "rating_at": "body", **PLAIN}])
    told = said(test)
    assert "No assignment of" in told
    assert "Does not hold yet: ladder of SAC305 > Bi-42Sn" in told
    assert list(ladder(test).index) == ["one", "two"]
    assert "raise y from 160 to 166.4 degC (+6.4 K): opens SAC305 > Bi-42Sn" in told


def test_a_brief_without_steps_starts_from_one_with_its_board():
    test = opened("steps", brief="motor-drive")
    assert [plain(name) for name in ladder(test).index] == ["board"]
    assert "250 (link capacitor)" in [plain(cell) for cell in ladder(test)["lowest limit, degC"]]
    assert not test.session_state["case"].raw.get("steps")


def test_an_alloy_that_is_not_held_is_told():
    test = stacked()
    typed(test, "steps", 0, **{"may use": "Xx99"})
    assert "is neither a name in the catalogue nor a composition" in said(test)


def test_a_part_upside_down_asks_for_its_area_and_does_not_matter_over_solid_joints():
    test = opened("steps", brief="motor-drive")
    test.text_input(key="steps_hanging:mass_g").set_value("7.3").run()
    assert "open. the wetted area and the joint edge are missing; holds with 157 mm2" in said(test)
    test.text_input(key="steps_hanging:mass_g").set_value("-1").run()
    assert "mass_g: lies where the equation does not hold" in said(test)


def test_other_routes_typed_one_a_line_join_the_pool_and_faults_name_their_line():
    steps = [
        {**step, "allowed": [name]} for step, name in zip(STACK["steps"], ("Au-20Sn", "SAC305", "SAC305"), strict=True)
    ]
    test = stacked(steps=steps)
    area = next(entry for entry in test.text_area if entry.label == "Other routes, one a line")
    area.set_value("board=undercooled:Sn-58Bi\nnonsense").run()
    assert "Other routes, line 2: is no route" in plain(said(test))
    area = next(entry for entry in test.text_area if entry.label == "Other routes, one a line")
    area.set_value("board=undercooled:Sn-58Bi").run()
    assert not test.exception
    assert "Au-20Sn > SAC305 > Bi-42Sn by undercooled powder" in plain(said(test))
