"""Print and gold as screens: every answer by hand, and the change that mends it tried."""

import pytest

from selector.asked_life import asked_of
from selector.board.printing import gold_screen, print_screen
from selector.brief import changed, from_raw
from selector.catalogue import load
from selector.lifetime.screens import life_of
from selector.verdict import Outcome

SAC = load().find("SAC305")
BISMUTH = load().find("Bi-42Sn")
PRINT = {"foil_um": 100, "aperture_um": 300}


def brief(printing=PRINT, process=None, parts=(), materials=None):
    return from_raw(
        {
            "title": "t",
            "process": {"form": "paste", "powder_type": 4, **(process or {})},
            "printing": printing,
            "parts": [{"name": f"p{number}", **part} for number, part in enumerate(parts)],
            "materials": materials or {},
        }
    )


def test_a_print_that_holds():
    """300 um takes powder up to 60 um: type 3. 300/(4*100) = 0.75, 300/100 = 3."""
    found = print_screen(brief(), SAC)
    assert found.outcome is Outcome.PASS
    assert "type 3 is the coarsest that does" in found.reason
    assert "area ratio 0.75" in found.reason
    assert any("finer than type 3" in caution for caution in found.cautions)


def test_finer_than_needed_warns_more_of_bismuth():
    told = print_screen(brief(), BISMUTH).cautions
    assert any("oxidise fast" in caution for caution in told)
    assert not any("oxidise fast" in caution for caution in print_screen(brief(), SAC).cautions)


@pytest.mark.parametrize(("pitch_mm", "needed"), [(0.5, 3), (0.4, 4), (0.39, 5), (0.3, 5), (0.2, 6)])
def test_pitch_below_04_mm_asks_for_finer_powder_than_type_4(pitch_mm, needed):
    """Common practice; pitch and powder alone switch the rule on."""
    asked = brief({}, {"powder_type": needed}, [{"pitch_mm": pitch_mm}])
    assert print_screen(asked, SAC).outcome is Outcome.PASS
    coarser = brief({}, {"powder_type": needed - 1}, [{"pitch_mm": pitch_mm}])
    found = print_screen(coarser, SAC)
    assert (found.outcome, found.limit, found.margin) == (Outcome.FAIL, needed, -1)
    assert print_screen(changed(coarser, found.edits), SAC).outcome is Outcome.PASS


def test_a_thick_foil_fails_and_the_thinner_one_offered_prints():
    found = print_screen(brief({"foil_um": 150, "aperture_um": 300}), SAC)
    assert found.outcome is Outcome.FAIL
    (edit,) = found.edits
    assert edit.value == pytest.approx(113.6)  # 300 / (4 * 0.66), rounded down
    assert print_screen(changed(brief({"foil_um": 150, "aperture_um": 300}), [edit]), SAC).outcome is Outcome.PASS


def test_a_fine_foil_with_fine_powder_may_go_to_half():
    asked = {"foil_um": 100, "aperture_um": 200, "fine_foil": True}
    assert print_screen(brief(asked, {"powder_type": 5}), SAC).outcome is Outcome.PASS
    assert print_screen(brief(asked, {"powder_type": 4}), SAC).outcome is Outcome.FAIL
    assert print_screen(brief({**asked, "fine_foil": False}, {"powder_type": 5}), SAC).outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("printing", "process"),
    [
        ({"foil_um": 100}, {}),
        ({"aperture_um": 300}, {}),
        ({"aperture_um": 300, "foil_um": 100}, {"powder_type": "unknown"}),
        ({"standoff_um": 50}, {"powder_type": "unknown"}),
    ],
)
def test_what_is_not_stated_is_open_with_what_would_decide(printing, process):
    found = print_screen(brief(printing, process), SAC)
    assert found.outcome is Outcome.UNKNOWN
    assert found.threshold
    if found.edits:
        assert print_screen(changed(brief(printing, process), found.edits), SAC).outcome is Outcome.PASS


def test_no_powder_is_fine_enough():
    assert print_screen(brief({"foil_um": 20, "aperture_um": 30}), SAC).outcome is Outcome.FAIL
    assert print_screen(brief({}, {}, [{"pitch_mm": 0.04}]), SAC).outcome is Outcome.FAIL


def test_off_where_nothing_is_said_or_nothing_is_printed():
    assert print_screen(brief({}), SAC).outcome is Outcome.NOT_APPLICABLE
    assert (
        print_screen(brief({}, {"powder_type": "unknown"}, [{"pitch_mm": 0.3}]), SAC).outcome is Outcome.NOT_APPLICABLE
    )
    assert print_screen(brief(process={"form": "preform"}), SAC).outcome is Outcome.NOT_APPLICABLE
    # A wide pitch asks for no fine powder.
    assert print_screen(brief({}, {}, [{"pitch_mm": 50}]), SAC).outcome is Outcome.NOT_APPLICABLE


GOLD = [{"finish": "nickel-gold"}]


def test_thin_gold_under_a_usual_print_stays_under_the_limit():
    """0.125 um of 19.3 against 100 um of half metal at 7.37: about 0.65 wt%."""
    found = gold_screen(brief({**PRINT, "metal_wt": 88.5}, parts=GOLD), SAC)
    assert found.outcome is Outcome.PASS
    assert found.measured.high == pytest.approx(0.65, abs=0.05)
    assert found.limit == 3


def test_a_print_too_thin_for_its_gold_is_told_with_the_foil_that_mends_it():
    asked = brief(
        {"foil_um": 15, "aperture_um": 300, "metal_wt": 88.5}, parts=GOLD, materials={"pad_finish": "nickel-gold"}
    )
    found = gold_screen(asked, SAC)
    assert found.outcome in (Outcome.UNKNOWN, Outcome.FAIL)
    assert gold_screen(changed(asked, found.edits), SAC).outcome is Outcome.PASS
    (edit,) = found.edits
    shy = changed(asked, found.edits).model_copy(
        update={"printing": asked.printing.model_copy(update={"foil_um": edit.value - 0.5})}
    )
    assert gold_screen(shy, SAC).outcome is not Outcome.PASS


def test_gold_is_off_without_a_print_or_a_finish_of_gold():
    assert gold_screen(brief({}, parts=GOLD), SAC).outcome is Outcome.NOT_APPLICABLE
    found = gold_screen(brief(parts=[{"finish": "unknown"}, {"finish": "matte tin"}]), SAC)
    assert found.outcome is Outcome.NOT_APPLICABLE
    assert "p0" in found.cautions[0]
    assert gold_screen(brief(parts=GOLD), load().find("Au-20Sn")).outcome is Outcome.NOT_APPLICABLE


def test_the_life_of_a_joint_counts_the_same_gold():
    """Foil, share that prints and gold of the pad are read from one brief by both."""
    asked = brief({**PRINT, "transfer_share": 0.6}, materials={"pad_finish": "nickel-gold"})
    gold = next(group for group in life_of(asked_of("SAC305", load(), asked)).groups if group.title == "Gold")
    assert gold.answers[0].measured == gold_screen(asked, SAC).measured


def test_gold_without_the_foil_is_open():
    found = gold_screen(brief({"aperture_um": 300}, parts=GOLD), SAC)
    assert (found.outcome, found.threshold) == (Outcome.UNKNOWN, "state the foil")
