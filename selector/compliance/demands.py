"""Law and customers' bans as hard limits of a brief: one verdict a group of rule sets, as the screening shows them.

A content over a limit rules out; a duty does not. A duty that hangs on what the brief does not know, such as the mass
of the article, is told as a duty that may be due. Limits on release or exposure bind the article and no content: they
are cautions here.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache, lru_cache
from types import MappingProxyType

from selector.brief import Brief, MarketDate, Use
from selector.catalogue import Alloy
from selector.compliance.context import WITHIN, of_use
from selector.compliance.evaluation import ban_rule, evaluate, evaluate_rules, unnamed_text
from selector.compliance.finding import Finding, Why
from selector.compliance.rulesets import DUTIES, EXEMPTING, Rule, all_rules
from selector.composition import Composition, decimal_text, mixed, parse
from selector.fields import UNKNOWN
from selector.joint.contamination import lead_sources
from selector.units import exact
from selector.verdict import SEVERITY, Edit, Measured, Outcome, Verdict

BAN_RULE = "customer_ban"
ELSEWHERE_RULE = "law_elsewhere"
NOMINAL = "contents are nominal: the certificate of the lot must confirm the traces"
# Told for every brief, so that a challenge can always name them.
ALWAYS = ("eu_rohs", "eu_elv")


def law(brief: Brief, alloy: Alloy) -> tuple[Verdict, ...]:
    """Return one verdict for every group of rule sets that a market of the brief has, and one for no market."""
    verdicts = []
    for column, rules in _columns().items():
        markets = [entry for entry in brief.markets if {entry.market, WITHIN.get(entry.market)} & _markets(rules)]
        if markets or column in ALWAYS:
            verdict = _column(brief, alloy, column, rules, markets)
            whole = _touched_up(brief, alloy)
            over = whole is not None and any(
                _softened(rule, found).outcome is Outcome.FAIL
                for entry in markets
                for rule, found in zip(rules, _judged(column, brief.use, entry, whole), strict=True)
            )
            verdicts.append(_with_rework(brief, verdict) if over else verdict)
    return (*verdicts, _elsewhere(brief, alloy))


@cache
def _columns() -> Mapping[str, tuple[Rule, ...]]:
    """Return the rules of law that limit or oblige, by the column of the screening that they fill."""
    columns: dict[str, tuple[Rule, ...]] = {}
    for rule in all_rules():
        if rule.kind == "law" and rule.column and rule.effect not in (*EXEMPTING, "not-restricted"):
            columns[rule.column] = (*columns.get(rule.column, ()), rule)
    return MappingProxyType(columns)


@lru_cache(maxsize=8192)
def _judged(column: str, use: Use, entry: MarketDate, composition: Composition) -> tuple[Finding, ...]:
    """Return the findings of a column. Kept: edits of a brief mostly leave use, market and alloy as they are."""
    return evaluate_rules(_columns()[column], composition, of_use(use, entry), str(composition))


def _markets(rules: Iterable[Rule]) -> set[str | None]:
    return {rule.market for rule in rules}


def markets_not_judged(brief: Brief) -> tuple[str, ...]:
    """Return the markets of the brief for which no rule set is loaded."""
    covered = _markets(rule for rule in all_rules() if rule.kind == "law")
    return tuple(entry.market for entry in brief.markets if entry.market not in covered)


def _elsewhere(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether markets without a rule set, or no market at all, leave a restricted metal open."""
    unjudged = markets_not_judged(brief)
    if brief.markets and not unjudged:
        return Verdict(ELSEWHERE_RULE, Outcome.NOT_APPLICABLE, "every market of the brief has a rule set", "the brief")
    where = ", ".join(unjudged) or "the markets, which the brief does not name"
    strict = {
        element: rule.limit_ppm
        for rule in all_rules()
        if rule.column in ALWAYS and rule.effect == "restrict" and rule.limit_ppm is not None
        for element in rule.elements
    }
    over = [
        f"{decimal_text(alloy.composition.ppm(element))} ppm {element}"
        for element, limit in strict.items()
        if alloy.composition.ppm(element) > limit
    ]
    if not over:
        reason = f"the law of {where} is not judged"
        return Verdict(ELSEWHERE_RULE, Outcome.NOT_APPLICABLE, reason, "the brief", cautions=(NOMINAL,))
    return Verdict(
        ELSEWHERE_RULE,
        Outcome.UNKNOWN,
        f"holds {', '.join(over)}, and the law of {where} is not judged",
        "the brief; no rule set",
        threshold=f"lawful only if the law of {where} allows {', '.join(over)}",
    )


def _column(brief: Brief, alloy: Alloy, column: str, rules: tuple[Rule, ...], markets: list[MarketDate]) -> Verdict:
    what = rules[0].instrument if len({rule.instrument for rule in rules}) == 1 else f"the law of {rules[0].market}"
    source = f"{'; '.join(dict.fromkeys(rule.instrument for rule in rules))}; law as known on {_known_to(rules)}"
    if not markets:
        reason = f"{rules[0].market} is not a market of this brief"
        return Verdict(column, Outcome.NOT_APPLICABLE, reason, source)
    findings = [
        (rule, entry, _softened(rule, found))
        for entry in markets
        for rule, found in zip(rules, _judged(column, brief.use, entry, alloy.composition), strict=True)
    ]
    tested = [f for _, _, f in findings if f.why is Why.NOT_A_CONTENT and f.outcome is Outcome.UNKNOWN]
    cautions = tuple(f"{f.clause}: {f.reason}" for f in tested)
    judged = [entry for entry in findings if entry[2] not in tested]
    worst = min(judged, key=lambda entry: (SEVERITY.index(entry[2].outcome), -_closeness(entry[2])))
    rule, entry, found = worst
    figures = _figures(found)
    if found.outcome is Outcome.NOT_APPLICABLE:
        first = next((f for r, _, f in judged if r.effect == "restrict"), found)
        return Verdict(column, found.outcome, f"{what}: {first.reason}", source, cautions=cautions)
    if found.outcome is Outcome.PASS and found.why is not Why.EXEMPT:
        limited = dict.fromkeys(e for r, _, f in judged if f.outcome is Outcome.PASS for e in r.elements if r.limit_ppm)
        reason = f"holds no {', '.join(limited)} above the limits of {what}"
        verdict = Verdict(column, Outcome.PASS, reason, source, *figures, cautions=(NOMINAL, *cautions))
        return _with_board_lead(brief, verdict, what)
    reason = f"{found.reason} ({rule.instrument}, {rule.clause}, {entry.date_kind} {entry.date})"
    if found.outcome is Outcome.PASS and found.exemption_until:
        cautions = (*cautions, f"lawful by exemption {found.exemption}, as known until {found.exemption_until}")
    threshold = ""
    if found.outcome is Outcome.UNKNOWN:
        threshold = f"lawful only if this is settled: {found.reason.partition('; ')[2] or found.reason}"
    duties = [f for _, _, f in judged if f.outcome is Outcome.DUTY and f is not found]
    cautions += tuple(f"duty to {f.duty}: {f.reason}" for f in duties)
    return Verdict(column, found.outcome, reason, source, *figures, threshold, cautions=cautions)


def _known_to(rules: tuple[Rule, ...]) -> str:
    days = sorted({rule.known_to for rule in rules})
    return str(days[0]) if len(days) == 1 else f"{days[0]} to {days[-1]}"


def _softened(rule: Rule, found: Finding) -> Finding:
    """Return an open duty as a duty that may be due: not knowing whether to tell does not rule out."""
    if found.outcome is Outcome.UNKNOWN and rule.effect in DUTIES:
        return found._replace(
            outcome=Outcome.DUTY, duty=rule.effect, reason=f"{rule.effect} may be due: {found.reason}"
        )
    return found


def _closeness(found: Finding) -> float:
    if found.measured_ppm is None or not found.limit_ppm:
        return -1.0
    return float(found.measured_ppm / found.limit_ppm)


def _figures(found: Finding) -> tuple[Measured | None, float | None, float | None]:
    if found.measured_ppm is None:
        return None, None, None
    margin = None if found.margin_ppm is None else float(found.margin_ppm)
    limit = None if found.limit_ppm is None else float(found.limit_ppm)
    return Measured.exactly(float(found.measured_ppm), "ppm"), limit, margin


def _with_board_lead(brief: Brief, verdict: Verdict, what: str) -> Verdict:
    """Return a pass on lead as open where a part of the board brings lead into the finished joint, which is judged."""
    sources = lead_sources(brief)
    certain = [entry for entry in sources if entry.certain]
    names = ", ".join(entry.name for entry in certain or sources)
    if verdict.outcome is not Outcome.PASS or not sources:
        return verdict
    if not certain:
        caution = f"{names} may bring lead: {what} judges the finished joint, which is not computed yet"
        return replace(verdict, cautions=(*verdict.cautions, caution))
    return replace(
        verdict,
        outcome=Outcome.UNKNOWN,
        reason=f"{verdict.reason}; but {names} brings lead into the finished joint",
        threshold=f"holds if the finished joint at {names} keeps within {what}",
        edits=tuple(edit for entry in certain for edit in entry.edits),
    )


def _touched_up(brief: Brief, alloy: Alloy) -> Composition | None:
    """Return the joint touched up at its share, or the new metal where nobody knows it; None without a rework alloy."""
    held, share = brief.mixing.rework_alloy, brief.mixing.rework_share
    if held in (UNKNOWN, "none") or share == 0:
        return None
    new = parse(held)
    if share == UNKNOWN:
        return new
    part = exact(share)
    return mixed([(alloy.composition, 1 - part), (new, part)])


def _with_rework(brief: Brief, verdict: Verdict) -> Verdict:
    """Return a pass as open where the rework alloy brings into the finished joint what is limited."""
    if verdict.outcome is not Outcome.PASS:
        return verdict
    held = brief.mixing.rework_alloy
    return replace(
        verdict,
        outcome=Outcome.UNKNOWN,
        reason=f"{verdict.reason}; but rework with {held} brings more into the finished joint",
        threshold=f"holds if joints that are reworked with {held} keep within the limit",
        edits=(Edit("mixing.rework_alloy", "none", "rework with the alloy itself"),),
    )


def bans(brief: Brief, alloy: Alloy) -> tuple[Verdict, ...]:
    """Return one verdict for every customer ban of the brief."""
    return tuple(_ban(brief, alloy, index) for index in range(len(brief.bans)))


def _ban(brief: Brief, alloy: Alloy, index: int) -> Verdict:
    ban = brief.bans[index]
    rule = ban_rule(ban.element, exact(ban.limit_ppm), ban.reason)
    # A ban of a customer knows neither market nor day of law.
    found = evaluate(rule, alloy.composition, replace(of_use(brief.use, None), customer=frozenset({rule.id})), alloy.id)
    assert found.measured_ppm is not None
    assert found.limit_ppm is not None
    content, limit = found.measured_ppm, found.limit_ppm
    figures = (Measured.exactly(float(content), "ppm"), float(limit), float(limit - content))
    source = "the brief's bans; composition of the catalogue"
    told = f"{decimal_text(content)} ppm {ban.element}, banned above {decimal_text(limit)}"
    if found.outcome is Outcome.PASS:
        unnamed = unnamed_text(ban.element, limit) if not content else ""
        cautions = (NOMINAL, unnamed) if unnamed else (NOMINAL,)
        verdict = Verdict(BAN_RULE, Outcome.PASS, told, source, *figures, cautions=cautions, subject=ban.element)
        whole = _touched_up(brief, alloy)
        if whole is not None and whole.ppm(ban.element) > limit:
            verdict = _with_rework(brief, verdict)
        return _with_board_lead(brief, verdict, "the ban") if ban.element == "Pb" else verdict
    edit = Edit(
        f"bans[{index}].limit_ppm",
        float(content),
        f"have the customer lift the ban on {ban.element} from {decimal_text(limit)} to {decimal_text(content)} ppm",
        float(content - limit),
        "ppm",
    )
    reason = f"{told}: {ban.reason}"
    return Verdict(BAN_RULE, Outcome.FAIL, reason, source, *figures, edits=(edit,), subject=ban.element)
