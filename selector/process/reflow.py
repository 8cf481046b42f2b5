"""Peak temperature of the joint against what parts, laminate, film and adhesive tolerate.

The hottest joint reaches liquidus + superheat + board spread. Local heat and hand soldering lift the limits of bodies,
base and adhesive, which they do not bring to that heat; limits at the joint itself stay. Common practice.
"""

from dataclasses import dataclass

from selector.brief import UNKNOWN, Brief, Part, known
from selector.catalogue.evidence import Evidence
from selector.figures import figure, signed
from selector.process.classification import lead_free_classification_c
from selector.verdict import Edit, Measured, Outcome, Verdict, at_most

RULE = "process_peak"
SOURCE = "practice"
WHOLE_BOARD = "whole-board reflow"
NOT_USED = "none"


@dataclass(frozen=True)
class HeatLimit:
    """One thing that must survive the heat: its name, its limit (None: not known), its field in the brief."""

    name: str
    limit_c: float | None
    path: str
    at: str
    hint: str = ""


def heat_limits(brief: Brief) -> tuple[HeatLimit, ...]:
    """Return everything whose limit counts under the brief's way of heating."""
    limits = [
        HeatLimit(part.name, known(part.rating_c), f"parts[{index}].rating_c", part.rating_at, _classified(part))
        for index, part in enumerate(brief.parts)
    ]
    board = brief.board
    for name, limit_c, path, fallback in (
        (board.base, board.base_limit_c, "board.base_limit_c", "laminate or film"),
        (board.adhesive, board.adhesive_limit_c, "board.adhesive_limit_c", "adhesive"),
    ):
        if name != NOT_USED:
            limits.append(HeatLimit(fallback if name == UNKNOWN else name, known(limit_c), path, "body"))
    if brief.process.heating == WHOLE_BOARD:
        return tuple(limits)
    return tuple(limit for limit in limits if limit.at in ("joint", UNKNOWN) and limit.path.startswith("parts"))


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
    value = None if liquidus.value is None else liquidus.value + rise
    return value, liquidus.interval[0] + rise, liquidus.interval[1] + rise


def lowest_limit(brief: Brief) -> HeatLimit | None:
    """Return the heat limit that decides, None where no limit is known."""
    stated = [limit for limit in heat_limits(brief) if limit.limit_c is not None]
    return min(stated, key=lambda limit: limit.limit_c or 0.0, default=None)


def headroom(brief: Brief, liquidus: Evidence) -> tuple[float | None, float, float] | None:
    """Return the kelvin between the peak and the lowest limit, as (value, low, high); None where not known."""
    limit, peak = lowest_limit(brief), peak_c(brief, liquidus)
    if limit is None or limit.limit_c is None or peak is None:
        return None
    value, low, high = peak
    return None if value is None else limit.limit_c - value, limit.limit_c - high, limit.limit_c - low


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
    stated = [limit for limit in limits if limit.limit_c is not None]
    if peak is None:
        room = ""
        if stated:
            tightest = min(limit.limit_c or 0.0 for limit in stated)
            room = f"holds if superheat and spread together are at most {figure(tightest - liquidus.interval[1])} K"
        return Verdict(
            RULE, Outcome.UNKNOWN, "superheat or board spread is not known", source, threshold=room or "state both"
        )
    value, low, high = peak
    measured = Measured(value, low, high, "degC")
    judged = [(limit, _outcome(brief, limit, low, high)) for limit in limits]
    outcomes = [outcome for _, outcome in judged]
    outcome = next((o for o in (Outcome.FAIL, Outcome.UNKNOWN) if o in outcomes), Outcome.PASS)
    tightest_limit = min(stated, key=lambda limit: limit.limit_c or 0.0, default=None)
    limit_c = None if tightest_limit is None else tightest_limit.limit_c
    margin = None if limit_c is None else round(limit_c - high, 3)
    edits = tuple(
        _raised(limit, high) for limit, o in judged if o is not Outcome.PASS and (limit.limit_c or -300.0) < high
    )
    need = f"needs {figure(high)} degC at the hottest joint"
    if outcome is Outcome.PASS:
        reason = f"{need}; {tightest_limit.name if tightest_limit else 'nothing'} decides"
    elif outcome is Outcome.FAIL:
        over = [limit for limit, o in judged if o is Outcome.FAIL]
        listed = ", ".join(f"{limit.name} {signed((limit.limit_c or 0.0) - high, 'K')}" for limit in over)
        reason = f"{need}; too hot for {listed}"
    else:
        reason = f"{need}; not settled for " + ", ".join(limit.name for limit, o in judged if o is Outcome.UNKNOWN)
    threshold = ""
    if outcome is Outcome.UNKNOWN:
        threshold = "holds if " + "; ".join(
            _threshold(brief, limit, high) for limit, o in judged if o is Outcome.UNKNOWN
        )
    return Verdict(
        RULE, outcome, reason, source, limit=limit_c, margin=margin, threshold=threshold, edits=edits, measured=measured
    )


def _oven_lift(brief: Brief, limit: HeatLimit) -> float | None:
    """Return by how many K the place that a rating speaks of runs hotter than the joint; None: not known."""
    if limit.at in ("body", "joint"):
        return 0.0
    return known(brief.process.oven_above_joint_k) if limit.at == "oven" else None


def _outcome(brief: Brief, limit: HeatLimit, low: float, high: float) -> Outcome:
    if limit.limit_c is None:
        return Outcome.UNKNOWN
    lift = _oven_lift(brief, limit)
    if lift is None:
        # The place of the rating, or how much hotter it runs, is not known: only a clear excess decides.
        return Outcome.FAIL if low > limit.limit_c else Outcome.UNKNOWN
    return at_most(low + lift, high + lift, limit.limit_c)


def _threshold(brief: Brief, limit: HeatLimit, high: float) -> str:
    if limit.limit_c is not None and _oven_lift(brief, limit) is None:
        if limit.at == "oven":
            return f"the oven air at {limit.name} runs at most {figure(limit.limit_c - high)} K above the joint"
        return f"the {figure(limit.limit_c)} degC of {limit.name} hold for body or joint"
    return f"{limit.name} survives {figure(high)} degC{limit.hint}"


def _raised(limit: HeatLimit, high: float) -> Edit:
    if limit.limit_c is None:
        return Edit(limit.path, float(high), f"show that {limit.name} stands {figure(high)} degC")
    change = high - limit.limit_c
    text = f"raise {limit.name} from {figure(limit.limit_c)} to {figure(high)} degC ({signed(change, 'K')})"
    return Edit(limit.path, float(high), text, change, "K")
