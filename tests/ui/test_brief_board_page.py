"""The page Brief keeps what the brief says of the board, and takes it as typed."""

from pathlib import Path

from streamlit.testing.v1 import AppTest

from selector.brief import read, shipped
from selector.record.labels import LABELS
from selector.ui.typed import cell_text, read_cell
from selector.ui.views import brief_board

ROOT = Path(__file__).parents[2]


def test_the_page_keeps_the_board_and_takes_what_is_typed():
    test = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    test.query_params["brief"] = "sensor-stack"
    test.run()
    test.switch_page("selector/ui/pages/brief.py").run()
    assert not test.exception
    case = test.session_state["case"]
    assert case.brief == read(shipped("sensor-stack")) == case.opened
    test.text_input(key=f"{case.generation}:printing.foil_um").set_value("110").run()
    test.text_input(key=f"{case.generation}:footprint.prices").set_value("Sn 31; Ag 900").run()
    assert not test.exception
    changed = test.session_state["case"].brief
    assert (changed.printing.foil_um, changed.footprint.usd_kg) == (110, {"Sn": 31, "Ag": 900})
    assert changed.steps == case.brief.steps
    assert changed.materials == case.brief.materials
    test.text_input(key=f"{case.generation}:printing.foil_um").set_value("2").run()
    assert any("outside the range" in error.value for error in test.error)


def test_every_field_of_the_fold_has_a_label_and_every_table_is_there():
    shown = {path for _, paths in brief_board.GROUPS for path in paths}
    tables = ("printing", "mixing", "life", "materials", "footprint")
    brief = read(shipped("sensor-stack"))
    assert shown == {f"{table}.{name}" for table in tables for name in type(getattr(brief, table)).model_fields}
    assert shown <= set(LABELS)
    assert set(brief_board.STEP_COLUMNS) == set(type(brief.steps[0]).model_fields)


def test_steps_come_back_from_their_cells_as_they_were():
    raw = read(shipped("sensor-stack")).model_dump(mode="json")
    for step in raw["steps"]:
        for name in brief_board.STEP_COLUMNS:
            label = LABELS[f"steps.{name}"]
            back = read_cell(f"steps.{name}", cell_text(step[name], label), label)
            assert back == (None if step[name] in ("unknown", []) and not label.empty else step[name]) or (
                back is None and step[name] == "unknown"
            ), name


def test_lists_are_read_as_they_are_typed():
    limits, meets, prices = (LABELS[name] for name in ("steps.limits", "steps.meets", "footprint.prices"))
    assert read_cell("steps.limits", "film 200; a lens ?", limits) == [
        {"name": "film", "limit_c": 200.0},
        {"name": "a lens", "limit_c": "unknown"},
    ]
    assert cell_text([{"name": "film", "limit_c": 200.0}, {"name": "a lens"}], limits) == "film 200; a lens ?"
    assert read_cell("steps.limits", "film", limits) == "film"
    assert read_cell("steps.limits", "film warm", limits) == "film warm"
    assert read_cell("steps.meets", "none", meets) == []
    assert read_cell("steps.meets", "die, module", meets) == ["die", "module"]
    assert (cell_text([], meets), cell_text("unknown", meets)) == ("none", "")
    assert read_cell("footprint.prices", "Sn 31; Ag 900", prices)[1] == {"element": "Ag", "usd_kg": 900.0}
    assert read_cell("footprint.joints", "640", LABELS["footprint.joints"]) == 640
