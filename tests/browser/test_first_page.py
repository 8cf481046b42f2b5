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


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_opens_on_the_skin_patch_with_a_chart_and_the_grid(visit, decided, scheme):
    page = visit(color_scheme=scheme).open()
    shows(page, decided["skin-patch"])
    charts = page.get_by_role("img").filter(has_text=decided["skin-patch"].admitted[0].alloy.id)
    expect(charts).to_have_count(2)
    for chart in charts.all():
        expect(chart).to_be_visible()
        for entry in decided["skin-patch"].admitted:
            expect(chart.get_by_text(entry.alloy.id, exact=True).first).to_be_attached()
    ground = page.evaluate("getComputedStyle(document.querySelector('[data-testid=stApp]')).backgroundColor")
    assert ground == {"light": "rgb(255, 255, 255)", "dark": "rgb(20, 24, 29)"}[scheme]


def test_another_brief_is_shown_and_its_address_opens_it_again(visit, decided):
    page = visit().open()
    page.get_by_role("combobox", name="Brief").click()
    page.get_by_role("option", name="motor-drive").click()
    shows(page, decided["motor-drive"])
    expect(page).to_have_url(re.compile(r"[?&]brief=motor-drive\b"))
    other = visit().open(page.url.removeprefix(page.url.split("?")[0]))
    shows(other, decided["motor-drive"])


def test_an_address_that_asks_for_nothing_we_have_warns_and_shows_the_default(visit, decided):
    page = visit().open("?brief=nonsense")
    expect(page.get_by_role("alert").filter(has_text="nonsense")).to_be_visible()
    shows(page, decided["skin-patch"])
