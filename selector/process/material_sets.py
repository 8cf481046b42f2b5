"""Whether the materials around a joint go together: alloy, flux, standoff, cleaning, underfill, coating and finish.

Each pair of them is compatible, needs a test (which, by which standard), or is known bad, by a row of
`data/material-sets.csv` with its source; a pair without a row is untested, and said to be. Own test results are rows
too, which settle the rows that asked for the test. Common practice; a row is not a qualification.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from pathlib import Path
from types import MappingProxyType

from selector.composition import Composition
from selector.datafiles import data_folder, read_numbered
from selector.durability.validity import Bound, hold
from selector.errors import Fault, InputError, shown
from selector.policy import policy
from selector.verdict import Outcome, Verdict

RULE = "material_set"
TABLE = "material-sets.csv"
COMPATIBLE, NEEDS_A_TEST, KNOWN_BAD = "compatible", "needs a test", "known bad"
ANSWERS = (COMPATIBLE, NEEDS_A_TEST, KNOWN_BAD)
COLUMNS = ("row", "when", "answer", "test", "standard", "settles", "reason", "source", "origin", "grade")
KINDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "alloy": ("bismuth-rich", "indium-rich", "zinc-bearing", "gold-tin", "tin-lead", "tin-silver-copper", "other"),
        "flux": ("no-clean", "no-clean with halide", "water-soluble", "rosin"),
        "standoff": ("low", "unsettled", "high"),
        "cleaning": ("none", "unproved", "proved"),
        "underfill": ("none", "cures at 120 or below", "cures at 150 or above"),
        "coating": ("none", "conformal", "parylene"),
        "finish": ("matte tin", "tin-lead", "tin-bismuth", "nickel-gold", "nickel-palladium-gold", "silver", "copper"),
    }
)
PAIRS = (
    ("alloy", "flux"),
    ("alloy", "finish"),
    ("alloy", "underfill"),
    ("alloy", "coating"),
    ("flux", "standoff"),
    ("flux", "cleaning"),
    ("flux", "underfill"),
    ("flux", "coating"),
    ("standoff", "cleaning"),
    ("standoff", "underfill"),
    ("cleaning", "coating"),
)
"""The pairs that matter to each other; where there is none of one of them, nothing is asked."""


@dataclass(frozen=True)
class MaterialRow:
    """What is known of some materials together.

    Parameters
    ----------
    id : str
    when : mapping
        Kind -> value; holds where all of them are in the set.
    answer : str
        `compatible`, `needs a test` or `known bad`.
    test, standard : str
        Of a row that needs one.
    settles : tuple of str
        Rows that this test result takes the place of.
    reason, source, origin, grade : str
    """

    id: str
    when: Mapping[str, str]
    answer: str
    test: str
    standard: str
    settles: tuple[str, ...]
    reason: str
    source: str
    origin: str
    grade: str

    @property
    def subject(self) -> str:
        """Return the materials in words."""
        return " with ".join(f"{kind} {value}" for kind, value in self.when.items())


def alloy_kind(alloy: Composition) -> str:
    """Return the kind of alloy that the rows speak of."""
    rules = policy().materials
    share = {element: float(wt) for element, wt in alloy.parts}
    for kind, element, least in (
        ("gold-tin", "Au", rules.gold_rich_wt),
        ("bismuth-rich", "Bi", rules.bismuth_rich_wt),
        ("indium-rich", "In", rules.indium_rich_wt),
        ("zinc-bearing", "Zn", policy().galvanic.zinc_from_wt),
    ):
        if share.get(element, 0.0) >= least:
            return kind
    if share.get("Sn", 0.0) >= 50 and share.get("Pb", 0.0) >= 5:
        return "tin-lead"
    only = set(share) <= {"Sn", "Ag", "Cu"} and {"Ag", "Cu"} <= set(share)
    return "tin-silver-copper" if only and share.get("Sn", 0.0) >= 90 else "other"


def standoff_kind(standoff_um: float) -> str:
    """Return whether a standoff is low, high, or where the sources differ.

    Raises
    ------
    InputError
        Below 0, or beyond what a joint has.
    """
    hold("the standoff", Bound("standoff_um", standoff_um, 0, 5000, "um"))
    rules = policy().printing
    if standoff_um < rules.residue_alert_um:
        return "low"
    return "high" if standoff_um >= rules.residue_clear_um else "unsettled"


@cache
def shipped_rows() -> tuple[MaterialRow, ...]:
    """Return the rows that ship with the product."""
    return read_rows(data_folder() / TABLE)


def read_rows(path: Path, onto: Iterable[MaterialRow] = ()) -> tuple[MaterialRow, ...]:
    """Return the rows of a table of the shipped form, after the rows that it adds to.

    Parameters
    ----------
    path : Path
        The shipped table, or a user's own test results.
    onto : iterable of MaterialRow
        Rows that a result may settle.

    Raises
    ------
    InputError
        Every fault of the table, with its row and column.
    """
    before = tuple(onto)
    heading, numbered = read_numbered(path, "the material sets")
    missing = [name for name in COLUMNS if name not in heading]
    if missing:
        where = f"{path.name}, row 1"
        raise InputError("the material sets", [Fault(where, "lacks columns", ", ".join(missing), ", ".join(COLUMNS))])
    faults: list[Fault] = []
    found: dict[str, MaterialRow] = {row.id: row for row in before}
    for number, cells in numbered:
        row = _row(cells)
        faults += _faults(row, cells, found, f"{path.name}, row {number}")
        found[row.id] = row
    if faults:
        raise InputError("the material sets", faults)
    return tuple(found.values())


def _row(cells: Mapping[str, str]) -> MaterialRow:
    parts = [part.partition("=") for part in cells["when"].split(";")]
    when = {kind.strip(): value.strip() for kind, _, value in parts}
    settles = tuple(name.strip() for name in cells["settles"].split(";") if name.strip())
    rest = {name: cells[name] for name in ("answer", "test", "standard", "reason", "source", "origin", "grade")}
    return MaterialRow(cells["row"], MappingProxyType(when), settles=settles, **rest)


def _faults(row: MaterialRow, cells: Mapping[str, str], found: Mapping[str, MaterialRow], where: str) -> list[Fault]:
    faults = []
    if not row.id or row.id in found:
        faults.append(Fault(f"{where}, row", "is given twice" if row.id else "is empty", shown(row.id), "a new id"))
    if row.answer not in ANSWERS:
        faults.append(Fault(f"{where}, answer", "is not one of the list", shown(row.answer), ", ".join(ANSWERS)))
    if row.answer == NEEDS_A_TEST and not (row.test and row.standard):
        faults.append(Fault(f"{where}, test", "names no test with its standard", allowed="both columns filled"))
    for name in ("reason", "source"):
        if not cells[name]:
            faults.append(Fault(f"{where}, {name}", "is empty", allowed="words"))
    if len(row.when) < 2:
        faults.append(Fault(f"{where}, when", "speaks of fewer than two materials", shown(cells["when"])))
    for kind, value in row.when.items():
        if kind not in KINDS:
            faults.append(Fault(f"{where}, when", "names an unknown kind", shown(kind), ", ".join(KINDS)))
        elif value not in KINDS[kind]:
            faults.append(Fault(f"{where}, when", f"names no {kind}", shown(value), ", ".join(KINDS[kind])))
    for name in row.settles:
        other = found.get(name)
        if other is None:
            faults.append(Fault(f"{where}, settles", "names a row that is not before it", shown(name)))
        elif other.answer != NEEDS_A_TEST:
            faults.append(Fault(f"{where}, settles", "settles a row that asks for no test", shown(name)))
        elif not set(other.when.items()) <= set(row.when.items()):
            faults.append(Fault(f"{where}, settles", "was tested on other materials", shown(name), other.subject))
    return faults


def material_set(chosen: Mapping[str, str | None], rows: Iterable[MaterialRow] | None = None) -> tuple[Verdict, ...]:
    """Return a verdict for every row that speaks of a set, and for every pair of it that no row speaks of.

    Parameters
    ----------
    chosen : mapping
        Kind -> value, as in `KINDS`; None, or a kind left out, where it is not known.
    rows : iterable of MaterialRow, optional
        The shipped ones where not given; `read_rows` adds a user's results to them.

    Returns
    -------
    tuple of Verdict
        Known bad fails; what needs a test, is untested or not known is unknown with what would decide it.

    Raises
    ------
    InputError
        A kind or value that is not in the list.
    """
    faults = []
    for kind, value in chosen.items():
        if kind not in KINDS:
            faults.append(Fault(kind, "is no kind of material", shown(value), ", ".join(KINDS)))
        elif value is not None and value not in KINDS[kind]:
            faults.append(Fault(kind, "is not in the list", shown(value), ", ".join(KINDS[kind])))
    if faults:
        raise InputError("the material set", faults)
    held = {kind: value for kind in KINDS if (value := chosen.get(kind)) is not None}
    matching = [
        row
        for row in (shipped_rows() if rows is None else rows)
        if all(held.get(kind) == value for kind, value in row.when.items())
    ]
    settled = {name for row in matching for name in row.settles}
    speaking = [row for row in matching if row.id not in settled]
    covered = {frozenset(pair) for row in speaking for pair in combinations(row.when, 2)}
    verdicts = [_verdict(row) for row in speaking]
    for one, other in PAIRS:
        if frozenset((one, other)) not in covered and not _nothing_to_ask(held, one, other):
            verdicts.append(_untested(held, one, other))
    return tuple(verdicts)


def _nothing_to_ask(held: Mapping[str, str], one: str, other: str) -> bool:
    """Return whether one of a pair is absent; what is left unwashed is a question of flux and coat, not of the wash."""
    absent = ("underfill", "coating") if "flux" in (one, other) else ("underfill", "coating", "cleaning")
    return any(kind in absent and held.get(kind) == "none" for kind in (one, other))


def _verdict(row: MaterialRow) -> Verdict:
    own = "own test: " if row.settles else ""
    if row.answer == COMPATIBLE:
        return Verdict(RULE, Outcome.PASS, f"{own}{row.reason}", row.source, subject=row.subject)
    if row.answer == KNOWN_BAD:
        return Verdict(RULE, Outcome.FAIL, f"{own}{row.reason}", row.source, subject=row.subject)
    threshold = f"holds if it passes: {row.test} ({row.standard})"
    return Verdict(
        RULE, Outcome.UNKNOWN, f"needs a test: {row.reason}", row.source, threshold=threshold, subject=row.subject
    )


def _untested(held: Mapping[str, str], one: str, other: str) -> Verdict:
    missing = [kind for kind in (one, other) if kind not in held]
    subject = " with ".join(f"{kind} {held.get(kind, 'not known')}" for kind in (one, other))
    if missing:
        reason = f"{' and '.join(missing)} not known"
        return Verdict(
            RULE, Outcome.UNKNOWN, reason, "policy", threshold=f"state {' and '.join(missing)}", subject=subject
        )
    reason = "untested: no rule and no result is held for this pair"
    threshold = "holds if a test of this very pair passes"
    return Verdict(RULE, Outcome.UNKNOWN, reason, "policy", threshold=threshold, subject=subject)
