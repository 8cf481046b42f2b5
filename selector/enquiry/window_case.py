"""The reflow window of an alloy on a board: from its liquidus up to what parts, laminate, film and adhesive take."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from selector import asked
from selector.asked import Named
from selector.board.steps import steps_of
from selector.brief import Brief, known
from selector.catalogue import Catalogue
from selector.durability.service import service_heat
from selector.enquiry.bow import BOW_FIELDS
from selector.enquiry.fields import Field, Figures, Given, read_figures, stated, with_default
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN
from selector.figures import figure, signed
from selector.melting.onset import remelt_onset
from selector.melting.store import melting_of
from selector.process.classification import classify
from selector.process.reflow import effective_c, heat_limits
from selector.process.steps import Step
from selector.process.warpage import RULE as BOW_RULE
from selector.process.warpage import bow_removed, package_warpage
from selector.process.window import Limit, Window, default_limit, hybrid_window, part_defaults, reflow_window
from selector.ranges import Range
from selector.verdict import Measured, Outcome, Verdict, at_least

RULE = "reflow_window"
HOT = Range(20, 450, "degC")
FIELDS = (
    Field("superheat_k", "Superheat, K", 20.0),
    Field("spread_k", "Spread of the board, K", 5.0),
    Field("usual_peak_c", "Usual peak, degC", 245.0, allowed=HOT),
    Field("reference_c", "Package flat at, degC", 150.0, "default: cure or glass transition, policy", allowed=HOT),
    Field("pitch_mm", "Ball pitch, mm"),
    Field("low_bow_mm", "Bow at the liquid joint, from, mm"),
    Field("high_bow_mm", "Bow at the liquid joint, to, mm"),
)


@dataclass(frozen=True)
class Package:
    """A package body for J-STD-020."""

    name: str
    thickness_mm: float
    volume_mm3: float


@dataclass(frozen=True)
class WindowAsked:
    """What is asked.

    Parameters
    ----------
    alloy : Named
    ball : Named or None
        Balls that must stay solid.
    limits : tuple of Limit
        Those that are known.
    unknown : tuple of str
        What has a limit that nobody knows.
    packages : tuple of Package
    figures : mapping
    steps : tuple of Step
        Of the brief; the window is told for each.
    step : str
        Whose limits are `limits`; empty for a brief without steps.
    service : Verdict or None
        On the brief's service heat.
    """

    alloy: Named
    ball: Named | None
    limits: tuple[Limit, ...]
    unknown: tuple[str, ...]
    packages: tuple[Package, ...]
    figures: Mapping[str, Given]
    steps: tuple[Step, ...] = ()
    step: str = ""
    service: Verdict | None = None


@dataclass(frozen=True)
class WindowAnswer:
    """What was found.

    Parameters
    ----------
    asked : WindowAsked
    liquidus_c : tuple of float or None
        Ends; where they come from is `liquidus_source`.
    windows : tuple of Window
        At the least and the largest liquidus; empty where none is known.
    removed : tuple of float or None
        Share of the usual bow that the coolest peak takes away, ends.
    verdicts : tuple of Verdict
    """

    asked: WindowAsked
    liquidus_c: tuple[float, float] | None
    liquidus_source: str
    windows: tuple[Window, ...]
    removed: tuple[float, float] | None
    verdicts: tuple[Verdict, ...]

    @property
    def peak_c(self) -> tuple[float, float] | None:
        """Return the coolest peak at the coolest joint and at the hottest, over the interval of the liquidus."""
        if not self.windows:
            return None
        return self.windows[0].low_c, self.windows[-1].low_c + self.windows[-1].spread_k


def window_asked(
    texts: Mapping[str, str | None],
    parts: Sequence[str],
    packages: Sequence[str],
    catalogue: Catalogue,
    brief: Brief | None = None,
    on_page: bool = False,
    step: str = "",
) -> WindowAsked:
    """Return what is asked, from texts by name, parts as `name=degC`, `name=kind` or `name=unknown`, and a brief.

    Parameters
    ----------
    texts : mapping
        The figures, and `alloy`, `ball`.
    parts : sequence of str
    packages : sequence of str
        As `name=thickness x volume` in mm and mm3.
    catalogue : Catalogue
    brief : Brief, optional
        Its parts, board, superheat and spread, where nothing else is stated.
    on_page : bool
    step : str
        Of the brief's steps, the one whose limits count; the one with most room where none is named.

    Raises
    ------
    InputError
        Every fault at once.
    """
    faults: list[Fault] = []
    found = asked.named([("", texts.get("alloy") or "")], catalogue, faults, cover=False)
    ball_text = (texts.get("ball") or "").strip()
    ball = asked.named([("ball: ", ball_text)], catalogue, faults, cover=False) if ball_text else []
    figures = read_figures((*FIELDS, *BOW_FIELDS), texts, faults, on_page)
    steps = steps_of(brief, catalogue) if brief is not None and brief.steps else ()
    chosen = _step_of(steps, step.strip(), faults)
    limits, unknown = _brief_limits(brief) if chosen is None else _step_limits(chosen)
    for text in parts:
        name, sign, told = (piece.strip() for piece in text.partition("="))
        limit = _limit(name, told, faults) if sign and name and told else None
        if limit is not None:
            limits.append(limit)
        elif sign and told.lower() == UNKNOWN:
            unknown.append(name)
        elif not sign or not name or not told:
            faults.append(Fault(f"part {shown(text)}", "names no limit", allowed="name=230, name=kind or name=unknown"))
    bodies = _brief_packages(brief)
    for text in packages:
        body = _package(text, faults)
        if body is not None:
            bodies.append(body)
    asked.refuse(faults)
    process: tuple[float | None, float | None] = (None, None)
    if chosen is not None:
        process = chosen.superheat_k, chosen.spread_k
    elif brief is not None:
        process = known(brief.process.superheat_k), known(brief.process.board_spread_k)
    for name, value in zip(("superheat_k", "spread_k"), process, strict=True):
        if value is not None:
            with_default(figures, name, value, "the brief", texts)
    return WindowAsked(found[0], ball[0] if ball else None, tuple(limits), tuple(unknown), tuple(bodies), figures,
                       steps, "" if chosen is None else chosen.name, _service(brief, found[0], catalogue))  # fmt: skip


def _step_of(steps: Sequence[Step], name: str, faults: list[Fault]) -> Step | None:
    """Return the step of that name, else the one with most room under its limits; None where the brief names none."""
    if name and name not in [entry.name for entry in steps]:
        allowed = ", ".join(entry.name for entry in steps) or "a brief with steps"
        faults.append(Fault("--step", "names no step of the brief", shown(name), allowed))
        return None
    return next((e for e in steps if e.name == name), None) or max(steps, key=_room_over_liquidus, default=None)


def _room_over_liquidus(step: Step) -> float:
    """Return how hot a liquidus the step takes, degC, the alloy being the same at every step."""
    known_c = [limit.limit_c for limit in step.limits if limit.limit_c is not None]
    return min(known_c, default=-1e9) - step.given_superheat_k - step.given_spread_k


def _step_limits(step: Step) -> tuple[list[Limit], list[str]]:
    held = [Limit(e.name, e.limit_c, "part", source=f"step {step.name}") for e in step.limits if e.limit_c is not None]
    return held, [entry.name for entry in step.limits if entry.limit_c is None]


def _service(brief: Brief | None, alloy: Named, catalogue: Catalogue) -> Verdict | None:
    """Return the verdict on the brief's service heat, where the brief states it and the alloy's onset is held."""
    held = catalogue.alloys.get(alloy.name)
    if brief is None or held is None or known(brief.service.maximum_c) is None:
        return None
    found = service_heat(brief, remelt_onset(held))
    return replace(found, subject=f"{figure(known(brief.service.maximum_c))} degC")


def _on_balls(liquidus_c: float, solidus_c: float, given: WindowAsked, superheat_k: float, spread_k: float) -> Window:
    """Return the window of balls that stay solid; faults name the ball, which is what a person states."""
    try:
        return hybrid_window(liquidus_c, solidus_c, given.limits, superheat_k, spread_k)
    except InputError as error:
        named = [replace(f, where="--ball" if f.where == "ball_solidus_c" else f.where) for f in error.faults]
        raise InputError(error.what, named) from None


def answer_window(given: WindowAsked, catalogue: Catalogue) -> WindowAnswer:
    """Return the window, at both ends of the liquidus, with its verdict.

    Raises
    ------
    InputError
        Balls that melt no hotter than the paste; figures that no board has.
    """
    liquidus, source = liquidus_of(given.alloy, catalogue)
    superheat, spread = stated(given.figures, "superheat_k"), stated(given.figures, "spread_k")
    windows: list[Window] = []
    verdicts: list[Verdict] = []
    if liquidus is not None and superheat is not None and spread is not None:
        solidus = None if given.ball is None else _solidus_of(given.ball, catalogue)
        for end in sorted(set(liquidus)):
            if solidus is None:
                windows.append(reflow_window(end, given.limits, superheat, spread))
            else:
                windows.append(_on_balls(end, solidus, given, superheat, spread))
    verdicts.append(_verdict(windows, given, source))
    removed = _removed(windows, given)
    verdicts += _bow_verdict(given.figures)
    verdicts += [] if given.service is None else [given.service]
    return WindowAnswer(given, liquidus, source, tuple(windows), removed, tuple(verdicts))


def _bow_verdict(figures: Figures) -> list[Verdict]:
    """Return the verdict on a measured bow; open where something of it is not stated, nothing where no bow is."""
    bows = [stated(figures, name) for name in ("low_bow_mm", "high_bow_mm")]
    low, high = bows
    pitch = stated(figures, "pitch_mm")
    if low is None and high is None:
        return []
    if low is not None and high is not None and pitch is not None:
        return [package_warpage(low, high, pitch)]
    missing = [] if pitch is not None else ["the ball pitch"]
    missing += [] if None not in bows else ["both ends of the bow, the same figure twice where one was measured"]
    reason = "the bow cannot be judged by what is stated of it"
    return [Verdict(BOW_RULE, Outcome.UNKNOWN, reason, "the user", threshold=f"state {' and '.join(missing)}")]


def liquidus_of(alloy: Named, catalogue: Catalogue) -> tuple[tuple[float, float] | None, str]:
    """Return the liquidus of an alloy, degC, as an interval: of the catalogue, else computed with its grade."""
    held = catalogue.alloys.get(alloy.name)
    interval = held.of("liquidus_c").interval if held is not None else None
    if held is not None and interval is not None:
        return interval, held.of("liquidus_c").source
    try:
        computed = melting_of([alloy.composition], full=False)[0]
    except InputError as error:
        return None, f"not computed: {error.faults[0].problem}"
    if computed.liquidus_interval_c is None:
        return None, "not computed"
    return computed.liquidus_interval_c, f"computed, {computed.grade}"


def body_temperature_rows(packages: Sequence[Package]) -> tuple[dict[str, str], ...]:
    """Return what each package was tested to under J-STD-020, lead-free and tin-lead."""
    rows = []
    for body in packages:
        both = {family: classify(body.thickness_mm, body.volume_mm3, family) for family in ("lead-free", "tin-lead")}
        rows.append(
            {
                "package": body.name,
                "thickness, mm": figure(body.thickness_mm),
                "volume, mm3": figure(body.volume_mm3),
                **{f"{family}, degC": f"{own.temperature_c} ({own.grade})" for family, own in both.items()},
            }
        )
    return tuple(rows)


def _brief_limits(brief: Brief | None) -> tuple[list[Limit], list[str]]:
    limits: list[Limit] = []
    unknown: list[str] = []
    for entry in heat_limits(brief) if brief is not None and (brief.parts or brief.board) else ():
        assert brief is not None
        at_joint = effective_c(brief, entry)
        group = {"board.base_limit_c": "laminate", "board.adhesive_limit_c": "adhesive"}.get(entry.path, "part")
        kind = next((part.kind for part in brief.parts if part.name == entry.name and group == "part"), UNKNOWN)
        if at_joint is not None:
            limits.append(Limit(entry.name, at_joint, group, source="the brief"))
        elif kind in part_defaults():
            limits.append(default_limit(kind, entry.name))
        else:
            unknown.append(entry.name)
    return limits, unknown


def _brief_packages(brief: Brief | None) -> list[Package]:
    found = []
    for part in () if brief is None else brief.parts:
        thickness, volume = known(part.thickness_mm), known(part.volume_mm3)
        if thickness is not None and volume is not None:
            found.append(Package(part.name, thickness, volume))
    return found


def _limit(name: str, told: str, faults: list[Fault]) -> Limit | None:
    if told in part_defaults():
        return default_limit(told, name)
    if told.lower() == UNKNOWN:
        return None
    own = Field("limit_c", f"part {name}", allowed=HOT)
    try:
        float(told)
    except ValueError:
        kinds = "; ".join(part_defaults())
        faults.append(
            Fault(f"part {shown(name)}", "has neither a limit nor a kind", shown(told), f"degC, or one of: {kinds}")
        )
        return None
    value = read_figures([own], {"limit_c": told}, faults, on_page=True)["limit_c"].value
    return None if value is None else Limit(name, value)


def _package(text: str, faults: list[Fault]) -> Package | None:
    name, _, size = (piece.strip() for piece in text.partition("="))
    pieces = [piece.strip() for piece in size.lower().split("x")]
    if not name or len(pieces) != 2:
        allowed = "name=thickness x volume, in mm and mm3: radio=1.2x120"
        faults.append(Fault(f"package {shown(text)}", "names no size", allowed=allowed))
        return None
    sizes = (
        Field("thickness_mm", f"package {name}, thickness", allowed=Range(0, 50, "mm", open_low=True)),
        Field("volume_mm3", f"package {name}, volume", allowed=Range(0, 1e6, "mm3", open_low=True)),
    )
    found = read_figures(sizes, dict(zip(("thickness_mm", "volume_mm3"), pieces, strict=True)), faults, on_page=True)
    thickness, volume = (found[entry.name].value for entry in sizes)
    return None if thickness is None or volume is None else Package(name, thickness, volume)


def _solidus_of(alloy: Named, catalogue: Catalogue) -> float:
    held = catalogue.alloys.get(alloy.name)
    interval = held.of("solidus_c").interval if held is not None else None
    if interval is not None:
        return interval[0]
    computed = melting_of([alloy.composition], full=False)[0].solidus_c
    if computed is None:
        raise InputError("the balls", [Fault("ball", "has no solidus that is known", alloy.name)])
    return computed


def _verdict(windows: Sequence[Window], given: WindowAsked, source: str) -> Verdict:
    told = f"{source}; limits of the parts"
    if not windows:
        return Verdict(RULE, Outcome.UNKNOWN, "liquidus, superheat or spread is not known", told,
                       threshold="decided by a measured liquidus, a superheat and a spread")  # fmt: skip
    widths = [window.width_k for window in windows if window.width_k is not None]
    if not widths:
        reason = "no limit is known" if given.unknown else "nothing on the board has a limit"
        asked_c = figure(windows[-1].low_c + windows[-1].spread_k)
        return Verdict(RULE, Outcome.UNKNOWN, reason, told, threshold=f"holds if everything takes {asked_c} degC")
    low, high = round(min(widths), 6), round(max(widths), 6)
    outcome = at_least(low, high, 0.0)
    deciding = ", ".join(dict.fromkeys(entry.name for entry in windows[-1].deciding))
    need = windows[-1].low_c + windows[-1].spread_k
    reason = f"{signed(low, 'K')} between the hottest joint and {deciding}"
    measured = Measured(low if low == high else None, low, high, "K")
    threshold = (
        ""
        if outcome is not Outcome.UNKNOWN
        else f"holds if the liquidus is at the low end, or {deciding} takes {figure(need)} degC"
    )
    if given.unknown and outcome is not Outcome.FAIL:
        outcome = Outcome.UNKNOWN
        threshold = f"holds if {', '.join(given.unknown)} takes {figure(need)} degC"
    return Verdict(RULE, outcome, reason, told, measured, 0.0, low, threshold, cautions=windows[-1].cautions)


def _removed(windows: Sequence[Window], given: WindowAsked) -> tuple[float, float] | None:
    usual, flat = stated(given.figures, "usual_peak_c"), stated(given.figures, "reference_c")
    if usual is None or flat is None or not windows:
        return None
    shares = sorted(
        float(bow_removed(end, usual, flat)) for end in (windows[0].low_c, windows[-1].low_c + windows[-1].spread_k)
    )
    return shares[0], shares[-1]
