"""The charts of melting: gaps stay gaps, grades show without colour, every line is named where it can be read."""

import pytest

from selector.composition import parse
from selector.melting.alloy import Melting
from selector.melting.diagram import SectionPoint
from selector.melting.lever import LeverPoint
from selector.melting.mixing import BlendPoint
from selector.record import charts_melting, theme

ALLOY = parse("Bi-42Sn")


def melting(liquidus=200.0, onset=150.0, grade="assessed", **figures):
    """Return a melting with round figures, 2 K of half-width."""
    given = {
        "t98_c": None if liquidus is None else liquidus - 5,
        "solidus_c": 160.0,
        "onset_low_c": onset,
        "onset_high_c": onset,
    } | figures
    return Melting("Bi-42Sn", ("Bi", "Sn"), (0.5, 0.5), grade, 2.0, liquidus_c=liquidus, remelt_onset_c=onset, **given)


def section(*found):
    return charts_melting.section_chart(
        [SectionPoint(10.0 * k, ALLOY, one) for k, one in enumerate(found)], "Sn", "Bi", {"Ag": "1"}
    )


def layers(chart):
    """Return each layer with its mark and its rows."""
    content = chart.to_dict()
    found = []
    for layer in content["layer"]:
        # What all layers share stands above them.
        data = layer.get("data") or content["data"]
        rows = data["values"] if "values" in data else content["datasets"][data["name"]]
        found.append((layer["mark"], rows, layer["encoding"]))
    return found


def of(chart, kind):
    return [(mark, rows, encoding) for mark, rows, encoding in layers(chart) if mark["type"] == kind]


def subtitle(chart):
    return " ".join(chart.to_dict()["title"]["subtitle"])


def test_every_line_has_its_own_dash_or_width_and_its_name_beside_it():
    chart = section(*[melting(200 + 3 * k, 150 - k) for k in range(8)])
    lines = of(chart, "line")
    assert {rows[0]["line"] for _, rows, _ in lines} == {"liquidus", "T98", "solidus", "remelt onset"}
    looks = {(tuple(mark["strokeDash"]), mark["strokeWidth"]) for mark, _, _ in lines}
    assert len(looks) == 4, "two lines differ by colour alone"
    ((_, words, _),) = of(chart, "text")
    assert {row["line"] for row in words} == {"liquidus", "T98", "solidus", "remelt onset"}


def test_an_unknown_value_breaks_a_line_and_the_band():
    known = melting()
    unknown = melting(onset=None, onset_low_c=None, onset_high_c=None)
    chart = section(known, known, unknown, known, known)
    (onset,) = [rows for _, rows, _ in of(chart, "line") if rows[0]["line"] == "remelt onset"]
    pieces = {}
    for row in onset:
        pieces.setdefault(row["piece"], []).append(row["x"])
    assert list(pieces.values()) == [[0, 10], [30, 40]]
    assert [[row["x"] for row in rows] for _, rows, _ in of(chart, "area")] == [[0, 10], [30, 40]]
    (liquidus,) = [rows for _, rows, _ in of(chart, "line") if rows[0]["line"] == "liquidus"]
    assert {row["piece"] for row in liquidus} == {0}


def test_the_band_is_the_interval_of_the_onset_and_of_the_grade():
    chart = section(*[melting(onset=150.0, onset_low_c=140.0, onset_high_c=155.0)] * 3)
    ((_, rows, _),) = of(chart, "area")
    assert {(row["low"], row["high"]) for row in rows} == {(138.0, 157.0)}


def test_a_figure_that_is_known_nowhere_draws_no_line():
    chart = section(*[melting(t98_c=None)] * 3)
    assert "T98" not in {rows[0]["line"] for _, rows, _ in of(chart, "line")}


def test_indicative_marks_are_hollow_and_the_subtitle_says_so():
    chart = section(melting(), melting(), melting(grade="indicative"))
    assert "Grade: assessed from 0 to 10 wt% Bi, indicative at 20 wt% Bi." in subtitle(chart)
    assert "Hollow marks: indicative." in subtitle(chart)
    for _, rows, encoding in of(chart, "point"):
        assert [row["grade"] for row in rows] == ["assessed", "assessed", "indicative"]
        fill = dict(zip(encoding["fill"]["scale"]["domain"], encoding["fill"]["scale"]["range"], strict=True))
        assert fill["indicative"] == "transparent"
        assert fill["assessed"] == fill["fitted"] != "transparent"
    assert "Hollow" not in subtitle(section(melting(), melting()))


def test_the_title_names_elements_and_what_is_held():
    assert section(melting(), melting()).to_dict()["title"]["text"] == "Sn-Bi with 1 wt% Ag"
    assert "Grade: assessed throughout." in subtitle(section(melting(), melting()))


def test_a_mixture_is_drawn_against_per_cent_and_a_trace_against_its_content():
    points = [BlendPoint(share, ALLOY, melting()) for share in (0.0, 0.5, 1.0)]
    mixed = charts_melting.blend_curves(points, "SAC305", "Bi-42Sn", added={"Pb": "0.5"})
    traced = charts_melting.blend_curves(points, "SAC305", trace="Pb")
    assert mixed.to_dict()["title"]["text"] == "SAC305 mixed with Bi-42Sn, 0.5 wt% Pb added"
    assert traced.to_dict()["title"]["text"] == "SAC305 with Pb"
    for chart, places in ((mixed, [0, 50, 100]), (traced, [0, 0.5, 1])):
        lines = of(chart, "line")
        assert {rows[0]["line"] for _, rows, _ in lines} == {"T98", "remelt onset"}
        assert all([row["x"] for row in rows] == places for _, rows, _ in lines)


def test_freezing_draws_both_paths_and_the_onset():
    found = melting(curve=((201.0, 1.0), (190.0, 0.5), (150.0, 0.1), (150.0, 0.0)))
    path = (LeverPoint(201.0, 1.0, ()), LeverPoint(180.0, None, ()), LeverPoint(160.0, 0.0, ()))
    chart = charts_melting.freezing_curves("Bi-42Sn", found, path)
    frozen, settled = [rows for _, rows, _ in of(chart, "line")]
    assert [(row["x"], row["y"]) for row in frozen] == [(200, 100), (190, 50), (150, 10), (150, 0)]
    assert [row["order"] for row in frozen] == [0, 1, 2, 3], "a jump keeps its order"
    assert [(row["x"], row["piece"]) for row in settled] == [(201, 0), (160, 1)]
    ((_, rule, _),) = of(chart, "rule")
    assert rule[0]["label"] == "remelt onset 150"
    assert subtitle(chart).startswith("Grade: assessed. Remelt onset: ")


def test_what_does_not_freeze_is_told_in_words():
    chart = charts_melting.freezing_curves("Pb-50Zn", melting(liquidus=None, t98_c=None, onset=None))
    assert [mark["type"] for mark, _, _ in layers(chart)] == ["text"]


def test_bars_show_range_t98_onset_and_half_width():
    found = {"one": melting(), "none": melting(None, None, "indicative", t98_c=None, solidus_c=None)}
    chart = charts_melting.melting_bars(found)
    rows = {row["alloy"]: row for row in of(chart, "bar")[0][1]}
    assert list(rows) == ["one", "none"]
    assert (rows["one"]["solidus"], rows["one"]["liquidus"], rows["one"]["t98"], rows["one"]["onset"]) == (
        160,
        200,
        195,
        150,
    )
    assert (rows["one"]["low"], rows["one"]["high"]) == (148, 202)
    assert rows["none"]["low"] is None
    assert rows["none"]["label"] == "onset unknown"
    marks = {mark["type"] for mark, _, _ in layers(chart)}
    assert marks == {"bar", "rule", "tick", "point", "text"}


@pytest.mark.parametrize("dark", [False, True])
def test_every_chart_can_be_drawn(dark):
    import vl_convert

    found = melting(curve=((201.0, 1.0), (150.0, 0.1), (150.0, 0.0)))
    points = [BlendPoint(share, ALLOY, found) for share in (0.0, 1.0)]
    for chart in (
        section(found, found),
        charts_melting.blend_curves(points, "one", "other"),
        charts_melting.freezing_curves("one", found),
        charts_melting.melting_bars({"one": found}),
        section(*[melting(None, None, t98_c=None, solidus_c=None)] * 2),
    ):
        text = vl_convert.vegalite_to_svg(chart.configure(**theme.config(dark)).to_json())
        assert text.count("<text") > 2
        assert theme.INK[dark] in text
        assert "NaN" not in text
