"""`blend`: two alloys mixed by mass, traces, and the curves against a share or a trace."""

from functools import partial

import pytest

from selector.melting import mixing

STEPS = 4


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    """Take few points a curve."""
    monkeypatch.setattr("selector.melting.mixing.blend_curve", partial(mixing.blend_curve, steps=STEPS))
    monkeypatch.setattr("selector.melting.mixing.trace_curve", partial(mixing.trace_curve, steps=STEPS))


def test_one_mixture_is_the_melting_of_its_composition(run):
    (mixed,) = run("blend", "SAC305", "Bi-42Sn", "--share", "0.5", "--json").json()
    assert mixed["alloy"] == "SAC305 with 50 % Bi-42Sn"
    assert {element: float(wt) for element, wt in mixed["composition"].items()} == pytest.approx(
        {"Sn": 69.25, "Bi": 29, "Ag": 1.5, "Cu": 0.25}
    )
    (alone,) = run("melt", "Sn:69.25;Bi:29;Ag:1.5;Cu:0.25", "--json").json()
    assert alone["remelt_onset_c"] == mixed["remelt_onset_c"]
    assert alone["liquidus_c"] == mixed["liquidus_c"]
    assert mixed.keys() == alone.keys()


def test_lead_lowers_the_onset_of_a_bismuth_grade_to_that_of_the_three(run):
    (clean,) = run("blend", "Bi-42Sn", "--trace", "Pb=0", "--json").json()
    (dirty,) = run("blend", "Bi-42Sn", "--trace", "Pb=1", "--json").json()
    assert dirty["alloy"] == "Bi-42Sn with 1 wt% Pb"
    assert float(dirty["composition"]["Pb"]) == 1
    assert clean["remelt_onset_c"] == pytest.approx(139, abs=3)
    assert dirty["remelt_onset_c"] == pytest.approx(96, abs=4)


@pytest.mark.parametrize(("share", "other"), [("0", "SAC305"), ("1", "Bi-42Sn")])
def test_a_share_of_nothing_or_all_is_one_of_the_two(share, other, run):
    (mixed,) = run("blend", "SAC305", "Bi-42Sn", "--share", share, "--json").json()
    (alone,) = run("melt", other, "--json").json()
    assert {**mixed, "alloy": other} == alone


def test_a_share_may_be_a_fraction(run):
    (mixed,) = run("blend", "Sn", "Bi-42Sn", "--share", "1/4", "--json").json()
    assert mixed["composition"] == {"Sn": "85.5", "Bi": "14.5"}


def test_text_and_csv_of_one_mixture(run):
    asked = ("blend", "SAC305", "Bi-42Sn", "--share", "0.5", "--trace", "Pb=0.5")
    name = "SAC305 with 50 % Bi-42Sn and 0.5 wt% Pb"
    assert name in run(*asked).out
    (row,) = run(*asked, "--csv").rows()
    assert row["alloy"] == name
    assert float(row["half_width_k"]) > 0


def test_without_a_share_the_whole_curve_is_told(run):
    points = run("blend", "Sn", "Bi-42Sn", "--trace", "Pb=0.5", "--json").json()
    assert [point["share"] for point in points] == [0, 0.25, 0.5, 0.75, 1]
    assert all(point["composition"]["Pb"] == "0.5" for point in points)
    assert points[0]["remelt_onset_c"] > points[-1]["remelt_onset_c"] + 50
    assert all("as_frozen" not in point and "grade" in point for point in points)


def test_the_table_and_csv_of_a_curve_say_what_json_says(run):
    asked = ("blend", "Sn", "Bi-42Sn")
    points = run(*asked, "--json").json()
    table = run(*asked, "--csv").rows()
    lines = run(*asked).out.splitlines()
    assert lines[0] == "Sn mixed with Bi-42Sn"
    assert lines[1].startswith("% Bi-42Sn by mass  T98, degC  remelt onset, degC")
    for point, row, line in zip(points, table, lines[2:], strict=False):
        assert float(row["share"]) == point["share"]
        assert float(row["remelt_onset_c"]) == point["remelt_onset_c"]
        at, t98, onset = line.split()[:3]
        assert float(at) == 100 * point["share"]
        assert float(t98) == pytest.approx(point["t98_c"], abs=0.06)
        assert float(onset) == pytest.approx(point["remelt_onset_c"], abs=0.06)
    assert len(table) == len(points) == STEPS + 1


def test_a_curve_against_a_trace(run):
    points = run("blend", "Bi-42Sn", "--trace", "pb", "--up-to", "2", "--json").json()
    assert [point["trace_wt"] for point in points] == [0, 0.5, 1, 1.5, 2]
    assert {point["trace"] for point in points} == {"Pb"}
    assert points[0]["remelt_onset_c"] - points[-1]["remelt_onset_c"] > 35
    assert "Bi-42Sn with Pb" in run("blend", "Bi-42Sn", "--trace", "Pb", "--up-to", "2").out


def test_a_chart_of_a_curve_is_written(run, tmp_path):
    file = tmp_path / "curve.svg"
    done = run("blend", "Sn", "Bi-42Sn", "-o", file, "--json")
    assert done.code == 0
    assert len(done.json()) == STEPS + 1, "the chart is told beside the JSON, not in it"
    text = file.read_text()
    assert text.startswith("<svg")
    for word in ("Sn mixed with Bi-42Sn", "remelt onset", "T98", "Grade: "):
        assert word in text


@pytest.mark.parametrize(
    ("asked", "seen"),
    [
        (("SAC305", "Bi-42Sn", "--share", "1.01"), [("--share", "'1.01'", "0 to 1")]),
        (("SAC305", "Bi-42Sn", "--share", "-0.1"), [("--share", "'-0.1'", "0 to 1")]),
        (("SAC305", "Bi-42Sn", "--share", "30"), [("--share", "'30'", "write 0.3")]),
        (("SAC305", "Bi-42Sn", "--share", "half"), [("--share: is not a number", "'half'")]),
        (("SAC305", "Bi-42Sn", "--share", "nan"), [("--share: is not a number", "'nan'")]),
        (("SAC305", "--trace", "Xx=1"), [("--trace 'Xx=1': is no element", "'Xx'")]),
        (("SAC305", "--trace", "Pb"), [("--trace 'Pb': gives no content", "Pb=0.5")]),
        (("SAC305", "--trace", "Pb=much"), [("--trace 'Pb=much': is not a number", "'much'")]),
        (("SAC305", "--trace", "Pb=-1"), [("--trace 'Pb=-1'", "'-1'", "at least 0")]),
        (("SAC305", "--trace", "Pb=100"), [("--trace 'Pb=100'", "'100'", "below 100")]),
        (("SAC305", "--trace", "Pb=1", "--trace", "pb=2"), [("--trace 'pb=2': element given twice", "Pb")]),
        (("SAC305", "--trace", "Pb=60", "--trace", "Bi=40"), [("--trace: contents leave no room", "100 wt%")]),
        (("SAC305", "--trace", "Au=5"), [("5 wt% Au is not covered", "Ag, Bi, Cu, In, Pb, Sb, Sn, Zn")]),
        (("SAC305", "--trace", "Au", "--up-to", "5"), [("5 wt% Au is not covered", "Ag, Bi, Cu, In")]),
        (("SAC305", "Au-20Sn"), [("80 wt% Au is not covered", "Ag, Bi, Cu, In")]),
        (("SAC305", "Au-20Sn", "--share", "0.1"), [("8 wt% Au is not covered", "Ag, Bi, Cu, In")]),
        (("SAC305",), [("names nothing to mix in", "--trace Pb=0.5")]),
        (("SAC305", "--share", "0.3", "--trace", "Pb=1"), [("--share: needs a second alloy", "'0.3'")]),
        (("SAC305", "--up-to", "5"), [("--trace", "none"), ("names nothing to mix in",)]),
        (("SAC305", "--trace", "Pb", "--up-to", "0"), [("--up-to", "'0'", "above 0, below 100")]),
        (("SAC305", "--trace", "Pb", "--up-to", "some"), [("--up-to: is not a number", "'some'")]),
        (("SAC305", "--trace", "Pb", "--trace", "Bi", "--up-to", "5"), [("--trace", "Pb, Bi", "of one element")]),
        (("SAC305", "Bi-42Sn", "--trace", "Pb", "--up-to", "5"), [("ALLOY", "of one alloy", "'Bi-42Sn'")]),
        (("SAC305", "--trace", "Pb=1", "-o", "x.svg"), [("--output", "no curve to draw", "'x.svg'")]),
        (("SAC305", "Bi-42Sn", "--share", "0.5", "-o", "x.svg"), [("--output", "no curve to draw")]),
        (
            ("Snn", "Bi-42Sn", "--share", "2", "--trace", "Xx=1", "-o", "x.pdf"),
            [
                ("'Snn': is neither a name",),
                ("'Snn', position 1",),
                ("--share", "'2'"),
                ("--trace 'Xx=1'",),
                ("--output: is neither SVG nor PNG", "'x.pdf'"),
            ],
        ),
    ],
)
def test_what_cannot_be_mixed_is_refused_with_every_fault(asked, seen, run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    run("blend", *asked).check_refusal(*seen)
    assert list(tmp_path.iterdir()) == []
