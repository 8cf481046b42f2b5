"""`challenge`: why not this alloy, what saves it, and what stands in its place."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest

from selector.brief import changed, read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.verdict import Edit, Standing

BRIEFS = ("motor-drive", "river-logger", "skin-patch")
KEYS = {
    "alloy",
    "standing",
    "saved_by",
    "saved",
    "replacement",
    "given_up",
    "gained",
    "leader",
    "leader_given_up",
    "leader_gained",
    "measurement",
    "data_hash",
}
LEAD = [alloy.id for alloy in load().listed() if "Pb" in alloy.composition.elements]
FINISH = "change the finish of legacy connector from tin-lead to matte tin"


@pytest.fixture
def asked(run) -> Callable[[str, str], dict[str, Any]]:
    """Challenge an alloy and return the JSON."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    def ask(alloy: str, brief: str) -> dict[str, Any]:
        done = run("challenge", alloy, brief, "--json")
        assert (done.code, done.err) == (0, "")
        return json.loads(done.out, parse_constant=refuse)

    return ask


def squeezed(text: str) -> str:
    return "".join(text.split())


def standing_after(found: dict[str, Any], alloy: str, brief: str) -> Standing:
    """Return where the changes that an answer names leave the alloy, decided anew."""
    catalogue = load()
    edits = [Edit(**edit) for edit in found["saved_by"]]
    assert edits
    one = catalogue.find(alloy)
    candidate = decide(changed(read(shipped(brief)), edits), catalogue, also=(one,)).of(one)
    assert candidate is not None
    return candidate.standing


@pytest.mark.parametrize("brief", BRIEFS)
def test_json_has_its_keys_and_the_verdicts(brief, asked):
    found = asked("SAC305", brief)
    assert found.keys() >= KEYS
    assert found["alloy"]["alloy"] == "SAC305"
    assert found["standing"] in ("admitted", "undecided", "ruled_out")
    assert found["data_hash"] == load().hash
    assert all(verdict["reason"] and verdict["source"] for verdict in found["alloy"]["verdicts"])


# ---- ruled out ----


def test_sac305_on_the_patch_breaks_the_connector_by_45_k(asked, run):
    found = asked("SAC305", "skin-patch")
    assert found["standing"] == "ruled_out"
    (failed,) = [verdict for verdict in found["alloy"]["verdicts"] if verdict["outcome"] == "fail"]
    assert failed["rule"] == "process_peak"
    assert (failed["limit"], failed["margin"], failed["unit"]) == (200, pytest.approx(-45), "degC")
    assert "charging connector -45 K" in failed["reason"]
    text = run("challenge", "SAC305", "skin-patch")
    assert text.code == 0
    assert text.out.startswith("Why not SAC305? For Hydration-tracking skin patch it is ruled out.")
    assert "charging connector -45 K" in text.out
    assert squeezed("raise charging connector from 200 to 245 degC (+45 K)") in squeezed(text.out)
    assert squeezed("decided again with this change: admitted") in squeezed(text.out)


def test_sac305_is_saved_by_the_change_it_names(asked):
    found = asked("SAC305", "skin-patch")
    assert found["saved"] is True
    changes = {edit["path"]: (edit["value"], edit["change"], edit["unit"]) for edit in found["saved_by"]}
    assert changes["parts[0].rating_c"] == (pytest.approx(245), pytest.approx(45), "K")
    assert standing_after(found, "SAC305", "skin-patch") is Standing.ADMITTED


def test_sac305_is_not_saved_by_less(asked):
    """Each change that is named is needed in full: 1 K less leaves the alloy out."""
    brief, catalogue = read(shipped("skin-patch")), load()
    edits = [Edit(**edit) for edit in asked("SAC305", "skin-patch")["saved_by"]]
    one = catalogue.find("SAC305")
    for index, edit in enumerate(edits):
        less = [*edits[:index], Edit(edit.path, edit.value - 1, edit.text), *edits[index + 1 :]]
        candidate = decide(changed(brief, less), catalogue).of(one)
        assert candidate is not None
        assert candidate.standing is not Standing.ADMITTED, edit.path


@pytest.mark.parametrize("alloy", ["Bi-42Sn", "Sn-58Bi", "Bi-42Sn-1Ag"])
def test_another_finish_admits_tin_bismuth_to_the_logger(alloy, asked, run):
    found = asked(alloy, "river-logger")
    assert found["standing"] == "ruled_out"
    assert [verdict["rule"] for verdict in found["alloy"]["verdicts"] if verdict["outcome"] == "fail"] == [
        "lead_with_bismuth"
    ]
    assert [(edit["path"], edit["value"], edit["text"]) for edit in found["saved_by"]] == [
        ("parts[2].finish", "matte tin", FINISH)
    ]
    assert found["saved"] is True
    assert standing_after(found, alloy, "river-logger") is Standing.ADMITTED
    assert squeezed(f"What saves it: {FINISH} (decided again") in squeezed(run("challenge", alloy, "river-logger").out)


def test_where_nothing_is_admitted_nothing_replaces(asked, run):
    found = asked("Bi-42Sn", "river-logger")
    assert found["replacement"] is None
    assert found["given_up"] == found["gained"] == []
    assert (found["leader"], found["leader_given_up"], found["leader_gained"]) == (None, [], [])
    assert "Nearest admitted replacement: none, nothing is admitted." in run("challenge", "Bi-42Sn", "river-logger").out


def test_a_replacement_is_admitted_and_shows_what_it_gives_up(asked, run):
    found = asked("SAC305", "skin-patch")
    admitted = {entry.alloy.id: entry for entry in decide(read(shipped("skin-patch")), load()).admitted}
    assert found["replacement"] in admitted
    assert found["given_up"]
    assert all(trade["points"] < 0 for trade in found["given_up"])
    assert all(trade["points"] > 0 for trade in found["gained"])
    out = run("challenge", "SAC305", "skin-patch").out
    assert f"weighed criteria: {found['replacement']}, place " in out
    for trade in (*found["given_up"], *found["gained"]):
        words = f"{trade['criterion']}, {trade['challenger']} becomes {trade['replacement']}"
        assert squeezed(words) in squeezed(out)


def test_json_holds_the_trades_with_the_leader_that_the_terminal_prints(asked, run):
    found = asked("SAC305", "skin-patch")
    assert found["leader"] == decide(read(shipped("skin-patch")), load()).admitted[0].alloy.id != found["replacement"]
    assert all(trade["points"] < 0 for trade in found["leader_given_up"])
    assert all(trade["points"] > 0 for trade in found["leader_gained"])
    out = run("challenge", "SAC305", "skin-patch").out
    printed = re.findall(rf"(given up|gained) with {re.escape(found['leader'])}: (.*?), ", out)
    assert printed
    assert printed == [
        *(("given up", trade["criterion"]) for trade in found["leader_given_up"]),
        *(("gained", trade["criterion"]) for trade in found["leader_gained"]),
    ]


@pytest.mark.parametrize("alloy", LEAD)
def test_no_change_saves_a_lead_alloy(alloy, asked, run):
    found = asked(alloy, "skin-patch")
    assert found["standing"] == "ruled_out"
    (law,) = [verdict for verdict in found["alloy"]["verdicts"] if verdict["rule"] == "eu_rohs"]
    # Above 85 wt% an exemption is claimed for each use, which no field of the brief does.
    assert law["outcome"] == ("unknown" if load().find(alloy).composition.wt("Pb") >= 85 else "fail")
    assert (found["saved_by"], found["saved"]) == ([], False)
    out = run("challenge", alloy, "skin-patch").out
    assert "What saves it: nothing that one field of the brief can state." in out
    assert ("- eu_rohs: " in out) is (law["outcome"] in ("fail", "unknown"))


def test_there_are_lead_alloys():
    assert len(LEAD) > 10


@pytest.mark.parametrize("brief", BRIEFS)
def test_what_is_said_to_save_an_alloy_does(brief, asked):
    saved = 0
    for alloy in load().listed()[::3]:
        found = asked(alloy.id, brief)
        assert found["saved"] is bool(found["saved_by"]), alloy.id
        if found["saved"]:
            saved += 1
            assert found["standing"] != "admitted"
            assert standing_after(found, alloy.id, brief) is Standing.ADMITTED, alloy.id
    assert saved


# ---- admitted ----


def test_the_leader_leads(asked, run):
    leader = decide(read(shipped("skin-patch")), load()).admitted[0].alloy.id
    found = asked(leader, "skin-patch")
    assert (found["standing"], found["alloy"]["rank"]) == ("admitted", 1)
    assert (found["replacement"], found["saved_by"], found["saved"]) == (None, [], False)
    assert (found["leader"], found["leader_given_up"], found["leader_gained"]) == (leader, [], [])
    out = run("challenge", leader, "skin-patch").out
    assert out.splitlines()[0].endswith(" it is admitted, place 1 of 7.")
    assert "It leads." in out.splitlines()
    assert "What saves it" not in out
    assert "The leader: " not in out


@pytest.mark.parametrize("place", [1, -1])
def test_a_lower_placed_alloy_shows_what_the_leader_gives(place, asked, run):
    admitted = decide(read(shipped("skin-patch")), load()).admitted
    lower, leader = admitted[place], admitted[0]
    found = asked(lower.alloy.id, "skin-patch")
    assert found["standing"] == "admitted"
    assert found["replacement"] == leader.alloy.id
    trades = {trade["criterion"]: trade for trade in (*found["given_up"], *found["gained"])}
    assert trades
    known = [
        share
        for share in zip(lower.shares, leader.shares, strict=True)
        if None not in (share[0].points, share[1].points)
    ]
    gaps = [theirs.points - mine.points for mine, theirs in known if abs(theirs.points - mine.points) > 0.05]
    assert sorted(trade["points"] for trade in trades.values()) == pytest.approx(sorted(gaps))
    out = run("challenge", lower.alloy.id, "skin-patch").out
    assert f"The leader: {leader.alloy.id}, place 1 of " in out
    assert "It leads." not in out
    for trade in found["gained"]:
        assert squeezed(f"gained with {leader.alloy.id}: {trade['criterion']}, ") in squeezed(out)
    for trade in found["given_up"]:
        assert squeezed(f"given up with {leader.alloy.id}: {trade['criterion']}, ") in squeezed(out)


# ---- undecided, and beyond the default list ----


def test_an_undecided_alloy_names_the_measurement(asked, run):
    undecided = decide(read(shipped("motor-drive")), load()).undecided[0]
    found = asked(undecided.alloy.id, "motor-drive")
    assert found["standing"] == "undecided"
    threshold = undecided.blocking()[0].threshold
    assert found["measurement"] == f"{undecided.alloy.id}, {undecided.blocking()[0].rule}: {threshold}"
    assert squeezed(threshold) in squeezed(run("challenge", undecided.alloy.id, "motor-drive").out)


@pytest.mark.parametrize("brief", BRIEFS)
@pytest.mark.parametrize("alloy", ["Bi-26In-17Sn", "In-42Sn-14Cd", "Ga-24.5In"])
def test_an_alloy_outside_the_default_list_is_answered_too(alloy, brief, asked, run):
    assert not load().find(alloy).listed
    found = asked(alloy, brief)
    assert found["alloy"]["alloy"] == alloy
    assert found["standing"] == "ruled_out"
    assert found["measurement"]
    out = run("challenge", alloy, brief).out
    assert out.startswith(f"Why not {alloy}? For ")
    for verdict in found["alloy"]["verdicts"]:
        assert (f"- {verdict['rule']}: " in out) is (verdict["outcome"] in ("fail", "unknown")), verdict["rule"]


def test_any_spelling_gives_the_same(run):
    assert run("challenge", "Sn42Bi58", "river-logger") == run("challenge", "Bi-42Sn", "river-logger")


@pytest.mark.parametrize("output", [(), ("--json",)])
def test_an_alloy_that_is_not_there_ends_with_2(output, run):
    done = run("challenge", "SAC306", "skin-patch", *output)
    assert (done.code, done.out) == (2, "")
    assert re.search("near to it: .*SAC305", done.err)
    assert "Traceback" not in done.err


def test_a_brief_that_is_not_there_ends_with_2(run):
    done = run("challenge", "SAC305", "skin-pach")
    assert (done.code, done.out) == (2, "")
    assert "'skin-pach'; allowed: motor-drive, river-logger, sensor-stack, skin-patch" in done.err


# ---- the one measurement ----


def width_after(low, high, weights, row, i, j, worth):
    """Return how far open the place of a row is once one worth is known."""
    from selector.scoring.ranking import Scores, accumulated, rank_bounds

    bottom, top = low.copy(), high.copy()
    bottom[i, j] = top[i, j] = worth
    scores = accumulated(bottom, weights)
    best, worst = rank_bounds(Scores(scores, scores, accumulated(top, weights)))
    return worst[row] - best[row]


@pytest.mark.parametrize(
    ("alloy", "brief", "subject"),
    [("SAC305", "motor-drive", "SAC305"), ("Bi-42Sn", "skin-patch", "Bi-42Sn"), ("SAC305", "skin-patch", None)],
)
def test_the_measurement_is_the_one_that_narrows_a_place_most(alloy, brief, subject, asked, run):
    """By brute force over a fine grid of outcomes of every open figure."""
    import numpy as np

    from selector.findings import title_of
    from selector.robustness import table

    found = asked(alloy, brief)
    admitted = decide(read(shipped(brief)), load()).admitted
    low, high, weights = table(decide(read(shipped(brief)), load()))
    names = [entry.alloy.id for entry in admitted]
    row = names.index(subject or found["replacement"])
    now = width_after(low, high, weights, row, 0, 0, low[0, 0]) if low[0, 0] == high[0, 0] else None
    means = {}
    for i, j in np.argwhere(high > low):
        outcomes = low[i, j] + (high[i, j] - low[i, j]) * (np.arange(100) + 0.5) / 100
        means[i, j] = np.mean([width_after(low, high, weights, row, i, j, worth) for worth in outcomes])
    told = re.fullmatch(
        r"to place (\S+)(?: itself|, which stands in its place): (.+) of (\S+), now (.+), narrows its place most,"
        r" (?:but settles nothing|and settles it in \d+ % of outcomes): from (\d+) to ([\d.]+) places open on average,"
        r" with the weights as stated(?:; \d+ figures are about equal in this)?",
        found["measurement"],
    )
    assert told
    i, j = next(
        (i, j) for i, j in means if names[i] == told[3] and title_of(admitted[i].shares[j].criterion) == told[2]
    )
    assert told[4] == admitted[i].shares[j].level.text
    assert told[1] == names[row]
    assert now in (None, int(told[5]))
    assert float(told[6]) == pytest.approx(means[i, j], abs=0.15)
    assert means[i, j] <= min(means.values()) + 0.1
    assert squeezed(f"The one measurement that matters most: {found['measurement']}.") in squeezed(
        run("challenge", alloy, brief).out
    )


def test_where_no_figure_narrows_anything_it_says_so(asked):
    from selector.robustness import narrowing

    decision = decide(read(shipped("skin-patch")), load())
    for entry in decision.admitted[::3]:
        told = asked(entry.alloy.id, "skin-patch")["measurement"]
        if any(each.places_now - each.places_mean >= 0.1 for each in narrowing(decision, entry)):
            assert told.startswith(f"to place {entry.alloy.id} itself: ")
        else:
            assert told == f"none: no single figure, measured alone, would narrow the place of {entry.alloy.id} by much"
