"""Turns many observations of one quantity into one value with an interval, by a stated rule, and keeps them all.

The rule, in full: rows marked `implausible` or `not comparable` are kept and never chosen. Of the usable rows the
best grade wins (high, medium, low), then the best origin (measured, tabulated, computed, memory); among equals the
value nearest to their median, then the lowest value, then the lowest row id. The interval runs from the lowest to
the highest figure of all usable rows, so that it covers every disagreement. Nothing is averaged.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from selector.figures import figure, spread

GRADES = ("high", "medium", "low")
ORIGINS = ("measured", "tabulated", "computed", "memory")
RULE = "best grade, then origin, then nearest the median of equals; the interval covers every usable row"
USABLE = "usable"


@dataclass(frozen=True)
class Observation:
    """One statement by one source about one property of one alloy."""

    id: str
    alloy: str
    name: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    text: str
    condition: str
    source: str
    origin: str
    grade: str
    standing: str
    standing_reason: str

    @property
    def figures(self) -> tuple[float, ...]:
        """Return every figure that the row states."""
        return tuple(stated for stated in (self.value, self.low, self.high) if stated is not None)

    @property
    def told(self) -> str:
        """Return the row's figure with the ends that it states; one end alone as a bound."""
        if self.value is None and self.low is None and self.high is not None:
            return f"at most {figure(self.high)}"
        if self.value is None and self.high is None and self.low is not None:
            return f"at least {figure(self.low)}"
        low = self.value if self.low is None else self.low
        return spread(self.value, low, self.value if self.high is None else self.high)


@dataclass(frozen=True)
class Evidence:
    """What the observations come to.

    Parameters
    ----------
    name, unit : str
    value : float or None
        None where nothing usable was stated as one figure.
    low, high : float or None
        The interval; None where nothing usable is known at all.
    grade, origin, source, rule : str
        Of the chosen row, or of the computation; `source` may join several with "; ".
    chosen : Observation or None
        None for computed quantities and where nothing is known.
    candidates : tuple of Observation
        Everything that was chosen among, unusable rows included.
    inputs : tuple of Evidence
        For computed quantities: what they were computed from.
    cautions : tuple of str
    """

    name: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    grade: str
    origin: str
    source: str
    rule: str = RULE
    chosen: Observation | None = None
    candidates: tuple[Observation, ...] = ()
    inputs: tuple["Evidence", ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def ends(self) -> str:
        """Return which rows state the ends of the interval: `low o0012, high o0015`; inputs' own for a computed one."""
        rows = [row for row in self.candidates if row.standing == USABLE and row.figures]
        if not rows:
            told = dict.fromkeys(f"{entry.name} {entry.ends}" for entry in self.inputs if entry.ends)
            return "; ".join(told)
        low = min(rows, key=lambda row: (min(row.figures), row.id))
        high = min(rows, key=lambda row: (-max(row.figures), row.id))
        return low.id if low is high else f"low {low.id}, high {high.id}"

    @property
    def interval(self) -> tuple[float, float] | None:
        """Return (low, high), or None where nothing is known."""
        return None if self.low is None or self.high is None else (self.low, self.high)


def nothing(name: str, unit: str, candidates: Sequence[Observation] = (), why: str = "no usable row") -> Evidence:
    """Return evidence that says that nothing is known, and why."""
    return Evidence(name, unit, None, None, None, "none", "none", "none", why, None, tuple(candidates))


def choose(name: str, unit: str, observations: Iterable[Observation]) -> Evidence:
    """Return the evidence that observations of one property of one alloy come to.

    Parameters
    ----------
    name, unit : str
        The property and its unit.
    observations : iterable of Observation
        In any order; the result does not depend on it.
    """
    candidates = tuple(sorted(observations, key=lambda row: row.id))
    usable = [row for row in candidates if row.standing == USABLE and row.figures]
    if not usable:
        return nothing(name, unit, candidates)
    figures = [figure for row in usable for figure in row.figures]
    valued = [row for row in usable if row.value is not None]
    if not valued and not (any(row.low is not None for row in usable) and any(row.high is not None for row in usable)):
        # "At least 35" alone leaves the other end open, which an interval cannot say.
        return nothing(name, unit, candidates, "only one end is stated")
    if not valued:
        best = min(usable, key=lambda row: (_rank(row), row.id))
        return Evidence(
            name,
            unit,
            None,
            min(figures),
            max(figures),
            best.grade,
            best.origin,
            best.source,
            RULE,
            best,
            candidates,
        )
    equals = [row for row in valued if _rank(row) == min(map(_rank, valued))]
    middle = median(row.value for row in equals if row.value is not None)
    chosen = min(equals, key=lambda row: (abs((row.value or 0.0) - middle), row.value or 0.0, row.id))
    return Evidence(
        name,
        unit,
        chosen.value,
        min(figures),
        max(figures),
        chosen.grade,
        chosen.origin,
        chosen.source,
        RULE,
        chosen,
        candidates,
    )


def _rank(row: Observation) -> tuple[int, int]:
    return GRADES.index(row.grade), ORIGINS.index(row.origin)


def worst_grade(grades: Iterable[str]) -> str:
    """Return the worst of some grades; "none" where there are none."""
    return max((grade for grade in grades if grade in GRADES), key=GRADES.index, default="none")


def computed(
    name: str,
    unit: str,
    value: float | None,
    low: float | None,
    high: float | None,
    rule: str,
    inputs: Iterable[Evidence],
    cautions: tuple[str, ...] = (),
) -> Evidence:
    """Return evidence for a quantity computed from others; it is no better than the worst grade that went in."""
    inputs = tuple(inputs)
    known = [entry for entry in inputs if entry.grade in GRADES]
    grade = worst_grade(entry.grade for entry in known)
    sources = "; ".join(dict.fromkeys(entry.source for entry in known))
    return Evidence(name, unit, value, low, high, grade, "computed", sources, rule, inputs=inputs, cautions=cautions)
