"""Whether a rule reaches a use, whether it is in force on a day, and which share of the solder its basis counts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from functools import lru_cache

from selector.compliance.context import ELECTRICAL, JUDGED, USES, Context
from selector.compliance.rulesets import CategoryDay, Condition, Rule, Scope
from selector.fields import UNKNOWN

ORDER = ("manufactured", "imported", "placed on market")
ONLY_AS_SOLD = ("mixture as sold", "solder alloy as supplied")
NOT_AS_SOLD = (
    "article",
    "battery",
    "component",
    "homogeneous material",
    "metal part",
    "part",
    "skin-contact surface",
    "toy material",
)
WHOLE = Fraction(1)


@dataclass(frozen=True)
class Reach:
    """Whether a scope is met: True, False, or None with what is missing to say so."""

    met: bool | None
    text: str = ""
    claimed: bool = True  # whether the joint's application is known, where the scope asks for one


def reach(scopes: Sequence[Scope], context: Context, on: date) -> Reach:
    """Return whether any scope that holds on a day is met; no scope at all reaches everything."""
    if not scopes:
        return Reach(True)
    live = [s for s in scopes if (s.starts is None or s.starts <= on) and (s.ends is None or on <= s.ends)]
    if not live:
        return Reach(False, "no part of its scope holds on this day")
    found = [_one(scope, context) for scope in live]
    for answer in (True, None):
        hit = next((entry for entry in found if entry.met is answer), None)
        if hit is not None:
            return hit
    return found[0]


@lru_cache(maxsize=32_768)
def rule_reach(rule: Rule, context: Context, on: date) -> Reach:
    """Return whether a rule's scope is met; kept, because it hangs on no content."""
    return reach(rule.scope, context, on)


def reaches_equipment(rule: Rule, context: Context) -> bool:
    """Return whether some scope of a rule has room for the kind of equipment; what is not known has room everywhere."""
    kind = context.equipment
    return (
        kind == UNKNOWN or not rule.scope or any(not scope.equipment or kind in scope.equipment for scope in rule.scope)
    )


def _one(scope: Scope, context: Context) -> Reach:
    missing: list[str] = []
    claimed = True
    kind = context.equipment
    if scope.equipment:
        if kind == UNKNOWN:
            said = context.holds("electrical") if set(scope.equipment) >= set(ELECTRICAL) else None
            if said is False:
                return Reach(False, "not electrical equipment")
            if said is None:
                missing.append("the kind of equipment")
        elif kind not in scope.equipment:
            return Reach(False, f"does not reach equipment of kind {kind}")
    if kind in scope.not_equipment:
        return Reach(False, f"does not reach equipment of kind {kind}")
    if scope.not_equipment and kind == UNKNOWN:
        missing.append(f"that the equipment is no {', '.join(scope.not_equipment)}")
    for use in scope.all_of:
        if context.holds(use) is False:
            return Reach(False, f"only where this holds: {USES[use]}")
        if context.holds(use) is None:
            missing.append(f"whether {USES[use]}")
    for use in scope.none_of:
        if context.holds(use) is True:
            return Reach(False, f"not where this holds: {USES[use]}")
        if context.holds(use) is None:
            missing.append(f"whether {USES[use]}")
    if scope.any_of:
        answers = [context.holds(use) for use in scope.any_of]
        if not any(answers):
            told = ", ".join(USES[use] for use in scope.any_of)
            if None not in answers:
                return Reach(False, f"only for: {told}")
            missing.append(f"whether it is: {told}")
    for value, allowed, what in (
        (context.form, scope.forms, "the form of the solder"),
        (context.application, scope.applications, "which joint it is"),
    ):
        if allowed and value == UNKNOWN:
            missing.append(what)
            claimed = claimed and allowed is not scope.applications
        elif allowed and value not in allowed:
            return Reach(False, f"covers {', '.join(allowed)}; this is {value}")
    if scope.not_applications:
        if context.application in scope.not_applications:
            return Reach(False, f"leaves {context.application} out")
        if context.application == UNKNOWN:
            missing.append(f"that the joint is no {', '.join(scope.not_applications)}")
    for group in scope.conditions:
        answer = _group(group, context)
        if answer is not None and answer.met is False:
            return answer
        if answer is not None:
            missing.append(answer.text)
    return Reach(None, "; ".join(missing), claimed) if missing else Reach(True)


def _group(group: Sequence[Condition], context: Context) -> Reach | None:
    """Return why a group of conditions is not met or not known; None where one of them holds."""
    asked = [c for c in group if not c.only_for or c.only_for == context.application]
    if not asked:
        return None
    unknown, told = False, []
    for condition in asked:
        value = context.figure(condition.figure)
        sign = "at least" if condition.test == "at_least" else "above"
        told.append(f"{condition.figure} {sign} {float(condition.value):g}")
        if value is None:
            unknown = True
        elif value > condition.value or (condition.test == "at_least" and value == condition.value):
            return None
    text = " or ".join(told)
    return Reach(None, f"that {text}") if unknown else Reach(False, f"asks for {text}, which does not hold")


def judged_otherwise(rule: Rule, context: Context) -> str:
    """Return why a rule does not concern what is judged, empty where it does."""
    if rule.basis == "finish" and context.judged != "finish":
        return f"concerns the finish; judged is {JUDGED[context.judged]}"
    if rule.basis in ONLY_AS_SOLD and context.judged in ("joint", "article", "finish"):
        return f"concerns the solder as sold; judged is {JUDGED[context.judged]}"
    # A customer's list bans an element of the metal, in whatever form the metal comes.
    if rule.basis in NOT_AS_SOLD and context.judged == "mixture" and rule.effect != "customer":
        return f"counts on {rule.basis}; judged is {JUDGED['mixture']}"
    return ""


def share(rule: Rule, context: Context) -> Fraction | None:
    """Return the solder's share of what a rule counts on; None where it is not known, which is at most all of it."""
    if rule.basis in ("article", "battery"):
        solder, whole = context.figure("solder_mg"), context.figure(f"{rule.basis}_mg")
        return None if solder is None or not whole or solder > whole else solder / whole
    if rule.basis == "mixture as sold":
        flux = context.figure("flux_percent")
        if flux is not None:
            return WHOLE - flux / 100
        # Wire, bar and preform are counted without flux unless the flux is given; a paste always holds some.
        return None if context.form in ("paste", UNKNOWN) else WHOLE
    return WHOLE


def window(base: date | None, by_category: Sequence[CategoryDay], context: Context) -> tuple[date, date] | None:
    """Return the earliest and the latest day that may hold for the equipment; None where no day is given."""
    if base is None and not by_category:
        return None
    named = {category: entry for entry in by_category for category in entry.categories}
    days: list[date] = []
    for category in context.categories or ("", *named):
        entry = named.get(category)
        if entry is not None:
            days += [entry.day, entry.latest or entry.day]
        elif base is not None:
            days.append(base)
    return (min(days), max(days)) if days else None


def not_begun(rule: Rule, context: Context, on: date) -> bool:
    """Return whether a rule is certainly not in force yet for the equipment on a day."""
    starts = window(rule.starts, rule.from_by_category, context)
    return starts is not None and on < starts[0]


def change_days(rule: Rule) -> set[date]:
    """Return every day on which a rule by itself may answer otherwise than the day before."""
    after = timedelta(days=1)
    days = {day for day in (rule.in_force_from, rule.applies_from) if day}
    days |= {rule.valid_until + after} if rule.valid_until else set()
    days |= {day for entry in rule.from_by_category for day in (entry.day, entry.latest) if day}
    days |= {day + after for entry in rule.until_by_category for day in (entry.day, entry.latest) if day}
    days |= {rule.otherwise.listing_from} if rule.otherwise and rule.otherwise.listing_from else set()
    days |= {edition.starts for edition in rule.editions}
    days |= {scope.starts for scope in rule.scope if scope.starts}
    days |= {scope.ends + after for scope in rule.scope if scope.ends}
    return days


def edition(rule: Rule, on: date) -> str:
    """Return the text of the instrument that holds on a day."""
    for entry in rule.editions:
        if entry.starts <= on and (entry.ends is None or on <= entry.ends):
            return entry.instrument
    return rule.instrument
