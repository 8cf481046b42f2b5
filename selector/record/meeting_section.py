"""A meeting, as the record of its decision tells it: who weighed how, what was frozen and lifted when, and by whom."""

from dataclasses import dataclass

from selector.decision import Decision
from selector.errors import Fault, InputError
from selector.meeting import Meeting
from selector.record.meeting_words import (
    agreed_lines,
    concordance_line,
    moving_lines,
    order_rows,
    sentence,
    state,
    voice_rows,
    weight_rows,
)


@dataclass(frozen=True)
class MeetingSection:
    """What the template shows of a meeting."""

    held: Meeting
    sentence: str
    state: tuple[str, ...]
    agreed: tuple[str, ...]
    tables: tuple[tuple[str, list[dict[str, object]]], ...]
    moving: tuple[str, ...]
    concordance: str


def meeting_section(decision: Decision, meeting: Meeting) -> MeetingSection:
    """Return what the record tells of a meeting.

    Raises
    ------
    InputError
        The meeting stands under letters, which the record would lift, or was about another brief or other data.
    """
    faults = []
    if meeting.veiled:
        faults.append(
            Fault("the meeting", "stands under letters", remedy="freeze the weights and lift the letters first")
        )
    if (meeting.decision.brief, meeting.decision.data_hash) != (decision.brief, decision.data_hash):
        held = f"{meeting.decision.brief.title}, data {meeting.decision.data_hash}"
        asked = f"{decision.brief.title}, data {decision.data_hash}"
        faults.append(Fault("the meeting", "was about another brief or other data", held, asked))
    if faults:
        raise InputError("the record", faults)
    return MeetingSection(
        meeting,
        sentence(meeting),
        state(meeting),
        agreed_lines(meeting),
        (
            ("Places by member", order_rows(meeting)),
            ("Members", voice_rows(meeting)),
            ("Weights of the members, %", weight_rows(meeting)),
        ),
        moving_lines(meeting),
        concordance_line(meeting),
    )
