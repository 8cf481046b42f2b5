"""The page Compliance in the browser: the three tasks of a compliance officer, by typing and by keyboard."""

import json
import re

import pytest
from playwright.sync_api import expect
from test_brief_page import forgive_not_found

pytestmark = pytest.mark.browser


def open_page(window, brief="river-logger"):
    page = window.open(f"compliance?brief={brief}")
    expect(page.get_by_role("heading", name="Compliance", level=2)).to_be_visible()
    return page


def type_in(window, name, text):
    field = window.page.get_by_role("textbox", name=name)
    field.fill(text)
    field.press("Control+Enter")
    window.settled()


def pick(window, name, text):
    """Choose from a list by keyboard."""
    box = window.page.get_by_role("combobox", name=name)
    box.click()
    box.fill(text)
    box.press("Enter")
    box.press("Escape")
    window.settled()


def click(window, text):
    window.page.get_by_text(text, exact=True).first.click()
    window.settled()


def passing(window, tmp_path):
    """Return the alloys that the grid shows, from the file of it."""
    with window.page.expect_download() as waiting:
        window.page.get_by_role("button", name="This grid (CSV)").click()
    target = tmp_path / "grid.csv"
    waiting.value.save_as(target)
    return [line.split(",")[0] for line in target.read_text(encoding="utf-8").splitlines()[1:]]


def test_which_alloys_ship_to_eu_and_china_in_september_2027(visit, tmp_path):
    window = visit()
    page = open_page(window)
    click(window, "the whole catalogue")
    pick(window, "Markets", "China")
    type_in(window, "As of (year-month-day)", "2027-09-15")
    expect(
        page.get_by_text(re.compile(r"^\d+ of 79 alloys pass everywhere on 2027-09-15 in EU and China"))
    ).to_be_visible()
    click(window, "Only what passes everywhere: law and customers")
    shown = passing(window, tmp_path)
    assert "SAC305" in shown
    assert "Sn-37Pb" not in shown
    expect(page.get_by_test_id("stVegaLiteChart")).to_have_count(1)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="All findings (JSON)").click()
    found = json.loads(waiting.value.path().read_text(encoding="utf-8"))
    assert {row["alloy"] for row in found} >= {"SAC305", "Sn-37Pb"}
    forgive_not_found(window)


def test_a_high_lead_solder_in_a_hearing_aid_charger_in_2028(visit):
    window = visit()
    page = open_page(window)
    click(window, "chosen here")
    type_in(window, "As of (year-month-day)", "2027-12-31")
    click(window, "Use, equipment and joint")
    pick(window, "Kind of equipment", "other electrical")
    pick(window, "Which joint it is", "die attach")
    later = page.get_by_role("button", name="Next change")
    later.focus()
    later.press("Enter")
    window.settled()
    expect(page.get_by_text("Against 2027-12-31, 1 cell changed:")).to_be_visible()
    moved = re.compile(r"Pb-5Sn, EU RoHS: .* becomes \? open: III-7\(a\) and \d+ more past their date")
    expect(page.get_by_text(moved)).to_be_visible()
    pick(window, "Alloy", "Pb-5Sn")
    expect(
        page.get_by_text(re.compile(r"a renewal filed in time by \d{4}-\d\d-\d\d would keep it alive")).first
    ).to_be_visible()
    forgive_not_found(window)


def test_whether_an_antimony_ban_leaves_an_alloy_that_remelts_above_200_degc(visit, tmp_path):
    window = visit()
    page = open_page(window)
    click(window, "the whole catalogue")
    click(window, "Customers' bans and measured traces")
    type_in(window, "Bans, one a line", "Sb 1000 private list of customer Q7")
    type_in(window, "Remelt onset at least, degC", "200")
    click(window, "Only what passes everywhere: law and customers")
    told = re.compile(r"^\d+ pass everywhere and have a remelt onset of at least 200 degC for certain")
    expect(page.get_by_text(told)).to_be_visible()
    shown = passing(window, tmp_path)
    assert "SAC305" in shown
    assert not {"Sn-5Sb", "Bi-42Sn"} & set(shown)
    assert "Q7" not in page.url
    forgive_not_found(window)


def test_it_fits_a_dark_telephone_and_tells_a_day_that_is_none(visit):
    window = visit(color_scheme="dark")
    window.page.set_viewport_size({"width": 390, "height": 844})
    page = open_page(window)
    type_in(window, "As of (year-month-day)", "in autumn")
    expect(page.get_by_role("alert").filter(has_text="is not a day")).to_be_visible()
    type_in(window, "As of (year-month-day)", "2027-07-01")
    expect(page.get_by_test_id("stVegaLiteChart")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    forgive_not_found(window)
