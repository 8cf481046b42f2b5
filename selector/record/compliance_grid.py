"""Findings of compliance as a grid of alloys against rule sets: one cell each, with what decides and nothing else.

A rule on what an alloy does not hold decides nothing about it and is folded, so that the reader sees what does.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from selector.compliance.exemptions import RENEWAL
from selector.compliance.finding import Change, Finding, Why
from selector.composition import Composition
from selector.record import compliance_words as words
from selector.verdict import Outcome

# The kinds of rule sets, in this order everywhere. The first three decide whether something may be sold.
KINDS = MappingProxyType(
    {
        "law": "Law",
        "customer": "Customers",
        "metallurgy": "Metallurgy",
        "quality": "Quality",
        "supply-risk": "Supply risk",
        "information": "To know",
    }
)
BINDING = ("law", "customer", "metallurgy")


class State(StrEnum):
    """What a cell comes to, worst first."""

    FAILS = "fails"
    OPEN = "open"
    DUTY = "duty"
    FLAG = "flag"
    HOLDS = "holds"
    CLEAR = "holds none of it"
    TOLD = "to know"
    OFF = "does not apply"


MARKS = MappingProxyType(
    {
        State.FAILS: "✗",
        State.OPEN: "?",
        State.DUTY: "!",
        State.FLAG: "⚑",
        State.HOLDS: "✓",
        State.CLEAR: "✓",
        State.TOLD: "i",
        State.OFF: "–",
    }
)
LEGEND = (
    "✗ fails, ? open: something is missing, ! duty: lawful with something to do, ⚑ flag of supply, ✓ holds with the"
    " tightest margin, i to know, – does not apply."
)


@dataclass(frozen=True)
class Column:
    """A rule set of one market; `title` is its name, with the market where two rule sets share a name."""

    kind: str
    rule_set: str
    market: str
    title: str


@dataclass(frozen=True)
class Cell:
    """What one rule set comes to for one alloy.

    Parameters
    ----------
    state : State
    told : str
        In words: `holds, +1000 ppm Pb`.
    deciding : tuple of Finding
        Worst first; the first one gives the words.
    folded : int
        How many rules of the set decide nothing here.
    change : Change or None
        The first later day on which something of it changes, as known.
    """

    state: State
    told: str
    deciding: tuple[Finding, ...] = ()
    folded: int = 0
    change: Change | None = None

    @property
    def text(self) -> str:
        """Return mark and words."""
        return f"{MARKS[self.state]} {self.told}"

    @property
    def decides(self) -> bool:
        """Return whether the cell says more than that nothing the set limits is there."""
        return self.state not in (State.OFF, State.CLEAR)


@dataclass(frozen=True)
class Row:
    """One alloy against every rule set."""

    alloy: str
    cells: Mapping[Column, Cell]

    @property
    def standing(self) -> State:
        """Return whether it fails somewhere, is open somewhere, or passes everywhere: law, customers, metallurgy."""
        states = {cell.state for column, cell in self.cells.items() if column.kind in BINDING}
        return next((state for state in (State.FAILS, State.OPEN) if state in states), State.HOLDS)

    @property
    def passes_everywhere(self) -> bool:
        """Return whether nothing fails and nothing is open among law, customers and metallurgy. A duty is lawful."""
        return self.standing is State.HOLDS

    def deciding(self) -> tuple[tuple[Column, Finding], ...]:
        """Return every finding that decides something, with its rule set, in the order of the columns."""
        return tuple((column, found) for column, cell in self.cells.items() for found in cell.deciding)


@dataclass(frozen=True)
class Grid:
    """Alloys against rule sets."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]

    def of_kinds(self, kinds: Collection[str]) -> tuple[Column, ...]:
        """Return the rule sets of some kinds that decide something for an alloy of the grid."""
        return tuple(c for c in self.columns if c.kind in kinds and any(row.cells[c].decides for row in self.rows))

    def folded(self, kinds: Collection[str]) -> tuple[Column, ...]:
        """Return the rule sets of some kinds that decide nothing here, but hold for what they limit."""
        shown = self.of_kinds(kinds)
        held = (c for c in self.columns if c.kind in kinds and c not in shown)
        return tuple(c for c in held if any(row.cells[c].state is State.CLEAR for row in self.rows))


def grid(findings: Sequence[Finding], alloys: Mapping[str, Composition]) -> Grid:
    """Return the grid of findings.

    Parameters
    ----------
    findings : sequence of Finding
        Of `evaluate_all`, for one day or for a day a market.
    alloys : mapping of name to Composition
        In the order of the rows; what they hold decides which facts to know concern them.
    """
    sets: dict[tuple[str, str, str], None] = {}
    cells: dict[tuple[str, tuple[str, str, str]], list[Finding]] = {}
    for found in findings:
        held = words.rule_of(found)
        key = (found.kind, found.rule_set, "" if held is None else held.market)
        if held is None:  # a ban in figures stands with the lists of customers that ship
            key = (found.kind, found.rule_set, "world" if found.kind == "customer" else "")
        sets.setdefault(key)
        cells.setdefault((found.alloy, key), []).append(found)
    names = [(kind, rule_set) for kind, rule_set, _ in sets]
    order = {kind: place for place, kind in enumerate(KINDS)}
    columns = {
        key: Column(*key, title=f"{key[1]}, {key[2]}" if names.count(key[:2]) > 1 and key[2] else key[1])
        for key in sorted(sets, key=lambda key: order.get(key[0], len(order)))
    }
    # Most alloys share most of their answers: a cell is made once for a series of answers.
    made: dict[tuple[object, ...], Cell] = {}
    rows = []
    for alloy, composition in alloys.items():
        own = {}
        for key, column in columns.items():
            answers = cells.get((alloy, key), [])
            same = (key, *(entry[1:] for entry in answers))
            if key[0] == "information":
                own[column] = _to_know(answers, composition)
                continue
            if same not in made:
                made[same] = cell(answers)
            own[column] = made[same]
        rows.append(Row(alloy, MappingProxyType(own)))
    return Grid(tuple(columns.values()), tuple(rows))


def cell(findings: Iterable[Finding]) -> Cell:
    """Return what the findings of one rule set come to for one alloy."""
    asked = [entry for entry in findings if not words.exempts(entry)]
    live = [entry for entry in asked if entry.outcome is not Outcome.NOT_APPLICABLE]
    material = [entry for entry in live if not words.is_immaterial(entry)]
    change = _change(asked, material)
    ranked = sorted(material, key=_rank)
    if ranked:
        first = _state(ranked[0])
        deciding = [entry for entry in ranked if _state(entry) is not State.HOLDS or entry.why is Why.EXEMPT]
        # Of what holds, one is enough: the tightest.
        deciding += [entry for entry in ranked if entry not in deciding][:1]
        return Cell(first, _told(first, deciding), tuple(deciding), len(asked) - len(deciding), change)
    limits = [entry for entry in live if entry.margin_ppm is not None and not words.is_niche(entry)]
    limits = [entry for entry in limits if entry.outcome is Outcome.PASS]
    if limits:
        tightest = min(limits, key=_rank)
        return Cell(State.HOLDS, _told(State.HOLDS, [tightest]), (tightest,), len(asked) - 1, change)
    state = State.CLEAR if live else State.OFF
    return Cell(state, str(state), (), len(asked), change)


def _state(found: Finding) -> State:
    if found.outcome is Outcome.FAIL:
        return State.FAILS
    if found.outcome is Outcome.DUTY:
        return State.FLAG if found.kind == "supply-risk" and found.duty == "flag" else State.DUTY
    if found.outcome is Outcome.UNKNOWN:
        # Whichever way an open duty is settled, what it is about may be sold: it is no open question of the law.
        return State.DUTY if words.is_duty(found) and found.kind in BINDING else State.OPEN
    return State.HOLDS


def _rank(found: Finding) -> tuple[int, bool, bool, float]:
    """Return a sort key: worst first, what is open about a use nobody named last, then the closest to its limit."""
    state = _state(found)
    open_duty = found.outcome is Outcome.UNKNOWN and state is State.DUTY
    near = 0.0 if found.measured_ppm is None or not found.limit_ppm else float(found.measured_ppm / found.limit_ppm)
    exempt = found.why is Why.EXEMPT
    return list(State).index(state), open_duty or words.is_niche(found), not exempt, -near


def _told(state: State, deciding: Sequence[Finding]) -> str:
    same = [entry for entry in deciding if _state(entry) is state]
    first = same[0]
    if state is State.FAILS:
        more = len({words.on_what(entry) for entry in same} - {words.on_what(first)})
        told = words.margin_text(first) or words.on_what(first) or first.reason.split(":")[0]
        return f"fails, {told}" + (f", +{more} more" if more else "")
    if state is State.OPEN:
        return f"open: {words.listed((words.open_text(entry) for entry in same), 1)}"
    if state is State.FLAG:
        return f"flag: {words.listed((e for entry in same for e in words.elements_of(entry)), 4)}"
    if state is State.DUTY:
        due = [words.duty_text(entry) for entry in same if entry.outcome is Outcome.DUTY]
        if due:
            return f"duty: {words.listed(due)}"
        return f"may be due: {words.listed(words.duty_text(entry) for entry in same)}"
    if first.why is Why.EXEMPT:
        until = f" until {first.exemption_until}" if first.exemption_until else ""
        return f"holds by {first.exemption or 'an exemption'}{until}"
    return f"holds, {words.margin_text(first)}" if first.margin_ppm is not None else f"holds: {first.why}"


def _to_know(findings: Sequence[Finding], composition: Composition) -> Cell:
    present = set(composition.elements)
    told = [entry for entry in findings if present & set(words.elements_of(entry))]
    if not told:
        return Cell(State.OFF, str(State.OFF), (), len(findings))
    held = dict.fromkeys(e for entry in told for e in words.elements_of(entry) if e in present)
    return Cell(State.TOLD, f"to know: {words.listed(held, 4)}", tuple(told), len(findings) - len(told))


def _change(asked: Iterable[Finding], material: Collection[Finding]) -> Change | None:
    """Return the first later change that is more than one of words about what is not there."""
    coming = [
        entry.next_change
        for entry in asked
        if entry.next_change is not None
        and (entry in material or entry.next_change.becomes.startswith(("fail", "unknown", "duty")))
    ]
    return min(coming, key=lambda change: change.day, default=None)


@dataclass(frozen=True)
class Question:
    """Something not known, and how many alloys have a cell that hangs on it. `use` is a word of use, or a figure."""

    use: str
    alloys: int


def questions(found: Grid) -> tuple[Question, ...]:
    """Return the words of use that open cells of law and customers hang on, those of most alloys first."""
    return _asked(found, words.uses_asked)


def figures_lacking(found: Grid) -> tuple[Question, ...]:
    """Return the figures that open cells of law and customers hang on, those of most alloys first."""
    return _asked(found, words.figures_asked)


def _asked(found: Grid, of: Callable[[Finding], Iterable[str]]) -> tuple[Question, ...]:
    asked: dict[str, set[str]] = {}
    for row in found.rows:
        for column, entry in row.deciding():
            if column.kind in BINDING:
                for name in of(entry):
                    asked.setdefault(name, set()).add(row.alloy)
    # A renewal decides between a fail and an open answer over a limit: before what is merely as frequent.
    ordered = sorted(asked.items(), key=lambda pair: (-len(pair[1]), pair[0] != RENEWAL, pair[0]))
    return tuple(Question(name, len(alloys)) for name, alloys in ordered)


@dataclass(frozen=True)
class Moved:
    """A cell that another day turns into something else."""

    alloy: str
    column: Column
    before: Cell
    after: Cell


def moved(before: Grid, after: Grid) -> tuple[Moved, ...]:
    """Return the cells of alloys and rule sets in both grids whose words differ."""
    held = {row.alloy: row.cells for row in before.rows}
    return tuple(
        Moved(row.alloy, column, held[row.alloy][column], now)
        for row in after.rows
        if row.alloy in held
        for column, now in row.cells.items()
        if column in held[row.alloy] and held[row.alloy][column].told != now.told
    )
