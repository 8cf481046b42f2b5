"""What is preferred: each criterion with its unit and how an alloy's level on it is found.

No criterion counts a thing twice: process headroom, pasty range and service headroom add up to a constant, so at most
two of the three are weighed at once. What is worked out of the same figure as one of them stands for it: oven power for
process headroom (both follow the peak), creep by the proxy and the onset of mixed joints for service headroom (all
follow the remelt onset), the metal of a board for the metal cost.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from types import MappingProxyType

from selector.board import levels
from selector.board.steps import RULE as STEPS_RULE
from selector.brief import Brief, known
from selector.catalogue.bands import SCALES, Band
from selector.catalogue.evidence import Evidence
from selector.durability.service import highest_service_c
from selector.figures import spread
from selector.policy import policy
from selector.process.reflow import headroom
from selector.screening import Screened

MILD_LOWEST_C = -25.0
MILD_HIGHEST_C = 100.0


@dataclass(frozen=True)
class Level:
    """An alloy's level on a criterion: central value and ends, all None where nothing is known."""

    value: float | None
    low: float | None
    high: float | None
    text: str
    source: str
    grade: str


@dataclass(frozen=True)
class Criterion:
    """One thing that is preferred.

    Parameters
    ----------
    id : str
        Stable name, unit as suffix where it has one.
    title : str
        What a person reads.
    unit : str
    levels : tuple of str
        Names of the levels, best first, of an ordered criterion; empty for a number.
    default : bool
        Whether it is weighed unless switched off.
    level : callable
        Brief and screened alloy -> Level. Ordered levels count 0 for the worst upward.
    """

    id: str
    title: str
    unit: str
    default: bool
    level: Callable[[Brief, Screened], Level]
    levels: tuple[str, ...] = ()


UNKNOWN_LEVEL = Level(None, None, None, "unknown", "none", "none")


def _from_evidence(entry: Evidence) -> Level:
    if entry.interval is None:
        return UNKNOWN_LEVEL
    low, high = entry.interval
    return Level(entry.value, low, high, spread(entry.value, low, high), entry.source, entry.grade)


def _evidence(name: str) -> Callable[[Brief, Screened], Level]:
    return lambda brief, screened: _from_evidence(screened.alloy.of(name))


def _from_band(band: Band) -> Level:
    if band.best is None or band.worst is None:
        return UNKNOWN_LEVEL
    scale = SCALES[band.name]

    def place(name: str) -> float:
        return float(len(scale) - 1 - scale.index(name))

    central = None if band.level is None else place(band.level)
    return Level(central, place(band.worst), place(band.best), band.text(), band.source, band.grade)


def _band(name: str) -> Callable[[Brief, Screened], Level]:
    return lambda brief, screened: _from_band(screened.alloy.bands[name])


def cycling_scale(brief: Brief) -> str | None:
    """Return which thermal-cycling ranking fits the service: 0 to 100 degC, or -40 to 125 degC where it is harsher.

    None where an end of the service is not known and the other does not decide.
    """
    low, high = known(brief.service.minimum_c), known(brief.service.maximum_c)
    if (low is not None and low < MILD_LOWEST_C) or (high is not None and high > MILD_HIGHEST_C):
        return "cycling_rank_harsh"
    return None if low is None or high is None else "cycling_rank_mild"


def _cycling(brief: Brief, screened: Screened) -> Level:
    scale = cycling_scale(brief)
    if scale is None:
        return UNKNOWN_LEVEL
    level = _from_band(screened.alloy.bands[scale])
    if level.low is None or level.high is None or scale == "cycling_rank_harsh":
        return level
    # The mild scale lacks the last level of the harsh one: one step up keeps "rank 1" on the same place.
    centre = None if level.value is None else level.value + 1
    return Level(centre, level.low + 1, level.high + 1, level.text, level.source, level.grade)


def _process_headroom(brief: Brief, screened: Screened) -> Level:
    liquidus = screened.alloy.of("liquidus_c")
    if brief.steps:
        return _step_headroom(screened)
    room = headroom(brief, liquidus)
    if room is None:
        return UNKNOWN_LEVEL
    value, low, high = room
    return Level(value, low, high, spread(value, low, high), liquidus.source, liquidus.grade)


def _step_headroom(screened: Screened) -> Level:
    """Return the room at the step that suits the alloy best."""
    found = next((verdict for verdict in screened.verdicts if verdict.rule == STEPS_RULE), None)
    if found is None or found.measured is None or found.limit is None:
        return UNKNOWN_LEVEL
    ends, liquidus = found.measured, screened.alloy.of("liquidus_c")
    low, high = found.limit - ends.high, found.limit - ends.low
    value = None if ends.value is None else found.limit - ends.value
    return Level(value, low, high, spread(value, low, high), liquidus.source, liquidus.grade)


def _service_headroom(brief: Brief, screened: Screened) -> Level:
    service_c = known(brief.service.maximum_c)
    onset = screened.onset
    if service_c is None or onset.interval is None:
        return UNKNOWN_LEVEL
    ipc_class = known(brief.ipc_class)
    if ipc_class is None:
        return UNKNOWN_LEVEL
    limits = policy().service.class_3 if ipc_class == 3 else policy().service.class_1_2

    def room(onset_c: float) -> float:
        return highest_service_c(onset_c, limits.alert_ratio, limits.alert_margin_k) - service_c

    low, high = map(room, onset.interval)
    value = None if onset.value is None else room(onset.value)
    return Level(value, low, high, spread(value, low, high), onset.source, onset.grade)


def _from_figure(found: levels.Figure) -> Level:
    if found.low is None or found.high is None:
        return Level(None, None, None, f"unknown: {found.why}", "none", "none")
    return Level(
        found.value, found.low, found.high, spread(found.value, found.low, found.high), found.source, found.grade
    )


def _mixed_onset(brief: Brief, screened: Screened) -> Level:
    return UNKNOWN_LEVEL if screened.joint_onset is None else _from_evidence(screened.joint_onset)


def _board_usd(brief: Brief, screened: Screened) -> Level:
    if screened.catalogue is None:
        return UNKNOWN_LEVEL
    return _from_figure(levels.board_usd(brief, screened.alloy, screened.catalogue))


CRITERIA = MappingProxyType(
    {
        criterion.id: criterion
        for criterion in (
            Criterion("process_headroom_k", "Process headroom", "K", True, _process_headroom),
            Criterion("pasty_range_k", "Pasty range", "K", True, _evidence("pasty_range_k")),
            Criterion("drop", "Drop shock", "", True, _band("drop_class"), SCALES["drop_class"]),
            Criterion("thermal_cycling", "Thermal cycling", "", True, _cycling, SCALES["cycling_rank_harsh"]),
            Criterion("wetting", "Wetting", "", True, _band("wetting_class"), SCALES["wetting_class"]),
            Criterion("relative_cost", "Metal cost per cm3", "SAC305 = 1", True, _evidence("relative_cost")),
            Criterion("supply_risk_wt", "Metal with supply risk", "wt%", True, _evidence("supply_risk_wt")),
            Criterion("service_headroom_k", "Service headroom", "K", False, _service_headroom),
            Criterion("tensile_mpa", "Tensile strength", "MPa", False, _evidence("tensile_mpa")),
            Criterion("elongation_percent", "Elongation", "%", False, _evidence("elongation_percent")),
            Criterion(
                "thermal_conductivity_w_mk",
                "Thermal conductivity",
                "W/(m K)",
                False,
                _evidence("thermal_conductivity_w_mk"),
            ),
            Criterion("density_g_cm3", "Density", "g/cm3", False, _evidence("density_g_cm3")),
            Criterion(
                "powder_oxide_ppm",
                "Oxide of the powder",
                "ppm",
                False,
                lambda brief, row: _from_figure(levels.powder_oxide(brief, row.alloy)),
            ),
            Criterion(
                "creep_decades",
                "Creep, proxy: decades below the rate at the onset",
                "decades",
                False,
                lambda brief, row: _from_figure(levels.creep_decades(brief, row.onset)),
            ),
            Criterion(
                "fatigue_decades",
                "Fatigue life over the life asked",
                "decades",
                False,
                lambda brief, row: _from_figure(levels.fatigue_decades(brief, row.alloy)),
            ),
            Criterion("mixed_onset_c", "Remelt onset of the weakest joint", "degC", False, _mixed_onset),
            Criterion(
                "oven_power_percent",
                "Oven power against the usual peak",
                "%",
                False,
                lambda brief, row: _from_figure(levels.oven_power_percent(brief, row.alloy)),
            ),
            Criterion(
                "metal_co2_kg_cm3",
                "Carbon embodied in the metal",
                "kg CO2e/cm3",
                False,
                lambda brief, row: _from_figure(levels.metal_co2(row.alloy)),
            ),
            Criterion("board_usd", "Metal of one board", "USD", False, _board_usd),
        )
    }
)
ADD_UP_TO_A_CONSTANT = frozenset({"process_headroom_k", "pasty_range_k", "service_headroom_k"})

# Criteria worked out of one figure, with that figure: at most one of each set is weighed.
ONE_FIGURE = (
    (frozenset({"process_headroom_k", "oven_power_percent"}), "the peak"),
    (frozenset({"service_headroom_k", "creep_decades", "mixed_onset_c"}), "the remelt onset"),
    (frozenset({"relative_cost", "board_usd"}), "the metal's price"),
)


def counted_twice(weighed: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Return the weighed criteria that count one thing twice, each time with what is allowed."""
    names = set(weighed)
    found = []
    for same, figure_of in ONE_FIGURE:
        if len(names & same) > 1:
            found.append((", ".join(sorted(names & same)), f"one of these, which all follow {figure_of}"))
    standing_for = [
        sorted(names & next((same for same, _ in ONE_FIGURE if entry in same), {entry}))
        for entry in sorted(ADD_UP_TO_A_CONSTANT)
    ]
    if all(standing_for):
        told = ", ".join(sorted({name for held in standing_for for name in held}))
        found.append((told, "at most two of these three, which add up to a constant"))
    return tuple(found)
