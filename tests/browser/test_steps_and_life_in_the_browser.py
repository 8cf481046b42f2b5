"""Steps and Life in the browser: a limit typed into the table moves the ladder; a stated figure brings the life."""

import re

import pytest
from playwright.sync_api import expect
from test_brief_page import forgive_not_found, turn

from selector import link
from selector.brief import from_raw

pytestmark = pytest.mark.browser
SOON_MS = 30_000
STACK = {
    "title": "Sensor stack",
    "incumbent": "SAC305",
    "ipc_class": 2,
    "use": {"equipment": "monitoring and control", "sweat_or_chloride": False, "sealed": True},
    "service": {"minimum_c": -25, "maximum_c": 70, "cyclic_range_k": 40, "cycles_per_day": 2, "shock": True},
    "process": {"superheat_k": 25, "board_spread_k": 0, "form": "paste", "routes": ["reflow"]},
    "parts": [
        {
            "name": "sensor module",
            "rating_c": 200,
            "rating_at": "body",
            "finish": "nickel-gold",
            "ball_alloy": "none",
            "lead_bearing": False,
        }
    ],
    "steps": [
        {"name": "die attach", "limits": [{"name": "die", "limit_c": 340}], "meets": []},
        {"name": "board", "limits": [{"name": "sensor", "limit_c": 200}], "meets": []},
    ],
}


def test_the_ladder_is_chosen_and_survives_a_reload_and_life_is_stated(visit):
    window = visit(color_scheme="dark")
    page = window.open(f"steps?c={link.pack(from_raw(STACK).model_dump(mode='python'))}")
    expect(page.get_by_text(re.compile("alloys by 2 steps hold for certain"))).to_be_visible(timeout=SOON_MS)
    expect(page.get_by_test_id("stVegaLiteChart")).to_have_count(1)
    page.get_by_role("radiogroup", name="Choose by").get_by_text("tightest margin").click()
    window.settled()
    heading = page.get_by_role("heading", name=re.compile("^Ladder of ")).inner_text()
    page.reload()
    window.settled()
    expect(page.get_by_role("heading", name=re.compile("^Ladder of "))).not_to_have_text(heading)
    turn(window, "Life")
    page.get_by_role("textbox", name="Service maximum, degC").fill("400")
    page.get_by_role("textbox", name="Service maximum, degC").press("Enter")
    window.settled()
    expect(page.get_by_role("alert").filter(has_text="reaches the remelt onset").first).to_be_visible(timeout=SOON_MS)
    forgive_not_found(window)
