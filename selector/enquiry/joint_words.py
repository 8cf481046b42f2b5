"""A joint in words: contributors, composition, dissolved share, where each zone melts, rework; rows of text."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from selector.enquiry.fields import defaults_told
from selector.enquiry.joint_case import JointAnswer, JointCase, composition_span
from selector.enquiry.joint_unsized import NO_MASS
from selector.enquiry.report import Report, Row, Section, ends, numbers
from selector.fields import UNKNOWN
from selector.figures import NOT_KNOWN, figure, spread
from selector.joint.blends import PowderBlend, Rework
from selector.joint.contributors import mass_of
from selector.joint.geometry import paste_ball_ratio
from selector.joint.melted import WHOLE, ZONE, ZoneMelting
from selector.melting.alloy import Melting
from selector.policy import policy
from selector.record.melting_words import percent
from selector.verdict import Outcome

MELTS, MADE_OF, HOLDS, DISSOLVED = "Where it melts", "Contributors", "Composition, wt%", "Dissolved share of the ball"
POWDERS, REWORK, SHARES, SIZE = "Two powders", "Touched up", "Over the share of paste", "Volumes and height"
VERDICT_ONLY = "A joint is more than its melting: strength and life of mixed joints stay unknown."
BALL_STAYS = "The ball does not melt whole: less collapse and self-alignment, and warpage is forgiven less."
NO_LEAD = "No lead may be anywhere on a joint that holds bismuth."


@dataclass(frozen=True)
class Bar:
    """One zone for a chart, degC: onset and solidus to liquidus, each as the ends over all cases; None unknown."""

    name: str
    onset_low_c: float | None
    onset_high_c: float | None
    solidus_c: float | None
    liquidus_c: float | None
    told: str


def joint_report(found: JointAnswer) -> Report:
    """Return what was found of a joint."""
    given = found.asked
    sections = []
    if found.cases:
        sections += [_contributors(found.cases), _composition(found), _melts(found)]
        if given.ball is not None:
            sections.append(_dissolved(found))
    if found.powders is not None:
        sections.append(_powders(found.powders))
    if found.shares is not None:
        sections.append(_over_shares(SHARES, found.shares, "paste"))
    for there, own in zip(found.reworked_from, found.reworked, strict=True):
        told = "" if len(found.reworked) == 1 else f", {there}"
        assert given.rework is not None
        sections.append(_over_shares(f"{REWORK} with {given.rework.name}{told}", own, given.rework.name))
    if found.cases:
        sections.append(_size(found.cases))
    stops = [verdict for verdict in found.verdicts if verdict.outcome is Outcome.FAIL]
    title = " on ".join(filter(None, (given.paste.name, given.ball.name if given.ball else "")))
    return Report(
        title,
        " ".join([*(f"Stop: {verdict.reason}." for verdict in stops), _finding(found)]),
        tuple(sections),
        found.verdicts,
        defaults_told(given.figures),
        _cautions(found),
        _figures(found),
    )


def _finding(found: JointAnswer) -> str:
    given = found.asked
    if found.onset_c is None:
        whys = sorted({zone.why for own in found.zones.values() for zone in own if zone.why})
        mixed = (*found.reworked, *([found.shares] if found.shares else []))
        if not whys and mixed and all(own.onset_c is not None for own in mixed):
            whys = [NO_MASS]
        told = f"Where it begins to melt is not computed{': ' + '; '.join(whys) if whys else ''}."
    else:
        low, high = (round(end, 1) for end in found.onset_c)
        told = f"The joint begins to melt at {spread(None, low, high)} degC{_residue(found, low)}."
    mixtures = [("paste", found.shares)] if found.shares else []
    mixtures += [(given.rework.name, own) for own in found.reworked if given.rework and len(own.points) > 1]
    # Of a touch-up, or beside a finish of unknown mass, the span over the share of paste is not that of the joint.
    only = mixtures[:1] if not (found.shares and (found.reworked or found.onset_c is None)) else []
    for name, own in only:
        if own.last_liquid_c is not None:
            at = ends(own.last_liquid_c, "degC", 3)
            told += f" Whatever the share of {name}, the last liquid freezes at {at}"
            counts = own.liquid_counts_from_share
            told += f"; it counts from {percent(counts)} % {name} on." if counts is not None else "."
    service = next((verdict for verdict in found.verdicts if verdict.rule == "service_heat"), None)
    if service is not None and service.outcome is not Outcome.FAIL:
        word = {Outcome.PASS: "holds"}.get(service.outcome, "is open")
        margin = f", {service.margin_text} to the alert" if service.margin_text else ""
        told += f" Service at {figure(given.figures['service_c'].value)} degC {word}{margin}."
    return told


def _residue(found: JointAnswer, onset_c: float) -> str:
    """Return what is liquid below the onset although too little of it to count, coolest first; empty where nothing."""
    rules = policy().remelt
    mixed = [own.points for own in found.reworked if len(own.points) == 1]
    meltings = [zone.melting for own in found.zones.values() for zone in own]
    meltings += [point.melting.melting for points in mixed for point in points]
    held = [
        (melting.last_liquid_c, melting.first_liquid_mass * 100)
        for melting in meltings
        if melting is not None and melting.last_liquid_c is not None and melting.first_liquid_mass is not None
        if rules.trace_mass_percent <= melting.first_liquid_mass * 100 < rules.mass_fraction_percent
        if melting.last_liquid_c + melting.half_width_k < onset_c
    ]
    if not held:
        return ""
    at_c, percent_mass = min(held)
    return (
        f", but for a residue: {figure(percent_mass, 2)} % by mass melts near {figure(at_c, 3)} degC, as frozen, under"
        f" the {rules.mass_fraction_percent:g} % that count as remelting"
    )


def _cautions(found: JointAnswer) -> tuple[str, ...]:
    given, told = found.asked, []
    if not given.finish_stated:
        told.append(
            "The finish was not stated: bare copper is taken, which brings nothing. Lead or gold may come with it."
        )
    if UNKNOWN in (given.finish, given.package_finish):
        told.append(
            "A finish is unknown: both ends are told, copper that brings nothing and tin-lead; gold is not in them."
        )
    if found.reworked or found.shares is not None:
        told.append(
            "The share is not known or not even: the place that melts first judges, never a mean of two melting points."
        )
    zones = [zone.composition for own in found.zones.values() for zone in own]
    mixtures = [
        point.melting.composition
        for own in (*found.reworked, *([found.shares] if found.shares else []))
        for point in own.points
    ]
    bismuth = any(alloy.wt("Bi") for alloy in (*zones, *mixtures))
    if bismuth:
        told.append(NO_LEAD)
    bounds = [case.bound for case in found.cases if case.bound is not None]
    if any(bound.span is None for bound in bounds):
        told.append("How much of the ball dissolves is not computed: both ends are told, nothing and all of it.")
    elif bounds:
        told.append(
            "The dissolved share is an upper bound at equilibrium; less may dissolve. Measure it, then state it."
        )
    if any(case.made.dissolved < 1 for case in found.cases) and given.ball is not None:
        told.append(BALL_STAYS)
    if given.ball is not None or given.rework is not None:
        told.append(VERDICT_ONLY)
    return tuple(told)


def _contributors(cases: Sequence[JointCase]) -> Section:
    rows = []
    names = dict.fromkeys(entry.name for case in cases for entry in case.made.contributors)
    for name in names:
        own = [
            (float(entry.mass_mg), float(100 * entry.mass_mg / mass_of(case.made.contributors)), str(entry.composition))
            for case in cases
            for entry in case.made.contributors
            if entry.name == name
        ]
        somewhere = "" if len(own) == len(cases) else " in some cases"
        rows.append(
            {
                "contributor": name + somewhere,
                "composition, wt%": "; ".join(dict.fromkeys(entry[2] for entry in own)),
                "metal, mg": ends([entry[0] for entry in own], digits=3),
                "% of the joint": ends([entry[1] for entry in own], digits=3),
            }
        )
    return Section(MADE_OF, tuple(sorted(rows, key=lambda row: row["contributor"] != "paste")))


def _composition(found: JointAnswer) -> Section:
    zones = {name: composition_span([zone.composition for zone in own]) for name, own in found.zones.items()}
    elements = dict.fromkeys(element for own in zones.values() for element in own)
    rows = [
        {"element": element, **{name: ends(own.get(element, (0.0, 0.0)), digits=3) for name, own in zones.items()}}
        for element in elements
    ]
    shares = [100 * case.made.zone_share for case in found.cases]
    notes = (f"The mixed zone is {ends(shares, digits=3)} % of the joint by mass.",) if ZONE in zones else ()
    return Section(HOLDS, tuple(rows), notes)


def _each(zones: Sequence[ZoneMelting], pick: Callable[[Melting], float | None], digits: int = 4) -> str:
    return ends([None if zone.melting is None else pick(zone.melting) for zone in zones], digits=digits)


def _melts(found: JointAnswer) -> Section:
    rows, notes = [], []
    bare: dict[str, list[ZoneMelting]] = {}
    for case in found.cases:
        for zone in case.without:
            bare.setdefault(zone.name, []).append(zone)
    for name, own in (found.zones | bare).items():
        grades = dict.fromkeys(zone.melting.grade if zone.melting else "not computed" for zone in own)
        onsets = [end for zone in own for end in (zone.onset_c or (None,))]
        rows.append(
            {
                "zone": name,
                "solidus, degC": _each(own, lambda m: m.solidus_c),
                "liquidus, degC": _each(own, lambda m: m.liquidus_c),
                "freezes last, degC": _each(own, lambda m: m.last_liquid_c),
                "melts first, % by mass": _each(
                    own, lambda m: None if m.first_liquid_mass is None else 100 * m.first_liquid_mass, 2
                ),
                "remelt onset, degC": ends(onsets),
                "grade": ", ".join(grades),
            }
        )
        notes += [f"{name}: {zone.why}" for zone in own if zone.why]
        notes += [f"{name}, failed: {text}" for zone in own if zone.melting for text in zone.melting.failures]
    if bare:
        notes.append("Rows without what is not covered are told, and judge nothing.")
    if ZONE in found.zones:
        notes.append("The mean of the whole joint is told for the law; the zones melt.")
    told = [case.told for case in found.cases if case.told]
    if len(told) > 1:
        notes.append(f"Cases: {'; '.join(told)}.")
    return Section(MELTS, tuple(rows), tuple(dict.fromkeys(notes)))


def _dissolved(found: JointAnswer) -> Section:
    given = found.asked.figures["dissolved_share"]
    if given.value is not None:
        return Section(DISSOLVED, ({"by": "stated", "share of its mass": figure(given.value)},))
    bounds = [case.bound for case in found.cases if case.bound is not None]
    if not bounds:
        return Section(DISSOLVED, ({"by": "nobody: no peak is known", "share of its mass": "0 to 1"},))
    readings = (
        ("melting engine", [bound.by_engine for bound in bounds]),
        ("straight line", [bound.by_line for bound in bounds]),
        ("linear fit, from memory", [bound.by_fit for bound in bounds]),
    )
    rows = tuple(
        {"by": f"upper bound, {name}", "share of its mass": ends(values, digits=2)} for name, values in readings
    )
    notes = dict.fromkeys(note for bound in bounds for note in bound.notes)
    return Section(DISSOLVED, rows, (f"At a peak of {figure(bounds[0].peak_c)} degC.", *notes))


def _powders(found: PowderBlend) -> Section:
    onset = NOT_KNOWN if found.remelt_onset_c is None else spread(None, *found.remelt_onset_c)
    rows = (
        {"temperature": "process liquidus: the powder that melts first", "degC": figure(found.process_liquidus_c)},
        {"temperature": "equilibrium liquidus: all of it", "degC": figure(found.equilibrium_liquidus_c)},
        {"temperature": "remelt onset of the whole, as frozen", "degC": onset},
    )
    return Section(POWDERS, rows, (f"Together {found.composition} wt%.",))


def _over_shares(title: str, found: Rework, name: str) -> Section:
    rows = []
    for point in found.points:
        melting, onset = point.melting.melting, point.melting.onset_c
        rows.append(
            {
                f"% {name} by mass": figure(100 * point.share),
                "solidus, degC": figure(melting.solidus_c if melting else None),
                "liquidus, degC": figure(melting.liquidus_c if melting else None),
                "freezes last, degC": figure(melting.last_liquid_c if melting else None),
                "melts first, % by mass": percent(melting.first_liquid_mass if melting else None),
                "remelt onset, degC": NOT_KNOWN if onset is None else spread(None, *onset),
            }
        )
    why = dict.fromkeys(point.melting.why for point in found.points if point.melting.why)
    limit = policy().remelt.mass_fraction_percent
    return Section(title, tuple(rows), (f"The last liquid counts as remelting from {limit:g} % by mass on.", *why))


def _size(cases: Sequence[JointCase]) -> Section:
    rows: list[Row] = []
    for name in ("paste", "ball"):
        own = [(_volume(case, name)) for case in cases]
        if any(own):
            rows.append({"figure": f"metal of the {name}", "value": ends(own, "mm3", 3)})
    paste, ball = [_volume(case, "paste") for case in cases], [_volume(case, "ball") for case in cases]
    if all(ball):
        rows.append(
            {
                "figure": "paste over ball",
                "value": ends(
                    [float(paste_ball_ratio(p, b)) for p, b in zip(paste, ball, strict=True)], "by volume", 2
                ),
            }
        )
    heights = [end for case in cases for end in (case.height_mm or (None,))]
    rows.append({"figure": "height of the joint", "value": ends(heights, "mm", 3)})
    solid = any(case.made.core is not None for case in cases)
    note = ("Between the joint fully collapsed and the ball standing on its pad; nearer the second.",) if solid else ()
    return Section(SIZE, tuple(rows), note)


def _volume(case: JointCase, name: str) -> float:
    return case.volumes_mm3.get(name, 0.0)


def joint_bars(found: JointAnswer) -> tuple[Bar, ...]:
    """Return the zones for a chart: mixed zone and ball where the joint is not all molten, else the whole; mixtures."""
    zones = {name: own for name, own in found.zones.items() if name != WHOLE or ZONE not in found.zones}
    bars = [_bar(name, own) for name, own in zones.items()]
    for title, own in ((SHARES.lower(), found.shares), *((REWORK.lower(), each) for each in found.reworked)):
        if own is not None:
            bars.append(_bar(title, [point.melting for point in own.points]))
    return tuple(bars)


def _bar(name: str, zones: Sequence[ZoneMelting]) -> Bar:
    onset = numbers([end for zone in zones for end in (zone.onset_c or (None,))])
    solidus = numbers([zone.melting.solidus_c if zone.melting else None for zone in zones])
    liquidus = numbers([zone.melting.liquidus_c if zone.melting else None for zone in zones])
    told = "not computed" if onset is None else ends(onset, digits=3)
    low, high = onset or (None, None)
    return Bar(name, low, high, solidus[0] if solidus else None, liquidus[1] if liquidus else None, told)


def _figures(found: JointAnswer) -> dict[str, Any]:
    given = found.asked
    stated = {
        name: {"value": each.value, "basis": each.why or ("stated" if each.value is not None else UNKNOWN)}
        for name, each in given.figures.items()
    }
    return {
        "paste": given.paste.name,
        "ball": given.ball.name if given.ball else None,
        "finish": given.finish,
        "given": stated,
        "remelt_onset_c": None if found.onset_c is None else list(found.onset_c),
        "cases": [_plain_case(case) for case in found.cases],
        "powders": None if found.powders is None else {
            "process_liquidus_c": found.powders.process_liquidus_c,
            "equilibrium_liquidus_c": found.powders.equilibrium_liquidus_c,
            "remelt_onset_c": found.powders.remelt_onset_c,
        },
        "over_share_of_paste": None if found.shares is None else _plain_shares(found.shares),
        "rework": [_plain_shares(own) for own in found.reworked],
    }  # fmt: skip


def _plain_case(case: JointCase) -> dict[str, Any]:
    return {
        "case": case.told,
        "contributors_mg": {entry.name: float(entry.mass_mg) for entry in case.made.contributors},
        "dissolved_share": case.made.dissolved,
        "bound": None if case.bound is None else {
            "engine": case.bound.by_engine, "line": case.bound.by_line, "fit": case.bound.by_fit
        },
        "zone_share": case.made.zone_share,
        "height_mm": case.height_mm,
        "zones": [_plain_zone(zone) for zone in case.melting.zones],
    }  # fmt: skip


def _plain_zone(zone: ZoneMelting) -> dict[str, Any]:
    found = zone.melting
    return {
        "zone": zone.name,
        "composition": {element: float(wt) for element, wt in zone.composition.parts},
        "solidus_c": found.solidus_c if found else None,
        "liquidus_c": found.liquidus_c if found else None,
        "last_liquid_c": found.last_liquid_c if found else None,
        "first_liquid_mass": found.first_liquid_mass if found else None,
        "remelt_onset_c": zone.onset_c,
        "grade": found.grade if found else None,
        "why": zone.why,
    }


def _plain_shares(found: Rework) -> dict[str, Any]:
    return {
        "onset_c": found.onset_c,
        "last_liquid_c": found.last_liquid_c,
        "counts_from_share": found.liquid_counts_from_share,
        "points": [{"share": point.share, **_plain_zone(point.melting)} for point in found.points],
    }
