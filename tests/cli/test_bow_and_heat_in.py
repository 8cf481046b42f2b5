"""What `window` says of the bow of two layers, and `footprint` of the heat that goes in: worked by hand."""

import pytest

LAYERS = (
    *("--one-thickness-mm", "0.3", "--one-modulus-gpa", "24", "--one-ppm-k", "15"),
    *("--other-thickness-mm", "0.7", "--other-modulus-gpa", "20", "--other-ppm-k", "9"),
)
HEATS = ("--solid-j-gk", "0.167", "--liquid-j-gk", "0.201", "--latent-j-g", "44.8")


def row(text, start):
    return next(line for line in text.splitlines() if line.startswith(start))


def test_the_bow_of_two_layers_at_the_usual_peak(run):
    done = run("window", "Sn-58Bi", "--brief", "skin-patch", *LAYERS, "--package-edge-mm", "15")
    # m = 3/7, n = 1.2: 3 (1 + m)^2 + (1 + m n)(m^2 + 1/(m n)) = 9.345; strain -6e-6 (245 - 150) = -5.7e-4;
    # curvature 6 (-5.7e-4) (1 + m)^2 / (1.0 x 9.345) = -7.469e-4 1/mm; times 15^2 / 8 = -0.0210 mm.
    assert row(done.out, "bow of two layers at the usual peak").split()[-2:] == ["-0.021", "mm"]
    # A cooler peak, still over the flat temperature, bows less and the same way.
    found = run("window", "Sn-58Bi", "--brief", "skin-patch", *LAYERS, "--package-edge-mm", "15", "--json").json()
    assert -0.021 < found["bow_mm"][0] < found["bow_mm"][1] < 0 or -0.021 < found["bow_mm"][1] < found["bow_mm"][0] < 0


def test_what_the_bow_still_needs_is_said_and_nothing_is_taken(run):
    done = run("window", "Sn-58Bi", "--brief", "skin-patch", *LAYERS)
    assert "unknown: state Edge or diagonal, mm" in " ".join(done.out.split())
    plain = run("window", "Sn-58Bi", "--brief", "skin-patch")
    assert "two layers" not in plain.out
    assert "--one-thickness-mm" in run("window", "Sn-58Bi", "--one-thickness-mm", "300").err
    huge = run("window", "Sn-58Bi", "--brief", "skin-patch", *LAYERS, "--package-edge-mm", "900", "--one-ppm-k", "400")
    assert (huge.code, "tenth of the length" in huge.err) == (2, True)


def test_the_heat_into_a_board_and_its_solder(run):
    joints = ("--joint-mm3", "0.585", "--joints", "1000")
    out = run("footprint", "Sn-58Bi", "--peak-c", "165", "--board-mass-g", "120", *joints, *HEATS).out
    # 120 g x 1.0 J/(g K) x 140 K = 16.8 kJ; 5.0 g of solder (0.167 x 113 + 44.8 + 0.201 x 27) J/g = 0.346 kJ.
    board, solder = row(out, "peak ").split()[-2:]
    assert board == "16.8"
    assert float(solder) == pytest.approx(0.346, abs=0.003)


def test_heat_that_is_not_stated_stays_unknown(run):
    out = run("footprint", "Sn-58Bi", "--peak-c", "165", "--board-mass-g", "120").out
    assert row(out, "peak ").split()[-2:] == ["16.8", "unknown"]
    # Between the ends of its liquidus nobody knows whether the peak melts all of it.
    cold = run("footprint", "SAC305", "--peak-c", "218", "--joint-mm3", "1", "--joints", "10", *HEATS).out
    assert row(cold, "peak ").split()[-1] == "unknown"
