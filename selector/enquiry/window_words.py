"""The reflow window in words: limits with their headroom, package classes, profile limits, warpage; rows of text."""

from typing import Any

from selector.enquiry.bow import bow_rows, bows_mm
from selector.enquiry.fields import defaults_told, stated
from selector.enquiry.report import Report, Row, Section, ends
from selector.enquiry.window_case import WindowAnswer, body_temperature_rows
from selector.figures import NOT_KNOWN, figure, signed, spread
from selector.process.warpage import CAUTION, warpage_limit_mm
from selector.process.window import family_of, profile_limits
from selector.verdict import Outcome, Verdict

LIMITS, CLASSES, PROFILE, BOW = "What limits the peak", "Package classes, J-STD-020", "Profile limits", "Warpage"
CEILING = (
    "What a package was tested to: a ceiling for the board maker, no recipe. No row exists for low-temperature alloys."
)
OWN_SHEET = "The paste's own sheet rules over these; low-temperature rows are from memory or practice."


def window_report(found: WindowAnswer) -> Report:
    """Return what was found of a window."""
    given = found.asked
    verdict = found.verdicts[0]
    sections = [Section(LIMITS, _limit_rows(found), _limit_notes(found))]
    if given.steps:
        sections.append(_steps(found))
    classes = body_temperature_rows(given.packages)
    if classes:
        sections.append(Section(CLASSES, classes, (CEILING,)))
    if found.liquidus_c is not None:
        sections.append(_profile(found.liquidus_c[1]))
    sections.append(_warpage(found))
    return Report(
        given.alloy.name,
        _finding(found),
        tuple(sections),
        found.verdicts,
        defaults_told(given.figures),
        ()
        if verdict.outcome is not Outcome.PASS
        else ("A window in kelvin is no profile: measure at the coolest and the hottest joint.",),
        _figures(found),
    )


def _finding(found: WindowAnswer) -> str:
    name, verdict, peak = found.asked.alloy.name, found.verdicts[0], found.peak_c
    if peak is None:
        return f"{name}: no window is known ({found.liquidus_source})."
    words = {Outcome.PASS: "The window is open", Outcome.FAIL: "No peak fits", Outcome.UNKNOWN: "Open"}
    # The least peak hangs on the liquidus: both of its ends are told, for the coolest joint too.
    least = found.windows[0].low_c, found.windows[-1].low_c
    told = (
        f"{name} asks for {spread(None, *least)} degC at the coolest joint and up to {figure(peak[1])} at the hottest."
    )
    if found.asked.step:
        told += f" In step {found.asked.step}:"
    decided = f"; {verdict.threshold}" if verdict.threshold else ""
    return f"{told} {words[verdict.outcome]}: {verdict.reason}{decided}.{_service(found.asked.service)}"


def _service(verdict: Verdict | None) -> str:
    """Return what the brief's service says of the alloy; empty where it holds or is not stated."""
    if verdict is None or verdict.outcome not in (Outcome.FAIL, Outcome.UNKNOWN):
        return ""
    told = "rules it out" if verdict.outcome is Outcome.FAIL else "leaves it open"
    return f" Service at {verdict.subject} {told}: see life."


def _steps(found: WindowAnswer) -> Section:
    """Return the window of every step of the brief: the lowest limit against the hottest joint."""
    rows = []
    for step in found.asked.steps:
        known = [limit for limit in step.limits if limit.limit_c is not None]
        lowest = min(known, key=lambda limit: limit.limit_c or 0.0, default=None)
        open_limits = [limit.name for limit in step.limits if limit.limit_c is None]
        hottest = (
            None if found.liquidus_c is None else found.liquidus_c[1] + step.given_superheat_k + step.given_spread_k
        )
        room = (
            None if lowest is None or hottest is None or lowest.limit_c is None else round(lowest.limit_c - hottest, 6)
        )
        fits = NOT_KNOWN if room is None else "no" if room < 0 else "open" if open_limits else "yes"
        rows.append(
            {
                "step": step.name,
                "lowest limit, degC": "none known" if lowest is None else f"{figure(lowest.limit_c)} ({lowest.name})",
                "hottest joint, degC": figure(hottest),
                "room, K": signed(room),
                "fits": fits,
                "not known": ", ".join(open_limits) or "–",
            }
        )
    return Section("Per step", tuple(rows), ("Whether earlier joints stand it, and who may use it: see steps.",))


def _limit_rows(found: WindowAnswer) -> tuple[Row, ...]:
    rows = []
    for place, entry in enumerate(found.windows[-1].limits if found.windows else found.asked.limits):
        rooms = [window.limits[place].limit_c - window.low_c - window.spread_k for window in found.windows]
        rows.append(
            {
                "what": entry.name,
                "kind": entry.group,
                "takes, degC": figure(entry.limit_c),
                "room, K": signed(min(rooms)) if rooms else NOT_KNOWN,
                "from": "default for its kind" if entry.assumed else entry.source,
            }
        )
    rows += [
        {"what": name, "kind": "part", "takes, degC": NOT_KNOWN, "room, K": NOT_KNOWN, "from": "nobody"}
        for name in found.asked.unknown
    ]
    return tuple(rows)


def _limit_notes(found: WindowAnswer) -> tuple[str, ...]:
    told = []
    if found.liquidus_c is not None:
        told.append(f"Liquidus {spread(None, *found.liquidus_c)} degC ({found.liquidus_source}).")
    told += [f"{entry.name}: {entry.note}" for entry in found.asked.limits if entry.note]
    return tuple(told)


def _profile(liquidus_c: float) -> Section:
    family = family_of(liquidus_c)
    rows = tuple(
        {
            "limit": entry.item,
            "from": "–" if entry.low is None else figure(entry.low),
            "to": figure(entry.high),
            "unit": entry.unit,
            "source": f"{entry.source} ({entry.grade})",
        }
        for entry in profile_limits(family)
    )
    return Section(f"{PROFILE}, {family}", rows, (OWN_SHEET,))


def _warpage(found: WindowAnswer) -> Section:
    figures = found.asked.figures
    pitch, usual, flat = (stated(figures, name) for name in ("pitch_mm", "usual_peak_c", "reference_c"))
    rows: list[Row] = []
    if found.removed is not None:
        rows.append(
            {
                "figure": "share of the usual bow that this peak removes",
                "value": ends([100 * share for share in found.removed], "%", 3),
            }
        )
        rows.append({"figure": "usual peak, degC", "value": figure(usual)})
        rows.append({"figure": "flat at, degC", "value": figure(flat)})
    rows += bow_rows(figures, found.peak_c)
    if pitch is not None:
        limit = warpage_limit_mm(pitch)
        told = "none is printed: ask the package's maker" if limit is None else f"{figure(limit)} mm"
        rows.append({"figure": f"permitted bow at {figure(pitch)} mm pitch (JEITA ED-7306)", "value": told})
    notes = ["An indicator: above the glass transition modulus and sign may change, and a measurement overrides."]
    if found.removed is not None and found.removed[0] < 0:
        notes.append("Below nothing: this peak is hotter than the usual one and bows more.")
    return Section(BOW, tuple(rows), (*notes, f"{CAUTION[0].upper()}{CAUTION[1:]}."))


def _figures(found: WindowAnswer) -> dict[str, Any]:
    given = found.asked
    return {
        "alloy": given.alloy.name,
        "ball": given.ball.name if given.ball else None,
        "liquidus_c": found.liquidus_c,
        "liquidus_source": found.liquidus_source,
        "peak_c": found.peak_c,
        "width_k": [window.width_k for window in found.windows],
        "limits": [
            {
                "name": entry.name,
                "kind": entry.group,
                "limit_c": entry.limit_c,
                "assumed": entry.assumed,
                "source": entry.source,
            }
            for entry in (found.windows[-1].limits if found.windows else given.limits)
        ],
        "unknown_limits": list(given.unknown),
        "classes": list(body_temperature_rows(given.packages)),
        "bow_removed_share": found.removed,
        "bow_mm": None if found.peak_c is None else bows_mm(given.figures, found.peak_c),
    }  # fmt: skip
