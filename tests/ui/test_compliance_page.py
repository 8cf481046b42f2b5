"""The page Compliance, headless: the three tasks, what moves with the day, and what is told of wrong typing."""

from datetime import date

import pandas as pd
import pyarrow as pa
import pytest
from streamlit.testing.v1 import AppTest
from test_pages import ROOT, opened, said, turned

from selector import link
from selector.brief import read, shipped
from selector.catalogue import load
from selector.ui import compliance_choice, complied
from selector.ui.compliance_choice import BY_HAND, FROM_BRIEF, WHOLE_LIST, Choice
from selector.ui.state import Case


def field(test, name):
    """Return a field of the page by the end of its key."""
    kinds = ("text_input", "text_area", "selectbox", "multiselect", "radio", "toggle", "checkbox", "button")
    held = [each for kind in kinds for each in getattr(test, kind)]
    return next(each for each in held if each.key == name or (each.key or "").endswith(f":{name}"))


def put(test, **values):
    """Fill fields, then run once."""
    for name, value in values.items():
        field(test, name).set_value(value)
    test.run()
    assert not test.exception
    return test


def press(test, name):
    field(test, name).click().run()
    assert not test.exception
    return test


def grid(test):
    """Return the grid of law and customers as rows by alloy; columns by the title of the rule set."""
    frame = next(each.value for each in test.dataframe if "Law" in each.value.columns.get_level_values(0))
    frame.columns = frame.columns.get_level_values(1)
    return frame.set_index("alloy")


def began(brief="skin-patch", **choice):
    """Open the page alone, on a choice or on what a brief gives."""
    test = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    test.query_params["brief"] = brief
    if choice:
        test.session_state[complied.HELD] = Choice(**{"on": "2027-09-01", **choice})
    test.switch_page("selector/ui/pages/compliance.py")
    test.run()
    assert not test.exception
    return test


def by_hand(*alloys, **values):
    return began(source=BY_HAND, picked=alloys, **values)


# from the brief


def test_it_starts_from_the_open_brief():
    test = began()
    assert field(test, "markets").value == ["EU", "US", "China"]
    assert field(test, "on").value == "2027-09-01"
    assert field(test, "source").value == FROM_BRIEF
    assert field(test, "bans").value.startswith("Sb 1000 ")
    assert "alloys pass everywhere on 2027-09-01 in EU, US and China" in said(test)
    assert "SAC305" in grid(test).index
    assert "No legal advice" in said(test)
    assert "Under the law as known on 2025-03-31 to 2026-11-25" in said(test)


def test_it_serves_without_a_brief_that_holds_together():
    test = began()
    case = test.session_state["case"]
    test.session_state["case"] = type(case)(case.raw, case.brief, case.opened, case.faults, held=False)
    test.run()
    assert not test.exception
    assert field(test, "source").value == BY_HAND
    assert set(grid(test).index) == set(compliance_choice.SHORT_LIST)


def test_a_choice_survives_a_turn_of_pages_and_goes_back_to_the_brief():
    test = put(began(), on="2028-02-01", bans="Ag 10 reason of the customer")
    test = turned(turned(test, "alloys"), "compliance")
    assert field(test, "on").value == "2028-02-01"
    assert field(test, "bans").value == "Ag 10 reason of the customer"
    assert not any("reason of the customer" in str(value) for value in test.query_params.values())
    assert field(press(test, "again"), "on").value == "2027-09-01"


# the three tasks


def test_which_alloys_ship_to_eu_and_china_in_september_2027():
    test = put(began("river-logger"), source=WHOLE_LIST, markets=["EU", "China"], on="2027-09-01", equipment="consumer")
    assert "of 79 alloys pass everywhere on 2027-09-01 in EU and China" in said(test)
    test = put(test, compliance_only=True)
    found = grid(test)
    assert "SAC305" in found.index
    assert "Sn-37Pb" not in found.index
    assert set(found["everywhere"]) == {"✓ passes"}


def test_a_high_lead_solder_in_a_charger_of_2028():
    test = by_hand(
        "Pb-5Sn", on="2027-12-31", equipment="consumer", application="die attach", figures=(("current_a", "5"),),
    )  # fmt: skip
    assert grid(test).loc["Pb-5Sn", "EU RoHS"] == "✓ holds by III-7(a)-I until 2027-12-31"
    test = press(test, "later")
    assert field(test, "on").value == "2028-01-01"
    assert grid(test).loc["Pb-5Sn", "EU RoHS"] == "? open: III-7(a) and 2 more past their date"
    assert "Against 2027-12-31, 1 cell changed:" in said(test)
    assert "Pb-5Sn is open on 2028-01-01 in EU: over the EU RoHS limit by 949000 ppm Pb" in said(test)
    assert "a renewal filed in time by 2025-12-30 would keep it alive" in said(test)
    test = press(test, "ask:renewal-filed:No")
    assert grid(test).loc["Pb-5Sn", "EU RoHS"] == "✗ fails, -949000 ppm Pb"


def test_a_figure_that_settles_an_open_cell_is_offered():
    test = by_hand("Pb-5Sn", equipment="consumer", application="die attach")
    test = press(test, "ask:current_a:figure")
    test = put(test, **{"figure:current_a": "5"})
    assert grid(test).loc["Pb-5Sn", "EU RoHS"] == "✓ holds by III-7(a)-I until 2027-12-31"


def test_what_an_antimony_ban_leaves_above_200_degc():
    test = began(source=WHOLE_LIST, bans="Sb 1000 customer's own list", onset="200")
    test = put(test, compliance_only=True)
    found = grid(test)
    assert "SAC305" in found.index
    assert "Bi-42Sn" not in found.index  # 138 degC
    assert "Sn-5Sb" not in found.index  # banned
    assert found.loc["SAC305", "remelt onset, degC"].startswith("217")
    assert "pass everywhere and have a remelt onset of at least 200 degC for certain" in said(test)
    # 171 to 269.4: the interval straddles 200.
    test = put(test, compliance_only=False)
    assert grid(test).loc["Pb-10Sn-2Ag", "reaches what is asked"] == "open"


# day, use, typing


WRONG = {
    "on": {"soon": "As of: is not a day; got 'soon'"},
    "onset": {
        "hot": "Remelt onset at least: is not a number; got 'hot'",
        "4000": "lies outside the range; got '4000'",
        "1e400": "is not a number",
    },
    "bans": {
        "Sb": "Ban, line 1: has no limit",
        "Sb 0,1%": "Ban, line 1: has a comma",
        "Sb 1000 a\nSb 900 b": "Ban, line 2: bans an element for the second time",
        "Xx 1000": "Ban, line 1: is not an element in the table",
        "Sb 2000000": "Ban, line 1: lies outside the range",
    },
    "traces": {
        "Pb 1,100": "Trace, line 1: has a comma, which some read as thousands and some as decimals",
        "Pb 1\nlead 2": "Trace, line 2: measures an element for the second time",
        "Pb lots": "Trace, line 1: is not a number of ppm",
        "a b c d": "Trace, line 1: cannot be read",
        "Sn-3In Pb 450": "names no alloy that is judged",
        "Pb 2000\nPb 450": "Trace, line 2: measures an element for the second time",
        "SAC305 Pb 2000\nSAC305 Pb 450": "Trace, line 2: measures an element for the second time",
    },
    "typed": {"Sn-99Xx": "Line 1: ", "\n" * 2 + "SAC3O5": "Line 3: "},
}


def test_what_is_typed_wrongly_is_told_all_at_once_and_kept():
    values = {name: next(iter(told)) for name, told in WRONG.items() if name != "on"}
    values |= {"yes": ("automotive", "toy"), "no": ("toy",), "equipment": "consumer", "figures": (("current_a", "-1"),)}
    test = by_hand("SAC305", **values)
    told = said(test)
    for name in ("onset", "bans", "traces", "typed"):
        assert WRONG[name][values[name]] in told
    assert all(field(test, name).value == values[name] for name in ("bans", "traces", "typed"))
    assert "is said and denied" in told
    assert "name more than one kind of equipment" in told
    assert "current_a: lies outside the range" in told
    test = put(test, on="soon")
    assert WRONG["on"]["soon"] in said(test)
    assert "Not used: As of, Trace, line 1, Ban, line 1, current_a. Nothing is judged until this is mended." in said(
        test
    )


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"bans": "Sb 0,1%"}, "Ban, line 1"),
        ({"traces": "Pb 1,100"}, "Trace, line 1"),
        ({"no": ("toy",), "yes": ("toy",)}, "use"),
    ],
)
def test_while_an_entry_has_a_fault_nothing_passes(values, told):
    test = by_hand("SAC305", "Sn-5Sb", **values)
    assert f"Not used: {told}. Nothing is judged until this is mended." in said(test)
    assert "everywhere" not in said(test)
    assert not test.dataframe


def test_what_is_judged_by_which_bans_and_what_was_typed_stand_under_the_finding():
    test = by_hand(typed="63Sn-37Pb", bans="antimony 0.1 % own list", form="wire")
    told = said(test)
    assert "Judged: the finished joint" in told
    assert "Bans judged, as typed here: Sb above 1000 ppm." in told
    assert "As typed: 63Sn-37Pb is Sn-37Pb." in told
    test = press(test, "as_sold")
    assert field(test, "judged").value == "mixture"
    assert "Judged: the solder as sold, flux included" in said(test)
    test = put(test, markets=[])
    assert "No market is chosen: the rules of every market are judged." in said(test)
    test = put(test, typed="", picked=[])
    assert "Give at least one alloy." in said(test)


def test_a_day_out_of_reach_gives_no_verdict():
    test = by_hand("SAC305", on="2099-01-01")
    assert "No verdict: 2099-01-01 lies more than 10 years after" in said(test)
    assert "passes everywhere" not in said(test)
    assert set(grid(test)["everywhere"]) == {"– no verdict"}


@pytest.mark.parametrize(("name", "text"), [(name, text) for name, told in WRONG.items() for text in told])
def test_every_fault_is_found(name, text):
    """Without the page: what stands in a field and cannot be read."""
    choice = Choice(**{"on": "2027-09-01", "source": BY_HAND, "picked": ("SAC305",), name: text})
    faults = compliance_choice.asked(choice, None, (), load()).faults
    assert any(WRONG[name][text] in str(fault) for fault in faults)


@pytest.mark.parametrize(
    ("bans", "found"),
    [
        ("Sb 1000 customer's list", ("Sb", 1000, "customer's list")),
        ("Sb=1000ppm", ("Sb", 1000, "as typed on the page")),
        ("antimony 0.1 % ppm counted", ("Sb", 1000, "ppm counted")),
        ("Sb 0.1%: by mass", ("Sb", 1000, "by mass")),
    ],
)
def test_bans_are_read_in_ppm_and_percent(bans, found):
    choice = Choice(on="2027-09-01", source=BY_HAND, picked=("SAC305",), bans=bans)
    asked = compliance_choice.asked(choice, None, (), load())
    assert not asked.faults
    (ban,) = asked.contexts[0].bans
    assert (ban.element, ban.limit_ppm, ban.reason) == found


def test_typed_compositions_are_judged_under_the_name_of_the_catalogue_or_their_own():
    test = by_hand(typed="63Sn-37Pb\nSn-2.2Ag-0.3Cu", equipment="consumer")
    found = grid(test)
    assert list(found.index) == ["Sn-37Pb", "Sn-2.2Ag-0.3Cu"]
    assert found.loc["Sn-37Pb", "EU RoHS"] == "✗ fails, -369000 ppm Pb"
    assert found.loc["Sn-2.2Ag-0.3Cu", "remelt onset, degC"] == "not computed here"


def test_a_measured_trace_of_one_alloy_counts_for_it_alone():
    test = by_hand("SAC305", "Bi-42Sn", equipment="consumer", traces="SAC305 Pb 1001")
    found = grid(test)
    assert found.loc["SAC305", "EU RoHS"] == "✗ fails, -1 ppm Pb"
    assert found.loc["Bi-42Sn", "EU RoHS"] == "✓ holds, +1000 ppm Pb"


def test_an_answer_about_the_use_settles_cells():
    test = by_hand("Sn-37Pb", equipment="vehicle")
    assert grid(test).loc["Sn-37Pb", "EU batteries"] == "? open: portable battery?"
    assert "by its equipment no child product, jewellery" in said(test)
    test = press(test, "ask:portable-battery:No")
    assert field(test, "no").value == ["portable-battery"]
    assert "EU batteries" not in grid(test).columns


def test_the_detail_names_clause_source_and_both_days():
    test = by_hand("Sn-37Pb", equipment="consumer")
    told = said(test)
    assert "✗ EU RoHS, EU-ROHS-PB: fails, -369000 ppm Pb" in told
    for part in ("Directive 2011/65/EU Annex II", "at most 1000 ppm of homogeneous material", "high confidence"):
        assert part in told
    assert "2027-09-01; as known on 2026-11-25" in told
    assert "Exemptions looked at" in told


def test_the_days_to_come_stand_in_a_chart_with_its_finding_and_in_a_table():
    test = by_hand("SAC305", markets=("China",), on="2027-07-01")
    chart = test.get("vega_lite_chart")[0].proto
    assert chart.alt.startswith("Next after 2027-07-01: 2027-08-01, China RoHS: Pb, Hg, Cd: goes by GB 26572-2025")
    rows = pd.concat([pa.ipc.open_stream(each.data.data).read_pandas() for each in chart.datasets])
    assert {"asked: 2027-07-01", "2027-08-01"} <= set(rows["label"])
    assert "2027\\-08\\-01 \\(coming\\)" in [*test.table[-1].value.index]
    labels = {each.proto.label for each in test.get("download_button")}
    assert {"All findings (CSV)", "All findings (JSON)", "This grid (CSV)", "Days of change (CSV)"} <= labels


def test_each_market_has_its_own_day_where_the_brief_says_so():
    raw = read(shipped("skin-patch")).model_dump()
    raw["markets"] = [
        {"market": "EU", "date": date(2027, 3, 1), "date_kind": "placed on market"},
        {"market": "China", "date": date(2027, 8, 1), "date_kind": "manufactured"},
    ]
    test = opened("compliance", c=link.pack(raw))
    assert field(test, "own_days").value
    assert "on each market's day, 2027-03-01 to 2027-08-01 in EU and China" in said(test)


def test_a_change_of_filter_judges_nothing_anew(monkeypatch):
    test = began(source=WHOLE_LIST)
    monkeypatch.setattr(complied, "evaluate_all", lambda *_: pytest.fail("judged anew"))
    put(test, onset="150")


def test_a_choice_starts_from_nothing_known():
    first = compliance_choice.first_choice(None, date(2027, 1, 2))
    assert first == Choice(on="2027-01-02", source=BY_HAND)


def test_an_alloy_in_use_that_the_catalogue_does_not_hold_is_not_judged_and_breaks_nothing():
    brief = read(shipped("skin-patch")).model_copy(update={"incumbent": "Sn-1.234Zn"})
    judged = complied.of_brief(Case({}, brief, brief))
    assert judged
    assert "Sn-1.234Zn" not in judged
