"""Homologous temperatures and service caps against a table worked outside this project.

Th = (T + 273.15)/(Ts + 273.15). Solidus of each alloy as standard tables give it: In-48Sn 118, Sn-58Bi 139, In 156.6,
Sn-37Pb 183, SAC305 217, Au-20Sn 280 degC; the bismuth-lead-tin eutectic 96 degC.
"""

import pytest

from selector.durability.service import highest_service_c, homologous, required_onset_c

SOLIDUS_C = {"In-48Sn": 118, "Sn-58Bi": 139, "In": 156.6, "Sn-37Pb": 183, "SAC305": 217, "Au-20Sn": 280}
TABLE = {
    # The project's reference table of homologous temperatures, printed to three decimals, alloys in the order above.
    60: (0.852, 0.808, 0.775, 0.730, 0.680, 0.602),
    85: (0.916, 0.869, 0.833, 0.785, 0.731, 0.647),
    100: (0.954, 0.905, 0.868, 0.818, 0.761, 0.675),
    125: (None, 0.966, 0.926, 0.873, 0.812, 0.720),
}
CELLS = [
    (temperature_c, alloy, printed)
    for temperature_c, row in TABLE.items()
    for alloy, printed in zip(SOLIDUS_C, row, strict=True)
    if printed is not None
]


@pytest.mark.parametrize(("temperature_c", "alloy", "printed"), CELLS)
def test_cell_as_printed(temperature_c, alloy, printed):
    assert homologous(temperature_c, SOLIDUS_C[alloy]) == pytest.approx(printed, abs=0.0005001)


def test_the_cell_that_says_melt():
    assert homologous(125, SOLIDUS_C["In-48Sn"]) > 1


@pytest.mark.parametrize(
    ("temperature_c", "solidus_c", "computed"),
    [
        # The project's reference checks, from the definition, by two routes of arithmetic each.
        (85, 217, 0.7306946853),
        (85, 183, 0.7851583909),
        (85, 156.6, 0.8333915067),
        (85, 118, 0.9156333887),
        (85, 96, 0.970201815),
        (125, 139, 0.9660317845),
        (125, 118, 1.017895948),
    ],
)
def test_to_ten_figures(temperature_c, solidus_c, computed):
    assert homologous(temperature_c, solidus_c) == pytest.approx(computed, rel=1e-9)


@pytest.mark.parametrize(
    ("alloy", "printed", "computed", "margin_k"),
    [
        # Th 0.90: cap as printed to 0.1 degC, as computed, and the margin in K to which it amounts.
        ("Sn-58Bi", 97.8, 97.785, 41),
        ("In-48Sn", 78.9, 78.885, 39),
        ("SAC305", 168.0, 167.985, 49),
    ],
)
def test_service_cap(alloy, printed, computed, margin_k):
    cap = highest_service_c(SOLIDUS_C[alloy], 0.90)
    assert cap == pytest.approx(printed, abs=0.05)
    assert cap == pytest.approx(computed, abs=1e-6)
    assert SOLIDUS_C[alloy] - cap == pytest.approx(margin_k, abs=0.5)
    assert required_onset_c(cap, 0.90) == pytest.approx(SOLIDUS_C[alloy], abs=1e-9)


def test_a_tenth_of_the_solidus_in_kelvin_is_the_margin_of_ratio_0_90():
    # Reference check: 0.1 * (139 + 273.15) = 41.215 K.
    assert 139 - highest_service_c(139, 0.90) == pytest.approx(41.215, abs=1e-9)


def test_a_consortium_splits_hot_dwells_of_tin_bismuth_at_ratio_0_95():
    # A consortium programme on tin-bismuth separates hot dwells at 0.95: 118.4 degC for Sn-58Bi.
    assert highest_service_c(SOLIDUS_C["Sn-58Bi"], 0.95) == pytest.approx(118.4, abs=0.05)
