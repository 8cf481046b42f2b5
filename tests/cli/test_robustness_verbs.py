"""`robustness`, `weights` and `panel`: text, JSON, round trips, exit codes, and what cannot be used."""

import json
import shutil

import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.record import meeting_words, plain_weighing
from selector.record.robustness_words import sentence
from selector.robustness import robustness

NAMES = ("process_headroom_k", "pasty_range_k", "drop", "thermal_cycling", "wetting", "relative_cost", "supply_risk_wt")
HEAD = 'author = "buyer"\ndate = 2026-11-02\nreason = "said aloud"\n'


def rows(*points):
    return "\n".join(f"{name} = {value}" for name, value in zip(NAMES, points, strict=True))


SWING = f'kind = "swing"\n{HEAD}[swing]\n{rows(30, 10, 20, 60, 20, 100, 70)}\n'
OTHER = f'kind = "swing"\n{HEAD}[swing]\n{rows(100, 60, 20, 50, 80, 20, 10)}\n'


@pytest.fixture
def answers(tmp_path):
    path = tmp_path / "answers.toml"
    path.write_text(SWING, encoding="utf-8")
    return path


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "meeting"
    (folder / "members").mkdir(parents=True)
    (folder / "meeting.toml").write_text(
        'title = "Solder for the patch"\nbrief = "skin-patch"\nseed = 7\nblind = true\n', encoding="utf-8"
    )
    (folder / "members" / "buyer.toml").write_text(SWING, encoding="utf-8")
    (folder / "members" / "maker.toml").write_text(OTHER, encoding="utf-8")
    return folder


def squeezed(text):
    return "".join(text.split())


# ---- robustness ----


@pytest.mark.parametrize("brief", ["motor-drive", "skin-patch"])
def test_robustness_as_text_says_what_the_chairman_reads_out(brief, run):
    done = run("robustness", brief, "--draws", 2000)
    assert (done.code, done.err) == (0, "")
    decision = decide(read(shipped(brief)), load())
    found = robustness(decision, draws=2000)
    assert squeezed(done.out).startswith(squeezed(sentence(found)))
    for heading in (
        "Who may lead, and who may not",
        "Weights between which the leader stays first, %",
        "Smallest changes that bring a rival level",
        "What a measurement would narrow",
        "To know of the weighing",
    ):
        assert f"\n{heading}\n" in done.out
    assert "2000 draws, seed 1" in done.out
    assert "cannot" not in done.out.split("To know of the weighing")[0].replace("cannot be first under any", "")
    assert "nan" not in done.out


def test_robustness_as_json_is_what_the_record_holds(run):
    done = run("robustness", "skin-patch", "--known", "nothing", "--draws", 3000, "--seed", 9, "--json")
    found = done.json()
    decision = decide(read(shipped("skin-patch")), load())
    assert found == json.loads(json.dumps(plain_weighing.plain(robustness(decision, "nothing", 3000, 9))))
    assert set(found) == {
        "sentence", "taken_as_exact", "known", "admissible", "leader", "contenders", "weights", "overturns",
        "measurements", "chances",        "marks", "decision",
    }  # fmt: skip
    assert (found["known"], found["leader"]) == ("nothing", decision.admitted[0].alloy.id)
    assert (found["chances"]["draws"], found["chances"]["seed"]) == (3000, 9)
    names = [entry["alloy"] for entry in found["contenders"]]
    assert names == list(found["chances"]["shares"]) == list(found["chances"]["standard_error"])
    for name in names:
        assert sum(found["chances"]["shares"][name]) == pytest.approx(1)
        central = found["chances"]["central_weights"][name]
        assert (central is None) == (found["chances"]["shares"][name][0] == 0)
        assert central is None or sum(central) == pytest.approx(1)
    assert sum(band["weight"] for band in found["weights"]) == pytest.approx(1)
    assert found["decision"]["data"] == decision.data_hash
    assert (
        done.json()
        == run("robustness", "skin-patch", "--known", "nothing", "--draws", 3000, "--seed", 9, "--json").json()
    )


def test_nothing_admitted_ends_with_1(run):
    done = run("robustness", "river-logger")
    assert (done.code, done.err) == (1, "")
    assert done.out == "Nothing is admitted: there is no order to be sure of.\n"
    done = run("robustness", "river-logger", "--json")
    assert (done.code, done.json()) == (1, None)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("skin-patch", "--known", "some"), ("known of the weights", "some", "stated, quarter, order, nothing")),
        (("skin-patch", "--draws", "0"), ("draws", "0")),
        (("skin-patch", "--draws", "3000000"), ("draws", "2000000")),
        (("skin-patch", "--seed", "-1"), ("seed", "-1")),
        (("skin-pach",), ("skin-pach", "skin-patch")),
    ],
)
@pytest.mark.parametrize("output", [(), ("--json",)])
def test_robustness_refuses_in_words(arguments, words, output, run):
    done = run("robustness", *arguments, *output)
    done.check_refusal(words)


# ---- weights ----


def test_weights_asks_in_words_and_as_json(run):
    text = run("weights", "skin-patch")
    assert (text.code, text.err) == (0, "")
    found = run("weights", "skin-patch", "--json").json()
    assert set(found) == {"criteria", "first", "next", "next_if_the_first_is", "template"}
    assert tuple(found["criteria"]) == NAMES
    assert "from 0 K to 40 K" in found["first"]
    assert squeezed(found["first"]) in squeezed(text.out)
    assert len(found["next"]) == len(NAMES) - 1
    assert all(f"\n{name} = " in text.out for name in NAMES)


def test_weights_of_answers(answers, run):
    found = run("weights", "skin-patch", "--answers", answers, "--json").json()
    assert set(found) == {
        "kind", "author", "weights", "beside", "admissible", "consistency_ratio", "random_index_table", "checks",
    }  # fmt: skip
    assert found["weights"] == pytest.approx(
        dict(zip(NAMES, [p / 310 for p in (30, 10, 20, 60, 20, 100, 70)], strict=True))
    )
    assert found["checks"]
    text = run("weights", "skin-patch", "--answers", answers)
    assert text.code == 0
    assert "Would you really swap?" in text.out
    assert all(squeezed(question) in squeezed(text.out) for question in found["checks"])


def test_judgements_of_pairs_tell_their_consistency(tmp_path, run):
    path = tmp_path / "pairs.toml"
    said = "".join(
        f'[[pair]]\none = "{one}"\nother = "{other}"\ntimes = {2 if (i + j) % 3 else 5}\n'
        for i, one in enumerate(NAMES)
        for j, other in enumerate(NAMES)
        if i < j
    )
    path.write_text(f'kind = "pairs"\n{HEAD}{said}', encoding="utf-8")
    text = run("weights", "skin-patch", "--answers", path)
    assert text.code == 0
    assert "Consistency ratio" in text.out
    assert "alonso-lamata" in text.out
    assert "Worst triad: " in text.out
    assert "geometric mean" in text.out


def test_weights_written_lead_to_the_same_order_in_shortlist(answers, tmp_path, run):
    target = tmp_path / "weighed.toml"
    assert run("weights", "skin-patch", "--answers", answers, "-o", target).code == 0
    brief = read(target)
    preset = decide(read(shipped("skin-patch")), load()).weighing
    assert [entry.points for entry in brief.preferences] == [entry.points for entry in preset.preferences]
    assert {entry.author for entry in brief.preferences} == {"buyer"}
    assert all("said aloud" in entry.reason and "Meltwise authors" in entry.reason for entry in brief.preferences)
    shown = run("shortlist", target, "--json").json()
    weights = {row["criterion"]: row["weight"] for row in shown["admitted"][0]["criteria"]}
    assert weights == pytest.approx(run("weights", "skin-patch", "--answers", answers, "--json").json()["weights"])
    assert shown["weighing"]["origin"] == "the brief's own preferences"
    found = run("robustness", target, "--draws", 1000, "--json").json()
    assert found["leader"] == shown["admitted"][0]["alloy"]
    # And again over what was written, with nothing lost.
    assert run("weights", target, "--answers", answers, "-o", tmp_path / "again.toml").code == 0
    assert [e.swing for e in read(tmp_path / "again.toml").preferences] == [e.swing for e in brief.preferences]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        (SWING.replace("= 100", "= 99"), [("no criterion at 100",)]),
        (SWING.replace("drop = 20\n", "").replace("wetting = 20", "gloss = 20"), [("drop",), ("wetting",), ("gloss",)]),
        ("kind = ", [("answers.toml",)]),
        ('kind = "wish"\n', [("kind", "'wish'"), ("author",), ("reason",), ("date",)]),
    ],
)
def test_answers_that_cannot_be_used_are_refused(text, faults, answers, run):
    answers.write_text(text, encoding="utf-8")
    done = run("weights", "skin-patch", "--answers", answers)
    assert "Traceback" not in done.err
    done.check_refusal(*faults)


def test_a_reason_that_no_brief_takes_is_refused_before_anything_is_written(answers, tmp_path, run):
    answers.write_text(SWING.replace("said aloud", "long " * 90), encoding="utf-8")
    target = tmp_path / "weighed.toml"
    done = run("weights", "skin-patch", "--answers", answers, "-o", target)
    assert done.code == 2
    assert "preferences[0].reason: is empty, too long or not printable" in done.err
    assert not target.exists()


def test_weights_with_nowhere_to_go_are_refused(answers, tmp_path, run):
    run("weights", "skin-patch", "-o", tmp_path / "x.toml").check_refusal(("-o", "without --answers"))
    run("weights", "skin-patch", "--answers", answers, "-o", tmp_path / "none" / "x.toml").check_refusal(
        ("cannot be written",)
    )
    done = run("weights", "skin-patch", "--answers", tmp_path / "none.toml")
    done.check_refusal(("does not exist",))


# ---- panel ----


def test_panel_shows_letters_then_names(folder, run):
    alloys = [entry.alloy.id for entry in decide(read(shipped("skin-patch")), load()).admitted]
    before = run("panel", folder)
    assert (before.code, before.err) == (0, "")
    veiled = run("panel", folder, "--json").json()
    assert veiled["alloys"] == list("ABCDEFG")
    for text in (before.out, str(veiled)):
        assert not [name for name in alloys if name in text]
    frozen = run("panel", folder, "--freeze", "--by", "chair", "--json").json()
    assert (frozen["stage"], frozen["changed_since_frozen"], frozen["alloys"]) == ("frozen", False, list("ABCDEFG"))
    assert frozen["fingerprint"] == veiled["fingerprint"]
    lifted = run("panel", folder, "--unblind", "--by", "chair")
    assert "Letters lifted by chair" in lifted.out
    assert all(squeezed(name) in squeezed(lifted.out) for name in alloys)
    found = run("panel", folder, "--json").json()
    assert (found["stage"], found["alloys"]) == ("unblinded", alloys)
    assert [event["kind"] for event in found["events"]] == ["frozen", "unblinded"]
    assert sorted(found["mean"]["ranks"]) == sorted(veiled["mean"]["ranks"])


def test_panel_json_has_its_keys(folder, run):
    found = run("panel", folder, "--json").json()
    assert set(found) == {
        "title", "sentence", "stage", "blind", "changed_since_frozen", "fingerprint", "seed", "events", "alloys",
        "criteria", "members", "mean", "by_votes", "agreed", "agreed_whatever_the_figures", "moving", "kendall_w",
        "data", "version",
    }  # fmt: skip
    assert [entry["name"] for entry in found["members"]] == ["buyer", "maker"]
    assert sum(found["mean"]["weights"]) == pytest.approx(1)
    assert squeezed(meeting_words.VEILED) in squeezed(run("panel", folder).out)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--freeze",), ("by", "is not a name")),
        (("--unblind", "--by", "chair"), ("unblind", "comes after freezing")),
        (("--freeze", "--unblind", "--by", "chair"), ("--unblind", "second step")),
    ],
)
def test_panel_refuses_steps_out_of_order_and_writes_nothing(arguments, words, folder, run):
    before = (folder / "meeting.toml").read_bytes()
    run("panel", folder, *arguments).check_refusal(words)
    assert (folder / "meeting.toml").read_bytes() == before


def test_panel_refuses_what_is_no_meeting(folder, tmp_path, run):
    for place in (tmp_path / "nowhere", folder / "meeting.toml"):
        done = run("panel", place)
        assert (done.code, done.out) == (2, "")
        assert "Traceback" not in done.err
    shutil.rmtree(folder / "members")
    run("panel", folder).check_refusal(("members", "too few"))


def test_a_title_in_brackets_is_printed_as_it_stands(folder, run):
    path = folder / "meeting.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("Solder for", "[/x] [bold]Solder for"), encoding="utf-8")
    assert run("panel", folder).out.startswith("[/x] [bold]Solder for the patch: ")


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("rank", 'order = ["process_headroom_k", '),
        ("pairs", 'one = "drop"'),
        ("bounds", "drop = [ , ]"),
        ("ratios", "over"),
    ],
)
def test_each_kind_of_answers_has_its_empty_file(kind, words, run):
    done = run("weights", "skin-patch", "--kind", kind)
    assert (done.code, done.err) == (0, "")
    assert f'kind = "{kind}"' in done.out
    assert words in done.out
    assert "to 1 (best)" in done.out


def test_an_unknown_kind_is_refused(run):
    run("weights", "motor-drive", "--kind", "guess").check_refusal(("--kind", "guess", "swing, direct, rank"))
