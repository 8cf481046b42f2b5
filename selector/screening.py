"""All hard limits brought together: one row of verdicts for every alloy. Hard limits are never traded."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from selector.board import mixing, printing, reworked, steps, use
from selector.brief import Brief, Part, changed
from selector.catalogue import Alloy, Catalogue
from selector.catalogue.derived import ductility_classes
from selector.catalogue.evidence import Evidence
from selector.compliance import demands
from selector.durability import duty, service
from selector.errors import InputError
from selector.joint import contamination
from selector.melting.onset import joint_onset, liquid_as_frozen, remelt_onset
from selector.process import reflow, supply
from selector.verdict import Edit, Outcome, Standing, Verdict, standing, strongest, worst

BALL_RULE = "mixed_joint"
CLASS_UNIT = "class"
MOST_ROUNDS = 4


@dataclass(frozen=True)
class Screened:
    """One alloy with the verdict of every rule.

    Parameters
    ----------
    alloy : Alloy
    onset : Evidence
        Provisional remelt onset, degC.
    ductility : tuple of str
        Ductility class in this use with the best and worst that the interval allows: shock takes a bismuth-rich grade
        one band down. All "unknown" where it is.
    verdicts : tuple of Verdict
        In fixed order of rules.
    joint_onset : Evidence or None
        Lowest provisional onset of the joints that it makes on this board, balls of another alloy included.
    catalogue : Catalogue or None
        What it was screened against, for prices.
    """

    alloy: Alloy
    onset: Evidence
    ductility: tuple[str, str, str]
    verdicts: tuple[Verdict, ...]
    joint_onset: Evidence | None = None
    catalogue: Catalogue | None = field(default=None, repr=False, compare=False)

    @property
    def standing(self) -> Standing:
        """Return admitted, undecided or ruled out."""
        return standing(self.verdicts)

    @property
    def blocking(self) -> tuple[Verdict, ...]:
        """Return the failed and the open verdicts."""
        return tuple(v for v in self.verdicts if v.outcome in (Outcome.FAIL, Outcome.UNKNOWN))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Return everything that the verdicts leave to be watched, each once."""
        return tuple(dict.fromkeys(caution for verdict in self.verdicts for caution in verdict.cautions))


def screen(brief: Brief, catalogue: Catalogue, alloy: Alloy) -> Screened:
    """Return every rule's verdict for one alloy.

    Parameters
    ----------
    brief : Brief
    catalogue : Catalogue
        For the balls that the brief names.
    alloy : Alloy
    """
    onset = remelt_onset(alloy)
    liquidus = alloy.of("liquidus_c")
    first = (
        steps.peak_or_steps(brief, reflow.process_peak(brief, liquidus)),
        service.service_heat(brief, onset, lambda temperature_c: liquid_as_frozen(alloy, temperature_c)),
        duty.class_and_cycling(brief, alloy),
        contamination.lead_with_bismuth(brief, alloy),
    )
    last = (
        duty.corrosion(brief, alloy),
        *demands.law(brief, alloy),
        *demands.bans(brief, alloy),
        supply.form(brief, alloy),
        supply.route(brief),
        printing.print_screen(brief, alloy),
        printing.gold_screen(brief, alloy),
        use.current_screen(brief, alloy, onset),
        use.galvanic_screen(brief, alloy),
        use.cold_screen(brief, alloy),
        use.cure_screen(brief, onset),
        use.materials_screen(brief, alloy),
        steps.steps_screen(brief, catalogue, alloy),
    )
    # Computing a joint takes a tenth of a second: not where the alloy is out whatever its joints do.
    out = any(verdict.outcome is Outcome.FAIL for verdict in (*first, *last))
    verdicts = (*first, _mixed_joint(brief, alloy, catalogue, computed=not out), *last)
    foreign = [ball for _, ball in contamination.balls(brief, catalogue) if ball.composition != alloy.composition]
    new = reworked.rework_alloy(brief, catalogue, alloy)
    weakest = mixing.weakest_onset(onset, alloy, foreign if new is None else [*foreign, new])
    # Shock that the user does not know of is not taken for none.
    shock = brief.service.shock is not False
    ductility = ductility_classes(alloy.of("elongation_percent"), float(alloy.composition.wt("Bi")), shock)
    return Screened(alloy, onset, ductility, verdicts, weakest, catalogue)


def saving_edits(brief: Brief, catalogue: Catalogue, screened: Screened) -> tuple[Edit, ...]:
    """Return the smallest change of the brief that would admit an alloy; empty where none would.

    What failed and open rules ask is joined. Changes of kind (a finish, a seal, the class) are made first and the
    alloy is screened again, because they may ease or spare what the numbers ask. What is returned was tried.
    """
    made: list[Edit] = []
    for _ in range(MOST_ROUNDS):
        if not screened.blocking:
            return _final(made)
        if any(not verdict.edits for verdict in screened.blocking):
            return ()
        asked = strongest(edit for verdict in screened.blocking for edit in verdict.edits)
        of_kind = tuple(edit for edit in asked if edit.change is None or edit.unit == CLASS_UNIT)
        step = of_kind or asked
        made += step
        try:
            brief = changed(brief, step)
        except InputError:
            # The change lies outside what a brief can say, such as a rating of 700 degC: then none admits.
            return ()
        screened = screen(brief, catalogue, screened.alloy)
    return () if screened.blocking else _final(made)


def _final(made: Sequence[Edit]) -> tuple[Edit, ...]:
    """Return edits made in rounds with one a field: the last value, told from where the brief stood."""
    final: dict[str, Edit] = {}
    for edit in made:
        first = final.get(edit.path)
        if first is not None and isinstance(first.value, float) and isinstance(edit.value, float):
            # The figure stands at the end of the text; a name before it may hold the same digits.
            head, _, tail = first.text.rpartition(f"{first.value:g}")
            text = f"{head}{edit.value:g}{tail}"
            change = None if first.change is None else first.change + edit.value - first.value
            final[edit.path] = replace(edit, text=text if first.change is None else edit.text, change=change)
        else:
            final[edit.path] = edit
    return tuple(final.values())


def _mixed_joint(brief: Brief, alloy: Alloy, catalogue: Catalogue, computed: bool) -> Verdict:
    """Return whether joints with balls of another alloy stand the service: the finished joint rules, not the paste.

    The bound by rule decides where it passes; else the mixed zone does, where `computed` and the brief gives share and
    geometry.
    """
    foreign = [
        (part, ball) for part, ball in contamination.balls(brief, catalogue) if ball.composition != alloy.composition
    ]
    judged = [
        replace(verdict, rule=BALL_RULE, reason=f"balls of {ball.id} at {part.name}: {verdict.reason}")
        for part, ball in foreign
        for verdict in (_joint_heat(brief, alloy, part, ball, computed), duty.class_and_cycling(brief, ball))
    ]
    judged += contamination.balls_not_known(brief, catalogue, BALL_RULE)
    rework = reworked.rework_verdicts(brief, catalogue, alloy, BALL_RULE, computed)
    judged += rework
    against = [verdict for verdict in judged if verdict.outcome in (Outcome.FAIL, Outcome.UNKNOWN)]
    if against:
        found = worst(against)
        edits = () if any(not verdict.edits for verdict in against) else strongest(e for v in against for e in v.edits)
        thresholds = dict.fromkeys(verdict.threshold for verdict in against if verdict.threshold)
        threshold = "; ".join(thresholds) if found.outcome is Outcome.UNKNOWN else ""
        return replace(found, edits=edits, threshold=threshold)
    if not foreign and not rework:
        return Verdict(BALL_RULE, Outcome.NOT_APPLICABLE, "no balls of another alloy", "the brief's parts")
    peak = reflow.peak_c(brief, alloy.of("liquidus_c"))
    zones = [mixing.mixed_zone(brief, alloy, part, ball) for part, ball in foreign]
    watched = [zone.text for zone in zones if zone is not None]
    watched += contamination.ball_cautions(brief, alloy, None if peak is None else peak[1], catalogue)
    cautions = dict.fromkeys([*watched, *(caution for verdict in judged for caution in verdict.cautions)])
    told = (["with balls of another alloy"] if foreign else []) + (["reworked with another alloy"] if rework else [])
    reason = f"joints {' and '.join(told)} stand the service"
    return Verdict(BALL_RULE, Outcome.PASS, reason, "practice", cautions=tuple(cautions))


def _joint_heat(brief: Brief, alloy: Alloy, part: Part, ball: Alloy, computed: bool) -> Verdict:
    by_rule = service.service_heat(brief, joint_onset(alloy, ball))
    if not computed or by_rule.outcome is Outcome.PASS:
        return by_rule
    zone = mixing.mixed_zone(brief, alloy, part, ball)
    onset = None if zone is None else mixing.zone_onset(zone, ball)
    if zone is None or onset is None:
        return by_rule
    found = service.service_heat(brief, onset)
    return replace(found, reason=f"{found.reason}; {zone.text}")
