"""A temperature profile as points in time: how long it is liquid, how fast it ramps, and what it breaks.

Between points the profile is straight, so that every time and slope is exact. Sources of the limits: J-STD-020 as
reprinted in data sheets; for low-temperature paste memory, where the paste's own sheet rules.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.errors import Fault
from selector.process.window import profile_limits
from selector.ranges import FloatArray, refuse_outside, wrong_if

NEAR_PEAK_K = 5.0
ROOM_C = 25.0


@dataclass(frozen=True)
class Checked:
    """One limit of a profile and what the profile does; `holds` None where the profile does not tell."""

    item: str
    value: float | None
    low: float | None
    high: float
    unit: str
    holds: bool | None
    source: str


def profile_of(points: Sequence[tuple[float, float]]) -> FloatArray:
    """Return a profile as an array (points, 2) of s and degC.

    Raises
    ------
    InputError
        Fewer than two points, times that do not rise, or temperatures outside the range.
    """
    shape = np.shape(points) if _rectangular(points) else ()
    short: Fault | None = None
    if len(shape) != 2 or shape[0] < 2 or shape[1] != 2:
        short = Fault("points", "are no profile", allowed="at least two pairs of s and degC")
        refuse_outside("the profile", short)
    found = np.asarray(points, dtype=float)
    back = wrong_if(np.diff(found[:, 0]) <= 0, "time_s", "does not rise from point to point", found[:, 0], "rising")
    refuse_outside("the profile", back, time_s=found[:, 0], profile_c=found[:, 1])
    return found


def time_above_s(profile: FloatArray, temperature_c: float) -> float:
    """Return how long a profile is at or above a temperature, s; exact for straight pieces."""
    t, c = profile[:, 0], profile[:, 1] - temperature_c
    total = 0.0
    for k in range(len(t) - 1):
        first, last, step = c[k], c[k + 1], t[k + 1] - t[k]
        if first >= 0 and last >= 0:
            total += step
        elif first >= 0 or last >= 0:
            total += step * max(first, last) / abs(first - last)
    return float(total)


def check_profile(points: Sequence[tuple[float, float]], family: str) -> tuple[Checked, ...]:
    """Return every limit of a family beside what a profile does.

    Parameters
    ----------
    points : sequence of (s, degC)
    family : str
        lead-free, tin-lead or low-temperature.

    Raises
    ------
    InputError
        As `profile_of`; a family without limits.
    """
    unknown = wrong_if(
        not profile_limits(family), "family", "has no limits", family, "lead-free, tin-lead, low-temperature"
    )
    refuse_outside("the profile", unknown)
    profile = profile_of(points)
    rows = profile_limits(family)
    liquid_c = next(row.high for row in rows if row.item == "liquid from")
    soak = next(((row.low or 0.0, row.high) for row in rows if row.item == "soak"), None)
    values: dict[str, float | None] = {
        "ramp up": _steepest(profile, liquid_c, up=True),
        "ramp down": _steepest(profile, liquid_c, up=False),
        "time above liquid": time_above_s(profile, liquid_c),
        "time within 5 K of peak": time_above_s(profile, float(profile[:, 1].max()) - NEAR_PEAK_K),
        "25 degC to peak": _to_peak_s(profile),
    }
    if soak is not None:
        values["soak time"] = _between_s(profile, *soak)
    return tuple(
        Checked(
            row.item,
            values[row.item],
            row.low,
            row.high,
            row.unit,
            _holds(values[row.item], row.low, row.high),
            row.source,
        )
        for row in rows
        if row.item in values
    )


def usual_profile(
    liquidus_c: float, peak_c: float, soak_c: tuple[float, float], soak_s: float, above_s: float, ramp_k_s: float = 1.5
) -> FloatArray:
    """Return a profile of ramps and soak to draw: room, soak, ramp to the peak, and down at the mirror of the way up.

    Parameters
    ----------
    liquidus_c, peak_c : float
    soak_c : tuple of float
        From and to.
    soak_s, above_s : float
        Time of the soak and above the liquidus.
    ramp_k_s : float
        Up to the soak and down after it.

    Returns
    -------
    array (points, 2), s and degC

    Raises
    ------
    InputError
        Outside the range, or temperatures out of order.
    """
    ordered = ROOM_C < soak_c[0] < soak_c[1] < liquidus_c < peak_c
    wrong = wrong_if(not ordered, "soak_c", "temperatures are out of order", (*soak_c, liquidus_c, peak_c),
                     "25 degC below soak below liquidus below peak")  # fmt: skip
    refuse_outside("the profile", wrong, peak_c=peak_c, soak_time_s=soak_s, above_time_s=above_s, ramp_k_s=ramp_k_s)
    climb = above_s / 2
    rise = (peak_c - liquidus_c) / climb
    times = [
        0.0,
        (soak_c[0] - ROOM_C) / ramp_k_s,
        soak_s,
        (liquidus_c - soak_c[1]) / rise,
        climb,
        climb,
        (liquidus_c - ROOM_C) / max(ramp_k_s, rise),
    ]
    heights = [ROOM_C, soak_c[0], soak_c[1], liquidus_c, peak_c, liquidus_c, ROOM_C]
    return np.column_stack([np.cumsum(times), heights])


def _rectangular(points: object) -> bool:
    try:
        np.asarray(points, dtype=float)
    except (TypeError, ValueError):
        return False
    return True


def _steepest(profile: FloatArray, from_c: float, up: bool) -> float | None:
    """Return the steepest slope between the liquid temperature and the peak, K/s; pieces that touch it count."""
    slope = np.diff(profile[:, 1]) / np.diff(profile[:, 0])
    hot = np.maximum(profile[:-1, 1], profile[1:, 1]) > from_c
    own = slope[hot & (slope > 0)] if up else -slope[hot & (slope < 0)]
    return float(own.max()) if len(own) else None


def _to_peak_s(profile: FloatArray) -> float | None:
    top = int(profile[:, 1].argmax())
    before = np.flatnonzero(profile[: top + 1, 1] <= ROOM_C)
    return float(profile[top, 0] - profile[before[-1], 0]) if len(before) else None


def _between_s(profile: FloatArray, low_c: float, high_c: float) -> float | None:
    """Return the time from first reaching the one temperature to first reaching the other, s; None if it never is."""
    start, end = _first_s(profile, low_c), _first_s(profile, high_c)
    return None if start is None or end is None else end - start


def _first_s(profile: FloatArray, temperature_c: float) -> float | None:
    """Return when a temperature is first reached, s; None where it never is."""
    t, c = profile[:, 0], profile[:, 1]
    reached = np.flatnonzero(c >= temperature_c)
    if not len(reached):
        return None
    k = int(reached[0])
    if k == 0:
        return float(t[0])
    return float(t[k - 1] + (t[k] - t[k - 1]) * (temperature_c - c[k - 1]) / (c[k] - c[k - 1]))


def _holds(value: float | None, low: float | None, high: float) -> bool | None:
    return None if value is None else (low is None or value >= low) and value <= high
