"""The composition sheet of one alloy: what it holds, what the rules say of it, and of which lot it was measured.

A sheet, not a declaration: only the supplier can declare.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from selector import __version__
from selector.catalogue.tables import TABLES
from selector.compliance.context import Context
from selector.compliance.evaluation import evaluate_all, failing
from selector.compliance.finding import Finding
from selector.compliance.rulesets import EXEMPTING, all_rules, rule_sets
from selector.composition import Composition, decimal_text
from selector.datafiles import data_folder, data_hash
from selector.errors import Fault, InputError, shown
from selector.record.compliance import day_cautions, over
from selector.record.substances import substances
from selector.units import PPM_PER_PERCENT
from selector.verdict import Outcome

NO_DECLARATION = (
    "A composition sheet, not a declaration: only the supplier can declare. Contents are nominal unless a row says"
    " measured."
)
NOMINAL, MEASURED = "nominal", "measured"
LONGEST = 200
PLACES = 8


@dataclass(frozen=True)
class Certificate:
    """Who measured which lot, how and when. What is not known is left empty, to be filled in by hand.

    Parameters
    ----------
    lot, laboratory, method : str
    certified, expires : date or None
        The day of the certificate, and the last day on which it counts.
    """

    lot: str = ""
    laboratory: str = ""
    method: str = ""
    certified: date | None = None
    expires: date | None = None

    @property
    def fields(self) -> tuple[tuple[str, str], ...]:
        """Return title and text of each field; the text is empty where nothing is known."""
        return (
            ("lot", self.lot),
            ("laboratory", self.laboratory),
            ("method", self.method),
            ("certified", str(self.certified or "")),
            ("expires", str(self.expires or "")),
        )


@dataclass(frozen=True)
class Content:
    """One substance of the sheet.

    Parameters
    ----------
    element, name, cas : str
    wt_percent, ppm : Fraction
        The same content in % by mass and in mg/kg.
    basis : str
        `nominal` or `measured`; an element that is both is judged by both, and the worse answer holds.
    """

    element: str
    name: str
    cas: str
    wt_percent: Fraction
    ppm: Fraction
    basis: str


@dataclass(frozen=True)
class RuleDate:
    """The day to which a rule set is known."""

    rule_set: str
    kind: str
    market: str
    known_to: date


@dataclass(frozen=True)
class Sheet:
    """Everything that the sheet says.

    Parameters
    ----------
    name : str
        As asked for.
    composition : Composition
    contents : tuple of Content
        Nominal contents, largest first, then measured ones.
    contexts : tuple of Context
        Of what use, where and when: one, or one a market of a brief.
    findings : tuple of Finding
        Every rule of the markets, also what does not apply.
    rule_dates : tuple of RuleDate
    certificate : Certificate
    cautions : tuple of str
    made : date
    data_hash, version : str
    """

    name: str
    composition: Composition
    contents: tuple[Content, ...]
    contexts: tuple[Context, ...]
    findings: tuple[Finding, ...]
    rule_dates: tuple[RuleDate, ...]
    certificate: Certificate
    cautions: tuple[str, ...]
    made: date
    data_hash: str
    version: str

    @property
    def failing(self) -> tuple[Finding, ...]:
        """Return the findings by which the alloy fails."""
        return tuple(failing(self.findings))

    @property
    def told(self) -> tuple[Finding, ...]:
        """Return the findings that say something: none of what does not apply, and no exemption by itself."""
        aside = {rule.id for rule in all_rules() if rule.effect in EXEMPTING}
        return tuple(
            entry
            for entry in self.findings
            if entry.outcome is not Outcome.NOT_APPLICABLE and entry.rule_id not in aside
        )

    @property
    def headline(self) -> str:
        """Return the verdicts in one sentence."""
        counts = {outcome: sum(entry.outcome is outcome for entry in self.told) for outcome in Outcome}
        broken = ", ".join(dict.fromkeys(entry.rule_id for entry in self.failing))
        flags = sum(entry.outcome is Outcome.DUTY and entry.duty == "flag" for entry in self.told)
        duties = counts[Outcome.DUTY] - flags
        rest = f"{counts[Outcome.UNKNOWN]} open, {duties} with a duty, {counts[Outcome.PASS]} held"
        rest += f", {flags} flag{'s' if flags > 1 else ''} of supply" if flags else ""
        beyond, cautions = over(self.told), day_cautions(self.contexts)
        if cautions:
            return f"{f'Fails {broken}' if broken else 'No verdict'}; {'; '.join(cautions)}; {rest}."
        if beyond:
            return f"{f'Fails {broken}' if broken else 'Nothing fails for certain'}; {beyond}; {rest}."
        return f"Fails {broken}; {rest}." if broken else f"Nothing fails; {rest}."


def certificate(
    lot: str = "",
    laboratory: str = "",
    method: str = "",
    certified: date | None = None,
    expires: date | None = None,
    today: date | None = None,
) -> Certificate:
    """Return a checked certificate.

    Raises
    ------
    InputError
        Text over 200 characters or that cannot be printed, a certificate of a day to come, one that expires before
        it was made.
    """
    faults = []
    for name, text in (("lot", lot), ("laboratory", laboratory), ("method", method)):
        if len(text) > LONGEST or not text.isprintable():
            faults.append(
                Fault(name, "is not one short line of text", shown(text), f"at most {LONGEST} characters on one line")
            )
    now = today or date.today()
    if certified is not None and certified > now:
        faults.append(
            Fault(
                "day of the certificate",
                "lies in the future: a lot cannot have been measured yet",
                str(certified),
                f"at most {now}",
            )
        )
    if certified is not None and expires is not None and expires < certified:
        faults.append(Fault("expiry", "lies before the day of the certificate", str(expires), f"{certified} or later"))
    if faults:
        raise InputError("the certificate", faults)
    return Certificate(lot.strip(), laboratory.strip(), method.strip(), certified, expires)


def sheet(
    name: str,
    composition: Composition,
    contexts: Sequence[Context],
    certificate: Certificate | None = None,
    today: date | None = None,
) -> Sheet:
    """Return the composition sheet of one alloy.

    Parameters
    ----------
    name : str
    composition : Composition
        Nominal.
    contexts : sequence of Context
        At least one, all with the same measured traces, ppm: judged beside the nominal contents.
    certificate : Certificate, optional
        Empty where none is given.
    today : date, optional
        The day on which the sheet is made; today where left out.
    """
    made, given = today or date.today(), certificate or Certificate()
    found = tuple(dict.fromkeys(one for context in contexts for one in evaluate_all({name: composition}, context)))
    judged_by = {entry.rule_set for entry in found}
    return Sheet(
        name,
        composition,
        _contents(composition, contexts[0].traces),
        tuple(contexts),
        found,
        tuple(
            RuleDate(entry.rule_set, entry.kind, entry.market, entry.known_to)
            for entry in rule_sets()
            if entry.rule_set in judged_by
        ),
        given,
        tuple(_cautions(composition, contexts, given, made)),
        made,
        data_hash(data_folder(), TABLES),
        __version__,
    )


def _contents(composition: Composition, traces: Iterable[tuple[str, Fraction]]) -> tuple[Content, ...]:
    measured = dict(traces)
    known = substances()
    rows = [(element, wt, NOMINAL) for element, wt in composition.parts]
    rows += [(element, content / PPM_PER_PERCENT, MEASURED) for element, content in measured.items()]
    return tuple(
        Content(element, known[element].name, known[element].cas, wt, wt * PPM_PER_PERCENT, basis)
        for element, wt, basis in rows
    )


def _cautions(composition: Composition, contexts: Sequence[Context], given: Certificate, made: date) -> Iterable[str]:
    traces = dict(contexts[0].traces)
    days = sorted({context.on for context in contexts if context.on != date.max})
    if not traces:
        yield "no trace is measured: impurity limits stay open until the certificate of the lot is entered"
    elif given.certified is None or not (given.lot and given.laboratory and given.method):
        titles = {"certified": "day"}
        missing = [titles.get(name, name) for name, text in given.fields if not text and name != "expires"]
        yield f"measured contents stand without {', '.join(missing)} of a certificate"
    banned = dict.fromkeys(ban.element for context in contexts for ban in context.bans)
    if banned:
        yield f"the sheet holds a customer's bans on {', '.join(banned)}: it is for that customer alone"
    if given.expires is not None and given.expires < made:
        yield f"the certificate expired on {given.expires}, before this sheet was made on {made}: measure again"
    elif given.expires is not None and days and given.expires < days[-1]:
        yield f"the certificate expires on {given.expires}, before {days[-1]}, the day asked about: measure again"
    for element in sorted(set(traces) & set(composition.elements)):
        told = f"{decimal_text(traces[element])} ppm measured, {decimal_text(composition.ppm(element))} nominal"
        yield f"{element} is judged as measured and as nominal, the worse answer holds: {told}"


def written(composition: Composition) -> dict[str, str]:
    """Return each element's wt% as decimal text that adds up to exactly 100.

    A content that ends within eight places is exact; one that does not, as after mixing by thirds, is rounded there
    and the main element makes up the rest.
    """
    rounded = {element: Fraction(round(wt * 10**PLACES), 10**PLACES) for element, wt in composition.parts}
    rounded[composition.matrix] += 100 - sum(rounded.values(), Fraction(0))
    return {element: decimal_text(wt) for element, wt in rounded.items()}
