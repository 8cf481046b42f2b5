"""The decision record and the challenge sheet: self-contained, escaped, strict about the network, complete."""

import json
import re
from datetime import UTC, datetime
from html.parser import HTMLParser

import pytest
from markupsafe import escape

from selector.brief import from_raw, read, shipped
from selector.catalogue import load
from selector.challenge import challenge
from selector.cli import main
from selector.decision import decide
from selector.record.html import challenge_html, decision_html, demands
from selector.record.labels import LABELS

MADE = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NAMES = ("skin-patch", "motor-drive", "river-logger")
HOSTILE = "<script>alert(1)</script>\"'&</td>"


class Watcher(HTMLParser):
    """Notes what could fetch or run, and whether every element is closed."""

    EMPTY = frozenset({"meta", "br", "img", "link", "input", "hr"})

    def __init__(self):
        super().__init__()
        self.fetching, self.scripts, self.open, self.crossed = [], [], [], []

    def handle_starttag(self, tag, attrs):
        if tag not in self.EMPTY:
            self.open.append(tag)
        for name, value in attrs:
            if (name in ("src", "href", "xlink:href") and not (value or "").startswith("#")) or name.startswith("on"):
                self.fetching.append((tag, name, value))
        if tag == "script":
            self.scripts.append(dict(attrs).get("type"))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)


def watched(text):
    watcher = Watcher()
    watcher.feed(text)
    assert not watcher.crossed
    assert not watcher.open
    return watcher


@pytest.fixture(scope="module")
def records():
    return {name: decision_html(decide(read(shipped(name))), load(), MADE) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_it_fetches_and_runs_nothing(records, name):
    watcher = watched(records[name])
    assert not watcher.fetching
    assert watcher.scripts == ["application/json"]
    assert "default-src 'none'" in records[name]
    assert "@import" not in records[name]
    assert not re.search(r"url\((?!#)", records[name])


@pytest.mark.parametrize("name", NAMES)
def test_it_holds_every_alloy_looked_at_with_reasons(records, name):
    decision = decide(read(shipped(name)))
    for candidate in decision.candidates:
        assert f"<td>{candidate.alloy.id}</td>" in records[name] or f">{candidate.alloy.id}<" in records[name]
    assert decision.data_hash in records[name]
    assert "It has qualified no joint" in records[name]
    assert "2026-11-25 12:00 UTC" in records[name]


@pytest.mark.parametrize("name", NAMES)
def test_every_source_it_names_is_told_in_full(records, name):
    told = set(re.findall(r"<li><b>([^<]+)</b>", records[name]))
    values = records[name].split("Every value used")[1].split("<h2>The rows behind")[0]
    rows = records[name].split("<h2>The rows behind")[1].split("<h2>Sources</h2>")[0]
    cells = re.findall(r"<td>([^<]*)</td><td>[^<]*</td></tr>", values) + re.findall(r"<td>([^<]*)</td></tr>", rows)
    named = {part for cell in cells for part in cell.split("; ")} - {"none"}
    assert named
    assert named <= told


@pytest.mark.parametrize("name", NAMES)
def test_its_json_reads_back_as_the_brief(records, name):
    block = re.search(r'<script type="application/json" id="decision">(.*?)</script>', records[name], re.DOTALL).group(
        1
    )
    content = json.loads(block)
    assert content["brief"]["title"] == read(shipped(name)).title
    assert {"admitted", "undecided", "ruled_out", "data_hash"} <= set(content)


def test_charts_stand_in_it_as_drawings(records):
    assert records["skin-patch"].count("<svg") == 4
    assert records["river-logger"].count("<svg") == 2


def test_the_same_decision_gives_the_same_bytes(records):
    assert decision_html(decide(read(shipped("skin-patch"))), load(), MADE) == records["skin-patch"]


def test_text_of_the_brief_is_escaped_everywhere():
    raw = read(shipped("skin-patch")).model_dump()
    raw["title"] = f"{HOSTILE} title"
    raw["parts"] = [{**part, "name": f"{HOSTILE} part {i}"} for i, part in enumerate(raw["parts"])]
    raw["bans"] = [{**ban, "reason": f"{HOSTILE} ban"} for ban in raw["bans"]]
    assert raw["bans"]
    brief = from_raw(raw)
    record = decision_html(decide(brief), load(), MADE)
    sheet = challenge_html(challenge(load().find("SAC305"), brief, load()), load(), MADE)
    for text, told in ((record, ("title", "part 0", "ban")), (sheet, ("title", "part 0"))):
        assert "<script>alert" not in text
        for suffix in told:
            assert f"{escape(HOSTILE)} {suffix}" in text
        watcher = watched(text)
        assert all(kind == "application/json" for kind in watcher.scripts)


def test_demands_name_every_field_the_unknown_ones_too():
    rows = dict(demands(from_raw({"title": "nothing known"})))
    assert rows["Service maximum, degC"] == "unknown"
    told = {
        label.text for path, label in LABELS.items() if path.split(".")[0] in ("use", "service", "board", "process")
    }
    assert told <= set(rows)


@pytest.mark.parametrize(
    ("alloy", "name", "expected"),
    [
        ("SAC305", "skin-patch", "raise charging connector from 200 to 245 degC (+45 K)"),
        ("Bi-42Sn", "river-logger", "change the finish of legacy connector from tin-lead to matte tin"),
        ("Bi-42Sn-1Ag", "skin-patch", "It leads."),
        ("Sn-37Pb", "skin-patch", "none"),
    ],
)
def test_the_challenge_sheet_says_what_the_command_says(alloy, name, expected):
    text = challenge_html(challenge(load().find(alloy), read(shipped(name)), load()), load(), MADE)
    watched(text)
    assert expected in text
    assert "default-src 'none'" in text


def test_every_trade_of_the_sheet_names_its_sources_and_the_list_cites_them():
    found = challenge(load().find("SAC305"), read(shipped("skin-patch")), load())
    text = challenge_html(found, load(), MADE)
    for trade in (*found.given_up, *found.gained, *found.leader_given_up, *found.leader_gained):
        assert trade.source
        assert f"<td>{trade.source}</td>" in text
        for name in set(trade.source.split("; ")) & set(load().sources):
            assert f"<b>{name}</b>: " in text


def run(monkeypatch, *arguments):
    monkeypatch.setattr("sys.argv", ["meltwise", *arguments])
    with pytest.raises(SystemExit) as ended:
        main()
    return ended.value.code


def test_the_command_writes_the_record(monkeypatch, tmp_path, capsys):
    target = tmp_path / "record.html"
    assert run(monkeypatch, "record", "skin-patch", "-o", str(target)) == 0
    assert "Bi-42Sn-1Ag leads" in capsys.readouterr().out
    watched(target.read_text(encoding="utf-8"))
    assert target.stat().st_size < 700_000
    assert run(monkeypatch, "record", "river-logger", "-o", str(tmp_path / "other.html")) == 1


def test_a_target_that_cannot_be_written_is_told(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "record", "skin-patch", "-o", str(tmp_path / "none" / "record.html")) == 2
    assert "cannot be written" in capsys.readouterr().err
