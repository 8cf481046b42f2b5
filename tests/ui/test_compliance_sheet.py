"""The view of the sheet, headless: its fields, the table of traces, and the files behind its buttons."""

from datetime import date

import pytest
from streamlit.testing.v1 import AppTest


def page():
    from datetime import date
    from fractions import Fraction

    from selector.compliance.context import context
    from selector.composition import parse
    from selector.ui.views import compliance_sheet

    asked = context(
        date(2027, 9, 1), markets=["EU"], judged="joint", equipment="consumer", traces={"Pb": Fraction(450)}
    )
    compliance_sheet.show("SAC305", parse("SAC305"), [asked])


@pytest.fixture
def test():
    found = AppTest.from_function(page, default_timeout=30).run()
    assert not found.exception
    return found


def said(test):
    return "\n".join(element.value for kind in (test.markdown, test.caption, test.error) for element in kind)


def test_it_shows_verdicts_that_go_by_the_traces(test):
    assert "only the supplier can declare" in said(test)
    assert "Nothing fails; " in said(test)
    assert "measured contents stand without lot, laboratory, method, day" in said(test)
    assert [button.label for button in test.get("download_button")] == [
        "To print (HTML)",
        "Workbook (XLSX)",
        "Spreadsheet (CSV)",
        "IEC 62474 (XML)",
    ]


def test_a_trace_in_the_table_is_used(test):
    row = {"edited_rows": {0: {"ppm": 1100}}, "added_rows": [], "deleted_rows": []}
    test.session_state["sheet_traces_SAC305"] = row
    test.run()
    assert not test.exception
    assert r"Fails EU\-ROHS\-PB" in said(test)


def test_an_element_given_twice_is_a_fault_and_hands_nothing_on(test):
    row = {"edited_rows": {}, "added_rows": [{"element": "Pb", "ppm": 2}], "deleted_rows": []}
    test.session_state["sheet_traces_SAC305"] = row
    test.run()
    assert "name an element twice" in said(test)
    assert not test.get("download_button")


def test_the_fields_of_the_certificate(test):
    test.text_input(key="sheet_lot_SAC305").set_value("L-17")
    test.text_input(key="sheet_laboratory_SAC305").set_value("supplier")
    test.text_input(key="sheet_method_SAC305").set_value("emission")
    test.date_input(key="sheet_certified_SAC305").set_value(date(2026, 1, 1))
    test.date_input(key="sheet_expires_SAC305").set_value(date(2026, 2, 1))
    test.run()
    assert r"the certificate expired on 2026\-02\-01" in said(test)
    assert "stand without" not in said(test)
    test.date_input(key="sheet_certified_SAC305").set_value(date(2026, 3, 1)).run()
    assert "lies before the day of the certificate" in said(test)
