"""A brief as a link that can be shared: compressed, bounded, and without what is nobody else's business.

What a customer bans, what was set aside, whose weights they are and own prices stay out of a link.
"""

import base64
import binascii
import zlib
from typing import Any

import tomli_w

from selector.datafiles import decoded, parse_toml
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN

PRIVATE = ("bans", "overrides", "preferences")
PRIVATE_FIELDS = {"footprint": ("prices", "prices_dated")}
TABLES = ("use", "service", "board", "process", "printing", "mixing", "life", "materials", "footprint")
LISTS = ("markets", "parts", "steps", *PRIVATE)
# What a field of a row holds where it says nothing.
SAYS_NOTHING: tuple[tuple[str, object], ...] = (
    ("allowed", []),
    ("may_remelt", []),
    ("limits", []),
    ("prices", []),
    ("reworks", "none"),
)
LONGEST_LINK = 4096
LONGEST_BRIEF = 65_536
WHAT = "the link"


def said(raw: dict[str, Any]) -> dict[str, Any]:
    """Return the tables of a brief without what is left unknown."""

    def slim(value: Any) -> Any:
        if isinstance(value, dict):
            slimmed = {key: slim(entry) for key, entry in value.items() if entry != UNKNOWN}
            return {key: entry for key, entry in slimmed.items() if (key, entry) not in SAYS_NOTHING}
        return [slim(entry) for entry in value] if isinstance(value, list | tuple) else value

    slimmed = {key: slim(value) for key, value in raw.items()}
    return {key: value for key, value in slimmed.items() if value not in (UNKNOWN, [], {})}


def public(raw: dict[str, Any]) -> dict[str, Any]:
    """Return the tables of a brief without private ones and without what is left unknown."""
    return said(_without_private(raw))


def private(raw: dict[str, Any]) -> dict[str, Any]:
    """Return what a brief's tables hold that stays out of a link."""
    kept = {key: raw[key] for key in PRIVATE if raw.get(key)}
    for table, fields in PRIVATE_FIELDS.items():
        rest = raw.get(table)
        if isinstance(rest, dict):
            kept |= {f"{table}.{key}": rest[key] for key in fields if rest.get(key, UNKNOWN) not in (UNKNOWN, (), [])}
    return kept


def _without_private(raw: dict[str, Any]) -> dict[str, Any]:
    kept = {key: value for key, value in raw.items() if key not in PRIVATE}
    for table, fields in PRIVATE_FIELDS.items():
        if isinstance(kept.get(table), dict):
            kept[table] = {key: value for key, value in kept[table].items() if key not in fields}
    return kept


def pack(raw: dict[str, Any]) -> str:
    """Return the public part of a brief's tables as text for an address.

    Raises
    ------
    InputError
        Longer than 4 kB: the brief is then handed over as a file.
    """
    packed = zlib.compress(tomli_w.dumps(public(raw)).encode(), 9)
    text = base64.urlsafe_b64encode(packed).decode().rstrip("=")
    if len(text) > LONGEST_LINK:
        raise InputError(
            WHAT,
            [
                Fault(
                    "the brief",
                    "is too long for a link",
                    f"{len(text):,} characters",
                    f"at most {LONGEST_LINK:,}",
                    "save it as a file and hand that over",
                )
            ],
        )
    return text


def unpack(text: str) -> dict[str, Any]:
    """Return the tables of a brief that a link carries; they may have faults, which the brief's own check names.

    Raises
    ------
    InputError
        Not a link of this kind, damaged, or unpacking to more than 64 kB.
    """
    try:
        if len(text) > LONGEST_LINK:
            raise ValueError("too long")
        packed = base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
        inflater = zlib.decompressobj()
        content = inflater.decompress(packed, LONGEST_BRIEF)
        if inflater.unconsumed_tail or not inflater.eof:
            raise ValueError("unpacks to too much, or is cut short")
    except (ValueError, binascii.Error, zlib.error):
        raise InputError(WHAT, [_no_link("is damaged or no brief")]) from None
    raw = parse_toml(decoded(content, WHAT, "c"), WHAT, "c")
    if not all(_shaped(key, value) for key, value in raw.items()):
        raise InputError(WHAT, [_no_link("is no brief")])
    # A link made by hand may carry them: they are not taken from a stranger either.
    return _without_private(raw)


def _no_link(problem: str) -> Fault:
    return Fault("c", problem, allowed="a link made by this page", remedy="ask for it again")


def _shaped(key: str, value: object) -> bool:
    """Return whether a field of the top level is a table, a list of tables or a plain value, as a brief has it."""
    if key in TABLES:
        return isinstance(value, dict) and all(_flat(entry) for entry in value.values())
    if key in LISTS:
        rows = value if isinstance(value, list) else [None]
        return all(_row(row) for row in rows)
    return not isinstance(value, dict | list)


def _row(value: object) -> bool:
    """Return whether a value is a row of a list; one of its entries may be a list of flat tables, as limits are."""
    if not isinstance(value, dict):
        return False
    entries = [part for entry in value.values() for part in (entry if isinstance(entry, list) else [entry])]
    tables = [entry for entry in entries if isinstance(entry, dict)]
    plain = [entry for entry in entries if not isinstance(entry, dict)]
    return not any(isinstance(entry, list) for entry in plain) and all(
        _flat(entry) for table in tables for entry in table.values()
    )


def _flat(value: object) -> bool:
    """Return whether a value is plain, or a list of plain ones."""
    entries = value if isinstance(value, list) else [value]
    return not any(isinstance(entry, dict | list) for entry in entries)
