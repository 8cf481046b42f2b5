"""The page Joint, headless: what it starts from, what stops it, what it refuses, what it keeps."""

import re

import pytest
from test_pages import opened, said, turned

from selector import link
from selector.brief import read, shipped
from selector.catalogue import load
from selector.enquiry.joint_asked import joint_asked, texts_of


def field(test, name, kind="text_input"):
    return next(each for each in getattr(test, kind) if re.fullmatch(rf"joint:\d+:.*:{name}", each.key or ""))


def type_in(test, name, value, kind="text_input"):
    field(test, name, kind).set_value(value).run()
    assert not test.exception
    return test


@pytest.fixture
def mixed():
    """The river logger with a bismuth paste in use and balls of tin, which melt quickly in the engine too."""
    raw = read(shipped("river-logger")).model_dump()
    raw["incumbent"] = "Bi-42Sn"
    raw["parts"] = list(raw["parts"])
    raw["parts"][0] |= {"ball_alloy": "none", "finish": "copper"}
    test = opened("joint", c=link.pack(raw))
    field(test, "ball").set_value("Sn")
    return type_in(test, "dissolved_share", "0.3")


def test_it_starts_from_the_brief(mixed):
    assert field(mixed, "part", "selectbox").value == "radio package"
    assert field(mixed, "paste").value == "Bi-42Sn"
    assert field(mixed, "pitch_mm").value == "0.8"
    assert field(mixed, "service_c").value == "60"
    assert field(mixed, "package_finish", "selectbox").value == "copper"
    told = texts_of(read(shipped("river-logger")), "radio package")
    assert (told["ball"], told["package_finish"], told["ipc_class"]) == ("SAC305", "tin-silver-copper", "2")
    assert "ball" not in texts_of(read(shipped("river-logger")), "legacy connector")


def test_it_tells_zones_defaults_and_that_it_has_qualified_nothing(mixed):
    text = said(mixed)
    assert re.search(r"The joint begins to melt at 13\d(\.\d+)? to 14\d", text)
    for word in ("mixed zone", "unmelted ball", "height of the joint", "screening aid", "0.6 of the pitch"):
        assert word in text
    (chart,) = mixed.get("vega_lite_chart")
    assert "The joint begins to melt" in chart.proto.alt
    assert "service maximum, 60 degC" in text


def test_a_lead_finish_is_an_error_that_names_who_brings_it(mixed):
    type_in(mixed, "finish", "tin-lead", "selectbox")
    assert "EU RoHS fails" in re.sub(r"\\\\(.)", r"\\1", said(mixed))
    assert any("meets lead of finish of the board" in re.sub(r"\\(.)", r"\1", each.value) for each in mixed.error)


def test_what_is_typed_wrongly_is_told_and_kept_over_a_page_turn(mixed):
    type_in(mixed, "foil_um", "-3")
    type_in(mixed, "pad_mm", "40 <b>")
    told = re.sub(r"\\(.)", r"\1", " ".join(each.value for each in mixed.error))
    assert "Foil, um: is negative; got -3 um" in told
    assert "Pad diameter, mm: is not a number; got '40 <b>'" in told
    again = turned(turned(mixed, "alloys"), "joint")
    assert field(again, "pad_mm").value == "40 <b>"
    assert field(again, "dissolved_share").value == "0.3"


def test_another_part_starts_from_its_own_joints(mixed):
    type_in(mixed, "part", "legacy connector", "selectbox")
    assert field(mixed, "ball").value == ""
    assert field(mixed, "package_finish", "selectbox").value == "tin-lead"
    assert any("meets lead of finish of the part" in re.sub(r"\\(.)", r"\1", each.value) for each in mixed.error)


@pytest.mark.parametrize("name", ["skin-patch", "motor-drive", "river-logger"])
def test_every_part_of_every_brief_is_a_joint_that_can_be_asked(name):
    brief = read(shipped(name))
    for part in ("", *(part.name for part in brief.parts)):
        asked = joint_asked({"paste": "SAC305", **texts_of(brief, part)}, load(), on_page=True)
        assert asked.figures["service_c"].value == brief.service.maximum_c
