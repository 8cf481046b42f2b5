"""A meeting in a folder: every fault of all its files at once, and events that are written and hold."""

from datetime import UTC, datetime

import pytest

from selector.brief import dumps, read, shipped
from selector.errors import InputError
from selector.meeting_folder import sit, write_event

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NAMES = ("process_headroom_k", "pasty_range_k", "drop", "thermal_cycling", "wetting", "relative_cost", "supply_risk_wt")
AGENDA = 'title = "Solder for the patch"\nbrief = "skin-patch"\nseed = 7\nblind = true\n'


def answers(*points, author="somebody"):
    rows = "\n".join(f"{name} = {value}" for name, value in zip(NAMES, points, strict=True))
    return f'kind = "swing"\nauthor = "{author}"\ndate = 2026-11-02\nreason = "said aloud"\n[swing]\n{rows}\n'


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "members").mkdir()
    (tmp_path / "meeting.toml").write_text(AGENDA, encoding="utf-8")
    for name, points in (("buyer", (30, 10, 20, 60, 20, 100, 70)), ("maker", (100, 60, 20, 50, 80, 20, 10))):
        (tmp_path / "members" / f"{name}.toml").write_text(answers(*points), encoding="utf-8")
    return tmp_path


def faults(folder):
    with pytest.raises(InputError) as caught:
        sit(folder)
    return [str(fault) for fault in caught.value.faults]


def test_it_reads_what_the_folder_holds(folder):
    found = sit(folder).meeting
    assert [voice.name for voice in found.voices] == ["buyer", "maker"]
    assert (found.agenda.title, found.agenda.seed, found.stage, found.veiled) == (
        "Solder for the patch",
        7,
        "open",
        True,
    )
    assert found.decision.brief == read(shipped("skin-patch"))
    assert found.fingerprint == sit(folder).meeting.fingerprint


def test_a_brief_beside_it_is_taken(folder):
    brief = read(shipped("motor-drive")).model_copy(update={"preferences": ()})
    (folder / "ours.toml").write_text(dumps(brief), encoding="utf-8")
    (folder / "meeting.toml").write_text(AGENDA.replace("skin-patch", "ours.toml"), encoding="utf-8")
    assert sit(folder).meeting.decision.brief == brief


def test_every_fault_of_every_file_at_once(folder):
    (folder / "meeting.toml").write_text(
        'brief = "skin-patch"\nseed = -1\nblind = "yes"\nplace = "here"\n[votes]\nbuyer = -1\nmaker = "two"\n'
        '[[event]]\nkind = "thawed"\n',
        encoding="utf-8",
    )
    (folder / "members" / "buyer.toml").write_text(answers(1, 1, 1, 1, 1, 1, 1), encoding="utf-8")
    (folder / "members" / "maker.toml").write_text('kind = "wish"\n', encoding="utf-8")
    told = faults(folder)
    wanted = [
        "meeting.toml: place: is not a field",
        "meeting.toml: title: cannot be used; got None; allowed: text",
        "meeting.toml: seed: is below 0; got -1",
        "meeting.toml: blind: cannot be used; got 'yes'",
        "meeting.toml: votes.buyer: is not a number in range; got -1; allowed: 0 to 1,000,000",
        "meeting.toml: votes.maker: is not a number in range; got 'two'; allowed: 0 to 1,000,000",
        "meeting.toml: event 1: cannot be read",
        "buyer.toml: swing: has no criterion at 100",
        "maker.toml: kind: is not a way of asking; got 'wish'",
        "maker.toml: author: is missing",
    ]
    for words in wanted:
        assert any(line.startswith(words) for line in told), (words, told)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"skin-patch"', '"skin-pach"', "skin-pach"),
        ('"skin-patch"', '"../skin-patch.toml"', "leads out of the folder"),
        ('"skin-patch"', '"nothing.toml"', "does not exist"),
        ('"skin-patch"', "3", "meeting.toml: brief: cannot be used; got 3"),
        ('brief = "skin-patch"\n', "", "meeting.toml: brief: cannot be used; got None"),
        ("seed = 7", "seed = true", "meeting.toml: seed: cannot be used; got True"),
        ("seed = 7", "seed = 7.0", "meeting.toml: seed: cannot be used; got 7.0"),
        ('title = "Solder for the patch"', 'title = "  "', "meeting.toml: title: cannot be used"),
        ("blind = true", "blind = true\nvotes = 3", "meeting.toml: votes: cannot be used; got 3"),
        ("blind = true", "blind = true\nevent = 3", "meeting.toml: event: cannot be used; got 3"),
        ("blind = true", "blind = true\n[votes]\nbuyer = inf", "votes.buyer"),
        ("blind = true", "blind = true\n[votes]\ncaller = 1", "votes: are given to somebody who did not answer"),
        (
            "blind = true",
            'blind = true\n[[event]]\nkind = "frozen"\nat = 2026-11-25\nby = "x"\nfingerprint = "y"',
            "event 1: cannot be read",
        ),
        ("blind = true", "blind =", "meeting.toml"),
        ("blind = true", "blind = true\n[votes]\nbuyer = 1e308", "votes.buyer: is not a number in range"),
        ("blind = true", "blind = true\n[votes]\nbuyer = 0\nmaker = 0", "votes: are 0 for everybody"),
        ('"Solder for the patch"', '"\\u001b[31m"', "meeting.toml: title: cannot be used"),
    ],
)
def test_what_cannot_be_used_is_refused(folder, old, new, words):
    path = folder / "meeting.toml"
    assert old in AGENDA
    path.write_text(AGENDA.replace(old, new), encoding="utf-8")
    (line,) = faults(folder)
    assert words in line


def test_a_folder_without_enough_in_it_is_refused(folder, tmp_path):
    (folder / "members" / "buyer.toml").unlink()
    assert faults(folder) == ["members: are too few for a meeting; got 1; allowed: answers of two or more"]
    (line,) = faults(tmp_path / "nowhere")
    assert "does not exist" in line
    (folder / "meeting.toml").write_text(AGENDA.replace("skin-patch", "river-logger"), encoding="utf-8")
    assert "alloys: are too few to weigh; got 0; allowed: two or more admitted" in faults(folder)


def test_freezing_and_lifting_are_written_and_hold(folder):
    held = write_event(sit(folder), "frozen", "chair", AT)
    assert held.meeting == sit(folder).meeting
    assert (held.meeting.stage, held.meeting.changed, held.meeting.veiled) == ("frozen", False, True)
    lifted = write_event(sit(folder), "unblinded", "chair", AT)
    assert (lifted.meeting.stage, lifted.meeting.changed, lifted.meeting.veiled) == ("unblinded", False, False)
    again = sit(folder).meeting
    assert [(event.kind, event.at, event.by) for event in again.agenda.events] == [
        ("frozen", AT, "chair"),
        ("unblinded", AT, "chair"),
    ]
    assert again.alloys == tuple(entry.alloy.id for entry in again.decision.admitted)
    with pytest.raises(InputError, match="was done before"):
        write_event(sit(folder), "frozen", "chair", AT)


def change_member(folder):
    (folder / "members" / "buyer.toml").write_text(answers(30, 10, 20, 60, 21, 100, 70), encoding="utf-8")


def change_vote(folder):
    path = folder / "meeting.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n[votes]\nbuyer = 2\n", encoding="utf-8")


def change_brief(folder):
    path = folder / "ours.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("maximum_c = 45.0", "maximum_c = 44.0"), encoding="utf-8")


def change_seed(folder):
    path = folder / "meeting.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("seed = 7", "seed = 8"), encoding="utf-8")


def join(folder):
    (folder / "members" / "late.toml").write_text(answers(100, 10, 20, 60, 21, 100, 70), encoding="utf-8")


@pytest.mark.parametrize("name", ["mean", "By votes", "\x1b[31m"])
def test_a_members_file_is_no_column_and_nothing_that_a_terminal_obeys(folder, name):
    (folder / "members" / f"{name}.toml").write_text(answers(100, 10, 20, 60, 21, 100, 70), encoding="utf-8")
    (line,) = faults(folder)
    assert line.startswith("members: cannot be told apart from a column or printed")
    assert "\x1b" not in line


@pytest.mark.parametrize("change", [change_member, change_vote, change_brief, change_seed, join])
def test_a_change_after_freezing_is_seen(folder, change):
    (folder / "ours.toml").write_text(dumps(read(shipped("skin-patch"))), encoding="utf-8")
    path = folder / "meeting.toml"
    path.write_text(AGENDA.replace("skin-patch", "ours.toml"), encoding="utf-8")
    write_event(sit(folder), "frozen", "chair", AT)
    before = path.read_text(encoding="utf-8")
    assert not sit(folder).meeting.changed
    change(folder)
    assert sit(folder).meeting.changed
    with pytest.raises(InputError, match="something changed after it was frozen"):
        write_event(sit(folder), "unblinded", "chair", AT)
    assert path.read_text(encoding="utf-8").count("[[event]]") == before.count("[[event]]") == 1


def test_a_file_that_cannot_be_written_is_told(folder, monkeypatch):
    sitting = sit(folder)

    def closed(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.write_text", closed)
    with pytest.raises(InputError, match=r"meeting.toml: cannot be written \(Permission denied\)"):
        write_event(sitting, "frozen", "chair", AT)


def test_a_note_in_a_members_own_words_changes_nothing(folder):
    before = sit(folder).meeting.fingerprint
    path = folder / "members" / "buyer.toml"
    path.write_text("# thought over\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    assert sit(folder).meeting.fingerprint == before
