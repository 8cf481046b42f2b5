"""What the melting engine covers, and how far its answer for a composition may be trusted."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import combinations

from pydantic import BaseModel, ConfigDict

from selector.composition import Composition, decimal_text, from_mapping
from selector.datafiles import read_toml
from selector.errors import Fault, InputError
from selector.melting.parameters import thermo_folder
from selector.units import exact

# Shows the trend only: no limit may rest on it.
INDICATIVE = "indicative"
GRADES = ("assessed", "fitted", INDICATIVE)
IN_WORDS = {
    "assessed": "assessed: figures of published assessments; within about {k:g} K of tables where it was checked",
    "fitted": "fitted: rests in part on a fit to few targets; take it to about {k:g} K",
    INDICATIVE: "indicative: shows the trend only, to about {k:g} K; no limit may rest on it",
}


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SystemGrade(_Table):
    """The grade of one binary or ternary."""

    grade: str
    note: str = ""
    from_wt: float | None = None


class Elements(_Table):
    """Which elements are covered."""

    covered: tuple[str, ...]


class Traces(_Table):
    """Up to which share any other element is set aside."""

    source: str
    other_wt: float
    wt: dict[str, float]


class HalfWidths(_Table):
    """Half the interval around a computed temperature, K, by grade."""

    source: str
    assessed: float
    fitted: float
    indicative: float


class Matters(_Table):
    """Shares from which a system counts."""

    source: str
    pair_with_matrix_wt: float
    other_pair_wt: float
    ternary_wt: float


class Beyond(_Table):
    """The grade of a system where an element is above a share, wt%: past what was assessed."""

    grade: str
    wt: dict[str, float]


class Quaternary(_Table):
    """Alloys of four or more elements with these pairs are indicative."""

    indicative_with: tuple[tuple[str, str], ...]


class Systems(_Table):
    """All of `data/thermo/systems.toml`."""

    elements: Elements
    traces: Traces
    half_width_k: HalfWidths
    matters: Matters
    lower_above_wt: dict[str, Beyond]
    quaternary: Quaternary
    binary: dict[str, SystemGrade]
    ternary: dict[str, SystemGrade]


@cache
def systems() -> Systems:
    """Return the grades of every binary and ternary."""
    return Systems.model_validate(read_toml(thermo_folder() / "systems.toml", "the grades of systems"))


@dataclass(frozen=True)
class Coverage:
    """What of a composition is computed, and with which trust.

    Parameters
    ----------
    composition : Composition
        Within the eight elements, the set-aside traces shared out in proportion.
    set_aside : tuple of (str, Fraction)
        Elements left out and their wt%.
    grade : str
        The lowest of the systems that matter: assessed, fitted or indicative.
    half_width_k : float
        Half the interval of a computed temperature.
    deciding : tuple of str
        The systems of that grade with their notes.
    """

    composition: Composition
    set_aside: tuple[tuple[str, Fraction], ...]
    grade: str
    half_width_k: float
    deciding: tuple[str, ...]

    @property
    def elements(self) -> tuple[str, ...]:
        """Return the elements in alphabetical order, as the engine orders them."""
        return tuple(sorted(self.composition.elements))

    @property
    def in_words(self) -> str:
        """Return the grade as a sentence."""
        return IN_WORDS[self.grade].format(k=self.half_width_k)

    @property
    def set_aside_in_words(self) -> str:
        """Return what was set aside, empty where nothing was."""
        if not self.set_aside:
            return ""
        told = ", ".join(f"{decimal_text(wt)} wt% {element}" for element, wt in self.set_aside)
        return f"{told} set aside: not in the tables, and a trace by policy"


def coverage(alloy: Composition) -> Coverage:
    """Return what of a composition the engine computes.

    Raises
    ------
    InputError
        An element outside the eight above its trace, or nothing else.
    """
    rules = systems()
    covered = rules.elements.covered
    outside = [(element, wt) for element, wt in alloy.parts if element not in covered]
    faults = []
    for element, wt in outside:
        trace = rules.traces.wt.get(element, rules.traces.other_wt)
        if wt > exact(trace):
            allowed = f"{', '.join(covered)}; a trace of {element} up to {trace:g} wt%"
            problem = f"{decimal_text(wt)} wt% {element} is not covered by the thermodynamic tables"
            faults.append(Fault(str(alloy), problem, element, allowed, "measure it, or ask without it"))
    kept = {element: wt for element, wt in alloy.parts if element in covered}
    if not kept and not faults:
        faults.append(Fault(str(alloy), "holds no element that is covered", allowed=", ".join(covered)))
    if faults:
        raise InputError("melting", faults)
    total = sum(kept.values(), Fraction(0))
    composition = from_mapping({element: wt * 100 / total for element, wt in kept.items()}, str(alloy))
    grade, deciding = _grade(composition, rules)
    return Coverage(composition, tuple(outside), grade, getattr(rules.half_width_k, grade), deciding)


def _grade(alloy: Composition, rules: Systems) -> tuple[str, tuple[str, ...]]:
    """Return the lowest grade among the systems that matter, and these systems."""
    share = {element: float(wt) for element, wt in alloy.parts}
    found: list[tuple[str, str]] = []
    for pair in combinations(sorted(share), 2):
        with_matrix = alloy.matrix in pair
        least = rules.matters.pair_with_matrix_wt if with_matrix else rules.matters.other_pair_wt
        if min(share[element] for element in pair) >= least:
            found.append(_one("-".join(pair), rules.binary, share, rules))
    for three in combinations(sorted(share), 3):
        name = "-".join(three)
        least = rules.ternary[name].from_wt or rules.matters.ternary_wt
        if min(share[element] for element in three) >= least:
            found.append(_one(name, rules.ternary, share, rules))
    found += [
        (INDICATIVE, f"{one}-{other} with two more elements")
        for one, other in rules.quaternary.indicative_with
        if len(share) >= 4 and min(share.get(one, 0.0), share.get(other, 0.0)) >= rules.matters.pair_with_matrix_wt
    ]
    grade = max((grade for grade, _ in found), key=GRADES.index, default="assessed")
    return grade, tuple(note for own, note in found if own == grade and grade != "assessed")


def _one(name: str, table: dict[str, SystemGrade], share: dict[str, float], rules: Systems) -> tuple[str, str]:
    entry = table[name]
    beyond = rules.lower_above_wt.get(name)
    past = beyond is not None and any(share[element] > most for element, most in beyond.wt.items())
    grade = beyond.grade if beyond is not None and past else entry.grade
    return grade, f"{name}: {entry.note}" if entry.note else name
