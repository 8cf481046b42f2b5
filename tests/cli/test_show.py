"""`show`: one alloy by any spelling, with every candidate row, the chosen ones marked."""

import json
from typing import Any

import pytest

from selector.catalogue import Alloy, load
from selector.catalogue.evidence import Observation
from selector.composition import from_mapping
from selector.melting.facts import FACTS

ALLOYS = ("SAC305", "Bi-42Sn", "Sn-37Pb", "Bi-26In-17Sn", "Ga-24.5In", "Au-20Sn")


def strict(text: str) -> Any:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    return json.loads(text, parse_constant=refuse)


def candidates(alloy: Alloy) -> list[Observation]:
    return [row for entry in alloy.evidence.values() for row in entry.candidates]


def squeezed(text: str) -> str:
    return "".join(text.split())


def printed_candidates(text: str) -> dict[str, dict[str, str]]:
    """Return the printed rows of candidates by row id, blanks left out, since lines break inside a cell."""
    lines = [line.rstrip() for line in text.splitlines()]
    first = next(index for index, line in enumerate(lines) if line.startswith("Candidates; >")) + 1
    heading = ["row", "property", "value", "condition", "origin", "grade", "standing", "source"]
    starts, at = [0], 0
    for name in heading:
        at = lines[first].index(name, at)
        starts.append(at)
        at += len(name)
    rows: list[list[str]] = []
    end = lines.index("", first)
    for line in lines[first + 1 : end]:
        cells = [squeezed(line[start:stop]) for start, stop in zip(starts, [*starts[1:], None], strict=True)]
        if cells[1]:
            rows.append(cells)
        else:
            rows[-1] = [held + more for held, more in zip(rows[-1], cells, strict=True)]
    found = {row[1]: dict(zip(["mark", *heading], row, strict=True)) for row in rows}
    assert len(found) == len(rows), "a row is printed twice"
    return found


@pytest.mark.parametrize("output", [(), ("--json",)])
@pytest.mark.parametrize(
    "spellings",
    [
        (
            "SAC305",
            "sac305",
            " SAC 305 ",
            "Sn-3.0Ag-0.5Cu",
            "Sn-3Ag-0.5Cu",
            "SnAg3.0Cu0.5",
            "96.5Sn3Ag0.5Cu",
            "96.5/3/0.5",
        ),
        ("Sn-37Pb", "63/37", "Sn63Pb37", "63Sn37Pb", "Sn:63;Pb:37", "tin-lead eutectic", "63/37 Sn/Pb", "SN63"),
        ("Bi-42Sn", "Sn-58Bi", "58Bi-42Sn", "Sn42Bi58", "bi 42sn"),
        ("Bi-42Sn-1Ag", "Sn42Bi57Ag1", "57Bi-42Sn-1Ag"),
    ],
    ids=lambda spellings: spellings[0],
)
def test_any_spelling_gives_the_same(spellings, output, run):
    first, *others = spellings
    expected = run("show", first, *output)
    assert (expected.code, expected.err) == (0, "")
    assert f'"{first}"' in expected.out if output else expected.out.startswith(f"{first} = ")
    for other in others:
        assert run("show", other, *output) == expected, other


def test_different_alloys_give_different_answers(run):
    assert len({run("show", name).out for name in ALLOYS}) == len(ALLOYS)


@pytest.mark.parametrize("name", ALLOYS)
def test_text_shows_each_candidate_with_its_standing_and_source(name, run):
    alloy = load().find(name)
    printed = printed_candidates(run("show", name).out)
    rows = candidates(alloy)
    assert list(printed) == [row.id for row in rows]
    for row in rows:
        cells = printed[row.id]
        assert cells["property"] == row.name
        assert cells["condition"] == squeezed(row.condition)
        assert (cells["origin"], cells["grade"]) == (row.origin, row.grade)
        assert cells["source"] == row.source
        expected = row.standing + (f": {row.standing_reason}" if row.standing != "usable" else "")
        assert cells["standing"] == squeezed(expected), row.id


@pytest.mark.parametrize("name", ALLOYS)
def test_text_marks_the_chosen_rows_and_no_other(name, run):
    alloy = load().find(name)
    marked = {row for row, cells in printed_candidates(run("show", name).out).items() if cells["mark"] == ">"}
    assert marked == {entry.chosen.id for entry in alloy.evidence.values() if entry.chosen is not None}
    assert marked


def test_unusable_rows_stay_in_sight_with_their_reason(run):
    unusable = [row for row in candidates(load().find("SAC305")) if row.standing != "usable"]
    assert {row.standing for row in unusable} == {"not comparable", "implausible"}
    printed = printed_candidates(run("show", "SAC305").out)
    for row in unusable:
        assert row.standing_reason
        assert squeezed(row.standing_reason) in printed[row.id]["standing"]
        assert printed[row.id]["mark"] == ""


@pytest.mark.parametrize("name", ALLOYS)
def test_text_cites_every_source_it_names(name, run):
    alloy, out = load().find(name), run("show", name).out
    listed = out.split("\nSources\n", 1)[1]
    for source in {row.source for row in candidates(alloy)}:
        assert f"  {source}: " in listed
        assert squeezed(load().sources[source].citation) in squeezed(listed)


@pytest.mark.parametrize("name", ALLOYS)
def test_json_holds_all_that_is_known(name, run):
    alloy, found = load().find(name), strict(run("show", name, "--json").out)
    assert found["alloy"] == alloy.id
    assert from_mapping(found["composition"]) == alloy.composition
    assert sum(found["at_percent"].values()) == pytest.approx(100, abs=1e-3)
    properties = {entry["property"]: entry for entry in found["properties"]}
    assert len(properties) == len(found["properties"])
    assert properties.keys() == {*alloy.evidence, "remelt_onset_c", *FACTS}
    for name_of, entry in alloy.evidence.items():
        shown = properties[name_of]
        assert (shown["value"], shown["low"], shown["high"]) == (entry.value, entry.low, entry.high)
        assert (shown["source"], shown["grade"], shown["unit"]) == (entry.source, entry.grade, entry.unit)
        assert [row["id"] for row in shown["candidates"]] == [row.id for row in entry.candidates]
        assert all(row["standing_reason"] for row in shown["candidates"] if row["standing"] != "usable")
        assert bool(shown["citation"]) is (entry.source != "none"), name_of


@pytest.mark.parametrize("name", ALLOYS)
def test_json_has_no_figure_without_unit_and_source(name, run):
    seen = 0
    for entry in strict(run("show", name, "--json").out)["properties"]:
        if any(entry[end] is not None for end in ("value", "low", "high")):
            seen += 1
            assert entry["unit"], entry["property"]
            assert entry["source"] not in ("", "none"), entry["property"]
            assert entry["citation"], entry["property"]
    assert seen > 4


def test_every_alloy_of_the_catalogue_can_be_shown(run):
    for alloy in load().alloys.values():
        done = run("show", alloy.id, "--json")
        assert (done.code, done.err) == (0, "")
        assert strict(done.out)["alloy"] == alloy.id
    assert len(load().alloys) > 50


@pytest.mark.parametrize("output", [(), ("--json",)])
@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("SAC306", ["SAC305"]),
        ("Sn-3.0Ag-0.4Cu", ["SAC305"]),
        ("Sn-57Bi", ["Bi-42Sn"]),
        ("Sn-36Pb", ["Sn-37Pb"]),
        ("Bi-42Zz", ["Bi-42Sn"]),
    ],
)
def test_an_alloy_that_is_not_there_names_the_nearest(name, near, output, run):
    done = run("show", name, *output)
    assert (done.code, done.out) == (2, "")
    assert "the name of the alloy cannot be used" in done.err
    assert f"'{name}'" in done.err
    remedy = next(
        line for line in done.err.splitlines() if "near to it: " in line or "nearest by composition: " in line
    )
    assert set(near) <= set(remedy.split(": ")[-1].split(", "))
    assert "Traceback" not in done.err


@pytest.mark.parametrize(
    "name", ["", "   ", "Nonsense", "Sn-200Ag", "Sn-3Ag-3Ag", "NaN", "Sn-1e999Ag", "x" * 100_000, "\x1b[31m"]
)
def test_what_is_no_alloy_is_refused_in_words(name, run):
    done = run("show", name)
    assert (done.code, done.out) == (2, "")
    assert "the name of the alloy cannot be used" in done.err
    assert "Traceback" not in done.err
    assert all(char.isprintable() or char == "\n" for char in done.err)
    assert len(done.err) < 10_000


def test_a_name_far_from_all_points_to_the_list(run):
    assert "the command `alloys`" in run("show", "Nonsense").err
