"""A file of one person's answers about weights -> weights, and the region of weights that the answers allow.

TOML. `kind` says how the weights were asked for, and one table holds the answers, by criterion:

    swing    [swing]    points 0 to 100, the heaviest 100            -> those weights, or a region around (`within`)
    direct   [direct]   any numbers at least 0                       -> the same
    rank     order = ["drop", ["wetting", "relative_cost"], ...]     -> the centroid, and the whole ordered region
    pairs    [[pair]]   one, other, times (1/9 to 9); `index`        -> the eigenvector, or a region around it
    bounds   [bounds]   [least, most] share of the whole, 0 to 1     -> a middle, and the region between the bounds
    ratios   [[ratio]]  over, under, least, most                     -> a middle, and the region that the ratios leave

`author`, `date` and `reason` go with every file; `within` (such as 0.2) says that each weight may be off by that share.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from selector.datafiles import parse_toml, read_text
from selector.errors import Fault, InputError, shown
from selector.scoring import admissible
from selector.scoring.admissible import Admissible, Ratio, Vector
from selector.scoring.weights.middle import middle
from selector.scoring.weights.pairs import RANDOM_INDEX, Judged, judged, matrix_of
from selector.scoring.weights.ranked import centroid, rank_reciprocal, rank_sum

KINDS = {"swing": "swing", "direct": "direct", "rank": "order", "pairs": "pair", "bounds": "bounds", "ratios": "ratio"}
ALWAYS = ("kind", "author", "date", "reason")
HEAVIEST = 100.0


@dataclass(frozen=True, eq=False)
class Answers:
    """What one person said about weights.

    Parameters
    ----------
    kind : str
        A key of `KINDS`.
    author : str
    date : date
    reason : str
    criteria : tuple of str
        In the order of `weights`.
    weights : array (n,)
        Sum to 1.
    region : Admissible
        All weights that the answers allow; the one point where they leave no room.
    beside : mapping of str to array (n,)
        Other derivations from the same answers, by name, shown beside and not used.
    pairs : Judged or None
        For judgements of pairs.
    """

    kind: str
    author: str
    date: date
    reason: str
    criteria: tuple[str, ...]
    weights: Vector
    region: Admissible
    beside: Mapping[str, Vector] = field(default_factory=dict)
    pairs: Judged | None = None


def read(path: Path | str, criteria: Sequence[str]) -> Answers:
    """Return the answers in a TOML file; raises `InputError` with every fault."""
    path = Path(path)
    return loads(read_text(path, path.name), criteria, path.name)


def loads(text: str, criteria: Sequence[str], what: str = "the answers") -> Answers:
    """Return the answers in a TOML text; raises `InputError` as `from_raw` and `parse_toml` do."""
    return from_raw(parse_toml(text, what, what), criteria, what)


def from_raw(raw: Mapping[str, Any], criteria: Sequence[str], what: str = "the answers") -> Answers:
    """Return the answers that plain tables hold.

    Parameters
    ----------
    raw : mapping
    criteria : sequence of n str
        Those that are weighed; each must be answered and no other.
    what : str
        Name of the file for faults.

    Raises
    ------
    InputError
        Every fault at once: a missing or unknown field, a criterion left out, unknown or repeated, an answer out of
        range, statements that conflict.
    """
    reader = _Reader(raw, tuple(criteria), what)
    kind = reader.head()
    found = _MAKERS[kind](reader) if kind in _MAKERS else None
    if reader.faults or found is None:
        raise InputError(what, reader.faults)
    weights, region, beside, pairs = found
    return Answers(
        str(kind), raw["author"], raw["date"], raw["reason"], tuple(criteria), weights, region, beside, pairs
    )


_Found = tuple[Vector, Admissible, dict[str, Vector], Judged | None]


class _Reader:
    """Takes values out of a table and gathers the faults met on the way."""

    def __init__(self, raw: Mapping[str, Any], criteria: tuple[str, ...], what: str) -> None:
        self.raw, self.criteria, self.what = raw, criteria, what
        self.faults: list[Fault] = []

    def fault(self, where: str, problem: str, value: object = None, allowed: str = "") -> None:
        self.faults.append(Fault(f"{self.what}: {where}", problem, "" if value is None else shown(value), allowed))

    def head(self) -> str | None:
        kind = self.raw.get("kind")
        if not isinstance(kind, str) or kind not in KINDS:
            self.fault("kind", "is not a way of asking", kind, ", ".join(KINDS))
            kind = None
        for name in ("author", "reason"):
            value = self.raw.get(name)
            if not isinstance(value, str) or not value.strip():
                self.fault(name, "is missing", value, "text")
        if type(self.raw.get("date")) is not date:
            self.fault("date", "is not a date", self.raw.get("date"), "a date such as 2027-09-01, without quotes")
        if kind is not None:
            extra = {"pairs": ("index", "within"), "swing": ("within",), "direct": ("within",)}.get(kind, ())
            allowed = (*ALWAYS, KINDS[kind], *extra)
            for name in self.raw:
                if name not in allowed:
                    self.fault(str(name), f"has no place in answers by {kind}", allowed=", ".join(allowed))
        return kind

    def number(self, value: object, where: str, low: float, high: float) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            self.fault(where, "is not a number in range", value, f"{low:g} to {high:g}")
            return low
        return float(value)

    def index(self, name: object, where: str) -> int:
        if isinstance(name, str) and name in self.criteria:
            return self.criteria.index(name)
        self.fault(where, "is not a criterion that is weighed", name, ", ".join(self.criteria))
        return -1

    def table(self, name: str) -> dict[int, Any]:
        rows = self.raw.get(name)
        if not isinstance(rows, dict):
            self.fault(name, "is not a table of answers", rows, f"[{name}] with one entry a criterion")
            return {}
        found = {self.index(key, f"{name}.{key}"): value for key, value in rows.items()}
        for place, criterion in enumerate(self.criteria):
            if place not in found:
                self.fault(f"{name}.{criterion}", "was not answered", allowed="one answer a criterion")
        found.pop(-1, None)
        return found

    def rows(self, name: str) -> list[Mapping[str, Any]]:
        rows = self.raw.get(name)
        if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
            self.fault(name, "is not a list of tables", rows, f"[[{name}]] once for each answer")
            return []
        return rows

    def around(self, weights: Vector) -> Admissible:
        within = self.number(self.raw.get("within", 0), "within", 0, 1)
        names = self.criteria
        return admissible.around(weights, within, names) if within else admissible.fixed(weights, names)


def _points(reader: _Reader, name: str, most: float) -> Vector:
    given = reader.table(name)
    values = [
        reader.number(given[place], f"{name}.{criterion}", 0, most)
        for place, criterion in enumerate(reader.criteria)
        if place in given
    ]
    if not reader.faults and sum(values) <= 0:
        reader.fault(name, "puts nothing on any criterion", allowed="at least one above 0")
    return np.array(values)


def _swing(reader: _Reader) -> _Found | None:
    points = _points(reader, "swing", HEAVIEST)
    if not reader.faults and points.max() != HEAVIEST:
        reader.fault("swing", "has no criterion at 100", points.max(), "the heaviest gets 100 points")
    return _around(reader, points)


def _direct(reader: _Reader) -> _Found | None:
    return _around(reader, _points(reader, "direct", 1e6))


def _around(reader: _Reader, points: Vector) -> _Found | None:
    if reader.faults:
        return None
    weights = points / points.sum()
    region = reader.around(weights)
    return None if reader.faults else (weights, region, {}, None)


def _rank(reader: _Reader) -> _Found | None:
    given = reader.raw.get("order")
    if not isinstance(given, list) or not given:
        reader.fault(
            "order", "is not a ranking", given, "a list of criteria, heaviest first; equals in a list of their own"
        )
        return None
    groups = [
        [reader.index(name, f"order[{place}]") for name in (entry if isinstance(entry, list) else [entry])]
        for place, entry in enumerate(given)
    ]
    flat = [index for group in groups for index in group]
    for place, criterion in enumerate(reader.criteria):
        if flat.count(place) != 1:
            reader.fault("order", "does not rank a criterion once", criterion, "every criterion once")
    if any(not group for group in groups):
        reader.fault("order", "holds an empty group", given)
    if reader.faults:
        return None
    beside = {"rank sum": rank_sum(groups), "rank reciprocal": rank_reciprocal(groups)}
    return centroid(groups), admissible.ordered(groups, reader.criteria), beside, None


def _pairs(reader: _Reader) -> _Found | None:
    said: dict[tuple[int, int], float] = {}
    for place, row in enumerate(reader.rows("pair")):
        one, other = (reader.index(row.get(key), f"pair[{place}].{key}") for key in ("one", "other"))
        times = reader.number(row.get("times"), f"pair[{place}].times", 1 / 9 - 1e-3, 9)
        if one >= 0 and other >= 0 and (one, other) in said:
            reader.fault(f"pair[{place}]", "was judged already", allowed="every pair once")
        said[one, other] = max(times, 1 / 9)
    table = reader.raw.get("index", "alonso-lamata")
    if not isinstance(table, str) or table not in RANDOM_INDEX:
        reader.fault("index", "is not a known table of random indices", table, ", ".join(RANDOM_INDEX))
    if reader.faults:
        return None
    try:
        found = judged(matrix_of(len(reader.criteria), said, reader.criteria), table)
    except InputError as error:
        reader.faults += [
            Fault(f"{reader.what}: {f.where}", f.problem, f.value, f.allowed, f.remedy) for f in error.faults
        ]
        return None
    region = reader.around(found.eigenvector)
    return None if reader.faults else (found.eigenvector, region, {"geometric mean": found.geometric}, found)


def _bounds(reader: _Reader) -> _Found | None:
    given = reader.table("bounds")
    lower, upper = np.zeros(len(reader.criteria)), np.ones(len(reader.criteria))
    for place, criterion in enumerate(reader.criteria):
        pair = given.get(place)
        if isinstance(pair, list) and len(pair) == 2:
            lower[place], upper[place] = (reader.number(end, f"bounds.{criterion}", 0, 1) for end in pair)
        elif place in given:
            reader.fault(f"bounds.{criterion}", "is not a pair", pair, "[least, most], each 0 to 1")
    return _region(reader, lambda: admissible.bounded(lower, upper, reader.criteria))


def _ratios(reader: _Reader) -> _Found | None:
    said = []
    for place, row in enumerate(reader.rows("ratio")):
        over, under = (reader.index(row.get(key), f"ratio[{place}].{key}") for key in ("over", "under"))
        low = reader.number(row.get("least", 0), f"ratio[{place}].least", 0, 1e6)
        high = reader.number(row["most"], f"ratio[{place}].most", 0, 1e6) if "most" in row else np.inf
        said.append(Ratio(over, under, low, float(high)))
    return _region(reader, lambda: admissible.ratios(len(reader.criteria), said, reader.criteria))


def _region(reader: _Reader, make: Any) -> _Found | None:
    if reader.faults:
        return None
    try:
        region: Admissible = make()
    except InputError as error:
        reader.faults += [
            Fault(f"{reader.what}: {f.where}", f.problem, f.value, f.allowed, f.remedy) for f in error.faults
        ]
        return None
    return middle(region), region, {}, None


_MAKERS = {
    "swing": _swing,
    "direct": _direct,
    "rank": _rank,
    "pairs": _pairs,
    "bounds": _bounds,
    "ratios": _ratios,
}
