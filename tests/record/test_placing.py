"""Words beside lines: within the plot, next to their line, clear of each other and of other lines."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.record.placing import CHARACTER, HEIGHT, LINE_HEIGHT, WIDTH, placed

X, Y = (0.0, 100.0), (100.0, 300.0)


def boxes(words):
    """Return name -> left, right, bottom and top in pixels."""
    found = {}
    for word in words:
        x = (word.x - X[0]) / (X[1] - X[0]) * WIDTH
        y = (word.y - Y[0]) / (Y[1] - Y[0]) * HEIGHT
        half = len(word.name) * CHARACTER / 2
        found[word.name] = (x - half, x + half, y - LINE_HEIGHT / 2, y + LINE_HEIGHT / 2)
    return found


def inside(box, line):
    """Return how many points of a densely drawn line lie in a box."""
    xs, ys = (np.array(values) for values in zip(*line, strict=True))
    at = np.linspace(xs.min(), xs.max(), 2000)
    px = (at - X[0]) / (X[1] - X[0]) * WIDTH
    py = (np.interp(at, xs, ys) - Y[0]) / (Y[1] - Y[0]) * HEIGHT
    return int(((px > box[0]) & (px < box[1]) & (py > box[2]) & (py < box[3])).sum())


def test_no_word_lies_on_a_line_where_there_is_room():
    lines = {
        "liquidus": [(0, 230), (60, 140), (100, 270)],
        "T98": [(0, 228), (60, 139), (100, 265)],
        "remelt onset": [(0, 230), (10, 138), (95, 138), (100, 270)],
    }
    found = boxes(placed(lines, X, Y))
    assert found.keys() == lines.keys()
    for box in found.values():
        assert [name for name, line in lines.items() if inside(box, line)] == []


def test_two_lines_on_each_other_get_two_places():
    line = [(0, 200), (100, 200)]
    one, other = boxes(placed({"one": line, "other": line}, X, Y)).values()
    assert one[1] <= other[0] or other[1] <= one[0] or one[3] <= other[2] or other[3] <= one[2]


def test_a_line_without_a_point_gets_no_word():
    nan = float("nan")
    assert [word.name for word in placed({"one": [(0, nan), (10, nan)], "other": [(0, 150), (9, 160)]}, X, Y)] == [
        "other"
    ]


def test_nothing_stands_in_a_gap_for_want_of_a_line():
    line = [(0, 150), (10, 150), (20, float("nan")), (90, 150), (100, 150)]
    (word,) = placed({"onset": line}, X, Y)
    assert word.x < 20 or word.x > 80


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.floats(100, 300), min_size=3, max_size=8), min_size=1, max_size=4))
def test_words_never_leave_the_plot(values):
    lines = {f"line {k}": [(100 * n / (len(ys) - 1), y) for n, y in enumerate(ys)] for k, ys in enumerate(values)}
    found = boxes(placed(lines, X, Y))
    assert len(found) == len(lines)
    for left, right, bottom, top in found.values():
        assert left >= -1e-6
        assert right <= WIDTH + 1e-6
        assert bottom >= -1e-6
        assert top <= HEIGHT + 1e-6


@pytest.mark.parametrize("value", [100.0, 300.0])
def test_a_line_along_an_edge_is_named_inside(value):
    (word,) = placed({"edge": [(0, value), (100, value)]}, X, Y)
    assert 100 < word.y < 300
