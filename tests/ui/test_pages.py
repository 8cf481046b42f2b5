"""The first page, headless: it opens on the skin patch, draws both charts and follows the chosen brief."""

from pathlib import Path

import pyarrow as pa
import pytest
from streamlit.testing.v1 import AppTest

APP = Path(__file__).parents[2] / "app.py"


@pytest.fixture
def page():
    test = AppTest.from_file(str(APP), default_timeout=30)
    test.run()
    assert not test.exception
    return test


def alloys_in(page, index):
    """Return the alloys of a chart's rows."""
    names = set()
    for dataset in page.get("vega_lite_chart")[index].proto.datasets:
        frame = pa.ipc.open_stream(dataset.data.data).read_pandas()
        names |= set(frame.get("alloy", []))
    return names


def test_it_opens_on_the_skin_patch_with_its_finding(page):
    assert page.header[0].value == "Hydration-tracking skin patch"
    assert any("Bi-42Sn-1Ag leads 7 admitted alloys" in text.value for text in page.markdown)
    assert any("has qualified no joint" in text.value for text in page.markdown)


def test_both_charts_have_a_finding_as_text(page):
    charts = page.get("vega_lite_chart")
    assert len(charts) == 2
    assert all(len(chart.proto.alt) > 20 for chart in charts)


def test_melting_bars_show_admitted_and_near_misses_and_all_on_demand(page):
    few = alloys_in(page, 0)
    assert {"Bi-42Sn", "Sn-45Bi", "Sn-35Bi-1Ag"} <= few
    assert "SAC305" not in few or len(few) < 30
    page.toggle(key="everything").set_value(True).run()
    assert not page.exception
    assert len(alloys_in(page, 0)) >= 60


def test_another_brief_changes_the_page_and_the_address(page):
    page.selectbox(key="brief_choice").set_value("river-logger").run()
    assert not page.exception
    assert page.header[0].value == "River level logger"
    assert page.query_params["brief"] == "river-logger"
    assert any("No alloy is admitted" in box.value for box in page.info)


def test_an_address_opens_its_brief():
    test = AppTest.from_file(str(APP), default_timeout=30)
    test.query_params["brief"] = "motor-drive"
    test.run()
    assert test.header[0].value == "Water-pump motor drive under the hood"


def test_a_bad_address_warns_and_opens_the_default():
    test = AppTest.from_file(str(APP), default_timeout=30)
    test.query_params["brief"] = "../../etc/passwd"
    test.run()
    assert not test.exception
    assert "is open instead" in test.warning[0].value
    assert test.header[0].value == "Hydration-tracking skin patch"
