"""`alloys`: the catalogue as text, JSON and CSV."""

import csv
import io
import json
from typing import Any

import pytest

from selector.catalogue import load
from selector.figures import figure


def records(text: str) -> list[dict[str, Any]]:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    found = json.loads(text, parse_constant=refuse)
    assert isinstance(found, list)
    return found


def names_in(text: str) -> list[str]:
    """Return the first word of every line below the heading."""
    heading, *lines = text.splitlines()
    assert heading.split()[:2] == ["alloy", "family"]
    return [line.split()[0] for line in lines if line and not line[0].isspace()]


LISTED = [alloy.id for alloy in load().listed()]
ALL = list(load().alloys)
SPECIAL = {
    alloy.id
    for alloy in load().alloys.values()
    if "fusible" in alloy.family or {"Cd", "Ga"} & set(alloy.composition.elements)
}


def test_special_grades_are_there_to_be_left_out():
    kinds = {load().alloys[name].family for name in SPECIAL}
    assert any("fusible" in kind for kind in kinds)
    assert any("gallium" in kind for kind in kinds)
    assert any("Cd" in load().alloys[name].composition.elements for name in SPECIAL)


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
def test_the_default_list_has_no_fusible_cadmium_or_gallium_grade(output, run):
    done = run("alloys", *output)
    assert (done.code, done.err) == (0, "")
    found = {
        (): names_in,
        ("--json",): lambda text: [row["alloy"] for row in records(text)],
        ("--csv",): lambda text: [row["alloy"] for row in csv.DictReader(io.StringIO(text))],
    }[output](done.out)
    assert found == LISTED
    assert not set(found) & SPECIAL


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
def test_all_has_them(output, run):
    done = run("alloys", "--all", *output)
    assert done.code == 0
    found = {
        (): names_in,
        ("--json",): lambda text: [row["alloy"] for row in records(text)],
        ("--csv",): lambda text: [row["alloy"] for row in csv.DictReader(io.StringIO(text))],
    }[output](done.out)
    assert found == ALL
    assert set(found) >= SPECIAL
    assert set(found) - set(LISTED) == SPECIAL


@pytest.mark.parametrize(("text", "least"), [("tin-bismuth", 5), ("Tin-BISMUTH", 5), ("(contains lead)", 3)])
def test_family_filters_by_part_of_the_name_whatever_the_case(text, least, run):
    rows = records(run("alloys", "--all", "--family", text, "--json").out)
    expected = [alloy.id for alloy in load().alloys.values() if text.lower() in alloy.family.lower()]
    assert [row["alloy"] for row in rows] == expected
    assert least <= len(rows) < len(ALL)


def test_family_keeps_to_the_default_list(run):
    assert records(run("alloys", "--family", "fusible", "--json").out) == []


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
def test_a_family_that_is_none_gives_an_empty_list(output, run):
    done = run("alloys", "--family", "(no such", *output)
    assert (done.code, done.err) == (0, "")
    assert not any(name in done.out for name in ALL if len(name) > 3)


def test_json_carries_the_evidence(run):
    for row in records(run("alloys", "--all", "--json").out):
        alloy = load().alloys[row["alloy"]]
        for name in ("solidus_c", "liquidus_c", "pasty_range_k", "density_g_cm3", "relative_cost"):
            entry = alloy.of(name)
            for key, value in ((name, entry.value), (f"{name}_low", entry.low), (f"{name}_high", entry.high)):
                assert row[key] == (None if value is None else pytest.approx(value)), (alloy.id, key)
            assert row[f"{name}_source"] == entry.source
        assert row["family"] == alloy.family
        assert row["listed"] is alloy.listed


def test_csv_says_what_json_says(run):
    rows = list(csv.DictReader(io.StringIO(run("alloys", "--all", "--csv").out), strict=True))
    assert len(rows) == len(ALL)
    for row, other in zip(rows, records(run("alloys", "--all", "--json").out), strict=True):
        assert row.keys() == other.keys()
        for key, value in other.items():
            if value is None:
                assert row[key] == ""
            elif isinstance(value, bool | str):
                assert row[key] == str(value)
            else:
                assert float(row[key]) == pytest.approx(value)


def test_text_gives_the_melting_range(run):
    lines = {line.split()[0]: line for line in run("alloys").out.splitlines()[1:] if line.strip()}
    for alloy in load().listed():
        solidus, liquidus = (figure(alloy.of(name).value) for name in ("solidus_c", "liquidus_c"))
        cells = lines[alloy.id].removeprefix(alloy.id).strip().removeprefix(alloy.family).split()
        assert cells[:2] == [solidus, liquidus], alloy.id


def test_restricted_metals_are_flagged(run):
    flags = {row["alloy"]: row["restricted_ppm"] for row in records(run("alloys", "--all", "--json").out)}
    assert flags["Sn-37Pb"] == "Pb 370000"
    assert "Cd 140000" in flags["In-42Sn-14Cd"]
    assert flags["SAC305"] == ""
