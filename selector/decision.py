"""`Brief` + `Catalogue` -> `Decision`: the one call that the command line, the pages and the record make."""

from dataclasses import dataclass, replace

from selector import __version__
from selector.board.levels import environment_of
from selector.board.steps import steps_of
from selector.brief import Brief
from selector.catalogue import Alloy, Catalogue, load
from selector.catalogue.bands import SCALES
from selector.compliance.demands import markets_not_judged
from selector.durability.safety import SCREENING_ONLY
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN
from selector.melting.facts import computed_facts, melting_conflicts
from selector.scoring.criteria import CRITERIA, Level
from selector.scoring.panel import Panel, panel
from selector.scoring.presets import Weighing, weighing
from selector.scoring.ranking import Scores, competition_ranks, rank_bounds
from selector.scoring.weighing import Weighed, weigh
from selector.screening import Screened, saving_edits, screen
from selector.verdict import Edit, Outcome, Standing, Verdict

KINDS_OF_CHANGE = ("K", "class", "ppm", "type", "um", "")
FACTS = ("solidus_c", "liquidus_c", "pasty_range_k", "density_g_cm3", "elongation_percent", "relative_cost")


@dataclass(frozen=True)
class Fact:
    """One figure or band of an alloy as it is handed over, with what it rests on; `ends` names the rows of its ends."""

    value: float | str | None
    low: float | str | None
    high: float | str | None
    unit: str
    grade: str
    origin: str
    source: str
    ends: str = ""


@dataclass(frozen=True)
class Share:
    """What one criterion adds to a score, in points of 100."""

    criterion: str
    level: Level
    weight: float
    worth: float | None
    worth_low: float
    worth_high: float
    clipped: bool

    @property
    def points(self) -> float | None:
        """Return the points that the criterion adds, None where its level is missing."""
        return None if self.worth is None else self.weight * self.worth


@dataclass(frozen=True)
class Candidate:
    """One alloy by plain reflow, judged and weighed.

    Parameters
    ----------
    screened : Screened
    rank, rank_best, rank_worst : int or None
        Place by lower bound, and the places that the intervals allow; None unless admitted.
    score : float or None
        None where a value is missing; the bounds then still hold.
    score_low, score_high : float
    shares : tuple of Share
    edits : tuple of Edit
        The smallest change of the brief that would admit it; empty where it is admitted or none would.
    """

    screened: Screened
    rank: int | None
    rank_best: int | None
    rank_worst: int | None
    score: float | None
    score_low: float
    score_high: float
    shares: tuple[Share, ...]
    edits: tuple[Edit, ...]

    @property
    def alloy(self) -> Alloy:
        """Return the alloy."""
        return self.screened.alloy

    @property
    def standing(self) -> Standing:
        """Return admitted, undecided or ruled out."""
        return self.screened.standing

    def blocking(self) -> tuple[Verdict, ...]:
        """Return the verdicts that keep the alloy out: the failed ones, or else the open ones."""
        wanted = Outcome.FAIL if self.standing is Standing.RULED_OUT else Outcome.UNKNOWN
        return tuple(verdict for verdict in self.screened.verdicts if verdict.outcome is wanted)

    def reasons(self) -> str:
        """Return what keeps the alloy out in words: what fails, then what is open besides."""
        failed = [v.reason for v in self.screened.blocking if v.outcome is Outcome.FAIL]
        unsettled = [f"open: {v.reason}" for v in self.screened.blocking if v.outcome is Outcome.UNKNOWN]
        return "; ".join([*failed, *unsettled])

    def verdict(self, rule: str) -> Verdict:
        """Return the verdict of one rule."""
        return next(entry for entry in self.screened.verdicts if entry.rule == rule)

    def heat(self) -> Verdict:
        """Return the verdict on process heat: of the steps where the brief names them, else of the one reflow."""
        steps = self.verdict("soldering_steps")
        return self.verdict("process_peak") if steps.outcome is Outcome.NOT_APPLICABLE else steps

    def facts(self) -> dict[str, Fact]:
        """Return the alloy's chief figures and bands."""
        facts = {}
        computed = computed_facts(self.alloy)
        for entry in (*(self.alloy.of(name) for name in FACTS), self.screened.onset, *computed):
            facts[entry.name] = Fact(
                entry.value, entry.low, entry.high, entry.unit, entry.grade, entry.origin, entry.source, entry.ends
            )
        elongation = self.alloy.of("elongation_percent")
        level, best, worst = self.screened.ductility
        facts["ductility_class"] = Fact(level, worst, best, "", elongation.grade, "computed", elongation.source)
        for name in SCALES:
            band = self.alloy.bands[name]
            facts[name] = Fact(band.level, band.worst, band.best, "", band.grade, band.origin, band.source)
        return facts

    def conflicts(self) -> tuple[str, ...]:
        """Return where computed and tabulated melting of the alloy disagree, both sides in words."""
        return tuple(conflict.text for conflict in melting_conflicts(self.alloy))


@dataclass(frozen=True)
class Decision:
    """Everything that was decided, with what it rests on.

    Parameters
    ----------
    brief : Brief
    admitted : tuple of Candidate
        In order of merit by lower bound.
    undecided, ruled_out : tuple of Candidate
        Nearest to admission first.
    weighing : Weighing
        Anchors and weights, and where they came from.
    cautions : tuple of str
        What holds for the whole decision.
    data_hash, version : str
    """

    brief: Brief
    admitted: tuple[Candidate, ...]
    undecided: tuple[Candidate, ...]
    ruled_out: tuple[Candidate, ...]
    weighing: Weighing
    cautions: tuple[str, ...]
    data_hash: str
    version: str

    @property
    def candidates(self) -> tuple[Candidate, ...]:
        """Return every candidate, admitted first."""
        return self.admitted + self.undecided + self.ruled_out

    def of(self, alloy: Alloy) -> Candidate | None:
        """Return the candidate of an alloy, None where it was not looked at."""
        return next((candidate for candidate in self.candidates if candidate.alloy.id == alloy.id), None)


def decide(brief: Brief, catalogue: Catalogue | None = None, also: tuple[Alloy, ...] = ()) -> Decision:
    """Return the decision for a brief over the default list of a catalogue.

    Parameters
    ----------
    brief : Brief
    catalogue : Catalogue, optional
        The shipped one where none is given.
    also : tuple of Alloy
        Alloys outside the default list to look at as well, such as the incumbent.

    Raises
    ------
    InputError
        Preferences that cannot be used.
    """
    catalogue = catalogue or load()
    how = weighing(brief)
    _check_overrides(brief, catalogue)
    _check_board(brief, catalogue)
    alloys = {alloy.id: alloy for alloy in (*catalogue.listed(), *also)}
    rows = [screen(brief, catalogue, alloy) for alloy in alloys.values()]
    weighed = weigh(brief, rows, how)
    candidates = [
        _candidate(row, weighed, index, saving_edits(brief, catalogue, row)) for index, row in enumerate(rows)
    ]
    groups = {standing: [c for c in candidates if c.standing is standing] for standing in Standing}
    return Decision(
        brief=brief,
        admitted=_in_order(groups[Standing.ADMITTED]),
        undecided=tuple(sorted(groups[Standing.UNDECIDED], key=_nearness)),
        ruled_out=tuple(sorted(groups[Standing.RULED_OUT], key=_nearness)),
        weighing=how,
        cautions=(*_cautions(brief), *_in_use_not_found(brief, catalogue), *_left_out(catalogue, alloys)),
        data_hash=catalogue.hash,
        version=__version__,
    )


def _check_overrides(brief: Brief, catalogue: Catalogue) -> None:
    """Refuse an override that names no alloy: it would be ignored in silence."""
    faults = []
    for index, entry in enumerate(brief.overrides):
        try:
            catalogue.find(entry.alloy)
        except InputError as error:
            faults += [replace(fault, where=f"overrides[{index}].alloy: {fault.where}") for fault in error.faults]
    if faults:
        raise InputError("the overrides", faults)


def _check_board(brief: Brief, catalogue: Catalogue) -> None:
    """Refuse names in steps and life that lead nowhere, once and not for every alloy."""
    faults: list[Fault] = []
    for check in (lambda: steps_of(brief, catalogue), lambda: environment_of(brief)):
        try:
            check()
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError("the brief", faults)


def second_opinions(decision: Decision) -> Panel:
    """Return what TOPSIS and VIKOR say of the admitted alloys that have every value; relative to that list."""
    admitted = decision.admitted
    chosen = sorted(
        (entry for entry in decision.weighing.preferences if entry.swing > 0),
        key=lambda entry: list(CRITERIA).index(entry.criterion),
    )
    return panel(
        [entry.alloy.id for entry in admitted],
        [[share.level for share in entry.shares] for entry in admitted],
        [[share.worth for share in entry.shares] for entry in admitted],
        [entry.score_low for entry in admitted],
        chosen,
        [share.weight for share in admitted[0].shares] if admitted else [],
    )


def _in_use_not_found(brief: Brief, catalogue: Catalogue) -> tuple[str, ...]:
    """Return a word about an alloy in use that the catalogue does not hold: it would be missed in silence."""
    if brief.incumbent == UNKNOWN or catalogue.held(brief.incumbent) is not None:
        return ()
    return (f"The alloy in use, {brief.incumbent}, is not in the catalogue: it was not compared.",)


def _left_out(catalogue: Catalogue, looked_at: dict[str, Alloy]) -> tuple[str, ...]:
    """Return a word about the alloys of the catalogue that were not looked at."""
    count = len(catalogue.alloys) - len(looked_at)
    if count <= 0:
        return ()
    return (f"{count} fusible, cadmium and gallium grades stand outside the default list and were not looked at.",)


def _candidate(row: Screened, weighed: Weighed, index: int, edits: tuple[Edit, ...]) -> Candidate:
    scores = weighed.scores
    shares = tuple(
        Share(
            entry.criterion,
            weighed.levels[index][j],
            float(weighed.weights[j]),
            None if weighed.central[index, j] != weighed.central[index, j] else float(weighed.central[index, j]),
            float(weighed.low[index, j]),
            float(weighed.high[index, j]),
            bool(weighed.clipped[index, j]),
        )
        for j, entry in enumerate(weighed.preferences)
    )
    central = float(scores.central[index])
    return Candidate(
        row,
        None,
        None,
        None,
        None if central != central else central,
        float(scores.low[index]),
        float(scores.high[index]),
        shares,
        edits,
    )


def _in_order(admitted: list[Candidate]) -> tuple[Candidate, ...]:
    """Return admitted candidates by lower bound, each with its rank and the ranks its interval allows."""
    import numpy as np

    if not admitted:
        return ()
    low = np.array([candidate.score_low for candidate in admitted])
    high = np.array([candidate.score_high for candidate in admitted])
    ranks = competition_ranks(low)
    best, worst = rank_bounds(Scores(low, low, high))
    placed = [
        replace(candidate, rank=int(rank), rank_best=int(first), rank_worst=int(last))
        for candidate, rank, first, last in zip(admitted, ranks, best, worst, strict=True)
    ]
    return tuple(sorted(placed, key=lambda c: (c.rank or 0, c.alloy.id)))


def _nearness(candidate: Candidate) -> tuple[bool, int, int, float, int, str]:
    """Order by how near to admission: those that a change of the brief would admit, by the kind and size of the change.

    What only asks to be shown does not count as a change. Changes in kelvin come before a change of class, of content,
    and those without a size: units are never compared.
    """
    edits = [edit for edit in candidate.edits if not edit.only_asks]
    kinds = [KINDS_OF_CHANGE.index(edit.unit) if edit.change is not None else len(KINDS_OF_CHANGE) for edit in edits]
    return (
        not candidate.edits,
        0 if candidate.edits else len(candidate.blocking()),
        max(kinds, default=0),
        max((abs(edit.change or 0.0) for edit in edits), default=0.0),
        len(candidate.edits),
        candidate.alloy.id,
    )


def _cautions(brief: Brief) -> tuple[str, ...]:
    """Return what is said with every decision, and what this use asks to be said (assembly practice)."""
    cautions = [SCREENING_ONLY]
    use = brief.use
    if use.medical is True or use.automotive is True or brief.ipc_class == 3:
        cautions.append(
            "A failure here may hurt somebody: the admitted alloys are candidates to qualify under the standards of"
            " the product (for example ISO 14971 and IEC 60601-1, ISO 26262, IEC 61508, IEC 62368-1), not approved."
        )
    if use.equipment == "active implant":
        cautions.append("Implants are out of reach of this tool.")
    if use.equipment in ("space", "military") or use.medical is True:
        cautions.append("Check first whether the contract requires lead or a lead-free control plan.")
    if use.skin_contact is True:
        cautions.append(
            "Skin contact: nickel release and the limits on lead and cadmium in articles that touch skin are judged on"
            " the finished article (EN 1811, REACH Annex XVII), not on the alloy."
        )
    unjudged = markets_not_judged(brief)
    if unjudged:
        cautions.append(f"No rule set is loaded for {', '.join(unjudged)}: the law there was not judged.")
    if not brief.markets:
        cautions.append("The brief names no market: no law was judged.")
    cautions.append(
        "A joint that carries mains or battery current is compared with its fault temperature, which this brief"
        " does not know."
    )
    return tuple(cautions)
