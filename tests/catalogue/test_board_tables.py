"""The tables of the board keep their schemas, name their sources, and never call memory anything else."""

import pytest

from selector.catalogue.board_schemas import BOARD_SCHEMAS
from selector.catalogue.checks import _column_faults
from selector.constants import board_table, constant, constants
from selector.datafiles import data_folder, read_numbered, read_table

SOURCES = {row["source"]: row for row in read_table(data_folder() / "sources.csv", "sources")}


@pytest.mark.parametrize("name", BOARD_SCHEMAS)
def test_every_cell_keeps_its_schema(name):
    heading, rows = read_numbered(data_folder() / f"{name}.csv", name)
    assert list(_column_faults(BOARD_SCHEMAS[name], heading, rows)) == []
    assert rows


@pytest.mark.parametrize("name", BOARD_SCHEMAS)
def test_every_row_has_a_source_and_memory_is_called_memory(name):
    for row in board_table(name):
        for cell in ("source", "pitch_source"):
            assert row.get(cell, "practice") in SOURCES, row
        kind = SOURCES[row["source"]]["kind"]
        assert (row["origin"] == "memory") == (kind == "memory") or row["origin"] == "practice", row
        if row["origin"] in ("memory", "practice"):
            assert row["grade"] == "low", row


@pytest.mark.parametrize("name", sorted(constants()))
def test_a_constant_lies_in_its_interval(name):
    entry = constant(name)
    assert entry.low <= entry.value <= entry.high
    assert entry.is_remembered == (SOURCES[entry.source]["kind"] == "memory") or entry.origin == "practice"


def test_a_constant_without_ends_is_its_own_interval_and_an_unknown_one_is_a_slip():
    assert (constant("linear fit Ag").low, constant("linear fit Ag").high) == (-3.1, -3.1)
    assert constant("linear fit Ag").is_remembered
    with pytest.raises(KeyError):
        constant("nothing")
