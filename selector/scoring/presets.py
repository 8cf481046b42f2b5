"""Anchors and weights that ship together, by product class and environment, and the brief's own in their place.

A weight means nothing without the range it spans, so the two travel as one pair. A preset is chosen by the first file
of `data/classes/`, in order of its number, whose conditions the brief meets.
"""

from dataclasses import dataclass
from datetime import date
from functools import cache
from math import inf
from typing import Any

from pydantic import BaseModel, ConfigDict

from selector.brief import Brief, Preference
from selector.datafiles import data_folder, read_toml
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN, Points
from selector.scoring.criteria import CRITERIA, counted_twice
from selector.scoring.values import direction

GRADES = "the grade of evidence is no criterion: its interval already carries it"


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class PresetPreference(_Table):
    """One criterion of a preset: anchors, swing points and the reason for both."""

    criterion: str
    points: Points
    swing: float
    reason: str
    limit_reason: str = UNKNOWN


class Between(_Table):
    """A range that a number of the brief must lie in, in that field's unit."""

    least: float = -inf
    most: float = inf


class Preset(_Table):
    """Anchors and weights for one kind of product; `when` holds, by field, the values that are met or a range."""

    id: str
    order: int
    title: str
    author: str
    set_on: date
    reason: str
    when: dict[str, tuple[Any, ...] | Between]
    preference: tuple[PresetPreference, ...]


@dataclass(frozen=True)
class Weighing:
    """The criteria that are weighed, with anchors, swing points and where they came from."""

    origin: str
    preferences: tuple[Preference, ...]

    def points_of(self, criterion: str) -> Points:
        """Return the anchors of a criterion that is weighed."""
        return next(entry.points for entry in self.preferences if entry.criterion == criterion)


@cache
def presets() -> tuple[Preset, ...]:
    """Return the shipped presets in the order in which they are tried."""
    folder = data_folder() / "classes"
    loaded = [Preset.model_validate(read_toml(path, f"the preset {path.name}")) for path in folder.glob("*.toml")]
    return tuple(sorted(loaded, key=lambda preset: preset.order))


def _meets(brief: Brief, conditions: dict[str, tuple[Any, ...] | Between]) -> bool:
    for path, allowed in conditions.items():
        value: Any = brief
        for step in path.split("."):
            value = getattr(value, step)
        if isinstance(allowed, Between):
            if not isinstance(value, int | float) or not allowed.least <= value <= allowed.most:
                return False  # what is not known meets nothing
        elif value not in allowed:
            return False
    return True


def preset_for(brief: Brief) -> Preset:
    """Return the first preset whose conditions the brief meets; the last one has none."""
    return next(preset for preset in presets() if _meets(brief, preset.when))


def weighing(brief: Brief) -> Weighing:
    """Return the brief's own preferences, or those of the preset that fits it.

    Raises
    ------
    InputError
        Preferences that name no criterion, weigh one thing twice, or put no points on anything.
    """
    if brief.preferences:
        check(brief.preferences)
        return Weighing("the brief's own preferences", brief.preferences)
    preset = preset_for(brief)
    preferences = tuple(
        Preference(
            criterion=entry.criterion,
            points=entry.points,
            swing=entry.swing,
            reason=entry.reason,
            author=preset.author,
            set_on=preset.set_on,
            limit_reason=entry.limit_reason,
        )
        for entry in preset.preference
    )
    return Weighing(f"preset {preset.id}: {preset.title}. {preset.reason}", preferences)


def check(preferences: tuple[Preference, ...]) -> None:
    """Refuse preferences that name no criterion, count one thing twice or weigh nothing; all faults at once."""
    faults = []
    for index, entry in enumerate(preferences):
        where = f"preferences[{index}]"
        if entry.criterion not in CRITERIA:
            # What is little known shows in the width of its interval already; to weigh it too would count it twice.
            remedy = GRADES if any(word in entry.criterion.lower() for word in ("grade", "evidence", "source")) else ""
            allowed = ", ".join(CRITERIA)
            faults.append(Fault(f"{where}.criterion", "is not a criterion", entry.criterion, allowed, remedy))
        elif entry.order_only and (direction(entry.points) == "peak" or not CRITERIA[entry.criterion].levels):
            allowed = "a criterion of named levels, its points rising or falling"
            faults.append(Fault(f"{where}.order_only", "has no order to go by", entry.criterion, allowed))
    weighed = [entry.criterion for entry in preferences if entry.swing > 0]
    faults += [
        Fault("preferences", "weigh one thing twice", names, allowed, "set the swing of one of them to 0")
        for names, allowed in counted_twice(weighed)
    ]
    if not weighed:
        faults.append(Fault("preferences", "put no swing points on any criterion", allowed="at least one above 0"))
    if faults:
        raise InputError("the preferences", faults)
