"""One finding of compliance in a few words: which element, what is open, which duty; and what would settle it."""

import re
from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType

from selector.compliance.context import ELECTRICAL, FIGURES, USES
from selector.compliance.evaluation import BAN_SET, unnamed_text
from selector.compliance.exemptions import exempting
from selector.compliance.finding import Finding, Why
from selector.compliance.rulesets import DUTIES, EXEMPTING, Rule, all_rules
from selector.composition import decimal_text
from selector.datafiles import data_folder, read_table
from selector.verdict import Outcome

CONTRACT = "compare with the contract"
PRESENT = re.compile(r"; ([A-Z][a-z]?(?:, [A-Z][a-z]?)*) is there and the article must be tested")
IN_REASON = re.compile(r"ppm ([A-Z][a-z]?), (?:at most|at least|below|from|under) ")
MISSING = re.compile(r"not known: (.*)", re.DOTALL)
LISTING = "a fail for products in the listing"
LATER_DAY = "it may become"
OTHERS = re.compile(r"so for their own uses ([^;]*?)(?:, the last until|$)")
SHORT_FACTS = MappingProxyType(
    {
        "the kind of equipment": "kind of equipment",
        "which joint it is": "which joint",
        "the form of the solder": "form of solder",
        "the masses of solder and article": "mass of solder and article",
        "the masses of solder and battery": "mass of solder and battery",
        "form and flux": "form and flux",
        "that the joint is no ": "which joint",
        "that the equipment is no ": "kind of equipment",
        "that ": "technical figures",
    }
)


@cache
def _rules() -> Mapping[str, Rule]:
    return MappingProxyType({rule.id: rule for rule in all_rules()})


def rule_of(found: Finding) -> Rule | None:
    """Return the rule that a finding is of; None for a ban given in figures and for what no file holds."""
    return _rules().get(found.rule_id)


def exempts(found: Finding) -> bool:
    """Return whether a finding is of an exemption: by itself it forbids nothing and permits nothing."""
    held = rule_of(found)
    return held is not None and held.effect in EXEMPTING


@cache
def element_names() -> Mapping[str, str]:
    """Return the English name of every element of the table, by symbol."""
    rows = read_table(data_folder() / "elements.csv", "the table of elements")
    return MappingProxyType({str(row["symbol"]): str(row["name"]) for row in rows})


def elements_of(found: Finding) -> tuple[str, ...]:
    """Return the elements that a finding is about; of a rule for several, the one that its figures belong to."""
    held = rule_of(found)
    if held is not None and len(held.elements) == 1:
        return held.elements
    told = IN_REASON.search(found.reason)
    if told:
        return (told[1],)
    present = PRESENT.search(found.reason)
    if present:
        return tuple(present[1].split(", "))
    return held.elements if held is not None else ()


def on_what(found: Finding) -> str:
    """Return the elements of a finding as text, `Pb` or `Sn, Ag`."""
    return ", ".join(elements_of(found))


def margin_text(found: Finding) -> str:
    """Return the margin with its sign and element: `+1000 ppm Pb`, `-369000 ppm Pb`; empty where there is none."""
    if found.margin_ppm is None:
        return ""
    if found.margin_ppm == 0 and found.outcome is Outcome.FAIL and found.limit_ppm is not None:
        # A limit that has to be kept under: "+0 ppm" beside "fails" would read as a slip.
        return f"at {decimal_text(found.limit_ppm)} ppm {on_what(found)}, where it must stay under".strip()
    sign = "+" if found.margin_ppm >= 0 else ""
    return f"{sign}{decimal_text(found.margin_ppm)} ppm {on_what(found)}".strip()


def ban_text(found: Finding) -> str:
    """Return that a ban was kept by the nominal composition alone, where more may be there unnamed; else empty."""
    by_name = found.rule_set == BAN_SET and found.outcome is Outcome.PASS and "as nominal" in found.reason
    if not by_name or found.limit_ppm is None or found.measured_ppm:
        return ""
    return unnamed_text(found.rule_id.removeprefix("CUST-").capitalize(), found.limit_ppm)


def is_niche(found: Finding) -> bool:
    """Return whether the rule reaches only a use that has to be named: batteries, toys, jewellery and the like."""
    held = rule_of(found)
    if held is None or not held.scope:
        return False
    return all(scope.any_of or set(scope.all_of) - {"electrical"} or scope.applications for scope in held.scope)


def is_duty(found: Finding) -> bool:
    """Return whether the rule obliges to something and forbids nothing, whatever it answers."""
    held = rule_of(found)
    return held is not None and held.effect in DUTIES


def is_immaterial(found: Finding) -> bool:
    """Return whether nothing hangs on a finding: what it limits is not there, or what is there is not limited.

    Nothing of an element keeps any limit on it, also one whose source is not confirmed. A measured zero is told.
    """
    if found.why in (Why.NOT_RESTRICTED, Why.NOT_LISTED):
        return found.outcome is Outcome.PASS
    nothing_held = found.measured_ppm == 0 and found.margin_ppm is not None and found.margin_ppm >= 0
    if found.why is Why.CERTIFICATE_NEEDED:
        return found.outcome is Outcome.PASS and nothing_held
    return found.why is Why.UNCONFIRMED and found.outcome is Outcome.UNKNOWN and nothing_held


def missing_items(found: Finding) -> list[str]:
    """Return what an open finding lacks, item by item, as its reason says it."""
    told = MISSING.search(found.reason)
    if not told or found.outcome is not Outcome.UNKNOWN:
        return []
    items = [item.strip().removeprefix("not known: ") for item in told[1].split("; ")]
    return [item for item in items if item and not item.startswith("so for their own")]


def uses_asked(found: Finding) -> list[str]:
    """Return the words of use that an open finding hangs on."""
    asked = []
    for item in missing_items(found):
        told = item.removeprefix("whether it is: ").removeprefix("whether ")
        if told != item:
            asked += [word for word, text in USES.items() if told == text or f", {text}," in f", {told},"]
    if LISTING in found.reason:
        held = rule_of(found)
        asked += [held.otherwise.unless] if held is not None and held.otherwise is not None else []
    return list(dict.fromkeys(asked))


def figures_asked(found: Finding) -> list[str]:
    """Return the figures of masses and technical conditions that an open finding hangs on."""
    items = missing_items(found)
    masses = {"article": ("solder_mg", "article_mg"), "battery": ("solder_mg", "battery_mg")}
    asked = [name for item in items if item.startswith("that ") for name in FIGURES if f"{name} " in item]
    for item in items:
        if item.startswith("the masses of solder and "):
            asked += masses.get(item.removeprefix("the masses of solder and ").split()[0], ())
    return list(dict.fromkeys(asked))


def exemption_named(found: Finding) -> str:
    """Return the exemption on which an open finding hangs, empty where none is named."""
    if found.exemption:
        return found.exemption
    held = rule_of(found)
    if held is None:
        return ""
    names = sorted({entry.exemption for entry in exempting(held)}, key=len, reverse=True)
    for part in found.reason.split("; "):
        for name in names:
            if part.startswith((f"{name} ", f"{name}:")):
                return name
    return ""


def open_text(found: Finding) -> str:
    """Return in a few words what keeps a finding open: `evidence for III-7(a)`, `kind of equipment`."""
    name = exemption_named(found).split(" (")[0]
    others = OTHERS.search(found.reason)
    if others:
        name += f" and {len(others[1].split(', '))} more"
    if found.why is Why.CERTIFICATE_NEEDED:
        return f"certificate for {on_what(found)}"
    used = uses_asked(found)
    if used and not name and LISTING not in found.reason and not _facts_lacking(found):
        return f"{' or '.join(word.replace('-', ' ') for word in used[:2])}?"
    if found.why is Why.EXEMPTION_NEEDS_EVIDENCE:
        return f"evidence for {name or 'the exemption'}"
    if found.why is Why.EXEMPTION_LAPSED:
        return f"{name or 'exemption'} past {'their' if others else 'its'} date"
    if found.why is Why.UNCONFIRMED:
        return f"{name} not confirmed" if name else f"rule on {on_what(found)} not confirmed"
    if found.why is Why.NOT_A_CONTENT:
        return f"test of the article for {on_what(found)}"
    if found.why is Why.RECHECK and CONTRACT in found.reason:
        return CONTRACT
    if found.why is Why.RECHECK:
        return f"look again at {on_what(found) or 'the rule'}"
    lacking = _lacking(found)
    return f"{name}: {lacking}" if name else lacking


def _facts_lacking(found: Finding) -> list[str]:
    """Return the facts about equipment, joint and masses that an open finding lacks, short."""
    facts = [SHORT_FACTS[fact] for item in missing_items(found) for fact in SHORT_FACTS if item.startswith(fact)]
    # Whether the use is one of the rule's comes before the masses that its limit counts on.
    return [] if uses_asked(found) and is_niche(found) else facts


def _lacking(found: Finding) -> str:
    if LISTING in found.reason:
        return "whether listed"
    facts, items = _facts_lacking(found), missing_items(found)
    if "imported in a year" in found.reason:
        return "mass imported"
    if facts:
        return facts[0]
    if LATER_DAY in found.reason:
        return "a later day"
    return items[0] if items else str(found.why)


def over_text(found: Finding) -> str:
    """Return what an open finding is over and what keeps it open; empty where it is over nothing."""
    held = rule_of(found)
    if found.outcome is not Outcome.UNKNOWN or found.margin_ppm is None or found.margin_ppm >= 0:
        return ""
    if is_duty(found) or is_niche(found) or (held is not None and held.test == "min"):
        return ""
    over = f"over the {found.rule_set} limit by {decimal_text(-found.margin_ppm)} ppm {on_what(found)}".strip()
    if "the kind of equipment" in missing_items(found) and not exemption_named(found):
        return f"{over} if it is {_reached(held)}"
    if exemption_named(found) or not uses_asked(found):
        return f"{over}, open: {open_text(found)}"
    return f"{over} if it is {' or '.join(USES[word] for word in uses_asked(found))}"


def _reached(held: Rule | None) -> str:
    """Return the kinds of equipment that a rule reaches, in words."""
    kinds = list(dict.fromkeys(kind for scope in held.scope for kind in scope.equipment)) if held else []
    if set(kinds) >= set(ELECTRICAL):
        return "electrical equipment"
    return f"equipment of kind {series(kinds, 'or')}" if 0 < len(kinds) < 4 else "equipment that the rule reaches"


def duty_text(found: Finding) -> str:
    """Return a duty with what it is about: `disclose Pb`."""
    held = rule_of(found)
    verb = found.duty or (held.effect if held is not None else "")
    return f"{verb.replace('-', ' ')} {on_what(found)}".strip()


def listed(words: Iterable[str], most: int = 2) -> str:
    """Return words joined, each once, with how many more there are."""
    each = list(dict.fromkeys(words))
    more = f", +{len(each) - most} more" if len(each) > most else ""
    return ", ".join(each[:most]) + more


def series(words: Iterable[str], last: str = "and") -> str:
    """Return words as a series in a sentence: `EU, China and US`."""
    each = list(words)
    return each[0] if len(each) == 1 else f"{', '.join(each[:-1])} {last} {each[-1]}" if each else ""
