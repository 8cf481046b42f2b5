"""`shortlist`: what it prints for people, machines and spreadsheets, and the code it ends with."""

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.catalogue.tables import TABLES
from selector.datafiles import data_folder
from selector.decision import Decision, decide
from selector.findings import changes_text

BRIEFS = ("motor-drive", "river-logger", "skin-patch")
CODES = {"motor-drive": 0, "river-logger": 1, "skin-patch": 0}
GROUPS = ("admitted", "undecided", "ruled_out")
OUTCOMES = {"pass", "fail", "duty", "unknown", "not_applicable"}
TOP_KEYS = {"brief", "data_hash", *GROUPS}
ENTRY_KEYS = {"alloy", "rank", "score", "score_low", "score_high", "facts", "verdicts"}
VERDICT_KEYS = {"rule", "outcome", "measured", "limit", "margin", "unit", "reason", "source"}


@pytest.fixture
def nothing_known(tmp_path) -> Path:
    """Return a brief that states nothing but a title."""
    path = tmp_path / "nothing-known.toml"
    path.write_text('title = "Nothing known"\n')
    return path


def decided(name: str) -> Decision:
    return decide(read(shipped(name)), load())


def strict(text: str) -> Any:
    """Return JSON as the standard has it: no NaN, no infinity, no key twice."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        assert len({key for key, _ in pairs}) == len(pairs)
        return dict(pairs)

    return json.loads(text, parse_constant=refuse, object_pairs_hook=once)


def entries(found: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for group in GROUPS:
        yield from found[group]


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


# ---- exit codes ----


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
@pytest.mark.parametrize("name", BRIEFS)
def test_the_code_says_whether_anything_is_admitted(name, output, run):
    done = run("shortlist", name, *output)
    assert (done.code, done.err) == (CODES[name], "")
    assert bool(decided(name).admitted) is (CODES[name] == 0)
    assert done.out


def test_a_brief_that_cannot_be_used_ends_with_2(run, tmp_path):
    (tmp_path / "broken.toml").write_text("title = 1\n")
    done = run("shortlist", tmp_path / "broken.toml", "--json")
    assert (done.code, done.out) == (2, "")


def test_an_unknown_option_ends_with_2(run):
    done = run("shortlist", "skin-patch", "--jsn")
    assert (done.code, done.out) == (2, "")
    assert "--json" in done.err
    assert "Traceback" not in done.err


# ---- JSON ----


@pytest.mark.parametrize("name", BRIEFS)
def test_json_has_the_promised_keys(name, run):
    found = strict(run("shortlist", name, "--json").out)
    assert found.keys() >= TOP_KEYS
    assert found["brief"] == read(shipped(name)).model_dump(mode="json")
    assert found["data_hash"] == load().hash
    for entry in entries(found):
        assert entry.keys() >= ENTRY_KEYS
        assert entry["facts"]
        assert entry["verdicts"]
        for verdict in entry["verdicts"]:
            assert verdict.keys() >= VERDICT_KEYS


@pytest.mark.parametrize("name", BRIEFS)
def test_json_holds_each_alloy_of_the_default_list_once(name, run):
    found = strict(run("shortlist", name, "--json").out)
    names = [entry["alloy"] for entry in entries(found)]
    assert sorted(names) == sorted(alloy.id for alloy in load().listed())


@pytest.mark.parametrize("name", BRIEFS)
def test_json_says_what_was_decided(name, run):
    found, decision = strict(run("shortlist", name, "--json").out), decided(name)
    for group in GROUPS:
        candidates = getattr(decision, group)
        assert [entry["alloy"] for entry in found[group]] == [candidate.alloy.id for candidate in candidates]
        for entry, candidate in zip(found[group], candidates, strict=True):
            assert entry["score"] == candidate.score
            assert (entry["score_low"], entry["score_high"]) == (candidate.score_low, candidate.score_high)
            assert [(row["rule"], row["outcome"]) for row in entry["verdicts"]] == [
                (verdict.rule, verdict.outcome) for verdict in candidate.screened.verdicts
            ]


@pytest.mark.parametrize("name", BRIEFS)
def test_json_round_trips(name, run):
    text = run("shortlist", name, "--json").out
    assert json.dumps(strict(text), indent=2, ensure_ascii=False) + "\n" == text


@pytest.mark.parametrize("name", BRIEFS)
def test_scores_and_ranks(name, run):
    found = strict(run("shortlist", name, "--json").out)
    ranks = [entry["rank"] for entry in found["admitted"]]
    lows = [entry["score_low"] for entry in found["admitted"]]
    assert ranks == [1 + sum(other > low for other in lows) for low in lows]
    assert lows == sorted(lows, reverse=True)
    for group in ("undecided", "ruled_out"):
        assert all(entry["rank"] is None for entry in found[group])
    for entry in entries(found):
        assert 0 <= entry["score_low"] <= entry["score_high"] <= 100
        missing = any(share["points"] is None for share in entry["criteria"])
        assert (entry["score"] is None) is missing, entry["alloy"]
        if not missing:
            assert entry["score_low"] - 1e-9 <= entry["score"] <= entry["score_high"] + 1e-9


def test_some_scores_are_missing_and_some_are_not(run):
    scores = [entry["score"] for entry in entries(strict(run("shortlist", "skin-patch", "--json").out))]
    assert None in scores
    assert any(score is not None for score in scores)


@pytest.mark.parametrize("name", BRIEFS)
def test_every_number_among_the_facts_has_unit_and_source(name, run):
    sources, seen = set(load().sources), 0
    for entry in entries(strict(run("shortlist", name, "--json").out)):
        for fact, what in entry["facts"].items():
            if any(is_number(what[end]) for end in ("value", "low", "high")):
                seen += 1
                assert what["unit"], (entry["alloy"], fact)
                assert what["grade"] in ("high", "medium", "low"), (entry["alloy"], fact)
                assert what["source"], (entry["alloy"], fact)
                assert set(what["source"].split("; ")) <= sources, (entry["alloy"], fact, what["source"])
    assert seen > 300


@pytest.mark.parametrize("name", BRIEFS)
def test_every_verdict_has_a_source_and_a_reason(name, run):
    outcomes = set()
    for entry in entries(strict(run("shortlist", name, "--json").out)):
        for verdict in entry["verdicts"]:
            outcomes.add(verdict["outcome"])
            place = entry["alloy"], verdict["rule"]
            assert verdict["outcome"] in OUTCOMES, place
            assert verdict["source"].strip(), place
            assert verdict["reason"].strip(), place
            assert bool(verdict["unit"]) is (verdict["measured_low"] is not None), place
            if verdict["outcome"] == "unknown":
                assert verdict["threshold"].strip(), place
    assert outcomes >= {"pass", "fail", "not_applicable"}


@pytest.mark.parametrize("name", BRIEFS)
def test_the_group_follows_from_the_verdicts(name, run):
    found = strict(run("shortlist", name, "--json").out)
    for group in GROUPS:
        for entry in found[group]:
            outcomes = {verdict["outcome"] for verdict in entry["verdicts"]}
            expected = "ruled_out" if "fail" in outcomes else "undecided" if "unknown" in outcomes else "admitted"
            assert group == expected, entry["alloy"]


# ---- CSV ----


def table_of(text: str) -> list[dict[str, str]]:
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert rows
    assert all(None not in row and None not in row.values() for row in rows), "a row shorter or longer than the heading"
    return rows


def formulas(rows: list[dict[str, str]]) -> list[str]:
    """Return the cells that a spreadsheet would compute."""

    def number(cell: str) -> bool:
        try:
            float(cell)
        except ValueError:
            return False
        return True

    return [
        cell for row in rows for cell in row.values() if cell[:1] in tuple("=+-@\t\r") and cell and not number(cell)
    ]


@pytest.mark.parametrize("name", BRIEFS)
def test_csv_has_a_row_for_each_alloy(name, run):
    rows, decision = table_of(run("shortlist", name, "--csv").out), decided(name)
    assert [row["alloy"] for row in rows] == [candidate.alloy.id for candidate in decision.candidates]
    for row, candidate in zip(rows, decision.candidates, strict=True):
        assert row["standing"] == candidate.standing
        assert row["rank"] == ("" if candidate.rank is None else str(candidate.rank))
        assert float(row["score_low"]) == pytest.approx(candidate.score_low, rel=1e-3, abs=0.01)
        assert (row["score"] == "") is (candidate.score is None)
        assert bool(row["reasons"]) is (candidate.rank is None), "why an alloy is not admitted, and only that"
        assert row["would_admit"] == changes_text(candidate.edits)
    assert formulas(rows) == []


FORMULAS = ("=1+1", "+1", "-1-1", "@SUM(A1)")


@pytest.fixture
def formula_folder(tmp_path) -> Path:
    """Return the shipped tables with alloys whose names a spreadsheet takes for formulas."""
    texts = {name: (data_folder() / f"{name}.csv").read_text(encoding="utf-8") for name in TABLES}
    for name in FORMULAS:
        texts["alloys"] += f"{name},=family,,yes,common,common,common,common,practice,\n"
        texts["compositions"] += f"{name},Sn,99,balance,\n{name},Cu,1,,\n"
    for name, text in texts.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("command", [("shortlist", "skin-patch"), ("alloys",)])
def test_csv_guards_cells_that_look_like_formulas(command, run, formula_folder):
    done = run(*command, "--csv", "--data", formula_folder)
    assert done.err == ""
    rows = table_of(done.out)
    assert {row["alloy"] for row in rows} >= {f"'{name}" for name in FORMULAS}
    assert formulas(rows) == []


# ---- text ----


def section(text: str, start: str) -> list[str]:
    """Return the lines below the one that begins with `start`, up to the next empty one."""
    lines = [line.rstrip() for line in text.splitlines()]
    first = next(index for index, line in enumerate(lines) if line.startswith(start)) + 1
    return lines[first : lines.index("", first)]


def cells_under(lines: list[str], heading: list[str], keys: set[str]) -> dict[str, list[str]]:
    """Return the cells of a printed table by their first one, blanks left out, since lines break inside a cell."""
    starts, at = [], 0
    for name in heading:
        at = lines[0].index(name, at)
        starts.append(at)
        at += len(name)
    rows: list[list[str]] = []
    for line in lines[1:]:
        cells = ["".join(line[start:end].split()) for start, end in zip(starts, [*starts[1:], None], strict=True)]
        if cells[0] in keys:
            rows.append(cells)
        else:
            rows[-1] = [held + more for held, more in zip(rows[-1], cells, strict=True)]
    assert len({row[0] for row in rows}) == len(rows)
    return {row[0]: row[1:] for row in rows}


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("name", ["motor-drive", "skin-patch"])
def test_text_names_the_leader_first(name, run):
    decision = decided(name)
    lines = run("shortlist", name).out.splitlines()
    leader = decision.admitted[0].alloy.id
    assert lines[0].startswith(f"{decision.brief.title}: {leader} leads {len(decision.admitted)} admitted alloys")
    places = [line.split()[:2] for line in lines if line[:1].isdigit()]
    assert places == [[str(entry.rank), entry.alloy.id] for entry in decision.admitted]


@pytest.mark.parametrize("name", BRIEFS)
def test_text_gives_every_alloy_ruled_out_with_its_reason(name, run):
    decision = decided(name)
    printed = cells_under(
        section(run("shortlist", name).out, f"Ruled out ({len(decision.ruled_out)})"),
        ["alloy", "margin", "reason", "smallest change of the brief"],
        {entry.alloy.id for entry in decision.ruled_out},
    )
    assert list(printed) == [entry.alloy.id for entry in decision.ruled_out]
    for entry in decision.ruled_out:
        reasons = entry.reasons()
        _, reason, change = printed[entry.alloy.id]
        assert reason == squeezed(reasons)
        assert change == squeezed(changes_text(entry.edits) or "none")


def test_text_says_how_far_an_alloy_misses(run):
    decision = decided("skin-patch")
    printed = cells_under(
        section(run("shortlist", "skin-patch").out, "Ruled out"),
        ["alloy", "margin", "reason", "smallest change of the brief"],
        {entry.alloy.id for entry in decision.ruled_out},
    )
    assert printed["SAC305"][0] == "-45K"


@pytest.mark.parametrize("name", ["motor-drive", "sensor-stack"])
def test_text_gives_every_undecided_alloy_with_what_would_decide_it(name, run):
    decision = decided(name)
    assert decision.undecided
    printed = cells_under(
        section(run("shortlist", name).out, f"Undecided ({len(decision.undecided)})"),
        ["alloy", "what would decide it"],
        {entry.alloy.id for entry in decision.undecided},
    )
    for entry in decision.undecided:
        assert printed[entry.alloy.id] == [squeezed("; ".join(v.threshold or v.reason for v in entry.blocking()))]


def test_text_says_that_nothing_is_admitted(run):
    done = run("shortlist", "river-logger")
    assert done.out.startswith("River level logger: No alloy is admitted; ")
    assert "leads" not in done.out


@pytest.mark.parametrize("name", BRIEFS)
def test_text_carries_the_cautions_and_the_data(name, run):
    out, decision = squeezed(run("shortlist", name).out), decided(name)
    assert "Itisascreeningaid" in out or "Thisisascreeningaid" in out
    assert all(squeezed(f"- {caution}") in out for caution in decision.cautions)
    assert out.endswith(squeezed(f"Data {decision.data_hash}, Meltwise {decision.version}."))


def test_text_takes_no_markup_from_the_brief(run, tmp_path):
    brief = read(shipped("skin-patch"))
    text = shipped("skin-patch").read_text(encoding="utf-8").replace(brief.title, "[bold]patch[/bold] :skull:")
    (tmp_path / "marked.toml").write_text(text, encoding="utf-8")
    assert run("shortlist", tmp_path / "marked.toml").out.startswith("[bold]patch[/bold] :skull:: ")


# ---- which brief ----


@pytest.mark.parametrize("name", BRIEFS)
def test_a_path_and_a_shipped_name_give_the_same(name, run, tmp_path):
    (tmp_path / "copy.toml").write_bytes(shipped(name).read_bytes())
    by_name = run("shortlist", name, "--json")
    assert run("shortlist", tmp_path / "copy.toml", "--json") == by_name
    assert run("shortlist", shipped(name), "--json") == by_name


def test_a_file_beside_the_person_goes_before_a_shipped_brief(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("skin-patch").write_bytes(shipped("river-logger").read_bytes())
    assert run("shortlist", "skin-patch", "--json") == run("shortlist", "river-logger", "--json")


def test_a_brief_that_knows_nothing_admits_nothing(run, nothing_known):
    done = run("shortlist", nothing_known, "--json")
    found = strict(done.out)
    assert done.code == 1
    assert found["admitted"] == []
    assert len(found["undecided"]) > len(found["ruled_out"])
    for entry in found["undecided"]:
        open_rules = [verdict for verdict in entry["verdicts"] if verdict["outcome"] == "unknown"]
        assert open_rules
        assert all(verdict["threshold"].strip() for verdict in open_rules), entry["alloy"]
    rows = table_of(run("shortlist", nothing_known, "--csv").out)
    assert all(row["thresholds"] for row in rows if row["standing"] == "undecided")
    text = run("shortlist", nothing_known)
    assert text.code == 1
    assert text.out.startswith("Nothing known: No alloy is admitted; ")
    assert "what would decide it" in text.out


# ---- pipes ----


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
def test_a_reader_that_has_seen_enough(output):
    command = [sys.executable, "-m", "selector", "shortlist", "river-logger", *output]
    with subprocess.Popen(command, cwd=data_folder().parent, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(60) in (0, 1)


@pytest.mark.parametrize("output", [(), ("--json",), ("--csv",)])
def test_a_reader_that_is_gone_before_the_first_line(output):
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "selector", "shortlist", "skin-patch", *output],
            cwd=data_folder().parent,
            stdout=writer,
            stderr=subprocess.PIPE,
            timeout=60,
            check=False,
        )
    finally:
        os.close(writer)
    assert done.stderr == b""
    assert done.returncode in (0, 1)
