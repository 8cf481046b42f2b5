"""`sheet`: the file that an ending asks for, what stands in it, exit codes, and compositions read from files."""

import csv
import json
import re

import openpyxl
import pytest

DAY = ("--on", "2027-09-01", "--market", "EU", "--as", "joint", "--equipment", "consumer")


def contents(path):
    rows = list(csv.DictReader(path.open(encoding="utf-8"), strict=True))
    return {(row["item"], row["basis"]): row["ppm"] for row in rows if row["part"] == "content"}


def verdicts(path):
    rows = list(csv.DictReader(path.open(encoding="utf-8"), strict=True))
    return {row["item"]: row for row in rows if row["part"] == "verdict"}


@pytest.mark.parametrize(("trace", "code", "outcome"), [("450ppm", 0, "pass"), ("1100ppm", 1, "fail")])
def test_a_trace_is_written_and_judged(run, tmp_path, trace, code, outcome):
    path = tmp_path / "s.csv"
    done = run("sheet", "SAC305", *DAY, "--trace", f"Pb={trace}", "-o", path)
    assert (done.code, done.err) == (code, "")
    assert ("Fails EU-ROHS-PB; " if code else "Nothing fails; ") in done.out
    assert contents(path)["Pb", "measured"] == trace.removesuffix("ppm")
    assert verdicts(path)["EU-ROHS-PB"]["value"] == outcome


@pytest.mark.parametrize("ending", ["csv", "xlsx", "html", "xml", "HTML"])
def test_the_ending_says_what_is_written(run, tmp_path, ending):
    path = tmp_path / f"s.{ending}"
    assert run("sheet", "SAC305", *DAY, "--lot", "=L-17", "-o", path).code == 0
    start = path.read_bytes()[:60]
    begins = {"csv": b"part,item", "xlsx": b"PK", "html": b"<!DOCTYPE html>", "xml": b"<?xml"}[ending.lower()]
    assert start.startswith(begins)
    if ending == "xlsx":
        cells = [cell for row in openpyxl.load_workbook(path)["Composition"].iter_rows() for cell in row]
        assert next(cell for cell in cells if cell.value == "'=L-17").data_type == "s"


def test_a_brief_gives_one_question_a_market(run, tmp_path):
    path = tmp_path / "s.html"
    assert run("sheet", "SAC305", "--brief", "skin-patch", "-o", path).code == 0
    text = path.read_text(encoding="utf-8")
    assert "China: placed on market 2027-09-01" in text
    block = json.loads(re.search(r'id="sheet">(.*?)</script>', text, re.DOTALL)[1])
    assert [entry["markets"] for entry in block["compliance"]["asked"]] == [["EU"], ["US"], ["China"]]


@pytest.mark.parametrize("ending", ["csv", "xml"])
def test_a_sheet_of_a_file_is_the_same_sheet(run, tmp_path, ending):
    first, second = tmp_path / f"first.{ending}", tmp_path / "second.csv"
    given = ("--lot", "L-17", "--certified", "2026-10-01", "--trace", "Pb=450ppm")
    run("sheet", "SAC305", *DAY, *given, "-o", first)
    run("sheet", "SAC305", *DAY, *given, "-o", tmp_path / "direct.csv")
    again = () if ending == "csv" else given[:4]  # the XML has the certificate as a remark only
    assert run("sheet", first, *DAY, *again, "-o", second).code == 0
    assert second.read_text(encoding="utf-8") == (tmp_path / "direct.csv").read_text(encoding="utf-8")


def test_what_is_typed_stands_above_the_file(run, tmp_path):
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    run("sheet", "SAC305", *DAY, "--trace", "Pb=450ppm", "--lot", "A", "--method", "M", "-o", first)
    run("sheet", first, *DAY, "--trace", "Pb=1100ppm", "--lot", "B", "-o", second)
    assert contents(second)["Pb", "measured"] == "1100"
    text = second.read_text(encoding="utf-8")
    assert "certificate,lot,B," in text
    assert "certificate,method,M," in text


def test_comply_reads_the_same_files_with_what_they_measured(run, tmp_path):
    path = tmp_path / "lot.xml"
    run("sheet", "SAC305", *DAY, "--trace", "Pb=1100ppm", "-o", path)
    done = run("comply", path, "Sn-58Bi", *DAY, "--json")
    found = {row["alloy"]: row for row in done.json() if row["rule_id"] == "EU-ROHS-PB"}
    assert done.code == 1
    assert (found["SAC305"]["outcome"], found["SAC305"]["measured_ppm"]) == ("fail", 1100)
    assert (found["Sn-58Bi"]["outcome"], found["Sn-58Bi"]["measured_ppm"]) == ("pass", 0)


def test_what_was_set_aside_in_reading_is_said_beside_the_output(run, tmp_path):
    path = tmp_path / "lot.xml"
    run("sheet", "SAC305", *DAY, "-o", path)
    path.write_text(path.read_text(encoding="utf-8").replace("X8.21", "X7.00"), encoding="utf-8")
    done = run("comply", path, *DAY, "--csv")
    assert done.err == "SAC305: the file says schema X7.00, and was read by X8.21.\n"
    assert done.rows()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("SAC305", *DAY, "-o", "s.pdf"), ".csv, .xlsx, .html, .xml"),
        (("SAC305", *DAY, "-o", "none/s.csv"), "lies in a folder that does not exist"),
        (("SAC305", *DAY, "-o", "folder.csv"), "is a folder"),
        (("SAC305", "-o", "s.csv"), "--on: is missing"),
        (("nothing.xml", *DAY, "-o", "s.csv"), "does not exist"),
        (("rosin.xml", *DAY, "-o", "s.csv"), "rosin.xml, 'SAC305', substance 2: is no element that is known here"),
        (("SAC305", *DAY, "--certified", "2100-01-01", "-o", "s.csv"), "lies in the future"),
        (("SAC305", *DAY, "--certified", "soon", "-o", "s.csv"), "--certified: is not a date"),
        (("SAC305", *DAY, "--expires", "2026", "-o", "s.csv"), "--expires: is not a date"),
        (("two.xml", *DAY, "-o", "s.csv"), "holds more than one material; got 'SAC305', 'SAC305 (2)'"),
    ],
)
def test_a_fault_is_told_and_nothing_is_written(run, tmp_path, monkeypatch, arguments, told):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.csv").mkdir()
    if arguments[0] == "rosin.xml":
        run("sheet", "SAC305", *DAY, "-o", "rosin.xml")
        text = (tmp_path / "rosin.xml").read_text(encoding="utf-8")
        (tmp_path / "rosin.xml").write_text(text.replace("7440-22-4", "8050-09-7"), encoding="utf-8")
    if arguments[0] == "two.xml":
        run("sheet", "SAC305", *DAY, "-o", "two.xml")
        text = (tmp_path / "two.xml").read_text(encoding="utf-8")
        material = re.search(r"<Material.*</Material>", text, re.DOTALL)[0]
        second = material.replace('name="SAC305"', 'name="SAC305 (2)"')
        (tmp_path / "two.xml").write_text(text.replace(material, material + second), encoding="utf-8")
    done = run("sheet", *arguments)
    assert done.code == 2
    assert told in done.err
    assert not (tmp_path / "s.csv").exists()


def test_faults_of_alloy_certificate_and_file_come_together(run, tmp_path):
    given = ("--on", "soon", "--expires", "never", "--lot", "a\tb", "--trace", "Pb=4")
    done = run("sheet", "SAC3O5", *given, "-o", tmp_path / "s.txt")
    assert "7 faults" in done.err  # the composition has two: neither O nor C is an element here
