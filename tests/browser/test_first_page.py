"""The page that a newcomer sees first, in a real browser."""

import re

import pytest
from playwright.sync_api import expect

from selector.brief import read, shipped
from selector.catalogue import load
from selector.decision import decide

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def decided():
    return {name: decide(read(shipped(name)), load()) for name in ("skin-patch", "motor-drive")}


def shows(page, decision):
    """Expect the title of a brief and a sentence that names its leader."""
    expect(page.get_by_role("heading", name=decision.brief.title)).to_be_visible()
    leader = re.escape(decision.admitted[0].alloy.id)
    expect(page.get_by_text(re.compile(rf"{leader} leads")).first).to_be_visible()


def choose(window, label, option):
    """Choose from a list as a person does."""
    window.settled()
    box = window.page.get_by_role("combobox", name=label)
    box.scroll_into_view_if_needed()
    # A list that has opened closes again when the page scrolls.
    window.page.wait_for_timeout(500)
    box.click()
    window.page.get_by_role("option", name=option).click()
    expect(box).to_have_value(option)
    window.settled()


def chart_with(page, *texts):
    """Return the chart in whose drawing all these texts stand."""
    charts = page.get_by_role("img")
    for text in texts:
        charts = charts.filter(has_text=text)
    return charts.first


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_opens_on_the_skin_patch_with_a_chart_and_the_grid(visit, decided, scheme):
    page = visit(color_scheme=scheme).open()
    shows(page, decided["skin-patch"])
    admitted = [entry.alloy.id for entry in decided["skin-patch"].admitted]
    expect(chart_with(page, "degC", *admitted)).to_be_visible()
    expect(chart_with(page, "Peak heat", *admitted)).to_be_visible()
    ground = page.evaluate("getComputedStyle(document.querySelector('[data-testid=stApp]')).backgroundColor")
    assert ground == {"light": "rgb(255, 255, 255)", "dark": "rgb(20, 24, 29)"}[scheme]


def test_another_brief_is_shown_and_its_address_opens_it_in_another_browser(visit, decided):
    window = visit()
    page = window.open()
    page.get_by_role("link", name="Brief", exact=True).click()
    expect(page).to_have_url(re.compile("/brief"))
    choose(window, "Open an example brief", "motor-drive")
    before = page.url
    page.get_by_role("button", name="Open it").click()
    page.wait_for_url(lambda url: url != before)
    window.settled()
    page.get_by_role("link", name="Shortlist", exact=True).click()
    shows(page, decided["motor-drive"])
    expect(page).to_have_url(re.compile(r"[?&](c|brief)="))
    page.reload()
    shows(page, decided["motor-drive"])
    other = visit().open("?" + page.url.split("?")[1])
    shows(other, decided["motor-drive"])


def test_an_address_opens_the_brief_that_it_names(visit, decided):
    shows(visit().open("?brief=motor-drive"), decided["motor-drive"])


@pytest.mark.parametrize("query", ["brief=nonsense", "c=nonsense"])
def test_an_address_that_cannot_be_read_warns_and_shows_the_default(visit, decided, query):
    page = visit().open(f"?{query}")
    expect(page.get_by_role("alert").filter(has_text="skin-patch is open instead")).to_be_visible()
    shows(page, decided["skin-patch"])
