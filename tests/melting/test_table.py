"""`data/melting.csv`: fresh, whole, made by the engine as it is, and read as it was written."""

import csv
import io
import sys
from dataclasses import replace
from types import ModuleType

import pytest

import selector.melting.computed as computed
import selector.melting.table as table
from selector.catalogue import load
from selector.composition import parse
from selector.melting.alloy import melt
from selector.melting.computed import FIGURES, computed_melting, computed_table
from selector.melting.store import composition_key, melting_of
from selector.melting.table import COLUMNS, recompute, stale, table_text, wanted

ALLOYS = load().alloys


def test_every_row_is_fresh():
    assert stale(ALLOYS.values()) == (), "compute data/melting.csv again: its inputs have changed"


def test_a_row_of_other_inputs_or_none_is_stale(monkeypatch):
    some = [ALLOYS["Bi-42Sn"], ALLOYS["SAC305"]]
    assert stale(some) == ()
    held = dict(computed_table())
    old = {key: replace(row, inputs="other") if row.alloy == "Bi-42Sn" else row for key, row in held.items()}
    monkeypatch.setattr(table, "computed_table", lambda: old)
    assert stale(some) == ("Bi-42Sn", "Bi-42Sn with 1 wt% Pb")
    monkeypatch.setattr(table, "computed_table", dict)
    assert stale([ALLOYS["SAC305"]]) == ("SAC305",)


def test_bismuth_grades_without_lead_are_held_with_lead_too():
    rows = [(row.alloy, row.lead_wt) for row in wanted(ALLOYS.values())]
    assert len(rows) == len(set(rows)) == len(computed_table())
    assert ("Bi-42Sn", "1") in rows
    assert ("SAC305", "1") not in rows
    assert ("Bi-32Pb-16Sn", "1") not in rows
    leaded = next(row for row in wanted([ALLOYS["Bi-42Sn"]]) if row.lead_wt == "1")
    assert float(leaded.composition.wt("Pb")) == 1
    assert float(leaded.composition.wt("Bi")) == pytest.approx(57.42)


def test_the_table_holds_no_failure():
    for row in computed_table().values():
        assert not any(note.startswith("failed") for note in row.notes), row.alloy
        if row.is_computed:
            falling = [row.liquidus_c, row.t98_c, row.t90_c, row.solidus_c, row.last_liquid_c]
            assert None not in falling, row.alloy
            assert falling == sorted(falling, reverse=True), row.alloy
            assert row.onset_low_c <= row.remelt_onset_c <= row.onset_high_c, row.alloy
        else:
            assert row.status.startswith("not computed: "), row.alloy
            assert all(getattr(row, name) is None for name in FIGURES), row.alloy


SAMPLE = ("Sn-40Bi", "Sn-37Pb", "Bi-42Pb", "Sn")


@pytest.fixture(scope="module")
def fresh():
    return recompute([ALLOYS[name] for name in SAMPLE], workers=1)


def test_the_engine_makes_the_rows_that_the_table_holds(fresh):
    with (computed.data_folder() / computed.TABLE).open(encoding="utf-8", newline="") as file:
        held = {(row["alloy"], row["lead_wt"]): row for row in csv.DictReader(file)}
    assert len(fresh) == 5
    for row in fresh:
        old = held[row["alloy"], row["lead_wt"]]
        for name in FIGURES:
            assert float(row[name]) == pytest.approx(float(old[name]), abs=0.05), (row["alloy"], name)
        for name in ("composition", "status", "grade", "onset_phases", "inputs"):
            assert row[name] == old[name], (row["alloy"], name)


def test_what_is_written_is_read_again(fresh, tmp_path, monkeypatch):
    (tmp_path / computed.TABLE).write_text(table_text(fresh), encoding="utf-8")
    monkeypatch.setattr(computed, "data_folder", lambda: tmp_path)
    read = computed.computed_table.__wrapped__()
    assert len(read) == 5
    for name in SAMPLE:
        alloy = ALLOYS[name].composition
        row, found = read[composition_key(alloy), "0"], melt([alloy])[0]
        for figure in FIGURES:
            assert getattr(row, figure) == pytest.approx(getattr(found, figure), abs=0.006), (name, figure)
        assert row.onset_phases == found.onset_phases
        assert row.onset_rule == found.onset_rule
        assert row.notes == found.notes
        assert row.liquid_as_frozen(found.last_liquid_c - 1) == 0
        for temperature_c in (found.last_liquid_c + 1, found.liquidus_c - 1, found.liquidus_c + 5):
            whole = found.liquid_as_frozen(temperature_c)
            assert row.liquid_as_frozen(temperature_c) == pytest.approx(whole, abs=0.06), (name, temperature_c)


def test_the_columns_are_those_that_are_told(fresh):
    heading = next(csv.reader(io.StringIO(table_text(fresh))))
    assert tuple(heading) == COLUMNS


def test_several_processes_make_the_same_rows(monkeypatch):
    # A page tested before in this process leaves the app as the main module, which a new process would run.
    monkeypatch.setitem(sys.modules, "__main__", ModuleType("__main__"))
    told = []
    alloys = [ALLOYS[name] for name in ("Sn", "In", "Au-20Sn")]
    several = recompute(alloys, workers=2, told=lambda done, of: told.append((done, of)))
    assert several == recompute(alloys, workers=1)
    # Indium has a row with lead too; what is not covered counts as done from the start.
    assert told == [(2, 4), (3, 4), (4, 4)]


def test_an_alloy_that_is_not_covered_says_why():
    counted = []
    (row,) = recompute([ALLOYS["Au-20Sn"]], workers=1, told=lambda done, of: counted.append((done, of)))
    assert row["status"] == "not computed: 80 wt% Au is not covered by the thermodynamic tables"
    assert all(row[name] == "" for name in FIGURES)
    assert counted == []


def test_an_alloy_of_the_catalogue_needs_no_solver(monkeypatch):
    def never(*_, **__):
        raise AssertionError("asked the solver")

    monkeypatch.setattr(computed, "melting_of", never)
    row = computed_melting(ALLOYS["SAC305"].composition)
    assert row.is_computed
    assert row.why[0].startswith("Ag-Cu-Sn")
    assert computed_melting(ALLOYS["Bi-42Sn"].composition, "1").remelt_onset_c == pytest.approx(97.8, abs=0.3)
    assert computed_melting(ALLOYS["SAC305"].composition, "1") is None


def test_any_other_composition_is_computed_when_it_is_asked_for():
    alloy = parse("Sn-41Bi")
    row, found = computed_melting(alloy), melting_of([alloy])[0]
    assert (row.solidus_c, row.curve, row.notes) == (found.solidus_c, found.curve, found.notes)
    assert (
        computed_melting(parse("Sn-20Cd")).status
        == "not computed: 20 wt% Cd is not covered by the thermodynamic tables"
    )


def test_cautions_are_the_notes_that_warn():
    row = computed_table()[composition_key(ALLOYS["Sn-3.4Ag-4.8Bi"].composition), "0"]
    assert row.cautions == tuple(note[9:] for note in row.notes if note.startswith("caution: "))
    assert len(row.cautions) == 1
    gold = computed_table()[composition_key(ALLOYS["Au-20Sn"].composition), "0"]
    assert gold.liquid_as_frozen(300) is None
