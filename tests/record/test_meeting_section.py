"""A meeting in the decision record: who froze and lifted what; never under letters, never of another brief."""

import json
import re
from datetime import UTC, datetime

import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.errors import InputError
from selector.meeting_folder import sit, write_event
from selector.record.html import decision_html

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NAMES = ("process_headroom_k", "pasty_range_k", "drop", "thermal_cycling", "wetting", "relative_cost", "supply_risk_wt")


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "members").mkdir()
    (tmp_path / "meeting.toml").write_text(
        'title = "Solder <for> the patch"\nbrief = "skin-patch"\nseed = 7\nblind = true\n', encoding="utf-8"
    )
    for name, points in (("buyer", (30, 10, 20, 60, 20, 100, 70)), ("maker", (100, 60, 20, 50, 80, 20, 10))):
        rows = "\n".join(f"{each} = {value}" for each, value in zip(NAMES, points, strict=True))
        (tmp_path / "members" / f"{name}.toml").write_text(
            f'kind = "swing"\nauthor = "{name}"\ndate = 2026-11-02\nreason = "said aloud"\n[swing]\n{rows}\n',
            encoding="utf-8",
        )
    return tmp_path


def lifted(folder):
    frozen = write_event(sit(folder), "frozen", "the chair", AT)
    return write_event(frozen, "unblinded", "the clerk", AT).meeting


def test_freezing_and_lifting_stand_in_the_record(folder):
    meeting = lifted(folder)
    text = decision_html(decide(read(shipped("skin-patch"))), load(), AT, meeting)
    assert "Solder &lt;for&gt; the patch" in text
    says = ("Weights frozen by the chair", "Letters lifted by the clerk")
    for event, told in zip(meeting.agenda.events, says, strict=True):
        assert f"{told} at 2026-11-25 12:00, mark {event.fingerprint}." in text
    for title in ("Agreed by all", "Places by member", "Members", "Weights of the members, %"):
        assert title in text
    held = json.loads(re.search(r'<script type="application/json" id="decision">(.*?)</script>', text, re.S)[1])
    assert [event["by"] for event in held["meeting"]["events"]] == ["the chair", "the clerk"]


def test_letters_are_not_lifted_by_a_record(folder):
    with pytest.raises(InputError, match="stands under letters"):
        decision_html(decide(read(shipped("skin-patch"))), load(), AT, sit(folder).meeting)


def test_a_meeting_over_another_brief_is_refused(folder):
    with pytest.raises(InputError, match="another brief or other data"):
        decision_html(decide(read(shipped("motor-drive"))), load(), AT, lifted(folder))


def test_without_a_meeting_the_record_says_nothing_of_one():
    text = decision_html(decide(read(shipped("river-logger"))), load(), AT)
    assert "<h2>The meeting" not in text
    assert '"meeting"' not in text
