"""One joint as a person asks for it: paste, ball, finishes, geometry, peak, rework; defaults told, faults at once."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from selector import asked, composition
from selector.asked import Named
from selector.brief import Brief, known
from selector.catalogue import Catalogue
from selector.enquiry.cold_peak import cold_peak
from selector.enquiry.fields import Field, Given, choice, read_figures, stated, with_default
from selector.enquiry.report import small
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN
from selector.figures import figure, plain_number
from selector.joint.finish import layers
from selector.joint.geometry import USUAL_METAL_WT, attached_ball_mm
from selector.policy import policy
from selector.process.printing import round_area_ratio, transfer_estimate
from selector.ranges import Range

COPPER = "copper"
BALL_OF_PITCH, PAD_OF_BALL, LONE_PAD_MM = 0.6, 0.8, 1.0
FIELDS = (
    Field("ball_mm", "Ball diameter, mm"),
    Field("pad_mm", "Pad diameter, mm", allowed=Range(0.01, 50, "mm")),
    Field("aperture_mm", "Aperture diameter, mm"),
    Field("pitch_mm", "Pitch, mm"),
    Field("foil_um", "Foil, um", 100.0, span=(80.0, 150.0), allowed=Range(10, 1000, "um")),
    Field("transfer", "Transfer, deposit over aperture", span=(0.5, 1.0), allowed=Range(0.01, 1.3, "1")),
    Field("metal_wt", "Metal in the paste, wt%", USUAL_METAL_WT, span=(85.0, 91.0), allowed=Range(50, 100, "wt%")),
    Field("finish_um", "Outer layer of the finish, um"),
    Field("peak_c", "Peak at the joint, degC"),
    Field("dissolved_share", "Dissolved share of the ball, 0 to 1"),
    Field("powder_share", "Share of the second powder, by mass", span=(0.1, 0.9)),
    Field("rework_share", "Share of the rework alloy, by mass"),
    Field("service_c", "Hottest service, degC"),
)
BY_NAME: Mapping[str, Field] = {entry.name: entry for entry in FIELDS}
NONE = "none"


@dataclass(frozen=True)
class JointAsked:
    """What is asked.

    Parameters
    ----------
    paste : Named
    ball, powder, rework : Named or None
        The ball under the part, a second powder in the paste, the alloy of a touch-up.
    figures : dict
        Every figure by name.
    finish, package_finish : str
        Of the board's and of the part's pad; `unknown` where nobody knows.
    finish_stated : bool
        Whether the board's finish was stated; bare copper is taken where it was not.
    ipc_class : int or None
    """

    paste: Named
    ball: Named | None
    powder: Named | None
    rework: Named | None
    figures: Mapping[str, Given]
    finish: str
    package_finish: str
    finish_stated: bool
    ipc_class: int | None

    @property
    def share_unknown(self) -> bool:
        """Return whether nobody knows how much paste meets how much ball."""
        return self.ball is not None and None in (self.figures["ball_mm"].value, self.figures["aperture_mm"].value)


def joint_asked(
    texts: Mapping[str, str | None], catalogue: Catalogue, on_page: bool = False, more: Iterable[Fault] = ()
) -> JointAsked:
    """Return what is asked, from texts by name: the figures, and paste, ball, powder, rework, finish, ipc_class.

    Parameters
    ----------
    texts : mapping
        As typed; None or nothing where left out.
    catalogue : Catalogue
    on_page : bool
        Whether faults name the labels of the page instead of options.
    more : iterable of Fault
        What else is wrong, to be told with the rest.

    Raises
    ------
    InputError
        Every fault at once: alloys, figures, geometry.
    """
    faults: list[Fault] = []

    def worded(name: str, label: str) -> str:
        return label if on_page else f"--{name}"

    alloys = {
        name: _alloy("ALLOY" if name == "paste" else worded(name, name), texts.get(name), catalogue, faults)
        for name in ("paste", "ball", "powder", "rework")
    }
    figures = read_figures(FIELDS, texts, faults, on_page)

    def named(name: str) -> str:
        return BY_NAME[name].called(on_page)

    finish = _finish(worded("finish", "the finish of the board"), texts.get("finish"), faults)
    package = _finish(worded("package-finish", "the finish of the part"), texts.get("package_finish"), faults)
    if finish not in layers() and finish not in (COPPER, UNKNOWN) and not faults and figures["finish_um"].value is None:
        faults.append(Fault(named("finish_um"), "is missing", allowed="um", remedy=f"how thick is {finish}?"))
    ipc = choice(worded("class", "the class"), texts.get("ipc_class"), ("1", "2", "3", UNKNOWN), faults)
    if alloys["paste"] is None and not faults:
        faults.append(Fault("ALLOY", "names no alloy", allowed="SAC305, Sn-58Bi, 63/37"))
    if alloys["powder"] is None and (texts.get("powder_share") or "").strip():
        faults.append(Fault(named("powder_share"), "needs a second powder", allowed="a second alloy in the paste"))
    if alloys["rework"] is None and (texts.get("rework_share") or "").strip():
        faults.append(Fault(named("rework_share"), "needs a rework alloy", allowed="an alloy to touch up with"))
    if (texts.get("ball") or "").strip().lower() in ("", NONE):
        faults += [
            Fault(named(name), "needs a ball", shown(texts[name]), "an alloy for the ball")
            for name in ("ball_mm", "dissolved_share")
            if (texts.get(name) or "").strip() not in ("", UNKNOWN)
        ]
    _geometry(figures, texts, alloys["ball"] is not None)
    if not faults or not any(fault.where == "ALLOY" for fault in faults):
        faults += _impossible(figures, named, alloys["ball"] is not None)
    if not faults and not (alloys["ball"] and figures["dissolved_share"].value is None):
        # With a ball that may dissolve the engine judges the paste at the peak itself.
        faults += cold_peak(figures["peak_c"], (alloys["paste"], alloys["powder"]), catalogue, on_page)
    asked.refuse([*more, *faults])
    paste = alloys["paste"]
    assert paste is not None
    return JointAsked(
        paste,
        alloys["ball"],
        alloys["powder"],
        alloys["rework"],
        figures,
        finish or COPPER,
        package,
        bool((texts.get("finish") or "").strip()),
        None if ipc == UNKNOWN else int(ipc),
    )


def texts_of(brief: Brief, part_name: str = "") -> dict[str, str]:
    """Return what a brief says about the joints of a part: balls, pitch, finish, print, mixing, service, class.

    Parameters
    ----------
    brief : Brief
    part_name : str
        One of its parts; only what holds for the whole board where there is none of that name.
    """
    found: dict[str, str] = {}
    part = next((part for part in brief.parts if part.name == part_name), None)
    if part is not None:
        found |= {"ball": part.ball_alloy if part.ball_alloy != UNKNOWN else "", "package_finish": part.finish}
        names = (("pitch_mm", "pitch_mm"), ("ball_mm", "ball_diameter_mm"), ("pad_mm", "pad_diameter_mm"))
        found |= numbers_of(part, (*names, ("aperture_mm", "aperture_mm")))
    printing, mixing = getattr(brief, "printing", None), getattr(brief, "mixing", None)
    found |= numbers_of(printing, (("foil_um", "foil_um"), ("transfer", "transfer_share"), ("metal_wt", "metal_wt")))
    found |= numbers_of(mixing, (("dissolved_share", "dissolved_share"), ("rework_share", "rework_share")))
    rework = getattr(mixing, "rework_alloy", UNKNOWN)
    if rework not in (UNKNOWN, NONE):
        found["rework"] = str(rework)
    else:
        found.pop("rework_share", None)
    if not found.get("ball") or found["ball"] == NONE:
        found = {name: text for name, text in found.items() if name not in ("ball", "ball_mm", "dissolved_share")}
    service, ipc = known(brief.service.maximum_c), known(brief.ipc_class)
    found["service_c"] = figure(service) if service is not None else UNKNOWN
    found["ipc_class"] = figure(ipc) if ipc is not None else UNKNOWN
    return found


def numbers_of(table: object, names: Sequence[tuple[str, str]]) -> dict[str, str]:
    """Return the numbers that a table of the brief states, by the name of the figure; a brief may lack the table."""
    found = {name: getattr(table, field, UNKNOWN) for name, field in names}
    return {name: plain_number(float(value)) for name, value in found.items() if not isinstance(value, str)}


def _alloy(where: str, text: str | None, catalogue: Catalogue, faults: list[Fault]) -> Named | None:
    typed = (text or "").strip()
    if not typed or typed.lower() == NONE:
        return None
    found = asked.named([("" if where == "ALLOY" else f"{where}: ", typed)], catalogue, faults, cover=False)
    return found[0] if found else None


def _finish(where: str, text: str | None, faults: list[Fault]) -> str:
    typed = (text or "").strip()
    if not typed:
        return COPPER
    if typed in layers() or typed in (COPPER, UNKNOWN):
        return typed
    try:
        composition.parse(typed)
    except InputError:
        allowed = ", ".join((*layers(), COPPER, UNKNOWN, "a composition with its thickness"))
        faults.append(Fault(where, "is not in the table", shown(typed), allowed))
        return COPPER
    return typed


def _geometry(figures: dict[str, Given], texts: Mapping[str, str | None], has_ball: bool) -> None:
    """Put the defaults that rest on other figures, each with its reason."""
    pitch = stated(figures, "pitch_mm")
    if has_ball and pitch is not None:
        why = f"default, common practice: {BALL_OF_PITCH:g} of the pitch"
        with_default(figures, "ball_mm", BALL_OF_PITCH * pitch, why, texts)
    ball = stated(figures, "ball_mm")
    if has_ball and ball is not None:
        why = f"default, common practice: {PAD_OF_BALL:g} of the ball"
        with_default(figures, "pad_mm", PAD_OF_BALL * ball, why, texts)
    elif not has_ball:
        own = figures["aperture_mm"].value or (pitch / 2 if pitch is not None else LONE_PAD_MM)
        with_default(figures, "pad_mm", own, "default: only finish over print counts", texts)
    pad, foil = stated(figures, "pad_mm"), stated(figures, "foil_um")
    if pad is not None:
        with_default(figures, "aperture_mm", pad, "default: as wide as the pad", texts)
    aperture = stated(figures, "aperture_mm")
    if aperture is not None and foil is not None:
        ratio = float(round_area_ratio(aperture, foil / 1000))
        if ratio >= policy().printing.transfer_area_ratio[0]:
            why = f"default, planning curve at an area ratio of {small(ratio, 3)}"
            with_default(figures, "transfer", round(float(transfer_estimate(ratio)), 3), why, texts)


def _impossible(figures: Mapping[str, Given], named: Callable[[str], str], has_ball: bool) -> list[Fault]:
    value = {name: given.value for name, given in figures.items()}
    found = []
    pitch = value["pitch_mm"]
    for name in ("aperture_mm", "ball_mm", "pad_mm"):
        own = value[name]
        if pitch is not None and own is not None and own >= pitch and not figures[name].why:
            problem = "is not smaller than the pitch: neighbours would run into each other"
            remedy = "check which of the two is meant, and their units"
            found.append(Fault(named(name), problem, f"{own:g} mm", f"below {pitch:g} mm", remedy))
    ball, pad = value["ball_mm"], value["pad_mm"]
    if has_ball and ball is not None and pad is not None:
        try:
            attached_ball_mm(ball, pad / 2)
        except InputError as error:
            # By its diameter, as it was typed, and not by the radius.
            widest = {"value": f"{pad:g} mm", "allowed": f"at most {1.5 * ball:g} mm on this ball", "remedy": ""}
            found += [replace(fault, where=named("pad_mm"), **widest) for fault in error.faults]
    return found
