"""A meeting as the files of a folder, which `meeting_folder.sit` reads back to the same meeting, mark and all."""

import io
import zipfile
from collections.abc import Mapping
from typing import Any

from selector.brief import Brief, dumps
from selector.meeting import Agenda
from selector.meeting_folder import AGENDA_FILE, MEMBERS

BRIEF_FILE = "brief.toml"
# An archive holds a day; one day for all makes the same meeting the same bytes.
DAY = (2000, 1, 1, 0, 0, 0)


def files(brief: Brief, agenda: Agenda, members: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    """Return the text of every file by its path in the folder.

    Parameters
    ----------
    brief : Brief
    agenda : Agenda
    members : mapping of name to plain tables
        As `weights.answers.from_raw` takes them; each name must do as the name of a file.
    """
    import tomli_w

    told: dict[str, Any] = {
        "title": agenda.title,
        "brief": BRIEF_FILE,
        "seed": agenda.seed,
        "blind": agenda.blind,
        "votes": dict(agenda.votes),
        "event": [
            {"kind": event.kind, "at": event.at, "by": event.by, "fingerprint": event.fingerprint}
            for event in agenda.events
        ],
    }
    found = {AGENDA_FILE: tomli_w.dumps({name: value for name, value in told.items() if value not in ({}, [])})}
    found[BRIEF_FILE] = dumps(brief)
    return found | {f"{MEMBERS}/{name}.toml": tomli_w.dumps(raw) for name, raw in sorted(members.items())}


def zipped(texts: Mapping[str, str]) -> bytes:
    """Return files as one archive; the same texts give the same bytes."""
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, text in texts.items():
            archive.writestr(zipfile.ZipInfo(path, DAY), text.encode("utf-8"), zipfile.ZIP_DEFLATED)
    return into.getvalue()
