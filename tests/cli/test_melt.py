"""`melt`: how alloys melt, as text, JSON and CSV, by any spelling, from arguments and files, with every refusal."""

from dataclasses import replace

import pytest

from selector.melting.database import database
from selector.melting.lever import LeverPoint
from selector.melting.store import melting_of

ASKED_FOR = {
    "alloy",
    "solidus_c",
    "liquidus_c",
    "t98_c",
    "t90_c",
    "remelt_onset_c",
    "grade",
    "phases",
    "notes",
}
FURTHER = {
    "composition",
    "onset_low_c",
    "onset_high_c",
    "onset_rule",
    "onset_phases",
    "first_liquid_mass",
    "last_liquid_c",
    "last_liquid_mass",
    "half_width_k",
    "failures",
    "as_frozen",
}
COVERED = "Ag, Bi, Cu, In, Pb, Sb, Sn, Zn"


@pytest.fixture
def no_solver(monkeypatch):
    """Let every computation fail the test."""

    def computing(*arguments, **options):
        raise AssertionError("it computes again")

    for name in ("store.melt", "lever.state_at", "mixing.melting_of", "diagram.melting_of"):
        monkeypatch.setattr(f"selector.melting.{name}", computing)


def test_json_has_these_keys_and_no_other(run):
    done = run("melt", "SAC305", "Sn-37Pb", "--json")
    assert (done.code, done.err) == (0, "")
    found = done.json()
    assert [entry["alloy"] for entry in found] == ["SAC305", "Sn-37Pb"]
    for entry in found:
        assert entry.keys() == ASKED_FOR | FURTHER


def test_json_is_near_the_published_invariants(run):
    sac, lead = run("melt", "SAC305", "Sn-37Pb", "--json").json()
    assert lead["solidus_c"] == pytest.approx(183, abs=lead["half_width_k"])
    assert sac["solidus_c"] == pytest.approx(217, abs=sac["half_width_k"])
    for entry in (sac, lead):
        order = [entry[name] for name in ("solidus_c", "t90_c", "t98_c", "liquidus_c")]
        assert order == sorted(order)
        assert entry["onset_low_c"] <= entry["remelt_onset_c"] <= entry["onset_high_c"]
    assert [phase["phase"] for phase in sac["phases"]] == ["(Sn)", "Ag3Sn", "Cu6Sn5"]
    assert sum(phase["mass_fraction"] for phase in sac["phases"]) == pytest.approx(1, abs=1e-3)
    assert set(sac["onset_phases"]) == {"(Sn)", "Ag3Sn", "Cu6Sn5"}


def test_the_curve_as_frozen_falls_from_all_liquid_at_the_liquidus_to_none(run):
    (entry,) = run("melt", "Sn-10Bi", "--json").json()
    curve = entry["as_frozen"]
    assert curve[0] == {"temperature_c": entry["liquidus_c"], "liquid": 1}
    assert curve[-1] == {"temperature_c": entry["last_liquid_c"], "liquid": 0}
    for key in ("temperature_c", "liquid"):
        values = [point[key] for point in curve]
        assert values == sorted(values, reverse=True)


@pytest.mark.parametrize("spelling", ["sac305", "SnAg3.0Cu0.5", "96.5Sn3Ag0.5Cu", "Sn:96.5;Ag:3;Cu:0.5"])
def test_any_spelling_gives_the_same(spelling, run):
    assert run("melt", spelling, "--json") == run("melt", "SAC305", "--json")


def test_an_alloy_outside_the_catalogue_goes_by_its_designation(run):
    (entry,) = run("melt", "Sn-59Bi", "--json").json()
    assert entry["alloy"] == "Bi-41Sn"
    assert entry["composition"] == {"Bi": "59", "Sn": "41"}


def test_an_alloy_without_tin_and_a_pure_metal_melt(run):
    done = run("melt", "Bi-33In", "Sn", "--json")
    assert done.code == 0
    indium, tin = done.json()
    assert "Sn" not in indium["composition"]
    assert indium["solidus_c"] == pytest.approx(109.5, abs=indium["half_width_k"])
    assert tin["solidus_c"] == tin["liquidus_c"] == tin["remelt_onset_c"] == pytest.approx(231.93, abs=0.1)


def test_what_is_not_known_is_null_empty_and_unknown(run):
    names = ("solidus_c", "liquidus_c", "t98_c", "t90_c", "remelt_onset_c", "first_liquid_mass", "last_liquid_c")
    done = run("melt", "Pb-50Zn", "--json", "--at", "400")
    (entry,) = done.json()
    assert done.code == 0, "two liquids are a note, no failure"
    assert [entry[name] for name in names] == [None] * len(names)
    assert entry["liquid_at"] == [{"temperature_c": 400, "as_frozen": None, "at_equilibrium": None}]
    assert any("two liquids" in note for note in entry["notes"])
    (row,) = run("melt", "Pb-50Zn", "--csv").rows()
    assert [row[name] for name in names] == [""] * len(names)
    line = next(line for line in run("melt", "Pb-50Zn").out.splitlines() if line.startswith("Pb-50Zn  "))
    assert line.split() == ["Pb-50Zn", *["unknown"] * 6, "indicative,", "to", "20", "K"]


def test_csv_says_what_json_says(run):
    asked = ("melt", "SAC305", "Sn-10Bi", "--at", "150")
    found = run(*asked, "--json").json()
    table = run(*asked, "--csv").rows()
    assert [row["alloy"] for row in table] == ["SAC305", "Sn-10Bi"]
    for row, entry in zip(table, found, strict=True):
        numbers = {name: value for name, value in entry.items() if isinstance(value, float)}
        assert len(numbers) > 8
        for name, value in numbers.items():
            assert float(row[name]) == value
        assert row["notes"] == "; ".join(entry["notes"])
        assert float(row["liquid_as_frozen_at_150_c"]) == entry["liquid_at"][0]["as_frozen"]
        assert float(row["liquid_at_equilibrium_at_150_c"]) == entry["liquid_at"][0]["at_equilibrium"]


def test_text_gives_figures_grade_and_notes(run):
    done = run("melt", "SAC305", "Sn-5Bi")
    assert (done.code, done.err) == (0, "")
    _, heading, sac, *rest = done.out.splitlines()
    assert heading.split()[:5] == ["alloy", "solidus", "T90", "T98", "liquidus"]
    assert sac.split()[0] == "SAC305"
    assert 210 < float(sac.split()[1]) < 220
    assert "fitted, to 6 K" in sac
    text = "\n".join(rest)
    assert "SAC305 = Sn-3Ag-0.5Cu wt%" in text
    assert "- why fitted: Ag-Cu-Sn" in text
    assert "- remelt onset: the first liquid" in text


def test_liquid_at_temperatures_keeps_frozen_and_settled_apart(run):
    (entry,) = run("melt", "Sn-10Bi", "--at", "150", "--at", "215", "--at", "300", "--json").json()
    cool, pasty, hot = entry["liquid_at"]
    assert cool["at_equilibrium"] == 0 < 0.05 < cool["as_frozen"] < 0.15
    assert 0.3 < pasty["at_equilibrium"] < pasty["as_frozen"] < 0.9
    assert hot == {"temperature_c": 300, "as_frozen": 1, "at_equilibrium": 1}
    text = run("melt", "Sn-10Bi", "--at", "150").out
    assert "Liquid at a temperature" in text
    assert [line for line in text.splitlines() if line.startswith("Sn-10Bi  150 ")]


def test_a_second_call_computes_nothing(run, tmp_path, monkeypatch, request):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))
    asked = ("melt", "Sn-3.5Ag", "--at", "221", "--json")
    first = run(*asked)
    assert first.code == 0
    assert list(tmp_path.iterdir())
    request.getfixturevalue("no_solver")
    assert run(*asked) == first


def test_another_folder_computes_again(run, tmp_path, monkeypatch, no_solver):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))
    with pytest.raises(AssertionError, match="computes again"):
        run("melt", "Sn-3.5Ag", "--json")


def test_alloys_come_from_a_file_too(run, tmp_path):
    file = tmp_path / "alloys.txt"
    file.write_text("# paste\n\nSAC305   # the usual one\n  63/37\n")
    done = run("melt", "Sn", "--file", file, "--json")
    assert [entry["alloy"] for entry in done.json()] == ["Sn", "SAC305", "Sn-37Pb"]


def test_faults_of_a_file_name_their_lines_all_at_once(run, tmp_path):
    file = tmp_path / "alloys.txt"
    file.write_text("SAC305\n\nSnn-3Ag\nAu-20Sn\n")
    run("melt", "Sn-200Ag", "--file", file, "--at", "warm").check_refusal(
        ("--at", "'warm'"),
        ("'Sn-200Ag': is neither a name",),
        ("'Sn-200Ag', position 4", "200"),
        ("alloys.txt, line 3: 'Snn-3Ag': is neither a name",),
        ("alloys.txt, line 3: 'Snn-3Ag', position 1", "'Snn'"),
        ("alloys.txt, line 4: Au-20Sn", COVERED),
    )


@pytest.mark.parametrize("content", ["", "\n# nothing\n"])
def test_a_file_without_alloys_is_refused(content, run, tmp_path):
    (tmp_path / "alloys.txt").write_text(content)
    run("melt", "--file", tmp_path / "alloys.txt").check_refusal(("alloys.txt", "names no alloy"))


def test_no_alloy_at_all_is_refused(run):
    run("melt").check_refusal(("ALLOY", "names no alloy"))


def test_a_missing_file_is_refused(run, tmp_path):
    run("melt", "--file", tmp_path / "gone.txt").check_refusal(("gone.txt", "does not exist"))


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
def test_an_alloy_that_is_not_covered_is_told_what_is(output, run):
    run("melt", "SAC305", "Au-20Sn", *output).check_refusal(("80 wt% Au is not covered", COVERED, "0.1 wt%"))


def test_a_trace_that_is_not_covered_is_set_aside_and_told(run):
    (entry,) = run("melt", "Sn-0.7Cu-0.05Ni", "--json").json()
    assert any("0.05 wt% Ni set aside" in note for note in entry["notes"])


@pytest.mark.parametrize("at", ["nan", "inf", "warm", "", "24", "-40", "1e999", "1401"])
def test_a_temperature_that_cannot_be_asked_is_refused(at, run):
    run("melt", "SAC305", "--at", at).check_refusal(("--at", f"'{at}'", "25 to 1400 degC"))


@pytest.mark.parametrize("name", ["", "Nonsense", "Sn-3Ag-3Ag", "x" * 100_000, "\x1b[31m", "Sn-1e999Ag"])
def test_what_is_no_alloy_is_refused_in_words(name, run):
    done = run("melt", name)
    assert (done.code, done.out) == (2, "")
    assert "is neither a name in the catalogue nor a composition" in done.err
    assert all(char.isprintable() or char == "\n" for char in done.err)
    assert len(done.err) < 10_000


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
def test_a_failure_of_the_solver_is_told_and_ends_with_1(output, run, monkeypatch):
    def failing(alloys, told=None):
        return tuple(replace(found, t98_c=None, failures=("T98: no answer",)) for found in melting_of(alloys))

    monkeypatch.setattr("selector.cli_melting.melting_of", failing)
    done = run("melt", "SAC305", *output)
    assert done.code == 1
    assert "T98: no answer" in done.out


def test_a_failure_at_a_temperature_ends_with_1(run, monkeypatch):
    monkeypatch.setattr("selector.cli_melting.state_of", lambda alloy, melting, at: LeverPoint(at, None, ()))
    done = run("melt", "SAC305", "--at", "218", "--json")
    assert done.code == 1
    (entry,) = done.json()
    assert entry["liquid_at"][0]["at_equilibrium"] is None
    assert entry["failures"] == ["liquid at equilibrium at 218 degC: the solver found no checked answer"]


def test_without_a_solver_what_needs_none_is_told_and_the_rest_is_a_failure(run, tmp_path, monkeypatch):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))
    for module in ("alloy", "database"):
        monkeypatch.setattr(f"selector.melting.{module}.solver_installed", lambda: False)
    database.cache_clear()
    done = run("melt", "Sn-10Bi", "--at", "150", "--json")
    assert done.code == 1
    (entry,) = done.json()
    assert entry["liquidus_c"] == pytest.approx(220, abs=2)
    assert entry["solidus_c"] is None
    assert entry["liquid_at"][0]["at_equilibrium"] is None
    assert entry["liquid_at"][0]["as_frozen"] == pytest.approx(0.09, abs=0.03)
    assert any("pycalphad: is not installed" in failure for failure in entry["failures"])
