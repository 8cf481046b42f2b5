"""A meeting as a folder: `meeting.toml` says what it is about, `members/*.toml` hold one person's answers each.

meeting.toml
    title = "..."         brief = "skin-patch" (shipped) or the name of a file beside it
    seed = 7              assigns the letters of a blind meeting
    blind = true
    [votes]               by the name of a member's file; left out, all count alike
    [[event]]             written when weights are frozen and letters lifted: kind, at, by, fingerprint
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from selector.brief import Brief, read, shipped
from selector.catalogue import Catalogue
from selector.datafiles import parse_toml, read_text
from selector.decision import Decision, decide
from selector.errors import Fault, InputError, shown
from selector.meeting import MOST_VOTES, Agenda, Event, EventKind, Meeting, criteria_of, hold, settle
from selector.scoring.weights import answers
from selector.scoring.weights.answers import Answers

AGENDA_FILE, MEMBERS = "meeting.toml", "members"
FIELDS = ("title", "brief", "seed", "blind", "votes", "event")


@dataclass(frozen=True)
class Sitting:
    """A meeting with the folder it was read from."""

    folder: Path
    raw: Mapping[str, Any]
    meeting: Meeting


def sit(folder: Path | str, catalogue: Catalogue | None = None) -> Sitting:
    """Return the meeting that a folder holds.

    Raises
    ------
    InputError
        With every fault of `meeting.toml` and of all members' files.
    """
    folder = Path(folder)
    raw = parse_toml(read_text(folder / AGENDA_FILE, AGENDA_FILE), AGENDA_FILE, AGENDA_FILE)
    faults: list[Fault] = []
    agenda, name = _agenda(raw, faults), _brief_name(raw, faults)
    decision, found = None, {}
    if name:
        try:
            decision = decide(_brief(folder, name), catalogue)
            found = _members(folder, decision)
        except InputError as error:
            faults += error.faults
    if faults or agenda is None or decision is None:
        raise InputError("the meeting", faults)
    return Sitting(folder, raw, hold(decision, found, agenda))


def write_event(sitting: Sitting, kind: EventKind, by: str, at: datetime) -> Sitting:
    """Write into `meeting.toml` that somebody froze the weights or lifted the letters; raises as `settle` does."""
    import tomli_w

    meeting = sitting.meeting
    event = settle(meeting, kind, by, at)
    told = {"kind": event.kind, "at": event.at, "by": event.by, "fingerprint": event.fingerprint}
    raw = {**sitting.raw, "event": [*sitting.raw.get("event", ()), told]}
    path = sitting.folder / AGENDA_FILE
    try:
        path.write_text(tomli_w.dumps(raw), encoding="utf-8")
    except OSError as error:
        raise InputError("the meeting", [Fault(AGENDA_FILE, f"cannot be written ({error.strerror})")]) from None
    agenda = replace(meeting.agenda, events=(*meeting.agenda.events, event))
    return Sitting(sitting.folder, raw, hold(meeting.decision, _members(sitting.folder, meeting.decision), agenda))


def _brief(folder: Path, name: str) -> Brief:
    return read(shipped(name)) if Path(name).suffix == "" else read(folder / name)


def _members(folder: Path, decision: Decision) -> dict[str, Answers]:
    """Return each member's answers by the name of the file, with the faults of all files at once."""
    found: dict[str, Answers] = {}
    faults: list[Fault] = []
    for path in sorted((folder / MEMBERS).glob("*.toml")):
        try:
            found[path.stem] = answers.read(path, criteria_of(decision))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError("the members' answers", faults)
    return found


def _brief_name(raw: Mapping[str, Any], faults: list[Fault]) -> str:
    """Return the brief that is named; empty, with a fault, where it cannot be used."""
    name = raw.get("brief")
    if not isinstance(name, str) or not name.strip():
        allowed = "a shipped brief, or a file in the folder such as brief.toml"
        faults.append(Fault(f"{AGENDA_FILE}: brief", "cannot be used", shown(name), allowed))
        return ""
    if Path(name).name != name:
        faults.append(Fault(f"{AGENDA_FILE}: brief", "leads out of the folder", shown(name), "a bare name"))
        return ""
    return name


def _agenda(raw: Mapping[str, Any], faults: list[Fault]) -> Agenda | None:
    """Return what the file says of the meeting; None, with every fault, where something cannot be used."""
    before = len(faults)
    faults += [
        Fault(f"{AGENDA_FILE}: {name}", "is not a field", allowed=", ".join(FIELDS))
        for name in raw
        if name not in FIELDS
    ]

    def field(name: str, kind: type, allowed: str, default: object = None) -> Any:
        value = raw.get(name, default)
        if type(value) is not kind or (isinstance(value, str) and not (value.strip() and value.isprintable())):
            faults.append(Fault(f"{AGENDA_FILE}: {name}", "cannot be used", shown(value), allowed))
            return kind()
        return value

    title = field("title", str, "text")
    seed = field("seed", int, "a whole number, 0 or more")
    if seed < 0:
        faults.append(Fault(f"{AGENDA_FILE}: seed", "is below 0", shown(seed), "a whole number, 0 or more"))
    blind = field("blind", bool, "true or false", False)
    votes = field("votes", dict, "a table of a number for each member", {})
    for name, value in votes.items():
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= MOST_VOTES:
            problem = "is not a number in range"
            faults.append(Fault(f"{AGENDA_FILE}: votes.{name}", problem, shown(value), f"0 to {MOST_VOTES:,.0f}"))
    events = [_event(row, index, faults) for index, row in enumerate(field("event", list, "tables", []))]
    if len(faults) > before:
        return None
    return Agenda(title, seed, blind, votes, tuple(event for event in events if event))


def _event(row: object, index: int, faults: list[Fault]) -> Event | None:
    kinds: tuple[EventKind, ...] = ("frozen", "unblinded")
    if (
        isinstance(row, dict)
        and set(row) == {"kind", "at", "by", "fingerprint"}
        and row["kind"] in kinds
        and isinstance(row["at"], datetime)
        and isinstance(row["by"], str)
        and row["by"].isprintable()
        and isinstance(row["fingerprint"], str)
        and row["fingerprint"].isprintable()
    ):
        return Event(row["kind"], row["at"], row["by"], row["fingerprint"])
    allowed = f"kind ({' or '.join(kinds)}), at, by, fingerprint, as the tool writes them"
    faults.append(Fault(f"{AGENDA_FILE}: event {index + 1}", "cannot be read", shown(row), allowed))
    return None
