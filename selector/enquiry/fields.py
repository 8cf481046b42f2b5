"""Figures as a person gives them at a verb or on a page: a number, nothing, or `unknown`; every fault at once.

A figure that is left out takes its default, and says so; one that is `unknown` is a span where the trade has one, and
else stays unknown. Nothing is clamped: what cannot be on a board is refused with the unit that was meant.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from selector.errors import Fault, shown
from selector.fields import UNKNOWN
from selector.figures import figure
from selector.ranges import Range, fault_of, range_of
from selector.units import exact

USUAL = "default, common practice"


@dataclass(frozen=True)
class Field:
    """One figure that may be given.

    Parameters
    ----------
    name : str
        With its unit; it also decides what the figure can be.
    label : str
        In words, with the unit.
    default : float or None
        What counts where it is left out; None leaves it unknown.
    why : str
        Where the default comes from.
    span : tuple of float or None
        What it may be where it is unknown.
    allowed : Range or None
        Other than the range of its name.
    """

    name: str
    label: str
    default: float | None = None
    why: str = USUAL
    span: tuple[float, float] | None = None
    allowed: Range | None = None

    @property
    def option(self) -> str:
        """Return the option of the command line."""
        return "--" + {"dissolved_share": "dissolved"}.get(self.name, self.name).replace("_", "-")

    def called(self, on_page: bool) -> str:
        """Return what a fault names: the label of a page, or the option."""
        return self.label if on_page else self.option

    @property
    def range(self) -> Range:
        """Return what it can be."""
        return self.allowed or range_of(self.name)


@dataclass(frozen=True)
class Given:
    """A figure with where it comes from; `value` None where it is not known, `why` empty where it was stated."""

    field: Field
    value: float | None
    why: str = ""

    @property
    def ends(self) -> tuple[float, ...] | None:
        """Return the one value, or the two ends of what it may be, or None where nobody knows."""
        return self.field.span if self.value is None else (self.value,)

    @property
    def text(self) -> str:
        """Return the figure with its unit and what it rests on."""
        unit = "" if self.field.range.unit == "1" else f" {self.field.range.unit}"
        if self.value is None:
            span = self.field.span
            return f"{UNKNOWN}: {figure(span[0])} to {figure(span[1])}{unit} taken" if span else UNKNOWN
        return f"{figure(self.value)}{unit}" + (f" ({self.why})" if self.why else "")


Figures = Mapping[str, Given]


def read_figures(
    fields: Sequence[Field], texts: Mapping[str, str | None], faults: list[Fault], on_page: bool = False
) -> dict[str, Given]:
    """Return every figure by name, and add what is wrong with the others.

    Parameters
    ----------
    fields : sequence of Field
    texts : mapping
        Name -> as typed; None or nothing where it is left out.
    faults : list of Fault
        Added to.
    on_page : bool
        Whether faults name the label of a field instead of an option.
    """
    found = {}
    for entry in fields:
        text = (texts.get(entry.name) or "").strip()
        found[entry.name] = Given(entry, None)
        if not text:
            found[entry.name] = Given(entry, entry.default, entry.why if entry.default is not None else "")
        elif text.lower() != UNKNOWN:
            fault = _fault(entry, text, entry.called(on_page))
            if fault is not None:
                faults.append(fault)
            else:
                found[entry.name] = Given(entry, float(exact(text)))
    return found


def with_default(figures: dict[str, Given], name: str, value: float, why: str, texts: Mapping[str, str | None]) -> None:
    """Put a default that rests on the other figures where one was left out."""
    if not (texts.get(name) or "").strip():
        figures[name] = replace(figures[name], value=value, why=why)


def stated(figures: Figures, name: str) -> float | None:
    """Return a figure's number, None where it is unknown."""
    return figures[name].value


def defaults_told(figures: Figures) -> tuple[str, ...]:
    """Return every figure that was not stated, with what it rests on."""
    return tuple(f"{given.field.label}: {given.text}" for given in figures.values() if given.why)


def choice(where: str, text: str | None, allowed: Sequence[str], faults: list[Fault], default: str = UNKNOWN) -> str:
    """Return one of the words that are allowed, and add a fault for another one."""
    typed = (text or "").strip()
    if not typed:
        return default
    if typed.lower() not in allowed:
        faults.append(Fault(where, "is not one of the choices", shown(typed), ", ".join(allowed)))
        return default
    return typed.lower()


def _fault(entry: Field, text: str, where: str) -> Fault | None:
    words = f"{entry.range.text}, or unknown"
    try:
        value = float(exact(text))
    except (ValueError, ZeroDivisionError, OverflowError):
        return Fault(where, "is not a number", shown(text), words)
    fault = fault_of(where, value, entry.range)
    if fault is None:
        return None
    is_percent = not fault.remedy and entry.range.high == 1 and 1 < value <= 100
    remedy = f"for {figure(value)} % write {figure(value / 100)}" if is_percent else fault.remedy
    return replace(fault, allowed=words, remedy=remedy)
