"""A part upside down while its joints are liquid: does surface tension hold it? The rules conflict, so both are told.

By area: mass <= k A, k 30 g per square inch or 5 g/cm2 of wetted area. By edge: mass <= e P, e 4 mg per mm of joint
edge for design, where joints were pulled off at 9 to 13. For a 12.5 mm square pad the first allows 36 times the second.
No rule is settled for large pads, and none stands in for a wetted area that is not known.
Sources: public discussions and a machine maker's note; `data/rules/practice.toml`.
"""

from dataclasses import dataclass

from selector.durability.validity import Bound, hold
from selector.figures import figure
from selector.policy import policy
from selector.units import g_cm2
from selector.verdict import Measured, Outcome, Verdict

RULE = "second_side"
MM2_PER_CM2 = 100.0


@dataclass(frozen=True)
class Needed:
    """What each rule asks for a mass: wetted area, mm2, and joint edge, mm, each also with the safety."""

    area_mm2: float
    area_other_rule_mm2: float
    area_with_safety_mm2: float
    edge_mm: float
    safety: float


@dataclass(frozen=True)
class Allowed:
    """The heaviest part, g, that each rule lets hang; None where its input is not known."""

    by_area_g: float | None
    by_edge_g: float | None

    @property
    def conflict(self) -> float | None:
        """Return how many times the area rule allows what the edge rule does."""
        return None if self.by_area_g is None or not self.by_edge_g else self.by_area_g / self.by_edge_g


def needed(mass_g: float) -> Needed:
    """Return the wetted area and edge that each rule asks for.

    Raises
    ------
    InputError
        A mass not above 0.
    """
    hold("the part upside down", Bound("mass_g", mass_g, 0, 10_000, "g", above=True))
    rules = policy().second_side
    area = mass_g / g_cm2(rules.g_per_in2) * MM2_PER_CM2
    other = mass_g / rules.g_per_cm2 * MM2_PER_CM2
    return Needed(area, other, area * rules.safety, mass_g * 1000 / rules.edge_design_mg_mm, rules.safety)


def allowed(wetted_area_mm2: float | None = None, edge_mm: float | None = None) -> Allowed:
    """Return the heaviest part by each rule.

    Parameters
    ----------
    wetted_area_mm2 : float, optional
        Of all joints together.
    edge_mm : float, optional
        Outline of all joints together.

    Raises
    ------
    InputError
        An area or edge below 0.
    """
    hold("the part upside down", *_known("wetted_area_mm2", wetted_area_mm2), *_known("edge_mm", edge_mm))
    rules = policy().second_side
    by_area = None if wetted_area_mm2 is None else wetted_area_mm2 / MM2_PER_CM2 * g_cm2(rules.g_per_in2)
    return Allowed(by_area, None if edge_mm is None else edge_mm * rules.edge_design_mg_mm / 1000)


def _known(name: str, value: float | None) -> tuple[Bound, ...]:
    return () if value is None else (Bound(name, value, 0, 1e6),)


def second_side(
    mass_g: float,
    wetted_area_mm2: float | None = None,
    edge_mm: float | None = None,
    remelt_margin_k: float | None = None,
) -> Verdict:
    """Return whether a part may hang under the board in the second pass.

    Parameters
    ----------
    mass_g : float
    wetted_area_mm2 : float or None
        Of all joints; never guessed from the outline of the body.
    edge_mm : float or None
        Outline of all joints together.
    remelt_margin_k : float or None
        Lower onset of the first side less the hottest peak of the second; with enough of it weight does not matter.

    Returns
    -------
    Verdict
        Unknown where the area is not, or where the rules contradict each other.

    Raises
    ------
    InputError
        A mass, area or edge that cannot be.
    """
    rules = policy().second_side
    ask = needed(mass_g)
    measured = Measured.exactly(mass_g, "g")
    if remelt_margin_k is not None:
        hold("the part upside down", Bound("remelt_margin_k", remelt_margin_k, -1000, 1500, "K"))
        if remelt_margin_k >= policy().steps.margin_k:
            reason = f"the first side stays solid, by {figure(remelt_margin_k)} K: weight does not matter"
            return Verdict(RULE, Outcome.PASS, reason, policy().steps.source, measured=measured)
    held = allowed(wetted_area_mm2, edge_mm)
    need = (
        f"holds with {ask.area_mm2:.0f} mm2 wetted or more ({ask.area_with_safety_mm2:.0f} with a safety of"
        f" {rules.safety:g}; {ask.area_other_rule_mm2:.0f} by another rule) and {ask.edge_mm:.0f} mm of joint edge"
    )
    pulled = f"{rules.edge_pull_off_low_mg_mm:g} to {rules.edge_pull_off_high_mg_mm:g} mg per mm of edge"
    cautions = (
        "no rule is settled for large pads; glue, or a cooler alloy for this side, settles it",
        f"joints were pulled off at {pulled}; {rules.edge_design_mg_mm:g} is the design figure of that source",
    )
    if held.by_area_g is None or held.by_edge_g is None:
        missing = [n for n, v in (("wetted area", held.by_area_g), ("joint edge", held.by_edge_g)) if v is None]
        short = held.by_area_g is not None and mass_g > held.by_area_g
        outcome = Outcome.FAIL if short else Outcome.UNKNOWN
        reason = (
            f"too heavy for {wetted_area_mm2:g} mm2 wetted" if short else f"the {' and the '.join(missing)} are missing"
        )
        if len(missing) == 1 and not short:
            reason = f"the {missing[0]} is missing"
        return Verdict(
            RULE,
            outcome,
            reason,
            rules.source,
            measured,
            held.by_area_g,
            None if held.by_area_g is None else held.by_area_g - mass_g,
            need if outcome is Outcome.UNKNOWN else "",
            cautions=cautions,
        )
    light, heavy = mass_g <= min(held.by_area_g, held.by_edge_g), mass_g > max(held.by_area_g, held.by_edge_g)
    outcome = Outcome.PASS if light else Outcome.FAIL if heavy else Outcome.UNKNOWN
    told = f"the area rule allows {figure(held.by_area_g, 3)} g, the edge rule {figure(held.by_edge_g, 3)} g"
    return Verdict(
        RULE,
        outcome,
        told if outcome is not Outcome.UNKNOWN else f"the rules are in conflict: {told}",
        rules.source,
        measured,
        min(held.by_area_g, held.by_edge_g),
        min(held.by_area_g, held.by_edge_g) - mass_g,
        need if outcome is Outcome.UNKNOWN else "",
        cautions=cautions,
    )
