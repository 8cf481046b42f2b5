"""Working in the browser: a part's rating changes, named alloys enter and leave, nothing typed is lost."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser
GRID_ROW = 31
RATING_X = 345  # of the column of ratings, on a screen 1280 wide


def grid(page, number=0):
    """Return one of the tables of the page."""
    return page.get_by_test_id("stDataFrame").nth(number)


def turn(window, title):
    """Turn to another page and wait until it is drawn."""
    window.page.get_by_role("link", name=title, exact=True).click()
    expect(window.page.get_by_role("heading", name=title, level=2)).to_be_visible()
    window.settled()


def type_rating(window, row, text):
    """Type a rating into the table of parts as a person does: click the cell, open it, type, confirm."""
    page = window.page
    table = grid(page)
    table.scroll_into_view_if_needed()
    page.wait_for_timeout(400)
    table.dblclick(position={"x": RATING_X, "y": GRID_ROW * (row + 1) + GRID_ROW // 2})
    # The cell's own editor is fetched when it is first wanted.
    editor = page.locator("#portal textarea")
    editor.wait_for()
    editor.fill(text)
    editor.press("Enter")
    editor.wait_for(state="detached")
    window.settled()


def service_maximum(page):
    return page.get_by_role("textbox", name="Service maximum, degC")


def type_service_maximum(window, text):
    """Type the hottest service and wait until the address holds it."""
    before = window.page.url
    field = service_maximum(window.page)
    field.fill(text)
    field.press("Enter")
    window.page.wait_for_url(lambda url: url != before)
    window.settled()


def forgive_not_found(window):
    """Drop the errors of requests that a page opened under its own address makes in vain before it finds its way."""
    window.errors[:] = [error for error in window.errors if "404" not in error]


def test_a_rating_of_215_lets_named_alloys_in_and_200_puts_them_out_again(visit):
    window = visit()
    page = window.open()
    turn(window, "Brief")
    type_rating(window, 0, "215")
    expect(page.get_by_text("Entered since the brief was opened")).to_be_visible(timeout=15_000)
    expect(page.get_by_text("Sn-35Bi-1Ag +9.5 K")).to_be_visible()
    expect(page.get_by_text("Sn-30Bi-0.5Cu +1 K")).to_be_visible()
    page.get_by_role("link", name="Shortlist", exact=True).click()
    expect(page.get_by_text("9 admitted alloys")).to_be_visible()
    turn(window, "Brief")
    type_rating(window, 0, "200")
    expect(page.get_by_text(re.compile("leads 7 admitted alloys"))).to_be_visible()
    expect(page.get_by_text("Entered since the brief was opened")).not_to_be_visible()


def test_a_second_edit_and_a_wrong_one_are_kept_as_typed(visit):
    window = visit()
    page = window.open()
    turn(window, "Brief")
    type_rating(window, 0, "215")
    type_rating(window, 1, "hot")
    expect(page.get_by_text(re.compile(r"Row 2, Rated to: is not a number \(got 'hot'\)"))).to_be_visible()
    turn(window, "Alloys")
    turn(window, "Brief")
    expect(page.get_by_text(re.compile(r"got 'hot'"))).to_be_visible()
    type_rating(window, 1, "260")
    expect(page.get_by_text("Sn-35Bi-1Ag +9.5 K")).to_be_visible()


def test_a_shared_link_opens_on_another_page_with_the_same_state_and_back_undoes(visit):
    window = visit()
    page = window.open()
    turn(window, "Brief")
    before = page.url
    type_service_maximum(window, "60")
    link = page.get_by_test_id("stCode").inner_text()
    assert "c=" in link
    assert "p=" not in link
    other = visit()
    shared = other.open("challenge?" + link.split("?")[1].strip())
    forgive_not_found(other)
    expect(shared.get_by_text("stay out of a link")).to_be_visible()
    turn(other, "Brief")
    expect(service_maximum(shared)).to_have_value("60")
    page.reload()
    window.settled()
    expect(service_maximum(page)).to_have_value("60")
    forgive_not_found(window)
    page.go_back()
    window.settled()
    expect(service_maximum(page)).to_have_value("45")
    assert page.url.split("?")[0] == before.split("?")[0]


def test_challenge_and_alloys_answer(visit):
    window = visit()
    page = window.open()
    turn(window, "Challenge")
    expect(page.get_by_text("Why not SAC305? For Hydration-tracking skin patch it is ruled out.")).to_be_visible()
    turn(window, "Alloys")
    field = page.get_by_role("textbox", name="Search: any spelling, element or word")
    field.fill("58Bi-42Sn")
    field.press("Enter")
    expect(page.get_by_text("1 of 79 alloys.")).to_be_visible()


def test_the_record_is_saved_and_opens_offline(visit, tmp_path):
    window = visit()
    page = window.open()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Decision record (HTML)").click()
    target = tmp_path / "record.html"
    waiting.value.save_as(target)
    reader = visit(offline=True, java_script_enabled=False)
    reader.page.goto(target.as_uri())
    assert reader.abroad == [target.as_uri()]
    reader.abroad.clear()
    expect(reader.page.get_by_role("heading", name="Hydration-tracking skin patch")).to_be_visible()
    expect(reader.page.get_by_text("Bi-42Sn-1Ag leads").first).to_be_visible()
    assert reader.page.locator("svg").count() == 4  # melting, screening, order, bands of weights


def test_bans_survive_a_reload_and_never_reach_another_browser(visit):
    window = visit()
    page = window.open()
    turn(window, "Brief")
    type_service_maximum(window, "50")
    address = page.url
    page.reload()
    window.settled()
    expect(service_maximum(page)).to_have_value("50")
    expect(page.get_by_text("stay out of a link")).not_to_be_visible()
    forgive_not_found(window)
    other = visit()
    stranger = other.open("brief?" + address.split("?")[1])
    expect(stranger.get_by_text("stay out of a link")).to_be_visible()
    forgive_not_found(other)
