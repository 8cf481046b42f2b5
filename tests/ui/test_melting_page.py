"""The page Melting, headless: what it finds, what it keeps of what was typed, and what it does without the solver."""

import json
import re

import pytest
from test_pages import opened, said, turned

from selector import link
from selector.brief import read, shipped
from selector.errors import InputError
from selector.melting import alloy, database, diagram, lever, mixing, store
from selector.ui import melted
from selector.ui.melting_choice import Choice, packed, unpacked
from selector.ui.views.melting_fields import MIXED

DEFAULT = "SAC305 at 217 degC (211 to 223, fitted) and Bi-42Sn at 139 degC (136 to 142, assessed)"


def chosen(*typed, **more):
    return packed(Choice(typed, **more))


def field(test, name):
    """Return a field of the page by the end of its key, which also says how often the address chose anew."""
    return next(
        each
        for kind in (test.text_input, test.selectbox, test.slider, test.radio)
        for each in kind
        if re.fullmatch(rf"melting:\d+:{name}", each.key or "")
    )


def type_in(test, name, value):
    field(test, name).set_value(value).run()
    assert not test.exception
    return test


def parameter(test, name):
    value = test.query_params.get(name, "")
    return value[0] if isinstance(value, list) else value


def tables(test):
    return [table.value for table in test.table]


def alts(test):
    return [chart.proto.alt for chart in test.get("vega_lite_chart")]


# the finding


def test_it_opens_on_the_alloy_in_use_with_its_finding():
    test = opened("melting")
    assert DEFAULT in said(test)
    assert "At the service maximum of 45 degC nothing is liquid." in said(test)
    assert "fitted: rests in part on a fit to few targets; take it to about 6 K" in said(test)
    assert "service maximum, 45 degC" in said(test)
    assert "hottest liquidus that the parts allow, 175 degC" in said(test)


def test_every_chart_has_a_finding_as_text_and_a_table():
    test = opened("melting")
    assert len(alts(test)) == 3
    assert all(len(text) > 20 for text in alts(test))
    figures = tables(test)[0]
    assert list(figures.columns) == ["SAC305", r"Bi\-42Sn"]
    assert figures.loc["solidus, homogenised, degC", "SAC305"].replace("\\", "").startswith("216.6")
    assert list(tables(test)[1].index) == [r"\(Sn\)", "Ag3Sn", "Cu6Sn5", "Cu6Sn5'"]
    curves = next(each.value for each in test.dataframe if "line" in each.value)
    assert set(curves["line"]) == {"as frozen", "at equilibrium"}
    assert {"Figures (CSV)", "Freezing curves (CSV)"} <= {each.proto.label for each in test.get("download_button")}


def test_what_is_liquid_in_service_is_named_with_its_share():
    raw = read(shipped("skin-patch")).model_dump()
    raw["service"]["maximum_c"] = 140
    test = opened("melting", c=link.pack(raw), m=chosen("Bi-42Sn", "Sn-37Pb"))
    assert re.search(
        r"At the service maximum of 140 degC is liquid, as frozen: \d+(\.\d+)? % of Bi-42Sn; nothing of"
        " Sn-37Pb",
        said(test),
    )


def test_a_first_liquid_too_small_to_count_is_a_warning():
    test = opened("melting", m=chosen("Pb-10Sn"))
    assert any("melts first" in each.value and "as remelting" in each.value for each in test.warning)


def test_what_has_no_single_liquidus_is_said_and_not_drawn():
    test = opened("melting", m=chosen("Bi-50Zn", "In"))
    assert "Bi-50Zn: no remelt onset (two liquids" in said(test)
    assert "No freezing path is computed." in said(test)
    assert "In at 157 degC" in said(test)


# what is typed


@pytest.mark.parametrize("text", ["58Bi-42Sn", "Bi58Sn42", "Bi:58;Sn:42", " bi-42Sn "])
def test_any_spelling_is_taken_and_named_once(text):
    test = opened("melting", m=chosen("Bi-42Sn", text))
    if text.strip()[0] == "b":
        assert field(test, "typed:1").value == text
    assert list(tables(test)[0].columns) == [r"Bi\-42Sn"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Sn-99Xx", "is not an element"),
        ("Sn-0.5Zz", "is not an element"),
        ("Sn60Pb60", "do not add up"),
        ("Au-20Sn", "80 wt% Au is not covered"),
        ("<b>[x](https://example.invalid)![y](z)", "neither a name in the catalogue nor a composition"),
    ],
)
def test_what_cannot_be_computed_is_told_kept_as_typed_and_stops_nothing_else(text, told):
    test = type_in(opened("melting"), "typed:1", text)
    errors = " ".join(re.sub(r"\\(.)", r"\1", each.value) for each in test.error)
    assert told in errors
    assert field(test, "typed:1").value == text
    assert "SAC305 at 217 degC" in said(test)
    for kind in (test.markdown, test.caption, test.error, test.warning, test.info):
        for element in kind:
            assert not re.search(r"(?<!\\)(\]\(|<b>)", element.value), element.value
    turned(test, "alloys")
    assert field(turned(test, "melting"), "typed:1").value == text


def test_nothing_typed_asks_for_something():
    test = opened("melting")
    type_in(test, "typed:0", "")
    type_in(test, "typed:1", "")
    assert "Type a composition such as" in said(test)


def test_a_pick_fills_its_field_and_a_third_and_fourth_appear_when_wanted():
    test = opened("melting")
    assert not any((each.key or "").endswith("typed:3") for each in test.text_input)
    type_in(test, "typed:2:pick", "Sn-37Pb")
    assert field(test, "typed:2").value == "Sn-37Pb"
    assert field(test, "typed:2:pick").value is None
    assert field(test, "typed:3").value == ""
    assert len(alts(test)) == 4


# the address


def test_the_choice_stands_in_the_address_only_once_something_was_chosen():
    test = opened("melting")
    assert parameter(test, "m") == ""
    type_in(test, "typed:1", "Sn-37Pb")
    told = parameter(test, "m")
    assert unpacked(told) == Choice(("SAC305", "Sn-37Pb"))
    assert parameter(test, "c")
    for page in ("brief", "shortlist", "melting"):
        turned(test, page)
        assert parameter(test, "m") == told
    assert field(test, "typed:1").value == "Sn-37Pb"
    other = opened("melting", m=told, c=parameter(test, "c"))
    assert field(other, "typed:1").value == "Sn-37Pb"


def test_another_address_in_the_same_session_chooses_anew_and_none_chooses_the_start():
    test = type_in(opened("melting"), "typed:1", "Sn-37Pb")
    test.query_params["m"] = chosen("In", "Sn-3.5Ag")
    test.run()
    assert [field(test, f"typed:{place}").value for place in (0, 1)] == ["In", "Sn-3.5Ag"]
    del test.query_params["m"]
    test.run()
    assert DEFAULT in said(test)


def test_the_start_follows_the_alloy_in_use_of_the_brief_and_nothing_of_its_bans():
    raw = read(shipped("skin-patch")).model_dump()
    raw["incumbent"] = "Sn-37Pb"
    raw["bans"] = [{"element": "Bi", "limit_ppm": 1, "reason": "none of our business"}]
    test = opened("melting", c=link.pack(raw))
    assert [field(test, f"typed:{place}").value for place in (0, 1)] == ["Sn-37Pb", "Bi-42Sn"]


@pytest.mark.parametrize(
    "told",
    [
        "nonsense",
        "[]",
        "{}",
        '{"typed":"SAC305"}',
        '{"typed":[1]}',
        '{"typed":["a","b","c","d","e"]}',
        '{"typed":["In"],"percent":101}',
        '{"typed":["In"],"percent":true}',
        '{"typed":["In"],"mixing":1}',
        '{"typed":["In"],"other":1}',
        '{"typed":["\\ud800"]}',
        '{"typed":["' + "x" * 201 + '"]}',
        "[" * 2000,
        "x" * 5000,
    ],
)
def test_a_bad_choice_in_the_address_warns_and_shows_the_start(told):
    with pytest.raises(InputError):
        unpacked(told)
    if len(told) < 40:
        test = opened("melting", m=told)
        assert "could not be read" in test.warning[0].value
        assert DEFAULT in said(test)


def test_a_choice_reads_back_as_it_was():
    for choice in (
        Choice(()),
        Choice(("SAC305", "", 'ü" ', "x" * 200)),
        Choice(("In", "Bi"), mixing=True, percent=0, trace="Pb", trace_wt="a lot"),
    ):
        assert unpacked(packed(choice)) == choice
    assert json.loads(chosen("In")) == {"typed": ["In"]}


# mixing


def test_two_are_mixed_by_share_with_a_trace():
    test = type_in(opened("melting", m=chosen("Sn-37Pb", "Sn")), "mode", MIXED)
    assert "Mixture 50:50 at 183 degC" in said(test) or "Mixture 50:50 at 182 degC" in said(test)
    type_in(test, "percent", 100)
    type_in(test, "trace", "Bi")
    assert tables(test)[0].columns[0] == r"Mixture 0\:100"
    type_in(test, "trace_wt", "2")
    assert "Mixture 0:100 with 2 wt% Bi" in said(test)
    assert tables(test)[0].loc["composition, wt%"].iloc[0] == r"Sn\-2Bi"
    assert unpacked(parameter(test, "m")) == Choice(("Sn-37Pb", "Sn"), True, 100, "Bi", "2")


@pytest.mark.parametrize("wrong", ["lots", "-1", "100", "nan"])
def test_a_wrong_trace_is_told_and_kept(wrong):
    test = opened("melting", m=chosen("Sn-37Pb", "Sn", mixing=True, trace="Bi", trace_wt="2"))
    type_in(test, "trace_wt", wrong)
    assert any("trace" in each.value for each in test.error)
    assert field(test, "trace_wt").value == wrong
    assert "Sn-37Pb at 182 degC" in said(test)
    turned(test, "brief")
    assert field(turned(test, "melting"), "trace_wt").value == wrong


def test_a_trace_that_is_not_covered_and_a_missing_second_alloy_are_told():
    test = opened("melting", m=chosen("Sn-37Pb", "Sn", mixing=True, trace="Au", trace_wt="2"))
    assert any("not covered" in each.value for each in test.error)
    test = opened("melting", m=chosen("Sn-37Pb", mixing=True))
    assert "A mixture takes two alloys." in said(test)


def test_the_curve_waits_for_its_button_and_stays(monkeypatch):
    monkeypatch.setattr(melted, "blend_curve", lambda *a, told: mixing.blend_curve(*a, steps=3, told=told))
    test = opened("melting", m=chosen("Sn-37Pb", "Sn", mixing=True, percent=30))
    assert not any("against the share" in text for text in alts(test))
    next(each for each in test.button if "Compute the curve" in each.label).click().run()
    assert not test.exception
    assert any("Remelt onset and T98 of Sn-37Pb mixed with Sn" in text for text in alts(test))
    rows = next(each.value for each in test.dataframe if "% Sn" in each.value)
    assert list(rows["% Sn"]) == [0.0, 33.333, 66.667, 100.0]
    assert "The upright line is the mixture above: 30 % Sn." in said(test)
    type_in(test, "percent", 31)
    assert "The upright line is the mixture above: 31 % Sn." in said(test)


def test_a_section_is_drawn_with_the_alloy_on_it(monkeypatch):
    monkeypatch.setattr(melted, "section", lambda *a, told: diagram.section(*a, steps=2, told=told))
    test = opened("melting", m=chosen("Sn-36Pb-2Ag"))
    assert "Sn gives way to Pb; held: 2 wt% Ag." in said(test)
    test.selectbox(key="section_to").set_value("Ag").run()
    assert "Sn gives way to Ag; held: 36 wt% Pb." in said(test)
    test.selectbox(key="section_to").set_value("Pb").run()
    next(each for each in test.button if "Compute the section" in each.label).click().run()
    assert not test.exception
    assert any("from Sn to Pb, Sn-36Pb-2Ag at 36 wt% Pb" in text for text in alts(test))
    rows = next(each.value for each in test.dataframe if "wt% Pb" in each.value)
    assert list(rows["wt% Pb"]) == [0.0, 49.0, 98.0]


# what is missing


def test_a_brief_that_never_held_together_holds_nothing_against_the_alloys():
    raw = read(shipped("skin-patch")).model_dump()
    raw["service"]["maximum_c"] = 999
    test = opened("melting", c=link.pack(raw))
    assert "never held together" in said(test)
    assert DEFAULT in said(test)
    assert "service maximum, " not in said(test)


def test_an_unknown_service_maximum_and_one_below_the_tables_are_said():
    raw = read(shipped("skin-patch")).model_dump()
    raw["service"] |= {"maximum_c": "unknown", "cyclic_range_k": "unknown"}
    assert "The brief states no service maximum." in said(opened("melting", c=link.pack(raw)))
    raw["service"] |= {"minimum_c": -40, "maximum_c": -10}
    assert "the tables end at 25 degC" in said(opened("melting", c=link.pack(raw)))


def test_without_the_solver_it_is_said_and_the_rest_is_shown(monkeypatch, tmp_path):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))
    for module in (alloy, lever, database):
        monkeypatch.setattr(module, "solver_installed", lambda: False)
    melted.entry_of.clear()
    try:
        test = opened("melting", m=chosen("SAC305", "Sn-36.5Pb"))
        assert any("pycalphad" in each.value and "not installed" in each.value for each in test.warning)
        # The catalogue's alloy has its solidus in the table that ships; both have their freezing.
        assert "SAC305 at 217 degC" in said(test)
        figures = tables(test)[0]
        assert figures.loc["solidus, homogenised, degC"].tolist() == [r"216\.6", "unknown"]
        assert len(alts(test)) == 3
        assert not test.error
        assert not list(tmp_path.iterdir())
    finally:
        melted.entry_of.clear()
        store._kept.cache_clear()
