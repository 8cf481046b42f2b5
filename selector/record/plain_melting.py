"""Computed melting as plain data: JSON for machines, rows for a spreadsheet."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from selector.composition import Composition, decimal_text
from selector.figures import plain_number
from selector.melting.alloy import Melting
from selector.melting.computed import Computed
from selector.melting.lever import LeverPoint
from selector.record.plain import guarded

# The intervals are kelvins wide: more places would only pretend.
PLACES_C = 2
PLACES_MASS = 4


@dataclass(frozen=True)
class LiquidAt:
    """How much of an alloy is liquid at a temperature, by mass; None where it is not known."""

    temperature_c: float
    as_frozen: float | None
    at_equilibrium: float | None


@dataclass(frozen=True)
class Answer:
    """One alloy's melting under the name that was asked for."""

    name: str
    composition: Composition
    melting: Melting
    liquid_at: tuple[LiquidAt, ...] = ()
    failures: tuple[str, ...] = ()

    @property
    def all_failures(self) -> tuple[str, ...]:
        """Return what the solver could not answer, of the melting and of what was asked besides."""
        return (*self.melting.failures, *self.failures)


def _round(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)


def frozen_points(found: Melting | Computed) -> tuple[tuple[float, float], ...]:
    """Return the curve as frozen from the liquidus down: it is kept from the point of the grid above that."""
    if found.liquidus_c is None:
        return found.curve
    return tuple((min(t, found.liquidus_c), mass) for t, mass in found.curve)


def one(answer: Answer, curve: bool = True) -> dict[str, object]:
    """Return an alloy's melting as plain data.

    Parameters
    ----------
    answer : Answer
    curve : bool
        Whether to tell the whole freezing curve too.
    """
    found = answer.melting

    def degrees(value: float | None) -> float | None:
        return _round(value, PLACES_C)

    content: dict[str, object] = {
        "alloy": answer.name,
        "composition": {element: decimal_text(wt) for element, wt in answer.composition.parts},
        "solidus_c": degrees(found.solidus_c),
        "liquidus_c": degrees(found.liquidus_c),
        "t98_c": degrees(found.t98_c),
        "t90_c": degrees(found.t90_c),
        "remelt_onset_c": degrees(found.remelt_onset_c),
        "onset_low_c": degrees(found.onset_low_c),
        "onset_high_c": degrees(found.onset_high_c),
        "onset_rule": found.onset_rule,
        "onset_phases": list(found.onset_phases),
        "first_liquid_mass": _round(found.first_liquid_mass, PLACES_MASS),
        "last_liquid_c": degrees(found.last_liquid_c),
        "last_liquid_mass": _round(found.last_mass, PLACES_MASS),
        "half_width_k": found.half_width_k,
        "grade": found.grade,
        "phases": [
            {"phase": name, "begins_c": round(begins), "mass_fraction": _round(mass, PLACES_MASS)}
            for name, begins, mass in found.phases
        ],
        "notes": list(found.notes),
        "failures": list(answer.all_failures),
    }
    if curve:
        content["as_frozen"] = [
            {"temperature_c": degrees(t), "liquid": _round(mass, PLACES_MASS)} for t, mass in frozen_points(found)
        ]
    if answer.liquid_at:
        content["liquid_at"] = [
            {
                "temperature_c": entry.temperature_c,
                "as_frozen": _round(entry.as_frozen, PLACES_MASS),
                "at_equilibrium": _round(entry.at_equilibrium, PLACES_MASS),
            }
            for entry in answer.liquid_at
        ]
    return content


def frozen(answer: Answer, path: Sequence[LeverPoint]) -> dict[str, object]:
    """Return how an alloy freezes as plain data: its melting, and the path at equilibrium beside that as frozen."""
    points = [
        {
            "temperature_c": _round(point.temperature_c, PLACES_C),
            "liquid": _round(point.liquid, PLACES_MASS),
            "phases": {name: _round(mass, PLACES_MASS) for name, mass in point.phases},
        }
        for point in path
    ]
    return one(answer) | {"at_equilibrium": points}


def row(answer: Answer) -> dict[str, str]:
    """Return an alloy's melting as one row of text."""
    cells: dict[str, str] = {}
    for name, value in one(answer, curve=False).items():
        if name == "liquid_at":
            continue
        if name == "composition":
            cells[name] = guarded(str(answer.composition))
        elif name == "phases":
            told = [f"{phase} from {begins:.0f} degC {mass:.4f}" for phase, begins, mass in answer.melting.phases]
            cells[name] = guarded("; ".join(told))
        elif isinstance(value, list):
            cells[name] = guarded("; ".join(map(str, value)))
        elif isinstance(value, float | int):
            cells[name] = plain_number(value)
        else:
            cells[name] = "" if value is None else guarded(str(value))
    for entry in answer.liquid_at:
        at = plain_number(entry.temperature_c)
        cells[f"liquid_as_frozen_at_{at}_c"] = _cell(entry.as_frozen)
        cells[f"liquid_at_equilibrium_at_{at}_c"] = _cell(entry.at_equilibrium)
    return cells


def freezing_rows(answer: Answer, path: Sequence[LeverPoint]) -> list[dict[str, str]]:
    """Return the two freezing paths of an alloy, one row a point."""
    name = guarded(answer.name)
    points: list[tuple[str, float, float | None]] = [
        ("as frozen", t, mass) for t, mass in frozen_points(answer.melting)
    ]
    points += [("at equilibrium", point.temperature_c, point.liquid) for point in path]
    return [
        {"alloy": name, "path": kind, "temperature_c": plain_number(round(t, PLACES_C)), "liquid": _cell(mass)}
        for kind, t, mass in points
    ]


def along(points: Iterable[tuple[Mapping[str, object], Answer]]) -> list[dict[str, object]]:
    """Return a curve as plain data: where each point lies, then its melting without the freezing curve."""
    return [{**place, **one(answer, curve=False)} for place, answer in points]


def along_rows(points: Iterable[tuple[Mapping[str, object], Answer]]) -> list[dict[str, str]]:
    """Return a curve as rows of text."""
    return [
        {
            **{name: plain_number(at) if isinstance(at, float) else guarded(str(at)) for name, at in place.items()},
            **row(answer),
        }
        for place, answer in points
    ]


def _cell(value: float | None) -> str:
    return "" if value is None else plain_number(round(value, PLACES_MASS))
