"""The charts of one joint on a board: what is drawn, what is not, and that words stand beside the colour."""

from selector.record.charts_board import joint_bars, joint_limits, window_chart
from selector.record.charts_limits import with_limits

KNOWN = {"name": "mixed zone", "onset_low_c": 131.0, "onset_high_c": 143.0, "solidus_c": 137.0, "liquidus_c": 206.0}
UNKNOWN = {"name": "whole joint", "onset_low_c": None, "onset_high_c": None, "solidus_c": None, "liquidus_c": None}


def rows(spec):
    return [row for own in spec["datasets"].values() for row in own]


def test_a_zone_that_is_not_known_is_a_row_with_words_and_no_bar():
    bars = [KNOWN | {"told": "131 to 143"}, UNKNOWN | {"told": "not computed"}]
    chart = joint_bars(bars, [60.0])
    spec = chart.to_dict()
    assert spec["title"] == "Where the joint melts"
    assert {row["told"] for row in rows(spec)} == {"131 to 143", "not computed"}
    filters = [layer["transform"][0]["filter"] for layer in spec["layer"] if "transform" in layer]
    assert all("isValid" in text for text in filters)
    assert len(filters) == 2


def test_service_and_peak_are_rules_that_are_named():
    limits = joint_limits(85.0, 190.0)
    assert [(limit.label, limit.at_c, limit.stroke) for limit in limits] == [
        ("service", 85.0, "dotted"),
        ("peak", 190.0, "solid"),
    ]
    assert joint_limits(None, None) == ()
    told = str(with_limits(joint_bars([KNOWN | {"told": ""}]), limits, (131.0, 206.0)).to_dict())
    assert "service 85" in told
    assert "peak 190" in told


def test_a_window_is_a_band_up_to_the_lowest_limit_and_none_where_no_peak_fits():
    fits = window_chart("Bi-42Sn", (138.0, 141.0), (158.0, 166.0), [("holder", 200.0, False), ("C1", 215.0, True)])
    spec = fits.to_dict()
    assert spec["title"] == "Reflow window of Bi-42Sn"
    assert {"from": 166.0, "to": 200.0} in rows(spec)
    rooms = {row["what"]: (row["room"], row["assumed"]) for row in rows(spec) if "room" in row}
    assert rooms == {"holder": ("+34 K", "stated"), "C1": ("+49 K", "default for its kind")}
    shut = window_chart("SAC305", (217.0, 220.0), (237.0, 245.0), [("holder", 200.0, False)]).to_dict()
    assert not any("from" in row for row in rows(shut))
    assert any(layer.get("mark", {}).get("strokeDash") == [4, 3] for layer in shut["layer"])
    assert {row["room"] for row in rows(shut) if "room" in row} == {"-45 K"}


def test_a_window_without_any_limit_is_still_drawn():
    spec = window_chart("SAC305", (217.0, 220.0), (237.0, 245.0), []).to_dict()
    assert any(row.get("told") == "237 to 245" for row in rows(spec))
