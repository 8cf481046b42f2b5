"""`diagram`: a section between two elements as table, JSON, CSV and chart, with every refusal."""

from functools import partial

import pytest

from selector.melting import diagram

STEPS = 8
COVERED = "Ag, Bi, Cu, In, Pb, Sb, Sn, Zn"


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    """Take few points a section."""
    monkeypatch.setattr("selector.melting.diagram.section", partial(diagram.section, steps=STEPS))


def test_json_runs_from_one_element_to_the_other(run):
    done = run("diagram", "sn", "BI", "--json")
    assert (done.code, done.err) == (0, "")
    points = done.json()
    assert [point["wt"] for point in points] == [12.5 * k for k in range(STEPS + 1)]
    assert {point["element"] for point in points} == {"Bi"}
    assert points[0]["liquidus_c"] == pytest.approx(231.9, abs=0.2)
    assert points[-1]["liquidus_c"] == pytest.approx(271.4, abs=0.2)
    assert {round(point["solidus_c"]) for point in points[2:-1]} == {139}, "the eutectic"
    for point in points:
        assert point["solidus_c"] <= point["t98_c"] <= point["liquidus_c"]
        assert point["grade"] == "assessed"


def test_elements_held_are_in_every_composition(run):
    points = run("diagram", "Sn", "Bi", "--with", "Ag=1", "--json").json()
    assert {point["composition"]["Ag"] for point in points} == {"1"}
    assert points[-1]["wt"] == 99


def test_text_and_csv_say_what_json_says(run):
    points = run("diagram", "Sn", "Bi", "--json").json()
    table = run("diagram", "Sn", "Bi", "--csv").rows()
    title, heading, *lines = run("diagram", "Sn", "Bi").out.splitlines()
    assert title == "Sn-Bi"
    assert heading.split()[:4] == ["wt%", "Bi", "solidus", "liquidus"]
    assert len(table) == len(points)
    for point, row, line in zip(points, table, lines, strict=False):
        for name in ("wt", "solidus_c", "liquidus_c", "remelt_onset_c"):
            assert float(row[name]) == point[name]
        shown = [float(word) for word in line.split()[:4]]
        assert shown == pytest.approx([point[n] for n in ("wt", "solidus_c", "liquidus_c", "t98_c")], abs=0.06)
    assert "Grade: assessed throughout." in lines


def test_the_chart_names_its_lines_and_tells_the_grade(run, tmp_path):
    file = tmp_path / "f.svg"
    done = run("diagram", "Sn", "Bi", "--with", "Ag=1", "-o", file)
    assert done.code == 0
    text = file.read_text()
    for word in ("Sn-Bi with 1 wt% Ag", "liquidus", "T98", "solidus", "remelt onset", "Grade: assessed", "wt% Bi"):
        assert f">{word}" in text, word


@pytest.mark.parametrize(
    ("asked", "seen"),
    [
        (("Sn", "Sn"), [("the same element twice", "Sn")]),
        (("Sn", "sn"), [("the same element twice", "Sn")]),
        (("Sn", "Zz"), [("the second element: is no element", "'Zz'")]),
        (("Au", "Sn"), [("the first element: is not covered", "Au", COVERED)]),
        (("Sn", "Bi", "--with", "Bi=1"), [("--with Bi", "an end of the diagram already")]),
        (("Sn", "Bi", "--with", "Ag"), [("--with 'Ag'", "gives no content")]),
        (("Sn", "Bi", "--with", "Ag=x"), [("--with 'Ag=x'", "is not a number", "'x'")]),
        (("Sn", "Bi", "--with", "Ag=60", "--with", "Cu=40"), [("--with", "leave no room", "100 wt%")]),
        (("Sn", "Bi", "--with", "Ag=1", "--with", "ag=2"), [("--with 'ag=2': element given twice",)]),
        (("Sn", "Bi", "--with", "Au=5"), [("5 wt% Au is not covered", COVERED)]),
        (
            ("Au", "Zz", "--with", "Qq=200", "-o", "x.pdf"),
            [
                ("--output", "'x.pdf'"),
                ("the first element", "Au"),
                ("the second element", "'Zz'"),
                ("--with 'Qq=200': is no element",),
                ("--with 'Qq=200': lies outside", "'200'"),
            ],
        ),
    ],
)
def test_what_is_no_section_is_refused_with_every_fault(asked, seen, run):
    run("diagram", *asked).check_refusal(*seen)
