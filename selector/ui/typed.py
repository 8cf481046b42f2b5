"""Between what is typed in a field or cell and the brief's tables. What cannot be read stays as typed."""

import math
from collections.abc import Sequence
from datetime import date
from typing import Any

from selector.fields import UNKNOWN
from selector.figures import plain_number
from selector.record.labels import YES_NO, Label

WHOLE = ("ipc_class", "process.powder_type", "footprint.joints")
NUMBERS = (
    *("_c", "_k", "_mm", "_mm3", "_ppm", "per_day", "ipc_class", "powder_type"),
    *("_um", "_share", "_wt", "_min", "_a", "_kwh", "boards_h", ".joints", ".years"),
)
# Lists in one field: names apart by commas, or pairs of a name and its figure apart by semicolons.
NAMES = ("steps.allowed", "steps.may_remelt", "steps.meets")
PAIRS = {"steps.limits": ("name", "limit_c"), "footprint.prices": ("element", "usd_kg")}
NO_NAME = "none"


def field_text(value: Any, label: Label, not_known: str) -> str:
    """Return what a field shows for a value of the brief."""
    text = cell_text(value, label)
    return not_known if not text and label.choices else text


def cell_text(value: Any, label: Label) -> str:
    """Return what a cell shows for a value of the brief; an unknown one is empty."""
    if value is None or value == UNKNOWN:
        return ""
    if isinstance(value, bool):
        return YES_NO[0] if value else YES_NO[1]
    if isinstance(value, list | tuple):
        return _list_text(value) if value else label.empty
    return plain_number(value) if isinstance(value, int | float) else str(value)


def read_field(path: str, text: str, label: Label, not_known: str) -> object:
    """Return what a field holds; None where it is not known."""
    return None if text == not_known else read_cell(path, text, label)


def read_cell(path: str, text: Any, label: Label) -> object:
    """Return what was typed as number, flag or date where it reads as one, else as text; None where it is empty."""
    if text is None or (isinstance(text, float) and math.isnan(text)) or not str(text).strip():
        return None
    typed = str(text).strip()
    if label.choices == YES_NO:
        return {"yes": True, "no": False}.get(typed, typed)
    if path.endswith(NUMBERS):
        return _number(typed, path in WHOLE)
    if path in NAMES:
        return [] if typed == NO_NAME else [name.strip() for name in typed.split(",") if name.strip()]
    if path in PAIRS:
        return _pairs(typed, *PAIRS[path])
    if path.endswith(".date"):
        try:
            return date.fromisoformat(typed)
        except ValueError:
            return typed
    return typed


def _list_text(entries: Sequence[Any]) -> str:
    """Return a list as one text: names, or pairs such as `film 200; connector ?`."""
    if not all(isinstance(entry, dict) for entry in entries):
        return ", ".join(map(str, entries))
    told = []
    for entry in entries:
        name, *figures = entry.values()
        shown = [plain_number(figure) if isinstance(figure, int | float) else "?" for figure in figures]
        told.append(" ".join([str(name), *(shown or ["?"])]))
    return "; ".join(told)


def _pairs(typed: str, name: str, figure: str) -> object:
    """Return pairs of a name and a figure; the text itself where one has no figure, so that its fault is told."""
    rows = []
    for part in filter(None, (part.strip() for part in typed.split(";"))):
        head, _, tail = part.rpartition(" ")
        if not head:
            return typed
        value = UNKNOWN if tail == "?" else _number(tail, whole=False)
        if value == tail:
            return typed
        rows.append({name: head.strip(), figure: value})
    return rows


def _number(typed: str, whole: bool) -> object:
    try:
        number = float(typed)
    except ValueError:
        return typed
    if not math.isfinite(number):
        return typed
    return int(number) if whole and number == int(number) else number
