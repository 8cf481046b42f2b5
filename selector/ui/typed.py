"""Between what is typed in a field or cell and the brief's tables. What cannot be read stays as typed."""

import math
from datetime import date
from typing import Any

from selector.fields import UNKNOWN
from selector.figures import plain_number
from selector.record.labels import YES_NO, Label

WHOLE = ("ipc_class", "process.powder_type")
NUMBERS = ("_c", "_k", "_mm", "_mm3", "_ppm", "per_day", "ipc_class", "powder_type")


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
    if path.endswith(".date"):
        try:
            return date.fromisoformat(typed)
        except ValueError:
            return typed
    return typed


def _number(typed: str, whole: bool) -> object:
    try:
        number = float(typed)
    except ValueError:
        return typed
    if not math.isfinite(number):
        return typed
    return int(number) if whole and number == int(number) else number
