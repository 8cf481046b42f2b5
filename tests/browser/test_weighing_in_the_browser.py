"""A meeting of two held by keyboard, blind, frozen and unblinded; and how sure an order is, in the browser."""

import re

import pytest
from playwright.sync_api import expect
from test_brief_page import forgive_not_found

from selector import link
from selector.brief import read, shipped
from selector.decision import decide
from selector.record.robustness_words import sentence
from selector.robustness import robustness

pytestmark = pytest.mark.browser
# The weights of the preset, which a brief without its own gets.
BRIEF = read(shipped("motor-drive")).model_copy(update={"preferences": ()})
LINK = link.pack(BRIEF.model_dump())
PURCHASING = {"Process headroom": "30", "Pasty range": "10", "Drop shock": "20", "Thermal cycling": "60"}
PURCHASING |= {"Wetting": "20", "Metal with supply risk": "70"}
QUALITY = ("Thermal cycling", "Drop shock", "Wetting", "Pasty range", "Process headroom", "Metal cost", "Metal with")


@pytest.fixture(scope="module")
def decision():
    return decide(BRIEF)


def names_on(page, decision):
    """Return the admitted alloys that stand anywhere in the page; the unit of cost names no candidate."""
    whole = page.content().replace("SAC305 = 1", "")
    return [entry.alloy.id for entry in decision.admitted if entry.alloy.id in whole]


def typed(page, role, name, text):
    """Type into a field and leave it by Tab, as a person at a keyboard does."""
    field = page.get_by_role(role, name=name)
    field.focus()
    page.keyboard.type(text)
    page.keyboard.press("Tab")


def pressed(window, name):
    window.settled()
    button = window.page.get_by_role("button", name=name, exact=True)
    button.focus()
    window.page.keyboard.press("Enter")
    window.settled()


def chosen(window, name):
    option = window.page.get_by_role("radio", name=name)
    option.focus()
    window.page.keyboard.press("Space")
    window.settled()


def settled_by(window, who, button):
    typed(window.page, "textbox", "Who settles it", who)
    pressed(window, button)


def test_two_members_meet_by_keyboard_blind_until_frozen(visit, decision):
    window = visit()
    page = window.open(f"panel?c={LINK}")
    blind = page.get_by_role("switch", name="Blind: alloys stand under letters")
    blind.focus()
    page.keyboard.press("Space")
    window.settled()
    typed(page, "textbox", "Name", "purchasing")
    typed(page, "textbox", "Reason, in a sentence", "what we pay")
    chosen(window, re.compile("Metal cost per cm3 from"))
    for name, points in PURCHASING.items():
        typed(page, "spinbutton", re.compile(f"^{name}"), points)
    expect(page.get_by_text(re.compile("Would you really swap")).first).to_be_visible()
    pressed(window, "Hand in")
    expect(page.get_by_text("what we pay")).to_have_count(0)
    expect(page.get_by_role("textbox", name="Name")).to_have_value("")
    chosen(window, "rank order only")
    typed(page, "textbox", "Name", "quality")
    typed(page, "textbox", "Reason, in a sentence", "what comes back")
    for place, name in enumerate(QUALITY, start=1):
        typed(page, "spinbutton", re.compile(f"^{name}"), str(place))
    pressed(window, "Hand in")
    assert names_on(page, decision) == []
    pressed(window, "Show together")
    expect(page.get_by_text(re.compile("The members do not agree on the first place"))).to_be_visible()
    assert names_on(page, decision) == []
    settled_by(window, "chair", "Freeze the weights")
    expect(page.get_by_text(re.compile("Weights frozen by chair at"))).to_be_visible()
    assert names_on(page, decision) == []
    settled_by(window, "chair", "Lift the letters")
    expect(page.get_by_text(re.compile("Letters lifted by chair at"))).to_be_visible()
    assert names_on(page, decision) == [entry.alloy.id for entry in decision.admitted]
    assert "purchasing" not in page.url
    page.set_viewport_size({"width": 390, "height": 844})
    window.settled()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    forgive_not_found(window)


def test_how_sure_answers_for_another_knowledge_of_the_weights(visit, decision):
    window = visit(color_scheme="dark")
    page = window.open(f"?c={LINK}")
    page.get_by_role("link", name=re.compile("who may overtake")).click()
    expect(page.get_by_text(sentence(robustness(decision)))).to_be_visible()
    chosen(window, "nothing about the weights")
    expect(page.get_by_text(sentence(robustness(decision, "nothing")))).to_be_visible()
    expect(page.get_by_test_id("stVegaLiteChart")).to_have_count(2)
    page.set_viewport_size({"width": 390, "height": 844})
    window.settled()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    forgive_not_found(window)
