"""Foreign tables: every kind of fault is named with file, row, column and value, all of them at once."""

import csv
import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from selector.catalogue import load
from selector.catalogue.board_schemas import BOARD_SCHEMAS
from selector.catalogue.checks import check_folder
from selector.catalogue.life_schemas import LIFE_SCHEMAS
from selector.catalogue.schemas import SCHEMAS, descriptor_text, is_decimal, table_schema
from selector.catalogue.tables import TABLES
from selector.datafiles import data_folder
from selector.errors import Fault, InputError

Rows = list[dict[str, str]]
Change = Callable[[Rows], object]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a copy of the shipped tables."""
    for name in TABLES:
        shutil.copy(data_folder() / f"{name}.csv", tmp_path)
    return tmp_path


def rewrite(folder: Path, name: str, change: Change) -> None:
    path = folder / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        rows, heading = list(reader), list(reader.fieldnames or ())
    change(rows)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, heading)
        writer.writeheader()
        writer.writerows(rows)


def line_of(folder: Path, name: str, **cells: str) -> int:
    """Return the line in the file of the first row with these cells; the heading is line 1."""
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.DictReader(file), start=2):
            if all(row[key] == value for key, value in cells.items()):
                return number
    raise AssertionError(f"no row {cells} in {name}")


def put(folder: Path, name: str, where: dict[str, str], **cells: str) -> int:
    """Write cells into the first row that matches, and return its line."""
    line = line_of(folder, name, **where)
    rewrite(folder, name, lambda rows: rows[line - 2].update(cells))
    return line


def faults_of(folder: Path) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        check_folder(folder)
    return caught.value.faults


def test_the_shipped_tables_keep_every_rule():
    check_folder(data_folder())


def test_a_copy_of_the_shipped_tables_gives_the_same_catalogue(folder):
    shipped, copy = load(), load(folder)
    assert copy.alloys == shipped.alloys
    assert copy.sources == shipped.sources


def test_the_shipped_path_imports_neither_pandera_nor_pandas():
    code = "import sys, selector, selector.catalogue as c; c.load(); print({'pandera', 'pandas'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


@pytest.mark.parametrize(
    "cell",
    ["NaN", "nan", "inf", "-Infinity", "true", "1,5", "1_000", "0x1F", "1/3", "12 K", "1e999999", "٣", "9" * 41, "--1"],
)
def test_what_is_no_finite_decimal_number_is_refused(folder, cell):
    assert not is_decimal(cell)
    line = put(folder, "observations", {"observation": "o0001"}, value=cell)
    (fault,) = faults_of(folder)
    assert fault.where == f"observations.csv, row {line}, value"
    assert fault.problem == "is not a finite decimal number"
    assert cell[:20] in fault.value


@pytest.mark.parametrize("cell", ["0", "-38.83", "+1.5", ".5", "5.", "1e-3", "2E5", ""])
def test_what_is_a_finite_decimal_number_passes(cell):
    assert is_decimal(cell)


ONE_CELL = [
    # table, row, cells written, column named, part of the problem, part of the value
    ("observations", {"observation": "o0009"}, {"value": "-4"}, "value", "below what is possible", "-4"),
    ("observations", {"observation": "o0007"}, {"value": "0"}, "value", "below what is possible", "0"),
    ("observations", {"observation": "o0001"}, {"value": "2e9"}, "value", "outside the range", "2e9"),
    ("observations", {"observation": "o0005"}, {"low": "29.5"}, "value", "out of order", "29.5 / 29 / 30"),
    ("observations", {"observation": "o0005"}, {"value": "", "low": "31"}, "value", "out of order", "31"),
    ("observations", {"observation": "o0001"}, {"value": ""}, "value", "states no figure", ""),
    ("observations", {"observation": "o0002"}, {"text": ""}, "text", "needs words", ""),
    ("observations", {"observation": "o0002"}, {"value": "3"}, "text", "needs words", "measurable creep"),
    ("observations", {"observation": "o0010"}, {"unit": "degF"}, "unit", "differs from the unit", "degF"),
    ("observations", {"observation": "o0001"}, {"unit": "HV"}, "unit", "differs from the unit", "H"),
    ("observations", {"observation": "o0001"}, {"grade": "superb"}, "grade", "not one of the list", "superb"),
    ("observations", {"observation": "o0001"}, {"origin": "practice"}, "origin", "not one of the list", "practice"),
    ("observations", {"observation": "o0001"}, {"standing": "implausible"}, "standing_reason", "is empty", ""),
    ("observations", {"observation": "o0001"}, {"source": "hearsay"}, "source", "is not in sources.csv", "hearsay"),
    ("observations", {"observation": "o0001"}, {"source": ""}, "source", "is empty", ""),
    ("observations", {"observation": "o0001"}, {"alloy": "Sn-99Xx"}, "alloy", "is not in alloys.csv", "Sn-99Xx"),
    ("observations", {"observation": "o0002"}, {"observation": "o0001"}, "observation", "given twice", "o0001"),
    ("observations", {"observation": "o0001"}, {"condition": "a\u202eb"}, "condition", "cannot be printed", "u202e"),
    ("observations", {"observation": "o0001"}, {"condition": "a\nb"}, "condition", "cannot be printed", "a\\nb"),
    ("compositions", {"alloy": "SAC305"}, {"wt_percent": "0"}, "wt_percent", "outside the range", "0"),
    ("compositions", {"alloy": "SAC305"}, {"wt_percent": "-3"}, "wt_percent", "outside the range", "-3"),
    ("compositions", {"alloy": "SAC305"}, {"wt_percent": ""}, "wt_percent", "is empty", ""),
    ("compositions", {"alloy": "SAC305"}, {"wt_percent": "96.50001"}, "wt_percent", "do not add up", "100.00001 wt%"),
    (
        "compositions",
        {"alloy": "Sn-5Sb", "element": "Sb"},
        {"tolerance_source": "x"},
        "tolerance_source",
        "not in",
        "x",
    ),
    ("bands", {"band": "b001"}, {"level": "excellent"}, "level", "not one of the list", "excellent"),
    ("bands", {"band": "b001"}, {"level": "6"}, "level", "no level of drop_class", "6"),
    ("bands", {"band": "b001"}, {"level_best": "poor"}, "level_best", "out of order", "poor / good / fair"),
    ("bands", {"band": "b001"}, {"level": "weak"}, "level_best", "out of order", "good / weak / fair"),
    ("bands", {"band": "b001"}, {"property": "taste"}, "property", "not one of the list", "taste"),
    ("bands", {"band": "b002"}, {"alloy": "Sn-0.3Ag-0.7Cu"}, "property", "repeats row 2", "drop_class"),
    ("bands", {"band": "b002"}, {"band": "b001"}, "band", "given twice", "b001"),
    ("elements", {"symbol": "Bi"}, {"density_g_cm3": ""}, "density_g_cm3", "is empty for Bi", ""),
    ("elements", {"symbol": "Bi"}, {"atomic_mass": "nan"}, "atomic_mass", "finite decimal", "nan"),
    ("elements", {"symbol": "Fe"}, {"melting_point_c": "-300"}, "melting_point_c", "outside the range", "-300"),
    ("prices", {"element": "Sn"}, {"usd_kg": "0"}, "usd_kg", "outside the range", "0"),
    ("prices", {"element": "Sn"}, {"price_list": "last year"}, "price_list", "whole number", "last year"),
    ("supply", {"element": "Sn"}, {"flagged": "maybe"}, "flagged", "not one of the list", "maybe"),
    ("supply", {"element": "Ag"}, {"element": "Sn"}, "element", "given twice", "Sn"),
    ("supply", {"element": "Sn"}, {"top_country_share_percent": "101"}, "top_country_share_percent", "range", "101"),
    ("sources", {"source": "practice"}, {"year": "-5"}, "year", "whole number", "-5"),
    ("sources", {"source": "practice"}, {"kind": "rumour"}, "kind", "not one of the list", "rumour"),
    ("alloys", {"alloy": "SAC405"}, {"listed": "TRUE"}, "listed", "not one of the list", "TRUE"),
    ("alloys", {"alloy": "SAC405"}, {"paste": ""}, "paste", "is empty", ""),
    ("alloys", {"alloy": "SAC405"}, {"names": "x; sac305"}, "names", "names 'SAC305' already", "sac305"),
    ("alloys", {"alloy": "SAC405"}, {"names": "x; SAC 305"}, "names", "spells other amounts", "SAC 305"),
    ("alloys", {"alloy": "SAC405"}, {"forms_source": "x"}, "forms_source", "is not in sources.csv", "x"),
]


@pytest.mark.parametrize(("name", "where", "cells", "column", "problem", "value"), ONE_CELL)
def test_a_fault_in_one_cell_is_named(folder, name, where, cells, column, problem, value):
    line = put(folder, name, where, **cells)
    found = [fault for fault in faults_of(folder) if problem in fault.problem]
    assert found, [str(fault) for fault in faults_of(folder)]
    assert column in found[0].where
    assert value in found[0].value
    assert found[0].allowed
    assert found[0].remedy
    if problem != "differs from the unit":  # there the first row of the property sets the unit
        assert found[0].where == f"{name}.csv, row {line}, {column}"


def test_every_fault_of_every_table_comes_at_once(folder):
    lines = {
        "value": put(folder, "observations", {"observation": "o0016"}, value="inf"),
        "grade": put(folder, "observations", {"observation": "o0020"}, grade="best"),
        "wt_percent": put(folder, "compositions", {"alloy": "SAC305", "element": "Ag"}, wt_percent="3.1"),
        "level": put(folder, "bands", {"band": "b005"}, level="meh"),
        "year": put(folder, "sources", {"source": "policy"}, year="MMX"),
    }
    (folder / "supply.csv").unlink()
    text = (folder / "prices.csv").read_bytes()
    (folder / "prices.csv").write_bytes(text + b"\xff")
    faults = faults_of(folder)
    places = [fault.where for fault in faults]
    assert f"observations.csv, row {lines['value']}, value" in places
    assert f"observations.csv, row {lines['grade']}, grade" in places
    assert f"compositions.csv, row {line_of(folder, 'compositions', alloy='SAC305')}, wt_percent" in places
    assert f"bands.csv, row {lines['level']}, level" in places
    assert f"sources.csv, row {lines['year']}, year" in places
    assert any("supply.csv" in fault.where and fault.problem == "does not exist" for fault in faults)
    assert any("prices.csv" in fault.where and fault.problem == "is not UTF-8 text" for fault in faults)
    assert len(faults) == 7


def test_rows_are_lines_of_the_file_past_blank_lines_and_broken_cells(folder):
    path = folder / "supply.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[2:2] = ["", ""]
    assert lines[6].startswith('Bi,yes,"by-product of lead')
    lines[6] = lines[6].replace("yes", "perhaps", 1).replace("of lead", "of\nlead", 1)
    assert lines[8].startswith("Pb,no")
    lines[8] = lines[8].replace("no", "NO", 1)
    path.write_text("\n".join(lines), encoding="utf-8")
    places = [fault.where for fault in faults_of(folder)]
    assert places == [
        "supply.csv, row 7, flagged",
        "supply.csv, row 7, reason",
        "supply.csv, row 10, flagged",
    ]


def test_missing_and_extra_columns_are_named_and_do_not_hide_other_faults(folder):
    path = folder / "observations.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("grade", "trust", 1), encoding="utf-8")
    put(folder, "elements", {"symbol": "Sn"}, atomic_mass="heavy")
    faults = faults_of(folder)
    assert [fault.where for fault in faults] == [
        "observations.csv, row 1",
        "observations.csv, row 1, grade",
        "elements.csv, row 2, atomic_mass",
    ]
    assert faults[0].value == "'trust'"


@pytest.mark.parametrize("name", TABLES)
def test_a_missing_file_is_named_with_the_others(folder, name):
    (folder / f"{name}.csv").unlink()
    other = "sources" if name != "sources" else "bands"
    put(folder, other, {}, **{"kind" if other == "sources" else "level": "nonsense"})
    faults = faults_of(folder)
    assert len(faults) == 2
    assert {fault.problem for fault in faults} == {"does not exist", "is not one of the list"}


def test_a_folder_that_does_not_exist_names_all_eight_files(tmp_path):
    assert len(faults_of(tmp_path / "nowhere")) == len(TABLES)


def test_a_repeated_alloy_is_named(folder):
    rewrite(folder, "alloys", lambda rows: rows.append(dict(rows[0])))
    (fault,) = faults_of(folder)
    assert fault.problem == "is given twice"
    assert fault.value == "'Pb-5Sn'"


def test_two_alloys_with_one_name_in_another_case_are_named(folder):
    line = put(folder, "alloys", {"alloy": "Sn-3Ag"}, names="TIN Silver_EUTECTIC")
    fault = next(fault for fault in faults_of(folder) if "already" in fault.problem)
    later = max(line, line_of(folder, "alloys", alloy="Sn-3.5Ag"))
    assert fault.where == f"alloys.csv, row {later}, names"


def test_the_cost_reference_may_not_be_missing(folder):
    for name in ("alloys", "compositions", "observations", "bands"):
        rewrite(folder, name, lambda rows: rows.__setitem__(slice(None), [r for r in rows if r["alloy"] != "SAC305"]))
    (fault,) = faults_of(folder)
    assert "SAC305" in fault.problem


def test_an_alloy_without_a_composition_is_named(folder):
    rewrite(folder, "compositions", lambda rows: rows.__setitem__(slice(None), [r for r in rows if r["alloy"] != "In"]))
    (fault,) = faults_of(folder)
    assert fault.where == f"alloys.csv, row {line_of(folder, 'alloys', alloy='In')}, alloy"


def test_an_element_given_twice_in_an_alloy_is_named(folder):
    line = put(folder, "compositions", {"alloy": "SAC305", "element": "Cu"}, element="Ag")
    places = {fault.where: fault for fault in faults_of(folder)}
    assert places[f"compositions.csv, row {line}, element"].value == "'SAC305, Ag'"


@pytest.mark.parametrize("symbol", ["Xx", "sn", "Tin"])
def test_an_unknown_element_is_named(folder, symbol):
    line = put(folder, "compositions", {"alloy": "SAC305", "element": "Sn"}, element=symbol)
    problems = {fault.problem for fault in faults_of(folder) if fault.where == f"compositions.csv, row {line}, element"}
    assert problems == {"is not in elements.csv", "is not a known element"}


def test_an_alloy_whose_name_spells_other_amounts_is_named(folder):
    put(folder, "compositions", {"alloy": "Sn-9Zn", "element": "Sn"}, wt_percent="92")
    put(folder, "compositions", {"alloy": "Sn-9Zn", "element": "Zn"}, wt_percent="8")
    (fault,) = faults_of(folder)
    assert fault.problem == "spells other amounts"
    assert fault.where == f"alloys.csv, row {line_of(folder, 'alloys', alloy='Sn-9Zn')}, alloy"
    assert "Sn-9Zn" in fault.value


def test_a_solidus_above_the_liquidus_of_the_same_source_is_named(folder):
    line = put(
        folder, "observations", {"alloy": "SAC305", "property": "solidus_c", "source": "maker-sheet-2007"}, value="219"
    )
    (fault,) = faults_of(folder)
    assert fault.where == f"observations.csv, row {line}, value"
    assert fault.value == "'219'"
    assert "217" in fault.allowed


@pytest.mark.parametrize(
    ("standing", "problem"), [("not comparable", "no usable price"), ("usable", "2 usable prices")]
)
def test_an_element_has_exactly_one_usable_price_on_the_newest_list(folder, standing, problem):
    def change(rows: Rows) -> None:
        if standing == "usable":
            rows.append({**rows[0], "basis": "another exchange"})
        else:
            rows[0] |= {"standing": standing, "standing_reason": "trial"}

    rewrite(folder, "prices", change)
    (fault,) = faults_of(folder)
    assert problem in fault.problem
    assert "'Sn'" in fault.problem
    assert "2024" in fault.problem


HOSTILE = {
    "a cell over the limit of the csv reader": '"' + "x" * 200_000 + '"\n',
    "a quotation mark never closed": 'alloy,element\n"' + "a,b\n" * 100_000,
    "a hundred and sixty thousand columns": ",".join(f"{i:x}" for i in range(160_000)) + "\n",
    "a column named a hundred thousand times": "a," * 100_000 + "a\n",
    "a quarter of a million rows": "a\n" * 250_000,
    "powers that would fill the memory": "alloy,element,wt_percent,tolerance,tolerance_source\n"
    + "SAC305,Sn,1e999999999,,\n" * 1000,
    "nothing": "",
    "a blank line": "\n",
    "a NUL byte": "alloy\0",
    "over a megabyte": "a" * 1_000_001,
    "rows of unequal length": "alloy,element,wt_percent,tolerance,tolerance_source\nSAC305,Sn\n",
}


@pytest.mark.parametrize("content", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_files_end_in_faults_and_short_messages(folder, content):
    (folder / "compositions.csv").write_text(content, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        check_folder(folder)
    assert any("compositions.csv" in fault.where for fault in caught.value.faults)
    assert len(str(caught.value)) < 40_000


def test_the_descriptor_file_is_what_the_schemas_give():
    written = (data_folder() / "datapackage.json").read_text(encoding="utf-8")
    assert written == descriptor_text(), "write descriptor_text() of selector.catalogue.schemas to the file again"


def test_the_descriptor_describes_every_column_of_every_table():
    package = table_schema()
    assert package["profile"] == "tabular-data-package"
    assert package["licenses"][0]["name"] == "CC-BY-4.0"
    assert list(TABLES) == list(SCHEMAS)
    assert [resource["name"] for resource in package["resources"]] == [*TABLES, *BOARD_SCHEMAS, *LIFE_SCHEMAS]
    names = {resource["name"]: resource for resource in package["resources"]}
    for resource in package["resources"]:
        with (data_folder() / resource["path"]).open(encoding="utf-8", newline="") as file:
            heading = next(csv.reader(file))
        fields = {field["name"]: field for field in resource["schema"]["fields"]}
        assert sorted(fields) == sorted(heading)
        assert all(field["description"] for field in fields.values())
        assert {field["type"] for field in fields.values()} <= {"string", "number", "integer"}
        assert set(resource["schema"]["primaryKey"]) <= set(fields)
        for foreign in resource["schema"].get("foreignKeys", []):
            target = names[foreign["reference"]["resource"]]
            assert foreign["reference"]["fields"][0] in {field["name"] for field in target["schema"]["fields"]}
    assert json.loads(descriptor_text()) == package


def test_the_shipped_files_keep_what_the_descriptor_declares():
    """Reads the descriptor as an outsider would, without pandera."""
    package = json.loads((data_folder() / "datapackage.json").read_text(encoding="utf-8"))
    tables = {}
    for resource in package["resources"]:
        with (data_folder() / resource["path"]).open(encoding="utf-8", newline="") as file:
            tables[resource["name"]] = list(csv.DictReader(file))
    for resource in package["resources"]:
        rows, schema = tables[resource["name"]], resource["schema"]
        keys = [tuple(row[part] for part in schema["primaryKey"]) for row in rows]
        assert len(keys) == len(set(keys))
        for field in schema["fields"]:
            cells, rules = [row[field["name"]] for row in rows], field.get("constraints", {})
            filled = [cell for cell in cells if cell]
            assert not rules.get("required") or filled == cells
            assert not rules.get("unique") or len(set(filled)) == len(filled)
            assert set(filled) <= set(rules.get("enum", filled))
            if field["type"] != "string":
                low, high = rules["minimum"], rules["maximum"]
                assert all(low <= float(cell) <= high for cell in filled)
        for foreign in schema.get("foreignKeys", []):
            there = {row[foreign["reference"]["fields"][0]] for row in tables[foreign["reference"]["resource"]]}
            assert {row[foreign["fields"][0]] for row in rows} - {""} <= there
