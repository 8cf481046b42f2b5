"""Peak temperature of the joint against what parts, laminate, film and adhesive tolerate.

The hottest joint reaches liquidus + superheat + board spread. Local heat and hand soldering lift the limits of bodies,
base and adhesive, which they do not bring to that heat; limits at the joint itself stay. Common practice.
"""

from dataclasses import dataclass

from selector.brief import Brief, Part, known
from selector.catalogue.evidence import Evidence
from selector.fields import UNKNOWN
from selector.figures import figure, signed
from selector.process.classification import lead_free_classification_c
from selector.verdict import Edit, Measured, Outcome, Verdict, at_most

RULE = "process_peak"
SOURCE = "practice"
WHOLE_BOARD = "whole-board reflow"
NOT_USED = "none"
MOST_LIFT_K = 300.0  # what the field of the brief takes


@dataclass(frozen=True)
class HeatLimit:
    """One thing that must survive the heat: its name, its limit (None: not known), its field in the brief.

    `within_k`: to how many kelvin the limit is known; the truth lies that much to either side of `limit_c`.
    """

    name: str
    limit_c: float | None
    path: str
    at: str
    hint: str = ""
    within_k: float = 0.0

    @property
    def low_c(self) -> float | None:
        """Return the lower end of the limit, up to which it holds for certain."""
        return None if self.limit_c is None else self.limit_c - self.within_k


def heat_limits(brief: Brief) -> tuple[HeatLimit, ...]:
    """Return everything whose limit counts under the brief's way of heating."""
    limits = [
        HeatLimit(
            part.name,
            known(part.rating_c),
            f"parts[{index}].rating_c",
            part.rating_at,
            _classified(part),
            known(part.rating_plus_minus_k) or 0.0,
        )
        for index, part in enumerate(brief.parts)
    ]
    board = brief.board
    for name, limit_c, within_k, path, fallback in (
        (board.base, board.base_limit_c, board.base_limit_plus_minus_k, "board.base_limit_c", "laminate or film"),
        (
            board.adhesive,
            board.adhesive_limit_c,
            board.adhesive_limit_plus_minus_k,
            "board.adhesive_limit_c",
            "adhesive",
        ),
    ):
        if name != NOT_USED:
            called = fallback if name == UNKNOWN else name
            limits.append(HeatLimit(called, known(limit_c), path, "body", "", known(within_k) or 0.0))
    if not brief.parts:
        limits.append(HeatLimit("every part, none of which the brief lists,", None, "", UNKNOWN))
    if brief.process.heating == WHOLE_BOARD:
        return tuple(limits)
    return tuple(limit for limit in limits if limit.at in ("joint", UNKNOWN) and not limit.path.startswith("board"))


def _classified(part: Part) -> str:
    thickness, volume = known(part.thickness_mm), known(part.volume_mm3)
    if thickness is None or volume is None:
        return ""
    tested = lead_free_classification_c(thickness, volume)
    return f" (a package of this size is tested to {tested} degC under J-STD-020 if the maker classified it so)"


def peak_c(brief: Brief, liquidus: Evidence) -> tuple[float | None, float, float] | None:
    """Return the peak at the hottest joint, degC, as (value, low, high); None where a term is not known."""
    superheat, spread = known(brief.process.superheat_k), known(brief.process.board_spread_k)
    if superheat is None or spread is None or liquidus.interval is None:
        return None
    rise = superheat + spread
    # Rounded far below any measurement, so that a tie in decimal is a tie here.
    value = None if liquidus.value is None else round(liquidus.value + rise, 6)
    return value, round(liquidus.interval[0] + rise, 6), round(liquidus.interval[1] + rise, 6)


def effective_c(brief: Brief, limit: HeatLimit) -> float | None:
    """Return the hottest joint, degC, that a limit allows for certain: the lower end where it is an interval.

    An oven rating allows less by what the oven runs hotter.
    """
    return None if limit.low_c is None else limit.low_c - (_lift(brief, limit) or 0.0)


def lowest_limit(brief: Brief) -> tuple[HeatLimit, float] | None:
    """Return the heat limit that decides with the hottest joint it allows, degC; None where no limit is known."""
    stated = [(limit, room) for limit in heat_limits(brief) if (room := effective_c(brief, limit)) is not None]
    return min(stated, key=lambda entry: entry[1], default=None)


def settled_limit(brief: Brief) -> tuple[HeatLimit, float] | None:
    """Return the heat limit that decides, None while any one limit is open: another may lie lower."""
    open_limits = any(limit.limit_c is None or _lift(brief, limit) is None for limit in heat_limits(brief))
    return None if open_limits else lowest_limit(brief)


def headroom(brief: Brief, liquidus: Evidence) -> tuple[float | None, float, float] | None:
    """Return the kelvin between the peak and the lowest limit, as (value, low, high).

    None where it is not known, which it is not while any one limit is open. The interval covers that of the liquidus
    and that of the limits: with limits in intervals, another one may be the lowest at each end.
    """
    lowest, peak = settled_limit(brief), peak_c(brief, liquidus)
    if lowest is None or peak is None:
        return None
    rooms = [(effective_c(brief, limit), limit.within_k) for limit in heat_limits(brief)]
    middle = min(room + within_k for room, within_k in rooms if room is not None)
    most = min(room + 2 * within_k for room, within_k in rooms if room is not None)
    value, low, high = peak
    return None if value is None else middle - value, lowest[1] - high, most - low


def process_peak(brief: Brief, liquidus: Evidence) -> Verdict:
    """Return whether everything on the board survives the peak that this liquidus asks for.

    The verdict names the limit that decides. Limits that the user does not know leave it `unknown`, with the
    temperature that they would have to stand.
    """
    source = f"{liquidus.source}; {SOURCE}; the brief"
    limits = heat_limits(brief)
    peak = peak_c(brief, liquidus)
    if liquidus.interval is None:
        return Verdict(RULE, Outcome.UNKNOWN, "the liquidus is not known", source, threshold="a measured liquidus")
    if not limits and brief.process.heating != WHOLE_BOARD:
        return Verdict(
            RULE,
            Outcome.NOT_APPLICABLE,
            f"{brief.process.heating} lifts the limits of the whole board; no limit at a joint is stated",
            source,
            cautions=("local heat: measure body temperature next to the joint on the first article",),
        )
    lowest = lowest_limit(brief)
    if peak is None:
        return _without_peak(brief, liquidus.interval, lowest, source)
    value, low, high = peak
    judged = [(limit, _outcome(brief, limit, low, high)) for limit in limits]
    outcome = next((o for o in (Outcome.FAIL, Outcome.UNKNOWN) if o in {each for _, each in judged}), Outcome.PASS)
    blocking = [limit for limit, each in judged if each is outcome]
    need = f"needs {figure(high)} degC at the hottest joint"
    if outcome is Outcome.PASS:
        reason = f"{need}; {lowest[0].name if lowest else 'nothing'} decides"
    elif outcome is Outcome.FAIL:
        listed = ", ".join(f"{limit.name} {signed(_margin(brief, limit, high), 'K')}" for limit in blocking)
        reason = f"{need}; too hot for {listed}"
    else:
        reason = f"{need}; not settled for " + ", ".join(limit.name for limit in blocking)
    return Verdict(
        RULE,
        outcome,
        reason,
        source,
        Measured(value, low, high, "degC"),
        None if lowest is None else lowest[1],
        None if lowest is None else round(lowest[1] - high, 3),
        "holds if " + "; ".join(_threshold(brief, limit, high) for limit in blocking)
        if outcome is Outcome.UNKNOWN
        else "",
        tuple(edit for limit, each in judged if each is not Outcome.PASS for edit in _settled(brief, limit, high)),
    )


def _without_peak(
    brief: Brief, liquidus: tuple[float, float], lowest: tuple[HeatLimit, float] | None, source: str
) -> Verdict:
    """Return the verdict where superheat or board spread is not known: fail only where any superheat is too much."""
    known_rise = sum(known(term) or 0.0 for term in (brief.process.superheat_k, brief.process.board_spread_k))
    if lowest is None:
        reason = "superheat or board spread is not known"
        return Verdict(RULE, Outcome.UNKNOWN, reason, source, threshold="state superheat, spread and a limit")
    room = lowest[1]
    low, high = round(liquidus[0] + known_rise, 6), round(liquidus[1] + known_rise, 6)
    over = [limit.name for limit in heat_limits(brief) if _outcome(brief, limit, low, high) is Outcome.FAIL]
    if over:
        reason = f"melts at {figure(liquidus[0])} degC; too hot for {', '.join(over)} whatever the superheat"
        measured = Measured(None, low, high, "degC")
        return Verdict(RULE, Outcome.FAIL, reason, source, measured, room, round(room - high, 3))
    threshold = f"holds if liquidus, superheat and spread together stay at or under {figure(room)} degC"
    unsettled = [entry.name for entry in heat_limits(brief) if entry.limit_c is None or _lift(brief, entry) is None]
    if unsettled:
        threshold += f", and if {', '.join(unsettled)} stands that heat"
    return Verdict(RULE, Outcome.UNKNOWN, "superheat or board spread is not known", source, threshold=threshold)


def _lift(brief: Brief, limit: HeatLimit) -> float | None:
    """Return by how many K the place that a rating speaks of runs hotter than the joint; None: not known."""
    if limit.at in ("body", "joint"):
        return 0.0
    return known(brief.process.oven_above_joint_k) if limit.at == "oven" else None


def _margin(brief: Brief, limit: HeatLimit, high: float) -> float:
    return (effective_c(brief, limit) or 0.0) - high


def _outcome(brief: Brief, limit: HeatLimit, low: float, high: float) -> Outcome:
    if limit.limit_c is None:
        return Outcome.UNKNOWN
    floor_c, ceiling_c = limit.limit_c - limit.within_k, limit.limit_c + limit.within_k
    lift = _lift(brief, limit)
    if lift is None and brief.process.heating != WHOLE_BOARD:
        # A rating of the body would be lifted, one of the joint would hold.
        return Outcome.PASS if high <= floor_c else Outcome.UNKNOWN
    if lift is None:
        # The place of the rating, or how much hotter it runs, is not known: only a clear excess decides.
        return Outcome.FAIL if low > ceiling_c else Outcome.UNKNOWN
    # The width of the limit widens the interval of what is compared with it.
    return at_most(round(low + lift - limit.within_k, 6), round(high + lift + limit.within_k, 6), limit.limit_c)


def _threshold(brief: Brief, limit: HeatLimit, high: float) -> str:
    floor_c = limit.low_c
    if floor_c is not None and floor_c < high and brief.process.heating != WHOLE_BOARD:
        return f"the {figure(floor_c)} degC of {limit.name} hold for its body and not for the joint"
    if floor_c is not None and floor_c >= high and _lift(brief, limit) is None:
        if limit.at == "oven":
            return f"the oven air at {limit.name} runs at most {figure(floor_c - high)} K above the joint"
        return f"the {figure(floor_c)} degC of {limit.name} hold for body or joint"
    loose = f", its rating being known to {figure(limit.within_k)} K" if limit.within_k else ""
    return f"{limit.name} survives {figure(high)} degC{loose}{limit.hint}"


def _settled(brief: Brief, limit: HeatLimit, high: float) -> list[Edit]:
    """Return what would settle a limit: a higher rating, or the place that it speaks of."""
    if not limit.path:
        return []
    lift = _lift(brief, limit)
    need = high + (lift or 0.0) + limit.within_k  # the lower end must reach it
    edits = []
    if lift is None and limit.at == "oven" and limit.low_c is not None and limit.low_c >= high:
        room = min(limit.low_c - high, MOST_LIFT_K)
        text = f"show that the oven air at {limit.name} runs at most {figure(room)} K above the joint"
        return [Edit("process.oven_above_joint_k", float(room), text)]
    if lift is None:
        place = limit.path.replace("rating_c", "rating_at")
        edits.append(Edit(place, "body", f"show that the rating of {limit.name} holds for its body"))
        if brief.process.heating != WHOLE_BOARD:
            return edits
    if limit.limit_c is None:
        edits.append(Edit(limit.path, float(need), f"show that {limit.name} stands {figure(need)} degC"))
    elif limit.limit_c < need:
        change = need - limit.limit_c
        loose = f", known to {figure(limit.within_k)} K," if limit.within_k else ""
        text = f"raise {limit.name}{loose} from {figure(limit.limit_c)} to {figure(need)} degC ({signed(change, 'K')})"
        edits.append(Edit(limit.path, float(need), text, change, "K"))
    return edits
