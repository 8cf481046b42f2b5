"""Other routes than plain reflow, as people type them: one a step, with its process apart from its remelt onset.

`STEP=KIND:METALS@DEGC,NAME=VALUE`. Reaction: `board=reaction:Sn-58Bi+Cu@250,reacted=201`. Two powders of which the
first melts: `board=mixed:Sn-58Bi+SAC305@190,share=0.6`, share of the second by mass. Undercooled droplets:
`board=undercooled:Sn-58Bi@25`. `onset=` is a measured trace of the finished joint; without it the lower onset counts.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from selector.catalogue import Alloy, Catalogue
from selector.composition import Composition, parse
from selector.errors import Fault, InputError, shown
from selector.joint.melted import zones_melting
from selector.joint.stops import NAMES, metals_that_meet
from selector.melting.coverage import INDICATIVE
from selector.melting.mixing import blend
from selector.melting.onset import CONFLICT_K, joint_onset
from selector.planning import Joined
from selector.process.routes import (
    AMBIENT_C,
    Candidate,
    Interval,
    by_mixed_powder,
    by_reaction,
    by_undercooled_powder,
    listed,
)
from selector.process.steps import Step
from selector.units import exact

FORM = "STEP=KIND:METALS@DEGC, such as board=reaction:Sn-58Bi+Cu@250,reacted=201"
REACTION, MIXED, COLD = "reaction", "mixed", "undercooled"
EXTRAS: Mapping[str, tuple[str, ...]] = {
    REACTION: ("reacted", "share", "hold_min", "bondline_um", "onset"),
    MIXED: ("share", "onset"),
    COLD: (),
}
METALS: Mapping[str, str] = {
    REACTION: "two metals, such as Sn-58Bi+Cu",
    MIXED: "two alloys, such as Sn-58Bi+SAC305",
    COLD: "one alloy",
}
TRIED_SHARE = "0.05"
OWN_NAMES = {"process_c": "DEGC", "reacted_onset_c": "reacted", "trace_onset_c": "onset", "share_reacted": "share"}


@dataclass(frozen=True)
class _Typed:
    """One route as typed: where, its step, kind, metals, process temperature and further figures."""

    where: str
    step: str
    kind: str
    metals: tuple[str, ...]
    process_c: float | None
    extras: Mapping[str, float]


def typed_routes(
    texts: Iterable[tuple[str, str]], steps: Sequence[Step], catalogue: Catalogue, faults: list[Fault]
) -> tuple[Joined, ...]:
    """Return candidates by other routes from texts, and add what is wrong with the others.

    Parameters
    ----------
    texts : iterable of (where, text)
        Where is told in faults: an option, or a line.
    steps : sequence of Step
    catalogue : Catalogue
    faults : list of Fault
    """
    found: dict[str, Joined] = {}
    for where, text in texts:
        before = len(faults)
        typed = _read(where, text, steps, faults)
        made = None if typed is None else _made(typed, catalogue, faults)
        if made is None or len(faults) > before:
            continue
        if made.candidate.name in found:
            faults.append(Fault(where, "is given twice", made.candidate.name, "each route once, in one step"))
        found[made.candidate.name] = made
    return tuple(found.values())


def _read(where: str, text: str, steps: Sequence[Step], faults: list[Fault]) -> _Typed | None:
    step, equals, rest = (part.strip() for part in text.partition("="))
    kind, colon, rest = (part.strip() for part in rest.partition(":"))
    if not equals or not colon or kind not in EXTRAS:
        faults.append(Fault(where, "is no route", shown(text), f"{FORM}; kinds: {', '.join(EXTRAS)}"))
        return None
    before = len(faults)
    names = [entry.name for entry in steps if not entry.reworks]
    if step not in names:
        faults.append(Fault(where, "names no step that is joined anew", shown(step), ", ".join(names) or "none"))
    head, *others = (part.strip() for part in rest.split(","))
    held, _, first = (part.strip() for part in head.partition("@"))
    metals = tuple(part.strip() for part in held.split("+") if part.strip())
    if len(metals) != (1 if kind == COLD else 2):
        faults.append(Fault(where, "names other metals than it takes", shown(held), METALS[kind]))
    process_c = _number(where, "DEGC", first, faults) if first else None
    if not first and kind == REACTION:
        faults.append(Fault(where, "has no process temperature", allowed="@ and degC after the metals"))
    is_named = len(faults) == before
    extras: dict[str, float] = {}
    for other in others:
        name, _, figure = (part.strip() for part in other.partition("="))
        if name not in EXTRAS[kind] or name in extras:
            allowed = ", ".join(f"{entry}=" for entry in EXTRAS[kind]) or "none for this kind"
            faults.append(Fault(where, "is no figure of this route, or given twice", shown(other), allowed))
            continue
        value = _number(where, name, figure, faults)
        if value is not None:
            extras[name] = value
    if kind == MIXED and not 0 < extras.get("share", -1.0) < 1 and not any("share" in other for other in others):
        faults.append(Fault(where, "has no share", allowed="share=, of the second powder by mass, above 0 and below 1"))
    elif kind == MIXED and "share" in extras and not 0 < extras["share"] < 1:
        faults.append(Fault(where, "share: lies outside the range", f"{extras['share']:g}", "above 0 and below 1"))
    # A figure that is no number hides no fault of the others.
    is_whole = is_named and (kind != MIXED or 0 < extras.get("share", -1.0) < 1)
    return _Typed(where, step, kind, metals, process_c, extras) if is_whole else None


def _number(where: str, name: str, text: str, faults: list[Fault]) -> float | None:
    try:
        return float(exact(text))
    except (ValueError, ZeroDivisionError, OverflowError):
        faults.append(Fault(where, f"{name}: is not a number", shown(text), "a number"))
        return None


def _made(typed: _Typed, catalogue: Catalogue, faults: list[Fault]) -> Joined | None:
    make: Callable[[_Typed, Catalogue], tuple[Candidate, tuple[Alloy, ...], Composition | None]] = {
        REACTION: _reaction,
        MIXED: _mixed,
        COLD: _cold,
    }[typed.kind]
    try:
        candidate, metals, partner = make(typed, catalogue)
    except InputError as error:
        for fault in error.faults:
            problem = f"{OWN_NAMES.get(fault.where, fault.where)}: {fault.problem}"
            faults.append(replace(fault, where=typed.where, problem=problem))
        return None
    return Joined(typed.step, candidate, metals, partner)


def _at(value_c: float | None) -> Interval | None:
    return None if value_c is None else (value_c, value_c)


def _reaction(typed: _Typed, catalogue: Catalogue) -> tuple[Candidate, tuple[Alloy, ...], Composition | None]:
    alloy, partner = catalogue.find(typed.metals[0]), parse(typed.metals[1])
    _apart(REACTION, "one joint", alloy.composition, partner)
    start = listed(alloy)
    onset_c, told = _started(alloy.composition, partner, start.onset_c)
    start = replace(start, alloy=f"{alloy.id} + {typed.metals[1]}", onset_c=onset_c, cautions=(*start.cautions, *told))
    extras = typed.extras
    candidate = by_reaction(
        start,
        _at(typed.process_c) or AMBIENT_C,
        _at(extras.get("reacted")),
        share_reacted=extras.get("share"),
        hold_min=extras.get("hold_min"),
        bondline_um=extras.get("bondline_um"),
        trace_onset_c=_at(extras.get("onset")),
    )
    return candidate, (alloy,), partner


def _started(start: Composition, partner: Composition, own_c: Interval | None) -> tuple[Interval | None, list[str]]:
    """Return the onset of the start metal with some of its partner dissolved: tin on copper melts at 227, not 232."""
    found = zones_melting({"joint": blend(start, partner, TRIED_SHARE)}, at_equilibrium=False).zones[0]
    if own_c is None or found.onset_c is None:
        return None, [f"what the partner, dissolved, does to the onset is not computed: {found.why or 'not known'}"]
    if sum(found.onset_c) / 2 >= own_c[0] - CONFLICT_K:
        return own_c, []
    return (min(own_c[0], found.onset_c[0]), min(own_c[1], found.onset_c[1])), [
        "with some of its partner dissolved the start metal melts lower (computed), which counts"
    ]


def _mixed(typed: _Typed, catalogue: Catalogue) -> tuple[Candidate, tuple[Alloy, ...], Composition | None]:
    first, second = (catalogue.find(name) for name in typed.metals)
    _apart(MIXED, "one paste", first.composition, second.composition)
    whole = blend(first.composition, second.composition, exact(typed.extras["share"]))
    melting = zones_melting({"joint": whole}, at_equilibrium=False).zones[0].melting
    # On an indicative liquidus no limit may rest: what rework has to reach is then open.
    known = melting is not None and melting.grade != INDICATIVE
    candidate = by_mixed_powder(
        listed(first),
        listed(second),
        melting.liquidus_interval_c if melting is not None and known else None,
        joint_onset(first, second).interval,
        whole,
        process_c=_at(typed.process_c),
        trace_onset_c=_at(typed.extras.get("onset")),
    )
    return candidate, (first, second), None


def _apart(what: str, where: str, one: Composition, other: Composition) -> None:
    """Refuse metals that stop each other in one joint."""
    met = metals_that_meet(one, other)
    if met is not None and met[1]:
        metals = " and ".join(sorted(NAMES[name] for name in met[0]))
        raise InputError(what, [Fault("metals", f"meet in {where}: a stop", metals, remedy="take another metal")])


def _cold(typed: _Typed, catalogue: Catalogue) -> tuple[Candidate, tuple[Alloy, ...], Composition | None]:
    alloy = catalogue.find(typed.metals[0])
    return by_undercooled_powder(listed(alloy), _at(typed.process_c) or AMBIENT_C), (alloy,), None
