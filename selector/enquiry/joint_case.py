"""How one joint melts: every corner of what is not known, and the span over them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product

import numpy as np

from selector.brief import Brief, Service
from selector.catalogue import Catalogue
from selector.catalogue.derived import mixed_density
from selector.catalogue.evidence import Evidence
from selector.composition import Composition, from_mapping
from selector.durability.service import service_heat
from selector.enquiry.joint_asked import JointAsked
from selector.enquiry.joint_meetings import met_by_content, powders_apart, worst_of
from selector.enquiry.joint_unsized import (
    PASTE,
    Corner,
    brings_others,
    finishes,
    lawful_corners,
    mixtures,
    paste_of,
)
from selector.enquiry.joint_unsized import corners as unsized_corners
from selector.enquiry.onset import NO_LIMIT, outwards
from selector.enquiry.report import numbers
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN
from selector.joint.blends import PowderBlend, Rework, powder_blend
from selector.joint.blends import rework as touched_up
from selector.joint.contributors import Contributor
from selector.joint.finish import gold_in_joint
from selector.joint.geometry import (
    ball_volume_mm3,
    deposit_volume_mm3,
    hybrid_height_mm,
    joint_height_mm,
    mass_mg,
    metal_volume_share,
    round_volume_mm3,
)
from selector.joint.melted import WHOLE, JointMelting, ZoneMelting, joint_melting, zones_melting
from selector.joint.mixed import MixedJoint, MixingBound, mixed_joint, mixing_bound
from selector.joint.stops import Meeting, meetings
from selector.melting.coverage import INDICATIVE, systems
from selector.melting.mixing import blend
from selector.melting.store import melting_of
from selector.policy import policy
from selector.units import exact
from selector.verdict import Outcome, Verdict, worst


@dataclass(frozen=True)
class JointCase:
    """One corner of what is not known.

    Parameters
    ----------
    told : str
        What was taken for it; empty where everything is known.
    made : MixedJoint
    melting : JointMelting
    met : tuple of Meeting
    second : float
        Share of the second powder in the paste, by mass.
    gold : Verdict
    height_mm : tuple of float or None
        Ends; None where the pad is not known.
    bound : MixingBound or None
        Where the dissolved share is not measured.
    volumes_mm3 : mapping
        Metal of paste and ball.
    without : tuple of ZoneMelting
        Zones that are not computed, as they would melt without the elements that are not covered: told, never judged.
    """

    told: str
    made: MixedJoint
    melting: JointMelting
    met: tuple[Meeting, ...]
    second: float
    gold: Verdict
    height_mm: tuple[float, float] | None
    bound: MixingBound | None
    volumes_mm3: Mapping[str, float]
    without: tuple[ZoneMelting, ...] = ()


@dataclass(frozen=True)
class JointAnswer:
    """What was found of a joint.

    Parameters
    ----------
    asked : JointAsked
        With the peak that was taken.
    cases : tuple of JointCase
        Empty where nobody knows how much paste meets how much ball.
    powders : PowderBlend or None
    shares : Rework or None
        Over the share of paste, where that is what nobody knows.
    reworked : tuple of Rework
        Over the share of the rework alloy, or at the one that is known; one for each joint that may be there.
    reworked_from : tuple of str
        Which joint that is.
    onset_c : tuple of float or None
        Span of the remelt onset over all of it, of the zone that melts first.
    verdicts : tuple of Verdict
    corners : tuple of (str, tuple of Contributor)
        Where the share of paste is not known: all that melts in, at the least and the most of it.
    """

    asked: JointAsked
    cases: tuple[JointCase, ...]
    powders: PowderBlend | None
    shares: Rework | None
    reworked: tuple[Rework, ...]
    onset_c: tuple[float, float] | None
    verdicts: tuple[Verdict, ...]
    reworked_from: tuple[str, ...] = ()
    corners: tuple[Corner, ...] = ()

    @property
    def zones(self) -> dict[str, list[ZoneMelting]]:
        """Return every zone by name, once a case, and the mixtures of a rework under their shares."""
        found: dict[str, list[ZoneMelting]] = {}
        for case in self.cases:
            for zone in case.melting.zones:
                found.setdefault(zone.name, []).append(zone)
        return found


def answer_joint(given: JointAsked, catalogue: Catalogue) -> JointAnswer:
    """Return how a joint melts, with what stops it.

    Raises
    ------
    InputError
        A peak at which the paste is not molten; a geometry that makes no joint.
    """
    given = _with_peak(given)
    powders = None
    share = given.figures["powder_share"].value
    if given.powder is not None and share is not None:
        powders = powder_blend(given.powder.composition, given.paste.composition, exact(share))
    if given.share_unknown:
        assert given.ball is not None
        shares = touched_up(given.ball.composition, paste_of(given))
        cases: tuple[JointCase, ...] = ()
        there = mixtures(given)
        second = given.figures["powder_share"].value or 0.0
        held = [powders_apart(given, contributors, second) for contributors in unsized_corners(given, catalogue)]
        corners = lawful_corners(given, catalogue)
        is_open = brings_others(given, catalogue)
    else:
        shares, cases, corners, is_open = None, tuple(_cases(given, catalogue)), (), False
        there = [(case.told, case.made.whole) for case in cases]
        held = [powders_apart(given, case.made.contributors, case.second) for case in cases]
    # Cases that differ in what dissolved alone are one joint once it is molten.
    wholes: dict[Composition, str] = {}
    for told, whole in there:
        wholes.setdefault(whole, told)
    reworked = {} if given.rework is None else {told: _reworked(given, whole) for whole, told in wholes.items()}
    spans = [*([shares] if shares and not reworked else []), *reworked.values()]
    # A touch-up takes the place of the joint that was there.
    standing = () if reworked else cases
    onset = None if is_open else _span([case.melting for case in standing], spans)
    met = (
        worst_of([case.met for case in cases])
        if shares is None and given.rework is None
        else met_by_content(given, held)
    )
    verdicts = [*met, *_gold(cases), *_service(given, standing, spans, is_open)]
    return JointAnswer(
        given,
        cases,
        powders,
        shares,
        tuple(reworked.values()),
        onset,
        tuple(verdicts),
        tuple(reworked),
        corners,
    )


def _with_peak(given: JointAsked) -> JointAsked:
    """Return the same with a peak where none was stated: the paste's computed liquidus and the usual superheat."""
    peak = given.figures["peak_c"]
    if given.ball is None or peak.value is not None or given.figures["dissolved_share"].value is not None:
        return given
    if peak.why == UNKNOWN:
        return given
    try:
        liquidus_c = melting_of([given.paste.composition], full=False)[0].liquidus_c
    except InputError:
        return given
    if liquidus_c is None:
        return given
    superheat_k = policy().window.superheat_k
    why = f"default: {superheat_k:g} K over the computed liquidus"
    return replace(
        given, figures={**given.figures, "peak_c": replace(peak, value=round(liquidus_c + superheat_k), why=why)}
    )


def _pastes(given: JointAsked) -> Iterator[tuple[str, Composition, float]]:
    if given.powder is None:
        yield "", given.paste.composition, 0.0
        return
    for share in given.figures["powder_share"].ends or ():
        told = f"{share:g} of the second powder" if given.figures["powder_share"].value is None else ""
        yield told, blend(given.paste.composition, given.powder.composition, exact(share)), share


def _prints(given: JointAsked) -> Iterator[tuple[str, float, float]]:
    """Return (what was taken, transfer, foil in mm, metal by mass) as the least and the most paste."""
    ends = [given.figures[name].ends or () for name in ("transfer", "foil_um", "metal_wt")]
    if not all(ends):
        name = ("transfer", "foil_um", "metal_wt")[[bool(end) for end in ends].index(False)]
        option = given.figures[name].field
        raise InputError("the print", [Fault(option.label, "is not known", allowed=option.range.text)])
    several = any(len(end) > 1 for end in ends)
    for told, pick in (("least paste", min), ("most paste", max)) if several else (("", min),):
        transfer, foil_um, metal = (pick(end) for end in ends)
        yield told, transfer * foil_um / 1000, metal / 100


def _cases(given: JointAsked, catalogue: Catalogue) -> Iterator[JointCase]:
    aperture, pad = given.figures["aperture_mm"].value, given.figures["pad_mm"].value
    assert aperture is not None
    area_mm2 = float(np.pi / 4 * (pad or aperture) ** 2)
    for (mixed_told, paste_alloy, second), (print_told, height_mm, metal), (finish_told, under, over) in product(
        _pastes(given), _prints(given), finishes(given, area_mm2, catalogue)
    ):
        density = mixed_density(paste_alloy, catalogue.elements)
        by_volume = float(metal_volume_share(metal, density))
        volume = float(deposit_volume_mm3(round_volume_mm3(aperture, 1.0), 1.0, by_volume)) * height_mm
        paste = Contributor(PASTE, paste_alloy, exact(float(mass_mg(volume, density))))
        ball, ball_mm = _ball(given, catalogue), given.figures["ball_mm"].value
        bound = _bound(given, paste, ball, under)
        told = [mixed_told, print_told, *finish_told]
        for dissolved in _dissolved(given, ball, bound):
            made = mixed_joint(paste, ball, under, over, dissolved)
            if ball is not None and given.figures["dissolved_share"].value is None:
                own = [*told, f"{dissolved:.2g} of the ball dissolved"]
            else:
                own = told
            melting = joint_melting(made)
            yield JointCase(
                ", ".join(filter(None, own)),
                made,
                melting,
                meetings(*(powders_apart(given, entries, second) for entries in (made.contributors, made.zone))),
                second,
                gold_in_joint(made.whole),
                _height(pad, ball_mm, volume, made),
                bound,
                {
                    "paste": volume,
                    **({} if ball_mm is None or ball is None else {"ball": float(ball_volume_mm3(ball_mm))}),
                },
                _without(melting),
            )


def _ball(given: JointAsked, catalogue: Catalogue) -> Contributor | None:
    ball_mm = given.figures["ball_mm"].value
    if given.ball is None or ball_mm is None:
        return None
    density = mixed_density(given.ball.composition, catalogue.elements)
    return Contributor("ball", given.ball.composition, exact(float(mass_mg(ball_volume_mm3(ball_mm), density))))


def _bound(
    given: JointAsked, paste: Contributor, ball: Contributor | None, under: Sequence[Contributor]
) -> MixingBound | None:
    peak_c = given.figures["peak_c"].value
    if ball is None or peak_c is None or given.figures["dissolved_share"].value is not None:
        return None
    try:
        return mixing_bound(paste, ball, peak_c, under)
    except InputError as error:
        label = given.figures["peak_c"].field.label
        raise InputError(error.what, [replace(fault, where=label) for fault in error.faults]) from None


def _dissolved(given: JointAsked, ball: Contributor | None, bound: MixingBound | None) -> list[float]:
    measured = given.figures["dissolved_share"].value
    if ball is None:
        return [1.0]
    if measured is not None:
        return [measured]
    found = (0.0, 1.0) if bound is None or bound.span is None else bound.span
    return sorted({round(found[0], 3), round(found[1], 3)})


def _height(
    pad_mm: float | None, ball_mm: float | None, paste_mm3: float, made: MixedJoint
) -> tuple[float, float] | None:
    if pad_mm is None:
        return None
    if ball_mm is None:
        return (float(joint_height_mm(paste_mm3, pad_mm / 2)),) * 2
    collapsed, standing = (float(end) for end in hybrid_height_mm(ball_mm, pad_mm / 2, paste_mm3))
    return (collapsed, collapsed) if made.core is None else (collapsed, standing)


def _reworked(given: JointAsked, whole: Composition) -> Rework:
    assert given.rework is not None
    share = given.figures["rework_share"].value
    new = given.rework.composition
    return touched_up(whole, new) if share is None else touched_up(whole, new, [exact(share)])


def _span(joints: Iterable[JointMelting], mixtures: Iterable[Rework]) -> tuple[float, float] | None:
    ends: list[tuple[float, float] | None] = [first_zone(found) for found in joints]
    ends += [found.onset_c for found in mixtures]
    flat = numbers([value for pair in ends if pair is not None for value in pair])
    return None if None in ends or flat is None else (flat[0], flat[1])


def _without(found: JointMelting) -> tuple[ZoneMelting, ...]:
    """Return the zones that are not computed without what the engine does not cover."""
    covered = systems().elements.covered
    zones = {}
    for zone in found.zones:
        kept = {element: wt for element, wt in zone.composition.parts if element in covered}
        left_out = [element for element in zone.composition.elements if element not in covered]
        if zone.melting is None and kept and left_out:
            total = sum(kept.values(), Fraction(0))
            rest = from_mapping({element: wt * 100 / total for element, wt in kept.items()})
            zones[f"{zone.name}, were there no {' and '.join(left_out)}"] = rest
    return zones_melting(zones).zones if zones else ()


def first_zone(found: JointMelting) -> tuple[float, float] | None:
    """Return the remelt onset of the zone that melts first; where a zone is mixed, the mean of the joint is none."""
    real = tuple(zone for zone in found.zones if zone.name != WHOLE) or found.zones
    first = JointMelting(real).first
    return None if first is None else first.onset_c


def _richest(found: Rework) -> tuple[float, float] | None:
    """Return the onset at the share that melts first: a mixture of unknown share is uneven, and that place judges."""
    known = [point.melting.onset_c for point in found.points]
    return None if None in known else min(pair for pair in known if pair is not None)


def _gold(cases: Sequence[JointCase]) -> list[Verdict]:
    found = [case.gold for case in cases if case.gold.outcome is not Outcome.NOT_APPLICABLE]
    if not found:
        return []
    verdict = worst(found)
    if verdict.outcome is Outcome.FAIL and len({each.outcome for each in found}) > 1:
        verdict = replace(verdict, outcome=Outcome.UNKNOWN, threshold="holds if the print leaves the most paste")
    return [verdict]


def _service(
    given: JointAsked, cases: Sequence[JointCase], mixtures: Sequence[Rework], is_open: bool = False
) -> list[Verdict]:
    """Return whether the joint stands its service by the remelt onset of the zone that melts first."""
    service_c = given.figures["service_c"].value
    if service_c is None:
        return []
    brief = Brief(title="one joint", ipc_class=given.ipc_class or UNKNOWN, service=Service(maximum_c=service_c))
    pairs = [*(first_zone(case.melting) for case in cases), *map(_richest, mixtures)]
    flat = numbers([value for pair in pairs if pair is not None for value in pair])
    unknown = is_open or None in pairs
    low, high = (None, None) if unknown or flat is None else outwards(flat[0], flat[1])
    evidence = Evidence("remelt_onset_c", "degC", None, low, high, "computed", "computed", "computed-melting")

    def liquid(at_c: float) -> float | None:
        zones = [zone for case in cases for zone in case.melting.zones]
        spans = [found.liquid_at(at_c) for found in mixtures]
        each = [None if zone.melting is None else zone.melting.liquid_as_frozen(at_c) for zone in zones]
        known = numbers([*each, *(None if span is None else span[1] for span in spans)])
        return None if known is None else known[1]

    found = service_heat(brief, evidence, liquid)
    judged = [zone for case in cases for zone in case.melting.zones]
    judged += [point.melting for mixture in mixtures for point in mixture.points]
    if found.outcome is Outcome.PASS and any(zone.melting and zone.melting.grade == INDICATIVE for zone in judged):
        threshold = "holds if a measurement shows that the joint keeps this remelt onset"
        found = replace(found, outcome=Outcome.UNKNOWN, reason=f"{found.reason}; {NO_LIMIT}", threshold=threshold)
    return [found]


def composition_span(alloys: Sequence[Composition]) -> dict[str, tuple[float, float]]:
    """Return the least and the most of every element over several compositions, wt%, largest first."""
    elements = {element for alloy in alloys for element in alloy.elements}
    found = {element: tuple(float(alloy.wt(element)) for alloy in alloys) for element in elements}
    return {
        element: (min(values), max(values))
        for element, values in sorted(found.items(), key=lambda entry: (-max(entry[1]), entry[0]))
    }
