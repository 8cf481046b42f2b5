"""The page Process, headless: window, print, footprint and heat; each starts from the brief and tells what is wrong."""

import re

from test_pages import opened, said, turned

from selector import link
from selector.brief import read, shipped


def field(test, name, kind="text_input"):
    return next(each for each in getattr(test, kind) if re.fullmatch(rf"process:\d+:.*:{name}", each.key or ""))


def type_in(test, name, value, kind="text_input"):
    field(test, name, kind).set_value(value).run()
    assert not test.exception
    return test


def turn_to(test, words):
    return type_in(test, "asked", words, "radio")


def opened_on(alloy="Bi-42Sn", brief="river-logger"):
    return type_in(opened("process", brief=brief), "alloy", alloy)


def test_the_window_starts_from_the_brief_and_is_drawn():
    test = opened_on()
    text = said(test)
    assert "The window is open: +33.6 K between the hottest joint and backup cell holder" in text
    assert field(test, "superheat_k").value == "20"
    (chart,) = test.get("vega_lite_chart")
    assert "The window is open" in chart.proto.alt
    for word in ("Package classes, J-STD-020", "share of the usual bow", "screening aid", "low-temperature"):
        assert word in text


def test_no_peak_that_fits_is_an_error_and_a_part_of_a_kind_says_so():
    test = type_in(opened_on("SAC305"), "parts", "lens=85; C1=connector PBT")
    assert any("No peak fits" in re.sub(r"\\(.)", r"\1", each.value) for each in test.error)
    assert "C1: 200 degC is a default for its kind" in said(test)


def test_it_starts_from_the_leader_where_there_is_one():
    test = opened("process", brief="skin-patch")
    assert field(test, "alloy").value not in ("", "SAC305")


def test_what_is_typed_wrongly_is_told_by_its_label_and_kept():
    test = type_in(opened_on(), "superheat_k", "300")
    told = re.sub(r"\\(.)", r"\1", " ".join(each.value for each in test.error))
    assert "Superheat, K: lies outside the range; got 300 K" in told
    again = turned(turned(test, "alloys"), "process")
    assert field(again, "superheat_k").value == "300"


def test_a_print_is_judged_and_its_impossible_aperture_refused():
    test = turn_to(opened_on(), "Print, and what is under the part")
    type_in(test, "print_aperture_um", "300")
    type_in(test, "flux", "water-soluble", "selectbox")
    type_in(test, "print_standoff_um", "40")
    assert any("washing under the part is not proved" in re.sub(r"\\(.)", r"\1", e.value) for e in test.error)
    type_in(test, "print_aperture_um", "900")
    assert any("is not smaller than the pitch" in re.sub(r"\\(.)", r"\1", each.value) for each in test.error)


def test_a_footprint_starts_from_the_peak_of_the_alloy_and_stands_beside_the_one_in_use():
    raw = read(shipped("river-logger")).model_dump()
    raw["footprint"] = {**raw["footprint"], "grid_kg_kwh": "unknown"}
    test = type_in(opened("process", c=link.pack(raw)), "alloy", "Bi-42Sn")
    turn_to(test, "Energy, carbon and cost")
    assert field(test, "foot_peak_c").value == "166"
    assert field(test, "foot_compare").value == "SAC305"
    text = said(test)
    assert "% of the oven's energy" in text
    assert "No factor of the grid is stated" in text
    type_in(test, "prices", "Bi=35; Xx=2")
    assert any("is of no element" in re.sub(r"\\(.)", r"\1", each.value) for each in test.error)


def test_a_heat_path_starts_from_the_brief_and_its_stack_is_typed_one_a_line():
    test = turn_to(opened_on("SAC305", "motor-drive"), "Heat path and stack")
    assert field(test, "heat_service_c").value == "125"
    assert field(test, "heat_class", "radio").value == "3"
    assert field(test, "heat_layers", "text_area").value == "part=14ppm@100K\nboard=16ppm@100K"
    # 2 ppm/K x 100 K x 3 mm = 0.6 um over 100 um.
    assert "Most shear at part to board: at most 0.006" in said(test)
    for name, value in (("thickness_um", "100"), ("area_mm2", "25"), ("void_share", "0.2"), ("power_w", "40")):
        type_in(test, f"heat_{name}", value)
    text = said(test)
    assert "128.1 to 128.4 degC" in text
    assert "compiled-table-2010" in text
    type_in(test, "heat_layers", "part=14ppm@100K\nboard=16ppm@373C", "text_area")
    type_in(test, "heat_thickness_um", "0.1")
    told = re.sub(r"\\(.)", r"\1", " ".join(each.value for each in test.error))
    assert "Layer board, change of temperature: is in another unit" in told
    assert "Joint thickness, um: lies outside the range" in told
    assert field(turned(turned(test, "alloys"), "process"), "heat_thickness_um").value == "0.1"


def test_a_conductivity_that_nobody_holds_stays_unknown_and_a_hot_joint_is_a_stop():
    test = turn_to(opened_on("In-48Sn", "motor-drive"), "Heat path and stack")
    assert "The resistance is not known: the thermal conductivity" in said(test)
    for name, value in (("metal_w_mk", "34"), ("thickness_um", "100"), ("area_mm2", "25"), ("power_w", "40")):
        type_in(test, f"heat_{name}", value)
    assert any("a stop" in each.value for each in test.error)
