"""Mixtures by mass against figures printed or worked outside this project."""

import pytest

from selector.composition import from_mapping, mixed, parse

TIN_BISMUTH, SAC305 = parse("Sn-58Bi"), parse("SAC305")


@pytest.mark.parametrize(("share", "bismuth"), [("20", "46.4"), ("25", "43.5"), ("50", "29")])
def test_sac305_powder_in_tin_bismuth(share, bismuth):
    # Mater. Sci. Eng. A 668 (2016) 224: 20, 25 and 50 wt% SAC305 in Sn-58Bi; Bi = 58 (1 - share/100).
    made = mixed([(TIN_BISMUTH, 100 - int(share)), (SAC305, share)])
    assert made.wt("Bi") == from_mapping({"Bi": bismuth}, balance="Sn").wt("Bi")


def test_powder_blend_60_40():
    # Reference checks: 60 wt% Sn-58Bi with 40 wt% SAC305 holds 34.8 Bi, 1.2 Ag, 0.2 Cu and 63.8 Sn.
    made = mixed([(TIN_BISMUTH, "0.6"), (SAC305, "0.4")])
    assert made == from_mapping({"Sn": "63.8", "Bi": "34.8", "Ag": "1.2", "Cu": "0.2"})


def test_powder_blend_60_40_by_volume():
    # Reference check: by volume, with 8.56 and 7.38 g/cm3, the 60 parts weigh 63.50148368 %.
    made = mixed([(TIN_BISMUTH, 60 * 8.56), (SAC305, 40 * 7.38)])
    assert float(made.wt("Bi")) == pytest.approx(0.6350148368 * 58, rel=1e-9)


def test_a_ball_fully_mixed_with_its_paste():
    # Reference check: ball 0.45 mm of SAC305 (0.047712938 mm3, 7.38 g/cm3), paste metal 0.0054745243 mm3 of Sn-58Bi
    # (8.56 g/cm3): 6.812292825 wt% Bi, printed as 6.8.
    made = mixed([(TIN_BISMUTH, 0.0054745243 * 8.56), (SAC305, 0.047712938 * 7.38)])
    assert float(made.wt("Bi")) == pytest.approx(6.812292825, rel=1e-9)
    assert float(made.wt("Bi")) == pytest.approx(6.8, abs=0.05)


def test_lead_from_a_finish():
    # Reference check: 3 um of Sn-37Pb (8.4 g/cm3) on 0.25 mm2 into 0.11 mg of Sn-58Bi: 2.004299226 wt% Pb.
    made = mixed([(TIN_BISMUTH, 0.11), (parse("Sn-37Pb"), 0.25 * 3e-3 * 8.4)])
    assert float(made.wt("Pb")) == pytest.approx(2.004299226, rel=1e-9)
