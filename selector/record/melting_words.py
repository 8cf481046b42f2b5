"""What computed melting says: the finding in words, and its tables as rows."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from selector.composition import Composition
from selector.figures import NOT_KNOWN, figure, spread
from selector.melting.alloy import Melting
from selector.melting.lever import LeverPoint
from selector.record.plain_melting import frozen_points

LOWEST_C = 25.0
DIGITS = 3
CAUTION = "caution: "
Row = dict[str, object]


@dataclass(frozen=True)
class Entry:
    """One alloy that was asked for.

    Parameters
    ----------
    name : str
        Its name in the catalogue, or its composition.
    composition : Composition
    melting : Melting
    path : tuple of LeverPoint
        Its freezing at equilibrium; empty where that is not computed.
    in_service : LeverPoint or None
        What it holds at equilibrium at the service maximum; None where that is not known or nobody asks.
    """

    name: str
    composition: Composition
    melting: Melting
    path: tuple[LeverPoint, ...] = ()
    in_service: LeverPoint | None = None

    def frozen_liquid(self, temperature_c: float) -> float | None:
        """Return the mass fraction liquid, as frozen; None below the tables, or where it is not computed."""
        found = self.melting
        # Where liquid remains at the end of the curve, nothing is known below it.
        followed = found.last_liquid_c is not None or bool(found.curve and temperature_c >= found.curve[-1][0])
        return found.liquid_as_frozen(temperature_c) if followed and temperature_c >= LOWEST_C else None

    @property
    def onset_ends(self) -> tuple[float, float] | None:
        """Return the interval of the remelt onset, degC, with the half-width of its grade; None without an onset."""
        return self.melting.onset_interval_c

    @property
    def cautions(self) -> tuple[str, ...]:
        """Return what warns of a first liquid too small to count."""
        return tuple(note.removeprefix(CAUTION) for note in self.melting.notes if note.startswith(CAUTION))

    @property
    def remarks(self) -> tuple[str, ...]:
        """Return by which rule the onset was found, and the other notes; the first of them is the grade in words."""
        notes = (note for note in self.melting.notes if not note.startswith(CAUTION))
        return (*([f"onset by {self.melting.onset_rule}"] if self.onset_ends else []), *notes)


def finding(entries: Sequence[Entry], service_c: float | None) -> str:
    """Return where each alloy begins to melt, how far that is to be trusted, and what is liquid in service."""
    told = [
        f"{entry.name} at {figure(entry.melting.remelt_onset_c, DIGITS)} degC ({figure(ends[0], DIGITS)} to"
        f" {figure(ends[1], DIGITS)}, {entry.melting.grade})"
        for entry in entries
        if (ends := entry.onset_ends) is not None
    ]
    sentences = [f"As frozen, the joint begins to melt: {listed(told)}."] if told else []
    sentences += [
        f"{entry.name}: no remelt onset ({no_onset(entry)})." for entry in entries if entry.onset_ends is None
    ]
    return " ".join([*sentences, in_service(entries, service_c)])


def no_onset(entry: Entry) -> str:
    """Return why an alloy has no remelt onset."""
    found = entry.melting
    if found.failures:
        return found.failures[0]
    if found.liquidus_c is None:
        return next((note for note in found.notes if note.startswith("two liquids")), "no liquidus was found")
    if found.last_liquid_c is None:
        return "liquid remains down to 25 degC"
    return "it is the solidus, which is not computed"


def in_service(entries: Sequence[Entry], service_c: float | None) -> str:
    """Return in one sentence what is liquid, as frozen, at the service maximum."""
    if service_c is None:
        return "The brief states no service maximum."
    at = f"At the service maximum of {figure(service_c)} degC"
    if service_c < LOWEST_C:
        return f"{at} nothing is computed: the tables end at {figure(LOWEST_C)} degC."
    parts: dict[str, list[str]] = {}
    for entry in entries:
        share = entry.frozen_liquid(service_c)
        parts.setdefault(NOT_KNOWN if share is None else percent(share), []).append(entry.name)
    if set(parts) == {percent(0.0)}:
        return f"{at} nothing is liquid."
    words = {NOT_KNOWN: "not known for {}", percent(0.0): "nothing of {}", percent(1.0): "all of {}"}
    told = [words.get(share, f"{share} % of {{}}").format(listed(names)) for share, names in parts.items()]
    return f"{at} is liquid, as frozen: {'; '.join(told)}."


def percent(fraction: float | None) -> str:
    """Return a mass fraction in per cent: two figures, and never 0 or 100 where it is not quite."""
    if fraction is None:
        return NOT_KNOWN
    if 0 < fraction < 0.001:
        return "under 0.1"
    return f"over {99.9:g}" if 0.999 < fraction < 1 else figure(100 * fraction, 3 if fraction >= 0.1 else 2)


def listed(texts: Sequence[str]) -> str:
    """Return texts as a list in a sentence."""
    return " and ".join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)


def figure_rows(entries: Sequence[Entry], service_c: float | None) -> list[Row]:
    """Return one row a quantity, one column an alloy: every figure as text with what it lacks told."""
    rows: list[Row] = []

    def row(title: str, texts: Iterable[str]) -> None:
        rows.append({"figure": title, **dict(zip((entry.name for entry in entries), texts, strict=True))})

    found = [entry.melting for entry in entries]
    row("composition, wt%", (str(entry.composition) for entry in entries))
    row("grade", (f"{each.grade}, to about {figure(each.half_width_k)} K" for each in found))
    row("liquidus, degC", (figure(each.liquidus_c) for each in found))
    row("T98 (98 % liquid at equilibrium), degC", (figure(each.t98_c) for each in found))
    row("T90, degC", (figure(each.t90_c) for each in found))
    row("solidus, homogenised, degC", (figure(each.solidus_c) for each in found))
    row("last liquid, as frozen, degC", (figure(each.last_liquid_c) for each in found))
    row("melts first, % by mass", (percent(each.first_liquid_mass) for each in found))
    row("remelt onset, degC", (_onset(each) for each in found))
    if service_c is not None:
        at = f"liquid at {figure(service_c)} degC"
        row(f"{at}, as frozen, % by mass", (percent(entry.frozen_liquid(service_c)) for entry in entries))
        row(f"{at}, at equilibrium, % by mass", (percent(_held(entry)) for entry in entries))
    return rows


def _onset(found: Melting) -> str:
    ends = found.onset_interval_c
    return NOT_KNOWN if ends is None else spread(found.remelt_onset_c, *ends)


def _held(entry: Entry) -> float | None:
    """Return the liquid fraction at equilibrium in service; None where it is not known."""
    return None if entry.in_service is None else entry.in_service.liquid


def phase_rows(entry: Entry, service_c: float | None) -> list[Row]:
    """Return the solids in the order of forming as it freezes, then those that only equilibrium holds in service."""
    told = f"at equilibrium at {figure(service_c)} degC, % by mass"
    held = dict(entry.in_service.phases) if entry.in_service is not None else {}
    solved = bool(held) or _held(entry) == 1
    rows: list[Row] = []
    for name, begins_c, mass in entry.melting.phases:
        row: Row = {"solid": name, "begins at, degC": figure(begins_c), "frozen through, % by mass": percent(mass)}
        rows.append(row | ({told: percent(held.pop(name, 0.0))} if solved else {}))
    for name, mass in held.items():
        row = {"solid": name, "begins at, degC": "not on freezing", "frozen through, % by mass": percent(0.0)}
        rows.append(row | {told: percent(mass)})
    return rows


def curve_rows(entries: Sequence[Entry]) -> list[Row]:
    """Return every point of the freezing curves."""
    rows: list[Row] = []
    for entry in entries:
        frozen = frozen_points(entry.melting)
        points: list[tuple[str, float, float | None]] = [("as frozen", at, mass) for at, mass in frozen]
        points += [("at equilibrium", point.temperature_c, point.liquid) for point in entry.path]
        rows += [
            {"alloy": entry.name, "line": line, "degC": round(at, 2), "liquid, % by mass": percent(mass)}
            for line, at, mass in points
        ]
    return rows


def point_rows(points: Sequence[tuple[float, Composition, Melting]], axis: str) -> list[Row]:
    """Return the points of a mixture's curve or of a section; `axis` names what runs along it."""
    return [
        {
            axis: round(at, 3),
            "composition, wt%": str(composition),
            "remelt onset, degC": _onset(found),
            "T98, degC": figure(found.t98_c),
            "liquidus, degC": figure(found.liquidus_c),
            "solidus, degC": figure(found.solidus_c),
            "grade": found.grade,
            "not answered": "; ".join(found.failures),
        }
        for at, composition, found in points
    ]
