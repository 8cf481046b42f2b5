"""Dated rule sets under `data/rules/`, one file an instrument, typed and checked on reading.

The folder of a file is its kind: law, quality, supply-risk, customer and information never mix. A rule keeps the
comparator exactly as its text has it: "at most" and "below" differ at the limit, and the limit is where it matters.
"""

from collections.abc import Sequence
from datetime import date
from functools import cache
from itertools import chain
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, StrictBool, ValidationError, model_validator

from selector.brief import path_text
from selector.compliance.context import CATEGORIES, FIGURES, MARKET_CODES, USES, WORLD
from selector.compliance.rule_fields import (
    Applications,
    Cas,
    Elements,
    Forms,
    Kinds,
    Number,
    Told,
    Uses,
    words_of,
)
from selector.datafiles import data_folder, read_toml
from selector.errors import Fault, InputError, shown
from selector.fields import DateKind

Kind = Literal["law", "quality", "supply-risk", "customer", "information"]
Test = Literal[
    "max",
    "below",
    "above_triggers",
    "at_or_above_triggers",
    "min",
    "none",
    "listed",
    "not_listed",
    "present",
    "application",
    "expired",
    "release",
    "class",
    "import",
    "exposure",
    "suspended",
]
WITH_LIMIT = ("max", "below", "above_triggers", "at_or_above_triggers", "min")
Effect = Literal[
    "restrict",
    "exempt",
    "exempt-expired",
    "exempt-unconfirmed",
    "exempt-not-solder",
    "route",
    "disclose",
    "label",
    "justify",
    "mark-and-disclose",
    "due-diligence",
    "declare",
    "warn",
    "quality",
    "classify",
    "supply-risk",
    "customer",
    "information",
    "not-restricted",
    "not-applicable",
    "scope",
    "scope-exclusion",
]
EXEMPTING = ("exempt", "exempt-expired", "exempt-unconfirmed", "route")
DUTIES = ("disclose", "label", "justify", "mark-and-disclose", "due-diligence", "declare", "warn")
TOLD_ONLY = ("information", "not-applicable", "scope", "scope-exclusion")
Basis = Literal[
    "article",
    "battery",
    "component",
    "exposure",
    "filler metal",
    "finish",
    "flux and coatings",
    "flux solids",
    "glass or ceramic",
    "hazard class",
    "homogeneous material",
    "imports in a year",
    "laminate",
    "metal part",
    "mixture as sold",
    "non-metallic material",
    "not a material",
    "packaging",
    "part",
    "product",
    "raw material",
    "skin-contact surface",
    "solder alloy",
    "solder alloy as supplied",
    "toy material",
]
NOT_THE_METAL = (
    "flux and coatings",
    "flux solids",
    "glass or ceramic",
    "laminate",
    "non-metallic material",
    "packaging",
)
Confidence = Literal["high", "medium-high", "medium", "medium-low", "low"]
UNCONFIRMED = ("medium-low", "low")


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


class Condition(_Row):
    """A technical condition: a figure at least, or above, a value."""

    figure: Literal[tuple(FIGURES)]  # type: ignore[valid-type]
    test: Literal["at_least", "above"]
    value: Number
    only_for: str = ""


class Scope(_Row):
    """Whom a rule reaches. Every part given must hold; of each group of conditions at least one must."""

    starts: date | None = None
    ends: date | None = None
    equipment: Kinds = ()
    not_equipment: Kinds = ()
    all_of: Uses = ()
    any_of: Uses = ()
    none_of: Uses = ()
    applications: Applications = ()
    not_applications: Applications = ()
    forms: Forms = ()
    conditions: tuple[tuple[Condition, ...], ...] = ()
    text: str = ""


class CategoryDay(_Row):
    """A day that holds for some categories of equipment; between `day` and `latest` it is not known which."""

    categories: Annotated[tuple[str, ...], words_of(chain.from_iterable(CATEGORIES.values()))]
    day: date
    latest: date | None = None


class Otherwise(_Row):
    """What a rule asks of products that a listing does not name, and of all before the listing."""

    unless: Literal[tuple(USES)]  # type: ignore[valid-type]
    effect: Literal["mark-and-disclose"]
    listing_from: date | None = None


class Edition(_Row):
    """Which text of an instrument holds from a day to a day."""

    starts: date
    ends: date | None = None
    instrument: str


class Rule(_Row):
    """One rule, substance and scope, as its row in a file says it, with the head of the file."""

    id: Told
    rule_set: Told
    kind: Kind
    market: str
    date_kind: DateKind
    column: str = ""
    instrument: str
    editions: tuple[Edition, ...] = ()
    clause: str
    substance: str
    elements: Elements = ()
    cas: Cas = ""
    counts: Literal["total element", "none of the metal"] = "total element"
    limit_ppm: Number | None = None
    limit_text: str = ""
    test: Test
    basis: Basis
    effect: Effect
    otherwise: Otherwise | None = None
    in_force_from: date | None = None
    from_by_category: tuple[CategoryDay, ...] = ()
    applies_from: date | None = None
    valid_until: date | None = None
    until_by_category: tuple[CategoryDay, ...] = ()
    until_text: str = ""
    after_end: Literal["recheck", "ended"] = "recheck"
    scope: tuple[Scope, ...] = ()
    exemption: str = ""
    awaiting: str = ""
    evidence: str = ""
    route_to: str = ""
    off_by_default: StrictBool = False
    source: Told
    how_read: Told
    read: Literal["read", "from memory"]
    text_dated: str = ""
    known_to: date
    confidence: Confidence
    note: str = ""

    @model_validator(mode="after")
    def _whole(self) -> "Rule":
        problems = []
        if (self.test in WITH_LIMIT) is not (self.limit_ppm is not None) and self.test != "class":
            if self.limit_ppm is None:
                problems.append(f"test {self.test} needs limit_ppm")
            else:
                problems.append(f"limit_ppm has no meaning with test {self.test}")
        if self.test in WITH_LIMIT and not self.elements and self.counts == "total element":
            problems.append("names no element to compare")
        if self.effect in EXEMPTING and not self.exemption:
            problems.append("an exempting rule needs its official entry in `exemption`")
        if self.route_to and self.effect != "route":
            problems.append("route_to has no meaning here")
        if self.valid_until and self.in_force_from and self.valid_until < self.in_force_from:
            problems.append("valid_until lies before in_force_from")
        if self.market not in (*MARKET_CODES.values(), WORLD):
            problems.append(f"market {self.market} is not one of {', '.join(MARKET_CODES.values())} or {WORLD}")
        if problems:
            raise ValueError("; ".join(problems))
        return self

    def __hash__(self) -> int:
        """Return the hash of the id, which tells rules apart: to hash fifty fields each time is slow."""
        return hash(self.id)

    @property
    def starts(self) -> date | None:
        """Return the first day on which the rule can be used, categories aside."""
        return self.applies_from or self.in_force_from


class RuleSet(_Row):
    """One file: an instrument, or a part of one, as known on a date."""

    file: str
    rule_set: str
    kind: Kind
    market: str
    jurisdiction: str
    instrument: str
    date_kind: DateKind
    known_to: date
    column: str = ""
    editions: tuple[Edition, ...] = ()
    rules: tuple[Rule, ...]


HEAD = ("rule_set", "kind", "market", "jurisdiction", "instrument", "date_kind", "known_to", "column")
PASSED_ON = ("rule_set", "kind", "market", "instrument", "date_kind", "known_to", "column")
TABLES = ("edition", "scope", "common", "rule")


def read_rule_set(path: Path) -> RuleSet:
    """Return the rule set of a TOML file.

    Raises
    ------
    InputError
        With every fault: unknown keys and words, missing fields, a limit without a comparator and the like.
    """
    what = f"the rule set {path.parent.name}/{path.name}"
    raw = read_toml(path, what)
    strangers = sorted(set(raw) - {*HEAD, *TABLES})
    faults = [Fault(key, "is not a field of a rule set", allowed=", ".join((*HEAD, *TABLES))) for key in strangers]
    faults += [Fault(key, "is missing", remedy="add the field") for key in HEAD[:-1] if key not in raw]
    rows = raw.get("rule")
    if not rows:
        faults.append(Fault("rule", "is missing", allowed="at least one [[rule]] table"))
    elif not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        faults.append(Fault("rule", "is not a list of tables", shown(rows), "[[rule]] before each rule"))
    if not isinstance(raw.get("common", {}), dict):
        faults.append(Fault("common", "is not a table", shown(raw["common"]), "[common] before what all rules share"))
    if raw.get("kind") not in (None, path.parent.name):
        faults.append(
            Fault("kind", "differs from the folder", shown(raw["kind"]), path.parent.name, "move the file or mend it")
        )
    if faults:
        raise InputError(what, faults)
    passed = {key: raw[key] for key in PASSED_ON if key in raw} | {"editions": raw.get("edition", ())}
    rules: list[Rule] = []
    seen: set[str] = set()
    for index, row in enumerate(raw["rule"]):
        place = str(row.get("id", f"rule[{index}]"))
        scope = {"scope": raw["scope"]} if "scope" in raw else {}
        try:
            rules.append(Rule.model_validate({**passed, **scope, **raw.get("common", {}), **row}))
        except ValidationError as error:
            faults += [_fault(entry, place) for entry in error.errors(include_url=False)]
        if place in seen:
            faults.append(Fault(place, "stands twice", allowed="each id once"))
        seen.add(place)
    if faults:
        raise InputError(what, faults)
    head = {key: raw[key] for key in HEAD if key in raw} | {"editions": raw.get("edition", ())}
    try:
        return RuleSet.model_validate({**head, "file": f"{path.parent.name}/{path.name}", "rules": rules})
    except ValidationError as error:
        raise InputError(what, [_fault(entry, "head") for entry in error.errors(include_url=False)]) from None


# What pydantic says, in words of the house: what is wrong, and what is allowed.
SAID = (
    ("date", "is not a date", "a date such as 2027-07-01"),
    ("string_too_short", "is empty", "text"),
    ("string", "is not text", "text in quotes"),
    ("tuple", "is not a list", "a list in square brackets"),
    ("model", "is not a table", "a table in curly brackets"),
    ("dict", "is not a table", "a table in curly brackets"),
    ("bool", "is neither true nor false", "true or false"),
)
TABLES_OF: dict[str, type[BaseModel]] = {
    "scope": Scope,
    "conditions": Condition,
    "editions": Edition,
    "otherwise": Otherwise,
}
DAYS_BY_CATEGORY = ("from_by_category", "until_by_category")


def _fault(error: Any, place: str) -> Fault:
    where = f"{place}: {path_text(tuple(error['loc']))}".removesuffix(": ")
    kind = str(error["type"])
    if kind == "missing":
        return Fault(where, "is missing", remedy="add the field")
    value = "" if isinstance(error["input"], dict) else shown(error["input"])
    if kind == "extra_forbidden":
        return Fault(where, "is not a field here", value, ", ".join(_table_of(error["loc"]).model_fields))
    if kind == "literal_error":
        return Fault(where, "is not one of the choices", value, str(error["ctx"]["expected"]))
    for start, problem, allowed in SAID:
        if kind.startswith(start):
            return Fault(where, problem, value, allowed)
    return Fault(where, error["msg"].removeprefix("Value error, "), value)


def _table_of(loc: Sequence[object]) -> type[BaseModel]:
    """Return the model of the table in which a field stands."""
    for name in reversed([part for part in loc[:-1] if isinstance(part, str)]):
        if name in DAYS_BY_CATEGORY:
            return CategoryDay
        if name in TABLES_OF:
            return TABLES_OF[name]
    return Rule


@cache
def rule_sets() -> tuple[RuleSet, ...]:
    """Return every rule set that ships with the product: law first, then by kind and file name."""
    folder = data_folder() / "rules"
    return tuple(read_rule_set(path) for kind in get_args(Kind) for path in sorted((folder / kind).glob("*.toml")))


@cache
def all_rules() -> tuple[Rule, ...]:
    """Return the rules of every rule set, in order."""
    return tuple(rule for rules in rule_sets() for rule in rules.rules)


def rule(rule_id: str) -> Rule:
    """Return one rule by its id.

    Raises
    ------
    InputError
        No rule has this id.
    """
    found = next((entry for entry in all_rules() if entry.id == rule_id), None)
    if found is None:
        near = [entry.id for entry in all_rules() if entry.id.startswith(rule_id[:6])][:8]
        raise InputError("the rule", [Fault("rule id", "is not known", shown(rule_id), ", ".join(near))])
    return found
