"""The page Melting in the browser: compositions typed, a mixture's share by keyboard, a curve on demand."""

import re
from urllib.parse import quote

import pytest
from playwright.sync_api import expect
from test_brief_page import forgive_not_found, turn

pytestmark = pytest.mark.browser
SOON_MS = 60_000  # the first alloy of all waits for the solver to load


def open_melting(window):
    page = window.open()
    turn(window, "Melting")
    expect(page.get_by_text(re.compile("As frozen, the joint begins to melt: SAC305 at 217 degC"))).to_be_visible(
        timeout=SOON_MS
    )
    window.settled()
    return page


def type_alloy(window, place, text):
    """Type a composition and wait until it is taken in."""
    field = window.page.get_by_role("textbox", name=f"Alloy {place}: any spelling")
    field.fill(text)
    field.press("Enter")
    window.settled()
    return field


def address_holds(window, text):
    window.page.wait_for_url(lambda url: quote(text) in url or text in url, timeout=SOON_MS)
    window.settled()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_composition_is_typed_and_found_again_after_reload_and_back(visit, scheme):
    window = visit(color_scheme=scheme)
    page = open_melting(window)
    type_alloy(window, 2, "63Sn-37Pb")
    expect(page.get_by_text(re.compile(r"Sn-37Pb at 182 degC"))).to_be_visible(timeout=SOON_MS)
    address_holds(window, "63Sn-37Pb")
    expect(page.get_by_test_id("stVegaLiteChart")).to_have_count(3)
    page.reload()
    window.settled()
    field = page.get_by_role("textbox", name="Alloy 2: any spelling")
    expect(field).to_have_value("63Sn-37Pb")
    page.go_back()
    window.settled()
    expect(field).to_have_value("Bi-42Sn", timeout=SOON_MS)
    forgive_not_found(window)


def test_what_is_typed_wrongly_is_told_and_kept_over_a_page_turn(visit):
    window = visit()
    page = open_melting(window)
    type_alloy(window, 2, "Sn-99Xx <b>")
    expect(page.get_by_role("alert").filter(has_text="is not an element").first).to_be_visible()
    expect(page.get_by_text("As frozen, the joint begins to melt: SAC305")).to_be_visible()
    turn(window, "Alloys")
    turn(window, "Melting")
    expect(page.get_by_role("textbox", name="Alloy 2: any spelling")).to_have_value("Sn-99Xx <b>")


def test_the_share_moves_by_keyboard_and_the_curve_comes_on_demand(visit):
    window = visit()
    chosen = '{"typed":["Sn","Sn-37Pb"],"mixing":true,"percent":99}'
    page = window.open(f"melting?m={quote(chosen)}")
    expect(page.get_by_text(re.compile(r"Mixture 1:99 at 18\d degC"))).to_be_visible(timeout=SOON_MS)
    share = page.get_by_role("slider", name="Share of alloy 2 in the mixture, % by mass")
    share.press("ArrowRight")
    expect(page.get_by_text(re.compile(r"Mixture 0:100 at 18\d degC"))).to_be_visible(timeout=SOON_MS)
    address_holds(window, '"percent":100')
    button = page.get_by_role("button", name=re.compile("Compute the curve"))
    button.focus()
    button.press("Enter")
    caption = page.get_by_text("The upright line is the mixture above: 100 % Sn-37Pb.")
    expect(caption).to_be_visible(timeout=2 * SOON_MS)
    window.settled()
    points = page.get_by_test_id("stExpander").filter(has_text="The points as a table")
    points.get_by_text("The points as a table").click()
    expect(points.get_by_test_id("stDataFrame")).to_be_visible()
    forgive_not_found(window)


def test_it_fits_a_telephone(visit):
    window = visit()
    window.page.set_viewport_size({"width": 390, "height": 844})
    page = window.open("melting")
    expect(page.get_by_test_id("stVegaLiteChart").first).to_be_visible(timeout=SOON_MS)
    window.settled()
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= 390
    forgive_not_found(window)


def test_figures_are_saved_for_a_spreadsheet(visit, tmp_path):
    window = visit()
    page = open_melting(window)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Figures (CSV)").click()
    target = tmp_path / "figures.csv"
    waiting.value.save_as(target)
    lines = target.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "figure,SAC305,Bi-42Sn"
    assert lines[1] == '"composition, wt%",Sn-3Ag-0.5Cu,Bi-42Sn'
