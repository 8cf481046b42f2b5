"""`recompute`: the table made anew or checked, and what moved."""

import csv
import io
import shutil

import pytest

from selector.catalogue import load
from selector.datafiles import data_folder
from selector.melting import computed, table


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return a copy of the folder of tables, in use for the computed melting."""
    copy = tmp_path / "data"
    shutil.copytree(data_folder(), copy)
    for module in ("computed", "table"):
        monkeypatch.setattr(f"selector.melting.{module}.data_folder", lambda: copy)
    computed.computed_table.cache_clear()
    yield copy
    monkeypatch.undo()
    computed.computed_table.cache_clear()


def lines_of(folder):
    return list(csv.DictReader(io.StringIO((folder / "melting.csv").read_text())))


def without_failures(row):
    return row | {"notes": " | ".join(note for note in row["notes"].split(" | ") if not note.startswith("failed: "))}


@pytest.fixture
def answers(monkeypatch, folder):
    """Let the computation return rows that a test sets, and tell how often it was asked."""
    held = {"rows": [without_failures(row) for row in lines_of(folder)], "asked": 0}

    def recompute(alloys, workers, told):
        held["asked"] += 1
        assert [alloy.id for alloy in alloys] == list(load().alloys)
        assert workers >= 1
        told(1, len(held["rows"]))
        return tuple(held["rows"])

    monkeypatch.setattr(table, "recompute", recompute)
    return held


def change(rows, alloy, lead_wt="0", **cells):
    row = next(row for row in rows if (row["alloy"], row["lead_wt"]) == (alloy, lead_wt))
    row |= cells


def test_check_says_that_all_is_current(run):
    done = run("recompute", "--check")
    assert (done.code, done.err) == (0, "")
    assert done.out == "every row is of today's inputs\n"


def test_check_names_what_is_stale_and_computes_nothing(run, folder, answers):
    rows = lines_of(folder)
    change(rows, "SAC305", inputs="0123456789abcdef")
    kept = [row for row in rows if row["alloy"] != "Sn-37Pb"]
    (folder / "melting.csv").write_text(table.table_text(kept))
    computed.computed_table.cache_clear()
    before = (folder / "melting.csv").read_bytes()
    done = run("recompute", "--check")
    assert done.code == 1
    assert set(done.out.splitlines()[:-1]) == {"stale: SAC305", "stale: Sn-37Pb"}
    assert done.out.splitlines()[-1] == f"2 of {len(rows)} rows are stale"
    assert answers["asked"] == 0
    assert (folder / "melting.csv").read_bytes() == before


def test_what_moved_by_over_half_a_kelvin_came_or_went_is_told(run, folder, answers):
    rows = answers["rows"]
    onsets = {row["alloy"]: float(row["remelt_onset_c"] or "nan") for row in rows if row["lead_wt"] == "0"}
    change(rows, "SAC305", remelt_onset_c=str(onsets["SAC305"] + 0.75))
    change(rows, "Sn-37Pb", remelt_onset_c=str(onsets["Sn-37Pb"] + 0.4))
    change(rows, "Bi-42Sn", remelt_onset_c="")
    rows[:] = [row for row in rows if row["alloy"] != "Sn-9Zn"]
    rows.append(dict(rows[0], alloy="Sn-8Zn"))
    done = run("recompute")
    assert done.code == 0
    *told, last = done.out.splitlines()
    assert {line.split(":")[0] for line in told} == {"SAC305", "Bi-42Sn", "Sn-9Zn", "Sn-8Zn"}
    assert next(line for line in told if line.startswith("SAC305")).startswith("SAC305: remelt onset 216.6 -> 217.4")
    assert "Bi-42Sn: remelt onset 138.8 -> unknown degC" in told
    assert "Sn-9Zn: no longer in the table" in told
    assert last == f"{len(rows)} rows written; the solver failed on none"
    assert lines_of(folder) == rows
    assert not list(folder.glob("*.part"))


def test_the_same_rows_make_the_same_file(run, folder, answers):
    answers["rows"] = lines_of(folder)
    before = (folder / "melting.csv").read_bytes()
    done = run("recompute")
    assert len(done.out.splitlines()) == 1
    assert (folder / "melting.csv").read_bytes() == before


def test_a_failure_of_the_solver_is_named_and_ends_with_1(run, answers):
    for lead_wt in ("0", "1"):
        change(answers["rows"], "Bi-42Sn", lead_wt, notes="failed: T98: no answer")
    done = run("recompute")
    assert done.code == 1
    assert done.out.splitlines()[-1].endswith("the solver failed on Bi-42Sn, Bi-42Sn with 1 wt% Pb")


def test_a_folder_that_cannot_be_written_is_refused_before_anything_is_computed(run, folder, answers, monkeypatch):
    def refused(*arguments, **options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("selector.melting.table.tempfile.TemporaryFile", refused)
    run("recompute").check_refusal(("data/melting.csv", "cannot be written (Permission denied)", "a clone"))
    assert answers["asked"] == 0


def test_a_missing_table_is_refused(run, folder, answers):
    (folder / "melting.csv").unlink()
    done = run("recompute")
    assert (done.code, done.out, answers["asked"]) == (2, "", 0)
    assert "melting.csv" in done.err
