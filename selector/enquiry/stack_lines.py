"""Layers and joints of a stack as typed: `die=2.6ppm@60K`, `die+board=5mm/0.1mm`; `unknown` where nobody knows."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from selector.enquiry.fields import Field, read_figures
from selector.errors import Fault, shown
from selector.fields import UNKNOWN
from selector.process.stack import Interface, Joined, Layer, stack_interfaces
from selector.units import OTHER_UNITS, exact

LAYER = "a name, its expansion and its own change of temperature: die=2.6ppm@60K"
JOIN = "two layers, half length and height of the joint: die+board=5mm/0.1mm"
PPM, KELVIN = ("", "ppm", "ppm/k"), ("", "k")
MM = ("", "mm")
FIGURE = re.compile(r"([-+]?[0-9]*\.?[0-9]+(?:e[-+]?[0-9]+)?)\s*(.*)", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True)
class TypedLayer:
    """A layer as typed; None where it is unknown."""

    name: str
    ppm_k: float | None
    swing_k: float | None


@dataclass(frozen=True)
class TypedJoin:
    """A joint between two layers as typed; None where it is unknown."""

    one: str
    other: str
    half_length_mm: float | None
    height_mm: float | None


def typed_layers(texts: Sequence[str], where: str, faults: list[Fault]) -> tuple[TypedLayer, ...]:
    """Return layers, and add what is wrong with the others.

    Parameters
    ----------
    texts : sequence of str
    where : str
        The option, or the label of the page.
    faults : list of Fault
        Added to.
    """
    found: list[TypedLayer] = []
    for text in texts:
        name, sign, told = (piece.strip() for piece in text.rpartition("="))
        pieces = [piece.strip() for piece in told.split("@")]
        if not sign or not name or "+" in name or "=" in name or len(pieces) != 2:
            faults.append(Fault(f"{where} {shown(text)}", "is no layer", allowed=LAYER))
            continue
        place = f"{where} {name}"
        if name in [entry.name for entry in found]:
            faults.append(Fault(place, "stands twice", allowed="each layer once"))
            continue
        ppm = _figure("ppm_k", f"{place}, expansion", pieces[0], PPM, faults)
        swing = _figure("swing_k", f"{place}, change of temperature", pieces[1], KELVIN, faults)
        found.append(TypedLayer(name, ppm, swing))
    return tuple(found)


def typed_joins(texts: Sequence[str], layers: Sequence[str], where: str, faults: list[Fault]) -> tuple[TypedJoin, ...]:
    """Return joints between layers that are named, and add what is wrong with the others.

    Parameters
    ----------
    texts : sequence of str
    layers : sequence of str
        Names that may be joined.
    where : str
    faults : list of Fault
        Added to.
    """
    found: list[TypedJoin] = []
    for text in texts:
        names, sign, told = (piece.strip() for piece in text.rpartition("="))
        ends = [piece.strip() for piece in names.split("+")]
        pieces = [piece.strip() for piece in told.split("/")]
        if not sign or len(ends) != 2 or not all(ends) or len(pieces) != 2:
            faults.append(Fault(f"{where} {shown(text)}", "is no joint between layers", allowed=JOIN))
            continue
        place = f"{where} {ends[0]}+{ends[1]}"
        allowed = ", ".join(layers) or "a layer that is stated"
        faults += [Fault(place, "names no layer", shown(end), allowed) for end in ends if end not in layers]
        if ends[0] == ends[1]:
            faults.append(Fault(place, "joins a layer to itself", allowed="two layers"))
        if set(ends) in [{entry.one, entry.other} for entry in found]:
            faults.append(Fault(place, "stands twice", allowed="each joint once"))
        half = _figure("half_length_mm", f"{place}, half length", pieces[0], MM, faults)
        height = _figure("height_mm", f"{place}, height", pieces[1], MM, faults)
        found.append(TypedJoin(ends[0], ends[1], half, height))
    return tuple(found)


def interfaces(
    layers: Sequence[TypedLayer], joins: Sequence[TypedJoin]
) -> tuple[tuple[TypedJoin, Interface | None], ...]:
    """Return every joint with what it has to take, None where a figure of it or of its layers is unknown."""
    by_name = {entry.name: entry for entry in layers}
    found: list[tuple[TypedJoin, Interface | None]] = []
    for join in joins:
        ends = [by_name[join.one], by_name[join.other]]
        known = [Layer(e.name, e.ppm_k, e.swing_k) for e in ends if e.ppm_k is not None and e.swing_k is not None]
        if len(known) < 2 or join.half_length_mm is None or join.height_mm is None:
            found.append((join, None))
        else:
            joined = Joined(join.one, join.other, join.half_length_mm, join.height_mm)
            found.append((join, stack_interfaces(known, [joined])[0]))
    return tuple(found)


def _figure(name: str, where: str, text: str, units: Sequence[str], faults: list[Fault]) -> float | None:
    """Return a figure with its unit as typed; another unit is converted where it is one of length, else told."""
    field = Field(name, where)
    unit = field.range.unit
    if not text:
        faults.append(Fault(where, "is missing", allowed=f"{field.range.text}, or unknown"))
        return None
    split = FIGURE.fullmatch(text)
    if split is None or text.lower() == UNKNOWN:
        return read_figures([field], {name: text}, faults, on_page=True)[name].value
    number, typed = split[1], split[2].strip().lower()
    lengths = dict(OTHER_UNITS["mm"]) if unit == "mm" else {}
    if typed in lengths:
        number = str(float(exact(number)) * lengths[typed])
    elif typed not in units:
        remedy = "a change of temperature is in K" if unit == "K" else ""
        faults.append(Fault(where, "is in another unit", shown(text), f"{field.range.text}, or unknown", remedy))
        return None
    return read_figures([field], {name: number}, faults, on_page=True)[name].value
