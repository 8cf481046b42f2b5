"""Materials around a joint: no-clean under a leadless package (a real question), rows, own results, every fault."""

from itertools import combinations

import pytest

from selector.catalogue import load
from selector.composition import parse
from selector.datafiles import data_folder
from selector.errors import InputError
from selector.process.material_sets import (
    COLUMNS,
    KINDS,
    PAIRS,
    alloy_kind,
    material_set,
    read_rows,
    shipped_rows,
    standoff_kind,
)
from selector.verdict import Outcome, Standing, standing

QFN = {
    "alloy": "tin-silver-copper",
    "flux": "no-clean",
    "standoff": standoff_kind(40),
    "cleaning": "none",
    "underfill": "none",
    "coating": "none",
    "finish": "nickel-gold",
}


def of(verdicts, subject):
    return next(verdict for verdict in verdicts if verdict.subject == subject)


def test_water_soluble_under_a_low_standoff_without_a_proved_wash_is_known_bad():
    verdicts = material_set({**QFN, "flux": "water-soluble", "cleaning": "unproved"})
    assert of(verdicts, "flux water-soluble with standoff low with cleaning unproved").outcome is Outcome.FAIL
    assert standing(verdicts) is Standing.RULED_OUT


def test_no_clean_under_a_low_standoff_is_no_pass_and_names_the_test():
    verdict = of(material_set(QFN), "flux no-clean with standoff low")
    assert verdict.outcome is Outcome.UNKNOWN
    assert "under the part itself" in verdict.threshold
    assert "IPC-TM-650" in verdict.threshold
    assert "windowed" in verdict.reason


def test_a_cool_tin_bismuth_profile_asks_for_the_pastes_own_data():
    verdict = of(material_set({**QFN, "alloy": alloy_kind(parse("Sn42Bi58"))}), "alloy bismuth-rich with flux no-clean")
    assert verdict.outcome is Outcome.UNKNOWN
    assert "at that profile" in verdict.threshold


def test_a_coat_over_residue_asks_for_a_test():
    assert (
        of(material_set({**QFN, "coating": "conformal"}), "flux no-clean with coating conformal").outcome
        is Outcome.UNKNOWN
    )


def test_no_set_with_a_low_standoff_passes_by_no_clean_alone():
    assert standing(material_set(QFN)) is Standing.UNDECIDED
    assert standing(material_set({**QFN, "standoff": standoff_kind(100)})) is Standing.ADMITTED


@pytest.mark.parametrize(
    ("um", "kind"), [(0, "low"), (74.9, "low"), (75, "unsettled"), (99.9, "unsettled"), (100, "high")]
)
def test_where_the_sources_differ_a_standoff_is_unsettled(um, kind):
    assert standoff_kind(um) == kind


def test_an_untested_pair_is_said_to_be_untested():
    verdict = of(material_set({**QFN, "coating": "parylene"}), "flux no-clean with coating parylene")
    assert verdict.outcome is Outcome.UNKNOWN
    assert verdict.reason.startswith("untested")


def test_a_material_that_is_not_known_is_asked_for():
    verdicts = material_set({**QFN, "cleaning": None})
    verdict = of(verdicts, "flux no-clean with cleaning not known")
    assert (verdict.outcome, verdict.threshold) == (Outcome.UNKNOWN, "state cleaning")
    assert {entry.outcome for entry in material_set({})} == {Outcome.UNKNOWN}


def test_every_pair_of_every_set_is_spoken_of():
    """No pair that matters goes without a verdict, whatever the set."""
    for flux in KINDS["flux"]:
        for cleaning in KINDS["cleaning"]:
            chosen = {
                **QFN,
                "flux": flux,
                "cleaning": cleaning,
                "coating": "conformal",
                "underfill": "cures at 120 or below",
            }
            told = {
                frozenset(pair)
                for verdict in material_set(chosen)
                for pair in combinations(
                    [part.split()[0] for part in verdict.subject.split(" with ") if part.split()[0] in KINDS], 2
                )
            }
            absent = (
                {frozenset(("standoff", "cleaning")), frozenset(("cleaning", "coating"))}
                if cleaning == "none"
                else set()
            )
            assert {frozenset(pair) for pair in PAIRS} - absent <= told


@pytest.mark.parametrize(
    ("alloy", "kind"),
    [
        ("Au80Sn20", "gold-tin"),
        ("Sn42Bi58", "bismuth-rich"),
        ("In52Sn48", "indium-rich"),
        ("Sn91Zn9", "zinc-bearing"),
        ("Sn63Pb37", "tin-lead"),
        ("SAC305", "tin-silver-copper"),
        ("Sn95Sb5", "other"),
    ],
)
def test_kinds_of_alloy(alloy, kind):
    assert alloy_kind(parse(alloy)) == kind
    assert kind in KINDS["alloy"]


def table(tmp_path, *rows):
    path = tmp_path / "own.csv"
    path.write_text("\n".join([",".join(COLUMNS), *rows]) + "\n", encoding="utf-8")
    return path


OWN = "u1,flux=no-clean; standoff=low,{answer},,,m005,over 100 Mohm for 168 h under a dummy part,own,measured,high"


@pytest.mark.parametrize(("answer", "outcome"), [("compatible", Outcome.PASS), ("known bad", Outcome.FAIL)])
def test_a_users_own_result_settles_the_row_that_asked_for_it(tmp_path, answer, outcome):
    rows = read_rows(table(tmp_path, OWN.format(answer=answer)), shipped_rows())
    verdicts = [v for v in material_set(QFN, rows) if v.subject == "flux no-clean with standoff low"]
    assert [verdict.outcome for verdict in verdicts] == [outcome]
    assert verdicts[0].reason.startswith("own test")
    assert of(material_set(QFN), "flux no-clean with standoff low").outcome is Outcome.UNKNOWN


def test_a_result_on_one_set_settles_nothing_on_another(tmp_path):
    row = OWN.format(answer="compatible").replace("standoff=low", "standoff=low; coating=conformal")
    rows = read_rows(table(tmp_path, row), shipped_rows())
    assert of(material_set(QFN, rows), "flux no-clean with standoff low").outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("m001,flux=no-clean; standoff=low,compatible,,,,why,who,o,g", "row"),
        (",flux=no-clean; standoff=low,compatible,,,,why,who,o,g", "row"),
        ("u1,flux=no-clean; standoff=low,fine,,,,why,who,o,g", "answer"),
        ("u1,flux=no-clean; standoff=low,needs a test,,,,why,who,o,g", "test"),
        ("u1,flux=no-clean; standoff=low,compatible,,,,,who,o,g", "reason"),
        ("u1,flux=no-clean; standoff=low,compatible,,,,why,,o,g", "source"),
        ("u1,flux=no-clean,compatible,,,,why,who,o,g", "when"),
        ("u1,flux=no-clean; glue=x,compatible,,,,why,who,o,g", "when"),
        ("u1,flux=no-clean; standoff=tiny,compatible,,,,why,who,o,g", "when"),
        ("u1,flux=no-clean; standoff=low,compatible,,,m999,why,who,o,g", "settles"),
        ("u1,flux=water-soluble; cleaning=none,compatible,,,m002,why,who,o,g", "settles"),
        ("u1,flux=no-clean; standoff=high,compatible,,,m005,why,who,o,g", "settles"),
    ],
)
def test_a_faulty_row_is_refused_with_its_column(tmp_path, row, column):
    with pytest.raises(InputError) as caught:
        read_rows(table(tmp_path, row), shipped_rows())
    assert [fault.where for fault in caught.value.faults] == [f"own.csv, row 2, {column}"]


def test_missing_columns_are_named(tmp_path):
    path = tmp_path / "own.csv"
    path.write_text("row,when\nu1,flux=no-clean\n", encoding="utf-8")
    with pytest.raises(InputError, match="lacks columns"):
        read_rows(path)


@pytest.mark.parametrize(("kind", "value"), [("glue", "x"), ("flux", "good")])
def test_what_is_not_in_the_list_is_refused(kind, value):
    with pytest.raises(InputError) as caught:
        material_set({kind: value})
    assert [fault.where for fault in caught.value.faults] == [kind]


def test_a_standoff_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="standoff_um"):
        standoff_kind(-1)


def test_every_shipped_row_names_a_source_of_the_table_and_is_practice():
    sources = load().sources
    assert len(shipped_rows()) == len((data_folder() / "material-sets.csv").read_text().strip().splitlines()) - 1
    for row in shipped_rows():
        assert row.source in sources
        assert (row.origin, row.grade) == ("practice", "low")
