"""Files of a meeting: members' answers in, all or none; the whole meeting and its result out."""

import json
from typing import Any

import streamlit as st

from selector.datafiles import LARGEST_FILE_BYTES, decoded, parse_toml
from selector.decision import Decision
from selector.errors import Fault, InputError
from selector.meeting import FEWEST, criteria_of
from selector.record.html import decision_html
from selector.record.meeting_files import files, zipped
from selector.record.meeting_words import plain as plain_data
from selector.scoring.weights.answers import from_raw
from selector.ui import sitting as sittings
from selector.ui.decisions import catalogue
from selector.ui.say import plain, titled
from selector.ui.sitting import Sitting


def upload(sitting: Sitting, decision: Decision, visit: str) -> None:
    """Take members' files, each by the name of its file."""
    st.caption(
        "TOML as `meltwise weights` explains it, the same file as in the folder of a meeting; the name of the file is"
        " the member's name."
    )
    taken = st.file_uploader("Members' files", type=["toml"], accept_multiple_files=True, key=f"{visit}:files")
    if not taken or not st.button("Hand in", key=f"{visit}:in"):
        return
    entries, faults = [], []
    for each in taken:
        try:
            content = each.getvalue()
            if len(content) > LARGEST_FILE_BYTES:
                raise InputError(
                    each.name, [Fault(each.name, "is too large", f"{len(content):,} bytes", "at most 1 MB")]
                )
            raw = parse_toml(decoded(content, each.name, each.name), each.name, each.name)
            entries.append((each.name.removesuffix(".toml"), raw, each.name))
        except InputError as error:
            faults += list(error.faults)
    take(entries, sitting, decision, faults)


def take(
    entries: list[tuple[str, dict[str, Any], str]],
    sitting: Sitting,
    decision: Decision,
    faults: list[Fault] | None = None,
) -> None:
    """Hand in all or none, with every fault told."""
    faults = faults or []
    for name, raw, what in entries:
        try:
            sitting = sittings.handed_in(sitting, name, raw, decision, what)
        except InputError as error:
            faults += error.faults
    if faults:
        st.error("\n".join(f"- {plain(titled(fault))}" for fault in faults))
        return
    sittings.put(sitting)
    st.rerun()


def own(name: str, raw: dict[str, Any], decision: Decision, visit: str) -> None:
    """Offer one member's answers, once whole, as a file: theirs alone, while the others' are covered."""
    try:
        name = sittings.name_of(name, Sitting())
        from_raw(raw, criteria_of(decision))
    except InputError:
        return
    import tomli_w

    st.download_button(
        "My answers as a file (TOML)",
        tomli_w.dumps(raw).encode(),
        f"{name}.toml",
        "application/toml",
        on_click="ignore",
        key=f"{visit}:own",
    )


def hand_over(sitting: Sitting, decision: Decision) -> None:
    """Offer the meeting as files, and its result once it is shown together."""
    st.subheader("Hand over")
    answers = sittings.counted(sitting, decision)
    raws = {name: sitting.members[name].raw for name in answers}
    texts = files(decision.brief, sittings.agenda(sitting, decision, answers), raws)
    st.download_button(
        "Meeting as files (ZIP)", lambda: zipped(texts), "meeting.zip", "application/zip", on_click="ignore", key="zip"
    )
    st.caption(
        "Unpacked, `meltwise panel FOLDER` gives the same meeting, mark and all. It holds every member's answers."
    )
    if not (sitting.together and len(answers) >= FEWEST):
        return
    try:
        meeting = sittings.held(sitting, decision)
    except InputError:
        return
    told = plain_data(meeting)
    st.download_button(
        "Result (JSON)",
        json.dumps(told, ensure_ascii=False, indent=1).encode(),
        "meeting.json",
        "application/json",
        on_click="ignore",
        key="json",
    )
    if meeting.veiled:
        st.caption("The decision record names alloys, so it tells the meeting once the letters are lifted.")
        return
    st.download_button(
        "Decision record with the meeting (HTML)",
        lambda: decision_html(decision, catalogue(), meeting=meeting).encode(),
        "decision-record.html",
        "text/html",
        on_click="ignore",
        key="meeting_record",
    )
