"""The reflow window: from the liquidus with its superheat up to the first limit of part, laminate, film or adhesive.

`T_low = T_liq + SH`; the hottest joint runs hotter by the spread U of the board, so that the alloy fits where
`T_liq + SH + U <= min(limits)`. Superheat 15 to 30 K, 20 unless stated; spread 5 K (policy). Validity: limits of the
body in minutes, unloaded; an oven rating is another thing (`reflow.py`). No standard has a row for low-temperature
paste: its own sheet rules. Sources: common practice; J-STD-020 for the times, in `data/profile_limits.csv`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np

from selector.constants import board_table
from selector.errors import Fault, InputError, shown
from selector.policy import policy
from selector.ranges import Numbers, refuse_outside, wrong_if

GROUPS = ("part", "laminate", "film", "adhesive")


@dataclass(frozen=True)
class Limit:
    """What must survive the peak.

    Parameters
    ----------
    name : str
    limit_c : float
        Of its body.
    group : str
        part, laminate, film or adhesive.
    assumed : bool
        Whether it is a default for its kind and not the rating of this very one.
    reflow : bool
        Whether it may go through an oven at all.
    seconds, passes : int or None
    source, note : str
    """

    name: str
    limit_c: float
    group: str = "part"
    assumed: bool = False
    reflow: bool = True
    seconds: int | None = None
    passes: int | None = None
    source: str = "the user"
    note: str = ""


@dataclass(frozen=True)
class Window:
    """What peak an alloy and a board leave open.

    Parameters
    ----------
    liquidus_c, superheat_k, spread_k : float
    low_c : float
        Coolest joint that still wets.
    high_c : float or None
        The lowest limit; None where none is stated.
    width_k : float or None
        Room for the coolest joint: high less low less the spread. Negative where no peak fits.
    deciding : tuple of Limit
        The lowest limits, all that tie.
    limits : tuple of Limit
        From the lowest up.
    cautions : tuple of str
    """

    liquidus_c: float
    superheat_k: float
    spread_k: float
    low_c: float
    high_c: float | None
    width_k: float | None
    deciding: tuple[Limit, ...]
    limits: tuple[Limit, ...]
    cautions: tuple[str, ...]

    @property
    def is_open(self) -> bool | None:
        """Return whether a peak fits; None where no limit is stated."""
        return None if self.width_k is None else self.width_k >= 0


@dataclass(frozen=True)
class ProfileLimit:
    """One thing that a profile keeps to; `low` None where there is only an upper end."""

    family: str
    item: str
    low: float | None
    high: float
    unit: str
    source: str
    origin: str
    grade: str
    note: str


def lowest_peak_c(liquidus_c: Numbers, superheat_k: Numbers) -> Numbers:
    """Return the coolest peak at which a joint wets, degC: liquidus plus superheat.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the window", liquidus_c=liquidus_c, superheat_k=superheat_k)
    return liquidus_c + superheat_k


def headroom_k(limit_c: Numbers, liquidus_c: Numbers, superheat_k: Numbers, spread_k: Numbers) -> Numbers:
    """Return the kelvin between the hottest joint and a limit; negative where the limit is passed.

    Parameters
    ----------
    limit_c, liquidus_c : float or array, degC
    superheat_k, spread_k : float or array, K

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the window", limit_c=limit_c, spread_k=spread_k)
    return limit_c - (lowest_peak_c(liquidus_c, superheat_k) + spread_k)


def rating_headroom_k(rating_limit_c: Numbers, peak_c: Numbers, spread_k: Numbers) -> Numbers:
    """Return the kelvin between a stated peak with the board's spread and a rating.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the window", rating_limit_c=rating_limit_c, peak_c=peak_c, spread_k=spread_k)
    return rating_limit_c - (peak_c + spread_k)


def ramp_time_s(from_c: Numbers, to_c: Numbers, ramp_k_s: Numbers) -> Numbers:
    """Return the least time of a ramp, s.

    Raises
    ------
    InputError
        Outside the range, or a ramp that runs down.
    """
    down = wrong_if(np.asarray(to_c) < np.asarray(from_c), "to_c", "lies below the start", to_c, "at least from_c")
    refuse_outside("the ramp", down, from_c=from_c, to_c=to_c, ramp_k_s=ramp_k_s)
    return (to_c - from_c) / ramp_k_s


@cache
def part_defaults() -> Mapping[str, Limit]:
    """Return what kinds of part and substrate tolerate, by kind; the lower end of each range."""
    found = {}
    for row in board_table("part_defaults"):
        seconds, passes = (int(row[name]) if row[name] else None for name in ("seconds", "passes"))
        low, high = float(row["limit_low_c"]), float(row["limit_high_c"])
        note = row["note"] if low == high else "; ".join(filter(None, (f"to {high:g} degC if rated", row["note"])))
        found[row["kind"]] = Limit(
            row["kind"], low, row["group"], True, row["reflow"] == "yes", seconds, passes, row["source"], note
        )
    return MappingProxyType(found)


def default_limit(kind: str, name: str = "") -> Limit:
    """Return the default limit of a kind of part, marked as assumed.

    Raises
    ------
    InputError
        A kind that the table does not hold.
    """
    if kind not in part_defaults():
        allowed = "; ".join(part_defaults())
        raise InputError("the part", [Fault("kind", "has no default", shown(kind), allowed, "state its own limit")])
    held = part_defaults()[kind]
    return Limit(
        name or kind, held.limit_c, held.group, True, held.reflow, held.seconds, held.passes, held.source, held.note
    )


@cache
def profile_limits(family: str) -> tuple[ProfileLimit, ...]:
    """Return what a profile of a family keeps to; empty for a family without any."""
    return tuple(
        ProfileLimit(
            row["family"],
            row["item"],
            float(row["low"]) if row["low"] else None,
            float(row["high"]),
            row["unit"],
            row["source"],
            row["origin"],
            row["grade"],
            row["note"],
        )
        for row in board_table("profile_limits")
        if row["family"] == family
    )


def family_of(liquidus_c: float) -> str:
    """Return the family of profile limits that an alloy of this liquidus is run by.

    From 210 degC lead-free, from 175 tin-lead, below low-temperature (policy).
    """
    refuse_outside("the window", liquidus_c=liquidus_c)
    return "lead-free" if liquidus_c >= 210 else "tin-lead" if liquidus_c >= 175 else "low-temperature"


def reflow_window(
    liquidus_c: float,
    limits: Sequence[Limit],
    superheat_k: float | None = None,
    spread_k: float | None = None,
) -> Window:
    """Return what peak an alloy and a board leave open.

    Parameters
    ----------
    liquidus_c : float
    limits : sequence of Limit
    superheat_k, spread_k : float, optional
        20 and 5 K where left out (policy).

    Raises
    ------
    InputError
        Outside the range; a superheat outside 0 to 100 K.
    """
    rules = policy().window
    superheat = rules.superheat_k if superheat_k is None else superheat_k
    spread = rules.spread_k if spread_k is None else spread_k
    faults = [
        Fault(f"limits, {entry.name}", "is no group", shown(entry.group), ", ".join(GROUPS))
        for entry in limits
        if entry.group not in GROUPS
    ]
    refuse_outside("the window", *faults, **{f"{entry.name}_limit_c": entry.limit_c for entry in limits})
    low = float(lowest_peak_c(liquidus_c, superheat))
    ordered = tuple(sorted(limits, key=lambda entry: (entry.limit_c, entry.name)))
    high = ordered[0].limit_c if ordered else None
    cautions = [f"{entry.name}: {entry.limit_c:g} degC is a default for its kind" for entry in ordered if entry.assumed]
    cautions += [f"{entry.name} is not made for an oven: fit it after reflow" for entry in ordered if not entry.reflow]
    cautions += [f"{entry.name}: at most {entry.passes} reflows" for entry in ordered if entry.passes is not None]
    if not rules.superheat_low_k <= superheat <= rules.superheat_high_k:
        cautions.append(
            f"a superheat of {superheat:g} K lies outside the usual {rules.superheat_low_k:g} to"
            f" {rules.superheat_high_k:g} K"
        )
    # Rounded far below any measurement, so that a tie in decimal is a tie here.
    width = None if high is None else round(float(headroom_k(high, liquidus_c, superheat, spread)), 6)
    deciding = tuple(entry for entry in ordered if entry.limit_c == high)
    return Window(liquidus_c, superheat, spread, low, high, width, deciding, ordered, tuple(cautions))


def hybrid_window(
    paste_liquidus_c: float,
    ball_solidus_c: float,
    limits: Sequence[Limit],
    superheat_k: float | None = None,
    spread_k: float | None = None,
) -> Window:
    """Return the window of a low-melting paste under balls that stay solid.

    The window of the paste, with the balls' solidus as one more limit; where the hottest joint reaches it, the balls
    begin to melt and the joint is another one. Peaks of 175 to 190 degC with 60 to 90 s above 139 raise the mixed
    height of tin-silver-copper balls (common practice).

    Raises
    ------
    InputError
        As `reflow_window`; balls that melt no hotter than the paste.
    """
    below = wrong_if(
        ball_solidus_c <= paste_liquidus_c,
        "ball_solidus_c",
        "is no hotter than the paste's liquidus: this is no joint on unmelted balls",
        ball_solidus_c,
        f"above {paste_liquidus_c:g} degC",
    )
    refuse_outside("the window", below, ball_limit_c=ball_solidus_c)
    ball = Limit("balls stay solid", ball_solidus_c, "part", source="the ball's solidus")
    found = reflow_window(paste_liquidus_c, [*limits, ball], superheat_k, spread_k)
    cautions = (
        *found.cautions,
        "balls stay solid: no collapse, less self-alignment, warpage is forgiven less",
        "the mixed zone keeps the paste's low remelt onset, whatever the ball",
        "no lead anywhere on these parts",
    )
    return Window(**{**vars(found), "cautions": cautions})


def rework_range_c(liquidus_c: float) -> tuple[float, float]:
    """Return the ends of the joint's peak in rework, degC: 20 to 30 K over the liquidus (common practice).

    The liquidus is of the joint as it is now: whatever route formed it, tin-silver-copper asks for 217 to 220 again.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the rework", liquidus_c=liquidus_c)
    rules = policy().window
    return liquidus_c + rules.rework_superheat_low_k, liquidus_c + rules.rework_superheat_high_k


def window_rows(window: Window) -> tuple[dict[str, object], ...]:
    """Return the window as rows for a chart: the alloy's span, then every limit with its headroom.

    Returns
    -------
    tuple of dict
        `name`, `kind`, `from_c`, `to_c`, `headroom_k`, `assumed`; a limit has no `from_c`, the span no headroom.
    """
    rows: list[dict[str, object]] = [
        {
            "name": "peak at the joint",
            "kind": "peak",
            "from_c": window.low_c,
            "to_c": window.low_c + window.spread_k,
            "headroom_k": None,
            "assumed": False,
        }
    ]
    rows += [
        {
            "name": entry.name,
            "kind": entry.group,
            "from_c": None,
            "to_c": entry.limit_c,
            "headroom_k": entry.limit_c - window.low_c - window.spread_k,
            "assumed": entry.assumed,
        }
        for entry in window.limits
    ]
    return tuple(rows)
