"""Lead met by bismuth or indium on the board, and balls that stay solid under a low-melting paste.

Bismuth, lead and tin share a eutectic near 95 to 98 degC, so a bismuth grade on a lead-bearing finish or ball can
soften in the hand. Source: common practice; `data/rules/practice.toml`.
"""

import math
from dataclasses import dataclass

from selector import composition
from selector.brief import Brief, Part
from selector.catalogue import Alloy, Catalogue
from selector.composition import Composition
from selector.fields import LEAD_FINISH, LEAD_FREE_FINISH, UNKNOWN
from selector.figures import figure
from selector.melting.computed import LEAD_WT, computed_melting
from selector.policy import policy
from selector.verdict import Edit, Measured, Outcome, Verdict, worst

RULE = "lead_with_bismuth"
LEAD_FREE_BALL = "SAC305"
BISMUTH_FINISH = "tin-bismuth"


@dataclass(frozen=True)
class LeadSource:
    """A part that brings lead into its joint, or may, with the changes that would settle it."""

    name: str
    what: str
    certain: bool
    edits: tuple[Edit, ...]


def lead_sources(brief: Brief) -> tuple[LeadSource, ...]:
    """Return the parts of the board that bring lead into a joint, or of which the user does not know."""
    found = []
    for index, part in enumerate(brief.parts):
        what = _lead_in(part)
        unknown = not what and part.lead_bearing == UNKNOWN and UNKNOWN in (part.finish, part.ball_alloy)
        if not what and not unknown:
            continue
        edits = []
        if part.finish == LEAD_FINISH:
            edits.append(_finish_edit(index, part))
        if _leaded_balls(part):
            edits.append(_ball_edit(index, part))
        if part.lead_bearing is True:
            edits.append(Edit(f"parts[{index}].lead_bearing", False, f"have {part.name} free of lead"))
        elif unknown or UNKNOWN in (part.finish, part.ball_alloy):
            edits.append(Edit(f"parts[{index}].lead_bearing", False, f"show that {part.name} brings no lead"))
        told = ", ".join(what) or "finish or balls not known"
        found.append(LeadSource(part.name, told, not unknown, tuple(edits)))
    return tuple(found)


def _finish_edit(index: int, part: Part) -> Edit:
    text = f"change the finish of {part.name} from {part.finish} to {LEAD_FREE_FINISH}"
    return Edit(f"parts[{index}].finish", LEAD_FREE_FINISH, text)


def _ball_edit(index: int, part: Part) -> Edit:
    """Return the change that settles the balls of a part; of balls that are not known only a showing can be asked."""
    if part.ball_alloy == UNKNOWN:
        return Edit(f"parts[{index}].ball_alloy", "none", f"show that {part.name} has no balls")
    return Edit(f"parts[{index}].ball_alloy", LEAD_FREE_BALL, f"have {part.name} with {LEAD_FREE_BALL} balls")


def _leaded_balls(part: Part) -> bool:
    return part.ball_alloy not in ("none", UNKNOWN) and composition.parse(part.ball_alloy).wt("Pb") > 0


def _lead_in(part: Part) -> list[str]:
    """Return everything by which a part is known to bring lead."""
    what = ["tin-lead finish"] if part.finish == LEAD_FINISH else []
    if _leaded_balls(part):
        what.append(f"{part.ball_alloy} balls")
    if not what and part.lead_bearing is True:
        what.append("marked as lead-bearing")
    return what


def lead_with_bismuth(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether bismuth or indium meets lead in a joint: of paste, ball or finish, in any pair of them."""
    return worst((_paste(brief, alloy), _ball_bismuth(brief)))


def _paste(brief: Brief, alloy: Alloy) -> Verdict:
    rules = policy().lead_with_bismuth
    source = f"{rules.source}; the brief's parts"
    own = alloy.composition
    if rules.counts("Pb", own.wt("Pb")) and not rules.is_rich(own.wt("Bi")):
        return _alloy_lead(brief, float(own.wt("Pb")), source)
    if not _reactive(own):
        return Verdict(RULE, Outcome.NOT_APPLICABLE, "too little bismuth and indium to matter", source)
    stops = rules.stops(own.wt("Bi"), own.wt("In"))
    told, unit, content = "bismuth", "wt% Bi", float(own.wt("Bi"))
    if rules.counts("In", own.wt("In")) and not rules.is_rich(own.wt("Bi")):
        told, unit, content = "indium", "wt% In", float(own.wt("In"))
    elif stops and not rules.is_rich(own.wt("Bi")):
        told, unit, content = "bismuth and indium", "wt% Bi + In", float(own.wt("Bi") + own.wt("In"))
    limit = rules.indium_counts_from_wt if told == "indium" else rules.stop_above_bismuth_wt
    measured = Measured.exactly(content, unit)
    if not brief.parts:
        return Verdict(
            RULE,
            Outcome.UNKNOWN,
            "the brief lists no parts",
            source,
            threshold="holds if no part brings lead",
            measured=measured,
        )
    sources = lead_sources(brief)
    if not sources:
        return Verdict(RULE, Outcome.PASS, "no part of the board brings lead", source, measured=measured)
    edits = tuple(edit for entry in sources for edit in entry.edits)
    places = "; ".join(f"{entry.name} ({entry.what})" for entry in sources)
    certain = any(entry.certain for entry in sources)
    if certain and stops:
        return Verdict(
            RULE,
            Outcome.FAIL,
            f"{content:g} wt% {told} meets lead at {places}: {_residue_with_lead(alloy)}",
            source,
            limit=limit,
            margin=limit - content,
            edits=edits,
            measured=measured,
        )
    threshold = "holds if no part brings lead" if not certain else "holds if the mixed joint keeps its remelt onset"
    return Verdict(
        RULE,
        Outcome.UNKNOWN,
        f"bismuth or indium meets lead at {places}: {_residue_with_lead(alloy)}",
        source,
        threshold=threshold,
        edits=edits,
        measured=measured,
    )


def _residue_with_lead(alloy: Alloy) -> str:
    """Return what melts first where lead gets into the joint: computed for 1 wt% where the table holds it."""
    row = computed_melting(alloy.composition, LEAD_WT)
    if row is None or row.last_liquid_c is None or row.first_liquid_mass is None:
        rich = policy().lead_with_bismuth.is_rich(alloy.composition.wt("Bi"))
        residue = "a residue that melts at 95 to 98 degC where tin is there too; " if rich else ""
        return f"{residue}this alloy with lead is not computed"
    share = figure(row.first_liquid_mass * 100, 2)
    return (
        f"with {LEAD_WT} wt% Pb liquid remains below {math.ceil(row.last_liquid_c)} degC, {share} % by mass, as frozen"
        f" (computed, {row.grade}, to {figure(row.half_width_k)} K)"
    )


def _ball_bismuth(brief: Brief) -> Verdict:
    """Return whether bismuth or indium balls meet lead of their own part, whatever the paste."""
    rules = policy().lead_with_bismuth
    source = f"{rules.source}; the brief's parts"
    sources = {entry.name: entry for entry in lead_sources(brief)}
    met = []
    for part in brief.parts:
        if part.name in sources and part.ball_alloy not in ("none", UNKNOWN):
            ball = composition.parse(part.ball_alloy)
            if _reactive(ball):
                stops = rules.stops(ball.wt("Bi"), ball.wt("In"))
                met.append((sources[part.name], stops, rules.is_rich(ball.wt("Bi"))))
    if not met:
        return Verdict(RULE, Outcome.NOT_APPLICABLE, "no bismuth or indium balls meet lead", source)
    certain = any(entry.certain and stops for entry, stops, _ in met)
    places = "; ".join(f"{entry.name} ({entry.what})" for entry, _, _ in met)
    reason = f"bismuth or indium balls meet lead at {places}"
    if any(rich for _, _, rich in met):
        reason += ": with bismuth a residue that melts at 95 to 98 degC"
    return Verdict(
        RULE,
        Outcome.FAIL if certain else Outcome.UNKNOWN,
        reason if certain else f"bismuth or indium balls meet lead at {places}; the joint is not computed yet",
        source,
        threshold="" if certain else "holds if that joint keeps its remelt onset",
        edits=tuple(edit for entry, _, _ in met for edit in entry.edits),
    )


def _reactive(alloy: Composition) -> bool:
    """Return whether an alloy holds bismuth or indium enough to ask about lead."""
    return policy().lead_with_bismuth.is_reactive(alloy.wt("Bi"), alloy.wt("In"))


def _alloy_lead(brief: Brief, lead: float, source: str) -> Verdict:
    """Return whether a lead-bearing alloy meets bismuth on the board."""
    rules = policy().lead_with_bismuth
    stops: list[str] = []
    watches: list[str] = []
    edits: list[Edit] = []
    for index, part in enumerate(brief.parts):
        ball = None if part.ball_alloy in ("none", UNKNOWN) else composition.parse(part.ball_alloy)
        if ball is not None and _reactive(ball):
            stopped = rules.stops(ball.wt("Bi"), ball.wt("In"))
            (stops if stopped else watches).append(f"{part.name} ({part.ball_alloy} balls)")
            edits.append(_ball_edit(index, part))
        if part.finish in (BISMUTH_FINISH, UNKNOWN) or part.ball_alloy == UNKNOWN:
            watches.append(part.name)
        if part.finish in (BISMUTH_FINISH, UNKNOWN):
            edits.append(_finish_edit(index, part))
        if part.ball_alloy == UNKNOWN:
            edits.append(_ball_edit(index, part))
    outcome = Outcome.FAIL if stops else Outcome.UNKNOWN if watches or not brief.parts else Outcome.PASS
    reason = {
        Outcome.FAIL: f"lead in the alloy meets bismuth or indium at {'; '.join(stops)}",
        Outcome.UNKNOWN: "lead in the alloy may meet bismuth or indium at "
        + ("; ".join(watches) or "parts that the brief does not list"),
        Outcome.PASS: "no part of the board brings bismuth or indium",
    }[outcome]
    return Verdict(
        RULE,
        outcome,
        reason,
        source,
        Measured.exactly(lead, "wt% Pb"),
        threshold="holds if no part brings bismuth or indium" if outcome is Outcome.UNKNOWN else "",
        edits=tuple(edits),
    )


def balls(brief: Brief, catalogue: Catalogue) -> tuple[tuple[Part, Alloy], ...]:
    """Return the parts with balls of a catalogued alloy, with that alloy."""
    return tuple(
        (part, ball)
        for part in brief.parts
        if part.ball_alloy not in ("none", UNKNOWN) and (ball := catalogue.held(part.ball_alloy)) is not None
    )


def balls_not_known(brief: Brief, catalogue: Catalogue, rule: str) -> list[Verdict]:
    """Return an open verdict for every part whose balls are not known, or not in the catalogue."""
    known_parts = {part.name for part, _ in balls(brief, catalogue)}
    found = []
    for index, part in enumerate(brief.parts):
        if part.ball_alloy == "none" or part.name in known_parts:
            continue
        unknown = part.ball_alloy == UNKNOWN
        reason = f"the balls of {part.name} are not known" if unknown else f"balls of {part.ball_alloy} at {part.name}"
        threshold = f"holds if {part.name} has no balls, or balls that stand service and process"
        edits = (_ball_edit(index, part),) if unknown else ()
        found.append(Verdict(rule, Outcome.UNKNOWN, reason, "the brief's parts", threshold=threshold, edits=edits))
    return found


def ball_cautions(brief: Brief, alloy: Alloy, peak_low_c: float | None, catalogue: Catalogue) -> tuple[str, ...]:
    """Return what to watch where the paste melts and the balls do not.

    Parameters
    ----------
    peak_low_c : float or None
        Lowest peak at the joint, degC; None where the brief does not know it.
    """
    cautions = []
    for part, ball in balls(brief, catalogue):
        melts_at = ball.of("liquidus_c").value
        if ball.composition == alloy.composition or melts_at is None or peak_low_c is None:
            continue
        if peak_low_c < melts_at:
            cautions.append(
                f"{part.name}: balls of {ball.id} ({melts_at:g} degC) stay solid at this peak; mixed joint whose"
                " bismuth- or indium-rich zone keeps the low onset; warpage is forgiven less"
            )
        else:
            cautions.append(f"{part.name}: balls of {ball.id} melt with the paste; the mixed joint is not computed yet")
    return tuple(cautions)
