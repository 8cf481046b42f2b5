"""Whether an alloy is to be had in the form asked for, and whether its joining route is allowed. Common practice."""

from selector.brief import Brief, known
from selector.catalogue import Alloy
from selector.fields import UNKNOWN
from selector.policy import policy
from selector.verdict import Edit, Outcome, Verdict

FORM_RULE = "form"
ROUTE_RULE = "route"
ROUTE = "reflow"


def form(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether the alloy is commonly offered in the form that the brief asks for."""
    wanted = brief.process.form
    source = alloy.forms_source
    if wanted == UNKNOWN:
        offered_as = [name for name, state in alloy.forms.items() if state in ("common", "special")]
        threshold = (
            f"holds as {', '.join(offered_as)}" if offered_as else "holds if a maker offers it in the form wanted"
        )
        edits = tuple(Edit("process.form", name, f"take the alloy as {name}") for name in offered_as[:1])
        return Verdict(FORM_RULE, Outcome.UNKNOWN, "the form is not known", source, threshold=threshold, edits=edits)
    offered = alloy.forms[wanted]
    cautions = []
    rules = policy().powder
    powder = known(brief.process.powder_type)
    reactive = float(alloy.composition.wt("Bi") + alloy.composition.wt("In"))
    if (
        wanted == "paste"
        and powder is not None
        and powder >= rules.fine_from_type
        and reactive > rules.reactive_from_wt
    ):
        cautions.append(
            f"powder type {powder:g} of a bismuth- or indium-rich alloy oxidises fast: no finer than printing needs"
        )
    others = [name for name, state in alloy.forms.items() if state in ("common", "special") and name != wanted]
    if offered == "common":
        return Verdict(FORM_RULE, Outcome.PASS, f"{wanted} is commonly offered", source, cautions=tuple(cautions))
    if offered == "special":
        cautions.insert(0, f"{wanted} is a special order: ask for lead time and shelf life")
        return Verdict(FORM_RULE, Outcome.PASS, f"{wanted} is offered to order", source, cautions=tuple(cautions))
    edits = tuple(Edit("process.form", name, f"take the alloy as {name} instead of {wanted}") for name in others[:1])
    if offered == "no":
        return Verdict(FORM_RULE, Outcome.FAIL, f"{wanted} of this alloy is hardly made", source, edits=edits)
    threshold = f"holds if a maker offers it as {wanted}"
    return Verdict(
        FORM_RULE,
        Outcome.UNKNOWN,
        f"whether {wanted} is offered is not known",
        source,
        threshold=threshold,
        edits=edits,
    )


def route(brief: Brief) -> Verdict:
    """Return whether plain reflow or remelting of the alloy is a route that the brief allows."""
    if ROUTE in brief.process.routes:
        return Verdict(ROUTE_RULE, Outcome.PASS, f"{ROUTE} is allowed", "the brief")
    edit = Edit("process.routes", [*brief.process.routes, ROUTE], f"allow the route {ROUTE}")
    return Verdict(
        ROUTE_RULE,
        Outcome.FAIL,
        f"the brief allows {', '.join(brief.process.routes) or 'no route'}; the catalogue's figures are for {ROUTE}",
        "the brief",
        edits=(edit,),
    )
