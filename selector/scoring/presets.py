"""Anchors and weights that ship together, by product class and environment, and the brief's own in their place.

A weight means nothing without the range it spans, so the two travel as one pair. A preset is chosen by the first file
of `data/classes/`, in order of its number, whose conditions the brief meets.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import BaseModel, ConfigDict

from selector.brief import Brief, Preference
from selector.datafiles import data_folder, read_toml
from selector.errors import Fault, InputError
from selector.fields import Points
from selector.scoring.criteria import CRITERIA, counted_twice


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class PresetPreference(_Table):
    """One criterion of a preset: anchors, swing points and the reason for both."""

    criterion: str
    points: Points
    swing: float
    reason: str


class Preset(_Table):
    """Anchors and weights for one kind of product."""

    id: str
    order: int
    title: str
    author: str
    reason: str
    when: dict[str, Any]
    preference: tuple[PresetPreference, ...]


@dataclass(frozen=True)
class Weighing:
    """The criteria that are weighed, with anchors, swing points and where they came from."""

    origin: str
    preferences: tuple[Preference, ...]


@cache
def presets() -> tuple[Preset, ...]:
    """Return the shipped presets in the order in which they are tried."""
    folder = data_folder() / "classes"
    loaded = [Preset.model_validate(read_toml(path, f"the preset {path.name}")) for path in folder.glob("*.toml")]
    return tuple(sorted(loaded, key=lambda preset: preset.order))


def _meets(brief: Brief, conditions: dict[str, Any]) -> bool:
    for path, allowed in conditions.items():
        value: Any = brief
        for step in path.split("."):
            value = getattr(value, step)
        if value not in allowed:
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
        )
        for entry in preset.preference
    )
    return Weighing(f"preset {preset.id}: {preset.title}. {preset.reason}", preferences)


def check(preferences: tuple[Preference, ...]) -> None:
    """Refuse preferences that name no criterion, count one thing twice or weigh nothing; all faults at once."""
    faults = [
        Fault(f"preferences[{index}].criterion", "is not a criterion", entry.criterion, ", ".join(CRITERIA))
        for index, entry in enumerate(preferences)
        if entry.criterion not in CRITERIA
    ]
    weighed = [entry.criterion for entry in preferences if entry.swing > 0]
    faults += [
        Fault("preferences", "weigh one thing twice", names, allowed, "set the swing of one of them to 0")
        for names, allowed in counted_twice(weighed)
    ]
    if not weighed:
        faults.append(Fault("preferences", "put no swing points on any criterion", allowed="at least one above 0"))
    if faults:
        raise InputError("the preferences", faults)
