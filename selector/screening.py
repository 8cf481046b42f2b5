"""All hard limits brought together: one row of verdicts for every alloy. Hard limits are never traded."""

from dataclasses import dataclass

from selector.brief import Brief
from selector.catalogue import Alloy, Catalogue
from selector.catalogue.evidence import Evidence
from selector.compliance import metals
from selector.durability import duty, service
from selector.joint import contamination
from selector.melting.onset import remelt_onset
from selector.process import reflow, supply
from selector.verdict import Edit, Outcome, Standing, Verdict, standing

BALL_RULE = "mixed_joint"


@dataclass(frozen=True)
class Screened:
    """One alloy with the verdict of every rule.

    Parameters
    ----------
    alloy : Alloy
    onset : Evidence
        Provisional remelt onset, degC.
    verdicts : tuple of Verdict
        In fixed order of rules.
    """

    alloy: Alloy
    onset: Evidence
    verdicts: tuple[Verdict, ...]

    @property
    def standing(self) -> Standing:
        """Return admitted, undecided or ruled out."""
        return standing(self.verdicts)

    @property
    def edits(self) -> tuple[Edit, ...]:
        """Return the smallest change of the brief that would admit the alloy; empty where none would.

        The change joins what every failed and every open rule asks; one rule that no field of the brief can
        settle leaves it empty.
        """
        blocking = [v for v in self.verdicts if v.outcome in (Outcome.FAIL, Outcome.UNKNOWN)]
        if any(not verdict.edits for verdict in blocking):
            return ()
        joined: dict[str, Edit] = {}
        for edit in (edit for verdict in blocking for edit in verdict.edits):
            held = joined.get(edit.path)
            # Two rules may ask the same field: the larger change serves both.
            if held is None or abs(edit.change or 0) > abs(held.change or 0):
                joined[edit.path] = edit
        return tuple(joined.values())

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
        service.service_heat(brief, onset),
        duty.class_and_cycling(brief, alloy),
        contamination.lead_with_bismuth(brief, alloy),
        _mixed_joint(brief, alloy, catalogue),
        duty.corrosion(brief, alloy),
        *metals.law(brief, alloy),
        *metals.bans(brief, alloy),
        supply.form(brief, alloy),
        supply.route(brief),
    )
    return Screened(alloy, onset, verdicts)


def _mixed_joint(brief: Brief, alloy: Alloy, catalogue: Catalogue) -> Verdict:
    """Return what balls of another alloy leave to be watched; it never rules out by itself."""
    peak = reflow.peak_c(brief, alloy.of("liquidus_c"))
    cautions = contamination.ball_cautions(brief, alloy, None if peak is None else peak[1], catalogue)
    if not cautions:
        return Verdict(BALL_RULE, Outcome.NOT_APPLICABLE, "no balls of another alloy", "the brief's parts")
    return Verdict(BALL_RULE, Outcome.PASS, "balls of another alloy share the joint", "practice", cautions=cautions)
