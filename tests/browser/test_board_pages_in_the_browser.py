"""Joint and Process in the browser: what is typed, a stop, the charts, and a telephone."""

import re

import pytest
from playwright.sync_api import expect
from test_brief_page import forgive_not_found

from selector import link
from selector.brief import read, shipped

pytestmark = pytest.mark.browser
SOON_MS = 60_000


def address():
    raw = read(shipped("river-logger")).model_dump()
    raw["incumbent"] = "Bi-42Sn"
    raw["parts"] = list(raw["parts"])
    raw["parts"][0] |= {"ball_alloy": "none", "finish": "copper"}
    return link.pack(raw)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_joint_is_typed_drawn_and_refused(visit, scheme):
    window = visit(color_scheme=scheme)
    page = window.open(f"joint?c={address()}")
    expect(page.get_by_text(re.compile(r"The joint begins to melt at 13"))).to_be_visible(timeout=SOON_MS)
    expect(page.get_by_test_id("stVegaLiteChart")).to_have_count(1)
    share = page.get_by_role("textbox", name="Hottest service, degC")
    share.fill("4000")
    share.press("Enter")
    told = page.get_by_role("alert").filter(has_text="Hottest service, degC: lies outside the range; got 4000 degC")
    expect(told).to_be_visible(timeout=SOON_MS)
    expect(share).to_have_value("4000")
    forgive_not_found(window)


def test_the_window_fits_a_telephone(visit):
    window = visit()
    window.page.set_viewport_size({"width": 390, "height": 844})
    page = window.open(f"process?c={address()}")
    expect(page.get_by_text(re.compile(r"The window is open"))).to_be_visible(timeout=SOON_MS)
    expect(page.get_by_test_id("stVegaLiteChart").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    forgive_not_found(window)
