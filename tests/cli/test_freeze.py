"""`freeze`: the freezing path by Scheil-Gulliver and by the lever rule, the solids in their order, the chart."""

import pytest

from selector.melting.lever import LeverPoint


def test_json_has_both_paths_and_the_solids_in_the_order_in_which_they_form(run):
    done = run("freeze", "Sn-10Bi", "--json")
    assert (done.code, done.err) == (0, "")
    (entry,) = done.json()
    assert [phase["phase"] for phase in entry["phases"]] == ["(Sn)", "(Bi)"]
    begins = [phase["begins_c"] for phase in entry["phases"]]
    assert begins == sorted(begins, reverse=True)
    assert begins[0] == pytest.approx(entry["liquidus_c"], abs=1)
    settled = entry["at_equilibrium"]
    temperatures = [point["temperature_c"] for point in settled]
    assert temperatures == sorted(temperatures, reverse=True)
    assert settled[0]["liquid"] == 1
    assert settled[-1]["liquid"] == 0
    for point in settled:
        assert point["liquid"] + sum(point["phases"].values()) == pytest.approx(1, abs=2e-3)


def test_segregation_keeps_liquid_to_lower_temperatures_than_the_lever_rule(run):
    (entry,) = run("freeze", "Sn-10Bi", "--json").json()
    assert entry["last_liquid_c"] == pytest.approx(139, abs=3)
    assert entry["solidus_c"] > entry["last_liquid_c"] + 30
    assert entry["as_frozen"][-1]["temperature_c"] == entry["last_liquid_c"]


def test_json_of_melt_is_part_of_it(run):
    (entry,) = run("freeze", "SAC305", "--json").json()
    (melted,) = run("melt", "SAC305", "--json").json()
    assert {name: entry[name] for name in melted} == melted
    assert entry.keys() - melted.keys() == {"at_equilibrium"}


def test_csv_has_a_row_a_point_of_both_paths(run):
    done = run("freeze", "SAC305", "Sn-10Bi", "--csv")
    table = done.rows()
    for entry in run("freeze", "SAC305", "Sn-10Bi", "--json").json():
        for path, key in (("as frozen", "as_frozen"), ("at equilibrium", "at_equilibrium")):
            own = [row for row in table if (row["alloy"], row["path"]) == (entry["alloy"], path)]
            points = [(point["temperature_c"], point["liquid"]) for point in entry[key]]
            assert [(float(row["temperature_c"]), float(row["liquid"])) for row in own] == points
            assert len(points) > 3


def test_text_tells_solids_last_liquid_and_where_each_fraction_is_reached(run):
    done = run("freeze", "Sn-10Bi")
    assert (done.code, done.err) == (0, "")
    lines = done.out.splitlines()
    assert lines[0] == "Sn-10Bi = Sn-10Bi wt%, assessed, to 3 K"
    assert lines[2].split()[:2] == ["1", "(Sn)"]
    assert lines[3].split()[:2] == ["2", "(Bi)"]
    assert any(line.startswith("Last liquid: ") and "freezes at once at 138.8 degC" in line for line in lines)
    (entry,) = run("freeze", "Sn-10Bi", "--json").json()
    reached = {line.split(" %")[0]: line.split()[2:4] for line in lines if " %  " in line and line[0].isdigit()}
    numbers = {
        level: [float(value) for value in pair] for level, pair in reached.items() if level in ("100", "50", "0")
    }
    assert numbers["100"] == pytest.approx([entry["liquidus_c"]] * 2, abs=0.06)
    assert numbers["0"] == pytest.approx([entry["last_liquid_c"], entry["solidus_c"]], abs=0.06)
    frozen, settled = numbers["50"]
    assert entry["last_liquid_c"] < frozen < settled < entry["liquidus_c"]


def test_a_pure_metal_freezes_at_one_temperature_either_way(run):
    table = run("freeze", "Sn").out.split("liquid, by mass", 1)[1].splitlines()[1:]
    reached = [line.split("%")[1].split() for line in table if "%  " in line]
    assert len(reached) > 10
    assert all(pair == ["231.9", "231.9"] for pair in reached)


def test_an_alloy_whose_liquid_splits_has_no_path_and_says_so(run, tmp_path):
    done = run("freeze", "Pb-50Zn", "-o", tmp_path / "x.svg")
    assert done.code == 0
    assert "Last liquid: unknown." in done.out
    assert "two liquids" in done.out
    assert "no freezing path is computed" in (tmp_path / "x.svg").read_text()


@pytest.mark.parametrize(("ending", "start"), [("svg", b"<svg"), ("png", b"\x89PNG"), ("SVG", b"<svg")])
def test_the_chart_is_written(ending, start, run, tmp_path):
    file = tmp_path / f"chart.{ending}"
    done = run("freeze", "SAC305", "Sn-10Bi", "-o", file)
    assert done.code == 0
    assert file.read_bytes().startswith(start)
    assert f"chart.{ending}: " in done.err
    if ending == "svg":
        text = file.read_text()
        for word in ("SAC305: how it freezes", "Sn-10Bi: how it freezes", "(Scheil-Gulliver)", "(lever rule)"):
            assert word in text


def test_the_dark_chart_has_another_ground(run, tmp_path):
    for name, dark in (("light.svg", ()), ("dark.svg", ("--dark",))):
        assert run("freeze", "SAC305", "-o", tmp_path / name, *dark).code == 0
    light, dark = ((tmp_path / name).read_text() for name in ("light.svg", "dark.svg"))
    assert 'fill="#ffffff"' in light
    assert 'fill="#14181d"' in dark
    assert 'fill="#ffffff"' not in dark


def test_a_gap_of_the_solver_is_told_and_ends_with_1(run, monkeypatch):
    path = (LeverPoint(220.0, 1.0, ()), LeverPoint(218.0, None, ()), LeverPoint(210.0, 0.0, ()))
    monkeypatch.setattr("selector.cli_melting.lever", lambda alloy, melting: path)
    done = run("freeze", "SAC305", "--json")
    assert done.code == 1
    (entry,) = done.json()
    assert [point["liquid"] for point in entry["at_equilibrium"]] == [1, None, 0]
    assert "218.0 degC" in entry["failures"][0]
    text = run("freeze", "SAC305").out
    assert next(line for line in text.splitlines() if line.startswith("50 %")).split()[-1] == "unknown"
    assert "- failed: lever rule" in text


@pytest.mark.parametrize(
    ("output", "seen"),
    [
        ("x.pdf", ("--output: is neither SVG nor PNG", "'x.pdf'", ".svg or .png")),
        ("x", ("--output: is neither SVG nor PNG", "'x'")),
        ("gone/x.svg", ("--output: lies in a folder that does not exist", "'gone/x.svg'")),
        ("folder.svg", ("--output: is a folder", "'folder.svg'")),
    ],
)
def test_a_name_that_no_chart_can_have_is_refused_before_anything_is_computed(output, seen, run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.svg").mkdir()

    def computing(*arguments):
        raise AssertionError("it computes")

    monkeypatch.setattr("selector.cli_melting.melting_of", computing)
    run("freeze", "SAC305", "-o", output).check_refusal(seen)


def test_a_second_call_computes_nothing(run, tmp_path, monkeypatch):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))
    first = run("freeze", "Sn-37Pb", "--json")
    assert first.code == 0

    def computing(*arguments, **options):
        raise AssertionError("it computes again")

    monkeypatch.setattr("selector.melting.store.melt", computing)
    monkeypatch.setattr("selector.melting.lever.state_at", computing)
    assert run("freeze", "Sn-37Pb", "--json") == first


def test_every_fault_of_every_alloy_is_told(run):
    run("freeze", "Snn", "Au-20Sn", "-o", "x.pdf").check_refusal(
        ("--output", "'x.pdf'"), ("'Snn': is neither",), ("'Snn', position 1",), ("80 wt% Au is not covered",)
    )
