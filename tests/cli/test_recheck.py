"""`comply --recheck`: saved decisions under a rule file that was changed, and files that are no decisions."""

import importlib
import json
import pkgutil
import re
import shutil

import pytest

from selector import compliance
from selector.compliance import rulesets
from selector.datafiles import data_folder


def forget():
    """Forget every rule that was read and every answer that was kept."""
    for found in pkgutil.iter_modules(compliance.__path__):
        for thing in vars(importlib.import_module(f"selector.compliance.{found.name}")).values():
            if hasattr(thing, "cache_clear"):
                thing.cache_clear()


@pytest.fixture
def newer(monkeypatch, tmp_path):
    """Change the text of a rule file as a newer rule set would; the shipped one stays as it is."""
    copy = tmp_path / "newer"
    shutil.copytree(data_folder() / "rules", copy / "rules")
    monkeypatch.setattr(rulesets, "data_folder", lambda: copy)

    def change(file, *pairs):
        path = copy / "rules" / file
        text = path.read_text(encoding="utf-8")
        for old, new in pairs:
            assert old in text
            text = text.replace(old, new, 1)
        path.write_text(text, encoding="utf-8")
        forget()

    yield change
    monkeypatch.undo()
    forget()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Return a folder with one decision as record and as JSON, and one sheet."""
    import contextlib
    import io
    import sys

    from selector.cli import main

    place = tmp_path_factory.mktemp("decisions")
    (place / "2026").mkdir()
    before = sys.argv
    for arguments in (
        ("record", "skin-patch", "-o", place / "patch.html"),
        ("shortlist", "skin-patch", "--json"),
        ("sheet", "SAC305", "--market", "EU", "--on", "2027-09-01", "--as", "joint", "--equipment", "consumer",
         "--trace", "Pb=450ppm", "-o", place / "2026" / "sac.html"),
    ):  # fmt: skip
        sys.argv = ["meltwise", *map(str, arguments)]
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.suppress(SystemExit):
            main()
        if "--json" in arguments:
            (place / "patch.json").write_text(out.getvalue(), encoding="utf-8")
    sys.argv = before
    return place


STRICTER = (
    ('id = "EU-ROHS-PB"', 'id = "EU-ROHS-PB"\nknown_to = 2027-02-01'),
    ("limit_ppm = 1000", "limit_ppm = 400"),
    ("known_to = 2026-11-25", "known_to = 2027-02-01"),
)


def test_under_the_same_rules_nothing_changes(run, folder):
    done = run("comply", "--recheck", folder)
    assert (done.code, done.err) == (0, "")
    assert "3 saved decisions asked again: nothing changed." in done.out
    assert done.out.count("Rule sets known to 2026-11-25, as then.") == 3
    assert "2026/sac.html: SAC305" in done.out


def test_a_stricter_limit_changes_the_measured_sheet_and_no_nominal_alloy(run, folder, newer):
    newer("law/eu-rohs.toml", *STRICTER)
    done = run("comply", "--recheck", folder, "--json")
    found = done.json()
    assert (done.code, found["changes"], found["not_asked"]) == (1, 1, [])
    files = {entry["file"]: entry for entry in found["files"]}
    assert list(files) == ["2026/sac.html", "patch.html", "patch.json"]
    (change,) = files["2026/sac.html"]["changes"]
    reason = change.pop("reason")
    assert change == {
        "alloy": "SAC305",
        "rule_id": "EU-ROHS-PB",
        "rule_set": "EU RoHS",
        "markets": ["EU"],
        "on": "2027-09-01",
        "old": "pass",
        "new": "fail",
    }
    assert "400 ppm" in reason
    assert files["patch.json"]["changes"] == files["patch.html"]["changes"] == []
    assert files["patch.json"]["unchanged"] == files["patch.html"]["unchanged"] > 500
    dates = {row["rule_set"]: row for row in files["patch.html"]["rule_sets"]}
    assert dates["EU RoHS"] == {
        "rule_set": "EU RoHS",
        "known_to_then": "2026-11-25",
        "known_to_now": "2027-02-01",
    }


def test_the_table_says_then_and_now_and_the_dates(run, folder, newer):
    newer("law/eu-rohs.toml", *STRICTER)
    done = run("comply", "--recheck", folder)
    assert done.code == 1
    assert re.search(r"EU-ROHS-PB +EU, 2027-09-01 +pass +fail +SAC305", done.out)
    assert "Rule sets known to: EU RoHS 2026-11-25 then, 2027-02-01 now." in done.out
    assert "1 verdict changed" in done.out


def test_a_rule_that_is_gone_changes_what_it_said(run, folder, newer):
    newer("law/eu-rohs.toml", ('id = "EU-ROHS-PB"', 'id = "EU-ROHS-LEAD"'))
    done = run("comply", "--recheck", folder, "--csv")
    rows = [row for row in done.rows() if row["file"] == "patch.json"]
    gone = {row["alloy"]: row for row in rows if row["rule_id"] == "EU-ROHS-PB"}
    new = {row["alloy"]: row for row in rows if row["rule_id"] == "EU-ROHS-LEAD"}
    assert (gone["Sn-37Pb"]["old"], gone["Sn-37Pb"]["new"]) == ("fail", "not_applicable")
    assert gone["Sn-37Pb"]["reason"] == "the rule is no longer there"
    assert (new["Sn-37Pb"]["old"], new["Sn-37Pb"]["new"]) == ("not_applicable", "fail")


def test_another_day_may_be_asked_about(run, folder):
    done = run("comply", "--recheck", folder, "--on", "2005-01-01", "--json")
    changed = done.json()["files"][0]["changes"]
    lead = next(row for row in changed if row["rule_id"] == "EU-ROHS-PB")
    assert (done.code, lead["on"], lead["old"], lead["new"]) == (1, "2005-01-01", "pass", "not_applicable")


def test_files_that_are_no_decisions_are_named_with_the_reason(run, folder, tmp_path):
    for path in folder.rglob("sac.html"):
        shutil.copy(path, tmp_path / "good.html")
    text = (tmp_path / "good.html").read_text(encoding="utf-8")
    judged = run("comply", "SAC305", "--on", "2027-09-01", "--json").out
    for name, content in {
        "cut.html": text[:3000],
        "broken.json": "{",
        "other.json": '{"a": 1}',
        "list.json": judged,
        "spoilt.html": text.replace('"on":"2027-09-01"', '"on":"soon"'),
        "deep.json": "[" * 100_000,
        "notes.txt": "SAC305",
        "sheet.csv": "part,item,value",
        "none": "",
    }.items():
        (tmp_path / name).write_text(content, encoding="utf-8")
    (tmp_path / "raw.json").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "link.json").symlink_to(tmp_path / "nowhere.json")
    done = run("comply", "--recheck", tmp_path, "--json")
    found = done.json()
    assert done.code == 0
    assert [entry["file"] for entry in found["files"]] == ["good.html"]
    reasons = {entry["file"]: entry["reason"] for entry in found["not_asked"]}
    for name, words in {
        "cut.html": "holds no decision",
        "broken.json": "holds JSON that cannot be read",
        "other.json": "is JSON, but no saved decision",
        "list.json": "is a list of verdicts without use and day",
        "spoilt.html": "asked[0]: is not a question",
        "deep.json": "holds JSON that cannot be read",
        "notes.txt": "is no saved decision by its ending",
        "sheet.csv": "a .csv file keeps contents or verdicts, not what was asked",
        "none": "is no saved decision by its ending",
        "raw.json": "is not UTF-8",
        "link.json": "a link that leads nowhere",
    }.items():
        assert words in reasons.pop(name), name
    assert not reasons
    assert "notes.txt: is no saved decision by its ending" in run("comply", "--recheck", tmp_path).out


def test_a_file_cannot_write_to_the_terminal_or_stop_the_rest(run, folder, tmp_path):
    """Half a character that JSON can escape, and an escape sequence in a title or in the name of a file."""
    good = next(folder.rglob("*.html")).read_text(encoding="utf-8")
    sheet = json.loads(re.search(r"<script type=.application/json.*?>(.*?)</script>", good, re.DOTALL)[1])
    named = {key: value for key, value in sheet.items() if key != "brief"}
    (tmp_path / "half.json").write_text(json.dumps({**named, "alloy": "\ud800"}), encoding="utf-8")
    (tmp_path / "\x1b[31mred.json").write_text(json.dumps({**named, "alloy": "\x1b[2Jgone"}), encoding="utf-8")
    for more in ((), ("--csv",), ("--json",)):
        done = run("comply", "--recheck", tmp_path, *more)
        assert done.code == 0, done.err
        assert "\x1b" not in done.out
        assert "[31mred.json" in done.out
        assert "holds JSON that cannot be read" in done.out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("comply", "--recheck", "none"), "does not exist"),
        (("comply", "--recheck", "file.json"), "is a file"),
        (("comply", "--recheck", "empty"), "is empty"),
        (("comply", "--recheck", "."), "holds no saved decision"),
        (("comply", "--recheck", "empty", "SAC305"), "takes alloys, use and markets from the saved decisions"),
        (("comply", "--recheck", "empty", "--market", "EU"), "takes alloys, use and markets"),
        (("comply", "--recheck", "empty", "--on", "soon"), "--on: is not a date"),
        (("comply",), "ALLOY: is missing"),
    ],
)
def test_a_fault_is_told_and_ends_with_two(run, tmp_path, monkeypatch, arguments, told):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    (tmp_path / "file.json").write_text(json.dumps({}), encoding="utf-8")
    done = run(*arguments)
    assert (done.code, done.out) == (2, "")
    assert told in done.err


def test_an_empty_folder_is_one_fault_and_the_day_asked_is_told(run, folder, tmp_path):
    done = run("comply", "--recheck", tmp_path)
    assert "1 fault." in done.err
    assert (
        "Asked about: 2028-01-01 instead of each decision's own day."
        in run("comply", "--recheck", folder, "--on", "2028-01-01").out
    )
