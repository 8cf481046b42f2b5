"""`life` refuses what cannot be, whether or not a screen asks for it, and names the option it was typed at."""

import pytest

from selector.asked_life import asked_of
from selector.catalogue import load
from selector.durability.environments import environments
from selector.lifetime.stated import RANGES, stated_faults


def test_every_figure_that_cannot_be_is_told_at_once_by_its_option(run):
    given = {
        "--service-min": "nan", "--swing-k": -5, "--dwell-min": 0, "--cycles-per-day": -2, "--years": -1,
        "--distance-mm": -1, "--height-um": -3, "--board-ppm": 1e9, "--part-ppm": "nan", "--lead-n-mm": -1,
        "--area-mm2": 0, "--test": "TC9", "--test-cycles-per-day": 0, "--test-dwell-min": -1, "--gold-um": -1,
        "--print-um": 0, "--solder-mg": 0, "--pad-area-mm2": -1, "--current-a": -1, "--opening-um": 0,
        "--test-density": -1, "--test-joint": 1e9, "--metal": "Zz", "--coldest": -300, "--underfill-ppm": -1,
        "--underfill-poisson": 0.7, "--plane-ppm": "inf", "--solder-ppm": 0, "--underfill-glass": "nan",
    }  # fmt: skip
    done = run("life", "SAC305", *[text for pair in given.items() for text in pair])
    assert (done.code, done.out) == (2, "")
    told = [line for line in done.err.splitlines() if line.startswith("  - ")]
    named = [line.split("(")[1].split(")")[0] for line in told]
    assert sorted(named) == sorted(given)


@pytest.mark.parametrize(
    ("given", "option"),
    [
        (("--service-max", 60, "--service-min", 90), "--service-min"),
        (("--service-max", 85, "--service-min", -40, "--swing-k", 300), "--swing-k"),
        (("--dwell-min", 15, "--cycles-per-day", 100), "--cycles-per-day"),
        (("--test-dwell-min", 60, "--test-cycles-per-day", 100), "--test-cycles-per-day"),
        (("--current-a", 1e9, "--opening-um", 100), "--current-a"),
        (("--years", -1), "--years"),
        (("--dwell-min", 361, "--cycles-per-day", 2), "--cycles-per-day"),
    ],
)
def test_what_disagrees_or_no_screen_asks_for_is_refused_too(given, option, run):
    done = run("life", "SAC305", *given)
    assert done.code == 2
    (line,) = [line for line in done.err.splitlines() if line.startswith("  - ")]
    assert f"({option})" in line


def test_every_default_use_can_be_and_ranges_name_figures():
    asked = [asked_of("SAC305", load(), use=name) for name in environments()]
    assert asked
    assert [stated_faults(entry) for entry in asked] == [[] for _ in asked]
    assert all(hasattr(asked[0], name) for name, *_ in RANGES)


@pytest.mark.parametrize("standoff", ["²", "-40", "1e9", "nan"])
def test_a_standoff_is_a_word_or_a_figure_in_um(standoff, run):
    run("life", "SAC305", "--set", f"standoff={standoff}").check_refusal(
        ("--set standoff", "low, unsettled" if standoff == "²" else "um")
    )
    assert run("life", "SAC305", "--set", "standoff=40").code == 0


@pytest.mark.parametrize("still", [("--swing-k", 0), ("--board-ppm", 7)])
def test_no_strain_is_no_fault_and_no_life(still, run):
    given = {"--service-max": 85, "--swing-k": 60, "--dwell-min": 15, "--distance-mm": 5, "--height-um": 200,
             "--board-ppm": 17, "--part-ppm": 7, still[0]: still[1]}  # fmt: skip
    done = run("life", "SAC305", *[text for pair in given.items() for text in pair])
    assert done.code == 0
    assert "no strain, and no cycles to failure by it" in done.out
    assert "median life" not in done.out


def test_a_strain_that_follows_from_several_figures_names_no_option(run):
    given = ("--service-max", 85, "--swing-k", 60, "--dwell-min", 15, "--distance-mm", 200, "--height-um", 30)
    done = run("life", "SAC305", *given, "--board-ppm", 17, "--part-ppm", 7)
    assert done.code == 2
    assert "strain: lies where" in done.err
