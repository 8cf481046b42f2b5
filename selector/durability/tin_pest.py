"""Tin pest: white tin turning to grey powder in the cold. A caution, since no temperature is known for any alloy.

It is a chance of nucleation that trace elements set: one lot of Sn-0.7Cu crumbled at -18 degC and another did not.
About 0.5 wt% bismuth or antimony, or 5 wt% lead, inhibits it. Field failures of boards are hardly recorded.
Sources: papers of 2009 and 2010 as restated in a public discussion; thresholds in `data/rules/practice.toml`.
"""

from selector.composition import Composition
from selector.durability.validity import Bound, hold
from selector.policy import policy
from selector.verdict import Measured, Outcome, Verdict

RULE = "tin_pest"
TOUGHNESS = "impact in the cold is another question: tin-rich solder loses toughness"


def tin_pest(alloy: Composition, coldest_c: float | None) -> Verdict:
    """Return what is to be watched where a tin-rich alloy is kept cold; never a fail.

    Parameters
    ----------
    alloy : Composition
    coldest_c : float or None
        Coldest service, storage or transport; None where not known.

    Raises
    ------
    InputError
        A temperature that cannot be.
    """
    rules = policy().tin_pest
    if coldest_c is not None:
        hold("the cold", Bound("coldest_c", coldest_c, -273.15, 300, "degC"))
    share = {element: float(wt) for element, wt in alloy.parts}
    tin = share.get("Sn", 0.0)
    measured = Measured.exactly(tin, "wt% Sn")
    if tin < 50 or (tin < rules.tin_from_wt and share.get("Pb", 0.0) < rules.inhibited_pb_wt):
        return Verdict(RULE, Outcome.NOT_APPLICABLE, "not a tin-rich alloy", rules.source, measured=measured)
    if coldest_c is not None and coldest_c >= rules.below_c:
        reason = f"never colder than {rules.below_c:g} degC, above which white tin is the stable one"
        return Verdict(RULE, Outcome.NOT_APPLICABLE, reason, rules.source, measured=measured)
    inhibited = [
        f"{share[element]:g} wt% {element}"
        for element, least in (
            ("Bi", rules.inhibited_bi_sb_wt),
            ("Sb", rules.inhibited_bi_sb_wt),
            ("Pb", rules.inhibited_pb_wt),
        )
        if share.get(element, 0.0) >= least
    ]
    if inhibited:
        reason = f"{' and '.join(inhibited)} inhibits tin pest"
        return Verdict(RULE, Outcome.PASS, reason, rules.source, measured=measured, cautions=(TOUGHNESS,))
    others = sum(wt for element, wt in share.items() if element not in ("Sn", "Cu"))
    doubt = "no safe temperature is known for any alloy; neither alarm nor all-clear"
    if share.get("Ag", 0.0) >= rules.silver_alloyed_wt:
        told = "open for tin-silver and tin-silver-copper: field failures are hardly recorded"
    elif others < rules.dopant_wt:
        told = "undoped tin or tin-copper kept in the cold: prefer a grade with 0.5 wt% bismuth or antimony"
    else:
        told = "too little bismuth, antimony or lead to count on"
    if coldest_c is None:
        told = f"where it is kept colder than {rules.below_c:g} degC: {told}"
    reason = "may turn to powder in the cold; a chance that trace elements set"
    cautions = (told, doubt, TOUGHNESS)
    return Verdict(RULE, Outcome.PASS, reason, rules.source, measured=measured, cautions=cautions)
