"""To which family of published laws an alloy belongs; most belong to none, and that is the answer.

Common practice: a law holds for the alloy it was measured on and its near kin, not for its neighbours in a table.
"""

from selector.composition import Composition

TIN_LEAD = "tin-lead"
TIN_SILVER_COPPER = "tin-silver-copper"
TIN_SILVER = "tin-silver"
PURE_INDIUM = "pure indium"
BISMUTH = "bismuth"
INDIUM = "indium"
MIXED = "mixed joint"
OTHER = "other"
TRACE_WT = 0.3


def family_of(alloy: Composition, is_mixed: bool = False) -> str:
    """Return the family whose laws hold for an alloy.

    Parameters
    ----------
    alloy : Composition
    is_mixed : bool
        A joint of two alloys, or one that reacted to its end: never of a family, whatever its mean composition.

    Returns
    -------
    str
        `tin-lead` is near the eutectic only; `bismuth` and `indium` hold more than a trace of either.
    """
    if is_mixed:
        return MIXED
    share = {element: float(wt) for element, wt in alloy.parts}
    tin, lead, silver, copper = (share.get(element, 0.0) for element in ("Sn", "Pb", "Ag", "Cu"))
    rest = sum(share.values()) - tin - lead - silver - copper
    if share.get("In", 0.0) >= 99:
        return PURE_INDIUM
    if share.get("Bi", 0.0) > TRACE_WT:
        return BISMUTH
    if share.get("In", 0.0) > TRACE_WT:
        return INDIUM
    if rest > TRACE_WT:
        return OTHER
    if 58 <= tin <= 65 and silver + copper <= TRACE_WT:
        return TIN_LEAD
    if lead > 0.1 or tin < 90:
        return OTHER
    if 0.8 <= silver <= 4.1 and 0.3 <= copper <= 1.2:
        return TIN_SILVER_COPPER
    return TIN_SILVER if 3.0 <= silver <= 4.1 and copper < TRACE_WT else OTHER
