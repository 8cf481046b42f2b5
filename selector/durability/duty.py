"""Where bismuth-rich grades are not taken (class and cycling), and where indium and zinc corrode.

Common practice; thresholds in `data/rules/practice.toml`.
"""

from selector import composition
from selector.brief import Brief, known
from selector.catalogue import Alloy, plain_name
from selector.durability.service import cooler_service, narrower_cycling
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.policy import policy
from selector.verdict import Edit, Measured, Outcome, Verdict, strongest

CLASS_RULE = "class_and_cycling"
CORROSION_RULE = "corrosion"
TINLESS = "take it on copper, nickel or silver: tin from a finish or ball brings the tin-bismuth eutectic near 139 degC"


def class_and_cycling(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether a bismuth-rich grade is taken for this class and this cycling.

    Other grades are not judged here. The service maximum guards against the eutectic of tin and bismuth near 139 degC,
    so it is asked of grades that hold tin; without tin the remelt onset judges alone. An override in the brief, with
    its reason, turns a fail into a pass with a caution that carries the reason into the record.
    """
    rules = policy().class_and_cycling
    bismuth = float(alloy.composition.wt("Bi"))
    measured = Measured.exactly(bismuth, "wt% Bi")
    if bismuth <= rules.bismuth_rich_above_wt:
        return Verdict(CLASS_RULE, Outcome.NOT_APPLICABLE, "not a bismuth-rich grade", rules.source, measured=measured)
    against: list[str] = []
    unknown: list[str] = []
    edits: list[Edit] = []
    service = brief.service
    asked = [
        ("product class", known(brief.ipc_class), rules.highest_class, ""),
        ("cyclic range", known(service.cyclic_range_k), rules.cyclic_range_max_k, "K"),
        ("service maximum", known(service.maximum_c), rules.service_max_c, "degC"),
    ]
    tinless = not alloy.composition.wt("Sn")
    cautions = (TINLESS,) if tinless else ()
    for name, value, limit, unit in asked[:-1] if tinless else asked:
        if value is None:
            unknown.append(f"{name} at most {limit:g} {unit}".strip())
        elif value > limit:
            against.append(f"{name} {value:g} {unit}".strip() + f" (at most {limit:g})")
        else:
            continue
        edits += _eased(brief, name, limit)
    override = next((entry for entry in brief.overrides if _names(entry.alloy, alloy)), None)
    settled = strongest(edits)
    if (against or unknown) and override is not None:
        caution = f"rule set aside by {override.author}: {override.reason}"
        return Verdict(
            CLASS_RULE,
            Outcome.PASS,
            "set aside by an override in the brief",
            rules.source,
            cautions=(caution,),
            measured=measured,
        )
    if against:
        reason = f"bismuth-rich grade ({bismuth:g} wt% Bi) is not taken for {', '.join(against)}"
        return Verdict(
            CLASS_RULE, Outcome.FAIL, reason, rules.source, edits=settled, measured=measured, cautions=cautions
        )
    if unknown:
        return Verdict(
            CLASS_RULE,
            Outcome.UNKNOWN,
            "class or cycling is not known",
            rules.source,
            threshold="holds with " + ", ".join(unknown),
            edits=settled,
            measured=measured,
            cautions=cautions,
        )
    what = "class and cycling" if tinless else "class, cycling and service heat"
    reason = f"{what} stay within what bismuth-rich grades ({bismuth:g} wt% Bi) are taken for"
    return Verdict(CLASS_RULE, Outcome.PASS, reason, rules.source, measured=measured, cautions=cautions)


def _eased(brief: Brief, name: str, limit: float) -> tuple[Edit, ...]:
    """Return what brings one demand to the limit, or would show that it lies there."""
    maximum, minimum = known(brief.service.maximum_c), known(brief.service.minimum_c)
    if name == "product class":
        now = known(brief.ipc_class)
        return (Edit("ipc_class", int(limit), f"take the product as class {limit:g}", now and limit - now, "class"),)
    if name == "cyclic range":
        cyclic = known(brief.service.cyclic_range_k)
        if cyclic is not None:
            return (narrower_cycling(cyclic, limit),)
        room = limit if maximum is None or minimum is None else min(limit, maximum - minimum)
        return (Edit("service.cyclic_range_k", float(room), f"show that the cyclic range is at most {room:g} K"),)
    if maximum is not None:
        return cooler_service(brief, limit)
    return (Edit("service.maximum_c", float(limit), f"show that service stays at or under {limit:g} degC"),)


def _names(text: str, alloy: Alloy) -> bool:
    if plain_name(text) in map(plain_name, (alloy.id, *alloy.names)):
        return True
    try:
        return composition.parse(text) == alloy.composition
    except InputError:
        return False


def corrosion(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether indium or zinc in the alloy stands the sweat or chloride of this use."""
    rules = policy().corrosion
    indium, zinc = (float(alloy.composition.wt(element)) for element in ("In", "Zn"))
    # The one that stands worse against its own threshold is the one that is told.
    name, content, stop = max(
        ("In", indium, rules.indium_stop_wt), ("Zn", zinc, rules.zinc_stop_wt), key=lambda entry: entry[1] / entry[2]
    )
    measured = Measured.exactly(content, f"wt% {name}")
    if indium < rules.indium_watch_wt and zinc < rules.zinc_watch_wt:
        return Verdict(
            CORROSION_RULE, Outcome.NOT_APPLICABLE, "holds neither indium nor zinc to speak of", rules.source
        )
    exposed, sealed = brief.use.sweat_or_chloride, brief.use.sealed
    if exposed is False:
        caution = "indium and zinc grades want clean joints in humid air: no chloride activator left behind"
        return Verdict(
            CORROSION_RULE,
            Outcome.PASS,
            "no sweat or chloride in this use",
            rules.source,
            cautions=(caution,),
            measured=measured,
        )
    if sealed is True:
        caution = f"holds only as long as the seal does: {name} corrodes in sweat and chloride"
        return Verdict(
            CORROSION_RULE,
            Outcome.PASS,
            "sealed from sweat and chloride",
            rules.source,
            cautions=(caution,),
            measured=measured,
        )
    seal = (Edit("use.sealed", True, "seal the joints against sweat and chloride"),)
    stopped = indium >= rules.indium_stop_wt or zinc >= rules.zinc_stop_wt
    if exposed is True and sealed is False and stopped:
        return Verdict(
            CORROSION_RULE,
            Outcome.FAIL,
            f"{content:g} wt% {name} against sweat or chloride, unsealed",
            rules.source,
            limit=stop,
            margin=stop - content,
            edits=seal,
            measured=measured,
        )
    missing = (
        "exposure or sealing is not known"
        if UNKNOWN in (exposed, sealed)
        else f"{content:g} wt% {name}: no figure decides"
    )
    return Verdict(
        CORROSION_RULE,
        Outcome.UNKNOWN,
        missing,
        rules.source,
        threshold="holds if the joints are sealed from sweat and chloride",
        edits=seal,
        measured=measured,
    )
