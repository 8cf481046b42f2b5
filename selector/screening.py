"""All hard limits brought together: one row of verdicts for every alloy. Hard limits are never traded."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from selector.brief import Brief, changed
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
    """

    alloy: Alloy
    onset: Evidence
    ductility: tuple[str, str, str]
    verdicts: tuple[Verdict, ...]

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
    verdicts = (
        reflow.process_peak(brief, liquidus),
        service.service_heat(brief, onset, lambda temperature_c: liquid_as_frozen(alloy, temperature_c)),
        duty.class_and_cycling(brief, alloy),
        contamination.lead_with_bismuth(brief, alloy),
        _mixed_joint(brief, alloy, catalogue),
        duty.corrosion(brief, alloy),
        *demands.law(brief, alloy),
        *demands.bans(brief, alloy),
        supply.form(brief, alloy),
        supply.route(brief),
    )
    # Shock that the user does not know of is not taken for none.
    shock = brief.service.shock is not False
    ductility = ductility_classes(alloy.of("elongation_percent"), float(alloy.composition.wt("Bi")), shock)
    return Screened(alloy, onset, ductility, verdicts)


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


def _mixed_joint(brief: Brief, alloy: Alloy, catalogue: Catalogue) -> Verdict:
    """Return whether joints with balls of another alloy stand the service: the finished joint rules, not the paste."""
    foreign = [
        (part, ball) for part, ball in contamination.balls(brief, catalogue) if ball.composition != alloy.composition
    ]
    judged = [
        replace(verdict, rule=BALL_RULE, reason=f"balls of {ball.id} at {part.name}: {verdict.reason}")
        for part, ball in foreign
        for verdict in (service.service_heat(brief, joint_onset(alloy, ball)), duty.class_and_cycling(brief, ball))
    ]
    judged += contamination.balls_not_known(brief, catalogue, BALL_RULE)
    against = [verdict for verdict in judged if verdict.outcome in (Outcome.FAIL, Outcome.UNKNOWN)]
    if against:
        found = worst(against)
        edits = () if any(not verdict.edits for verdict in against) else strongest(e for v in against for e in v.edits)
        thresholds = dict.fromkeys(verdict.threshold for verdict in against if verdict.threshold)
        threshold = "; ".join(thresholds) if found.outcome is Outcome.UNKNOWN else ""
        return replace(found, edits=edits, threshold=threshold)
    if not foreign:
        return Verdict(BALL_RULE, Outcome.NOT_APPLICABLE, "no balls of another alloy", "the brief's parts")
    peak = reflow.peak_c(brief, alloy.of("liquidus_c"))
    watched = contamination.ball_cautions(brief, alloy, None if peak is None else peak[1], catalogue)
    cautions = dict.fromkeys([*watched, *(caution for verdict in judged for caution in verdict.cautions)])
    reason = "joints with balls of another alloy stand the service"
    return Verdict(BALL_RULE, Outcome.PASS, reason, "practice", cautions=tuple(cautions))
