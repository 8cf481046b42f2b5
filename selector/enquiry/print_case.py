"""One print: powder, stencil, transfer, oxide, and what is left under the part; asked, answered, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from selector import asked
from selector.asked import Named
from selector.brief import Brief, known
from selector.catalogue import Catalogue
from selector.catalogue.derived import mixed_density
from selector.catalogue.evidence import Evidence
from selector.enquiry.cold_peak import cold_peak
from selector.enquiry.fields import Field, Given, choice, defaults_told, read_figures, stated, with_default
from selector.enquiry.onset import onset_of
from selector.enquiry.report import Report, Row, Section, ends, problem_of, small
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN
from selector.figures import figure
from selector.policy import policy
from selector.process.printing import (
    Powder,
    aspect_ratio,
    oxide_ppm,
    oxygen_ppm,
    powder_for_aperture,
    powder_for_pitch,
    powder_needed,
    powder_type,
    powders,
    rectangle_area_ratio,
    stencil,
    surface_m2_g,
    transfer_estimate,
)
from selector.process.standoff import FLUXES, flux_cleaning, residue, underfill_cure, underfill_time_s
from selector.ranges import Range
from selector.verdict import Outcome, Verdict

POWDER, STENCIL, OXIDE, UNDER = "Powder", "Stencil", "Surface and oxide of the powder", "Under the part"
YES_NO = ("yes", "no", UNKNOWN)
NO_CLEAN = "No-clean is a flux with its heat, not a word on a jar: under a low part its residue is not dry."
FIELDS = (
    Field("aperture_um", "Narrow side of the aperture, um"),
    Field("length_um", "Long side of the aperture, um", allowed=Range(20, 50_000, "um")),
    Field("pitch_mm", "Pitch, mm"),
    Field("foil_um", "Foil, um", 100.0, allowed=Range(10, 1000, "um")),
    Field("powder_type", "Powder type, 1 to 8", allowed=Range(1, 8, "1")),
    Field("standoff_um", "Standoff, um"),
    Field("peak_c", "Peak at the joint, degC"),
    Field("cure_c", "Underfill cures at, degC"),
    Field("flow_length_mm", "Underfill flows, mm"),
)


@dataclass(frozen=True)
class PrintAsked:
    """What is asked of a print; `washed`, `underfilled`, `windowed`, `fine_foil` are yes, no or unknown."""

    alloy: Named
    figures: Mapping[str, Given]
    flux: str
    washed: str
    underfilled: str
    windowed: str
    fine_foil: str


def print_asked(
    texts: Mapping[str, str | None], catalogue: Catalogue, brief: Brief | None = None, on_page: bool = False
) -> PrintAsked:
    """Return what is asked, from texts by name: figures, and alloy, flux, washed, underfilled, windowed, fine_foil.

    Raises
    ------
    InputError
        Every fault at once, an aperture that is not smaller than its pitch among them.
    """
    faults: list[Fault] = []
    found = asked.named([("", texts.get("alloy") or "")], catalogue, faults, cover=False)
    figures = read_figures(FIELDS, texts, faults, on_page)
    words = {
        name: choice(f"--{name.replace('_', '-')}", texts.get(name), YES_NO, faults, default)
        for name, default in (("washed", "no"), ("underfilled", "no"), ("windowed", UNKNOWN), ("fine_foil", "no"))
    }
    flux = choice("--flux", texts.get("flux"), (*FLUXES, UNKNOWN), faults)
    if brief is not None and known(brief.process.powder_type) is not None:
        with_default(figures, "powder_type", known(brief.process.powder_type) or 0.0, "the brief", texts)
    # A figure that was refused counts as not known here, so that no fault is told twice.
    faults += _impossible(figures, on_page)
    faults += cold_peak(figures["peak_c"], found[:1], catalogue, on_page)
    asked.refuse(faults)
    return PrintAsked(found[0], figures, flux, **words)


def _impossible(figures: dict[str, Given], on_page: bool) -> list[Fault]:
    value = {name: given.value for name, given in figures.items()}

    def where(name: str) -> str:
        return figures[name].field.called(on_page)

    found = []
    aperture, pitch, length, powder = (value[name] for name in ("aperture_um", "pitch_mm", "length_um", "powder_type"))
    if aperture is not None and pitch is not None and aperture >= 1000 * pitch:
        found.append(
            Fault(where("aperture_um"), "is not smaller than the pitch: neighbours would run into each other",
                  f"{aperture:g} um", f"below {1000 * pitch:g} um", "check which of the two is meant, and their units")
        )  # fmt: skip
    if aperture is not None and length is not None and length < aperture:
        found.append(
            Fault(where("length_um"), "is less than the narrow side", f"{length:g} um", f"at least {aperture:g} um")
        )
    if powder is not None and powder != int(powder):
        found.append(Fault(where("powder_type"), "is no powder type", f"{powder:g}", "1 to 8, whole"))
    return found


def print_report(given: PrintAsked, catalogue: Catalogue) -> Report:
    """Return powder, stencil, oxide and what is under the part, with verdicts.

    Raises
    ------
    InputError
        Figures that no board has.
    """
    sections: list[Section] = []
    verdicts: list[Verdict] = []
    cautions: list[str] = []
    figures: dict[str, Any] = {"alloy": given.alloy.name, "flux": given.flux}
    needed = _powder(given, sections, verdicts, figures)
    _stencil(given, sections, verdicts, cautions, figures)
    density = mixed_density(given.alloy.composition, catalogue.elements)
    _oxide(density, needed, sections, figures)
    onset = None if stated(given.figures, "cure_c") is None else onset_of(given.alloy, catalogue)
    _under(given, onset, sections, verdicts, cautions, figures)
    if given.flux == UNKNOWN:
        cautions.append("The flux is not stated: what its residue does is not judged.")
    elif given.flux == "no-clean":
        cautions.append(NO_CLEAN)
    return Report(
        given.alloy.name,
        _finding(given, needed, verdicts),
        tuple(sections),
        tuple(verdicts),
        defaults_told(given.figures),
        tuple(cautions),
        figures,
    )


def _finding(given: PrintAsked, needed: Powder | None, verdicts: list[Verdict]) -> str:
    aperture = stated(given.figures, "aperture_um")
    if aperture is None and stated(given.figures, "pitch_mm") is None:
        told = "Neither aperture nor pitch is known: no powder is named."
    elif needed is None:
        told = "No powder in the table is fine enough for this print."
    else:
        alone = ", by pitch alone" if aperture is None else ""
        told = f"Type {needed.type} is the coarsest powder that prints{alone}."
    stops = [verdict.reason for verdict in verdicts if verdict.outcome is Outcome.FAIL]
    opens = [verdict.reason for verdict in verdicts if verdict.outcome is Outcome.UNKNOWN]
    told += f" Stop: {'; '.join(stops)}." if stops else ""
    return told + (f" Open: {'; '.join(opens)}." if opens else "")


def _powder(
    given: PrintAsked, sections: list[Section], verdicts: list[Verdict], figures: dict[str, Any]
) -> Powder | None:
    aperture, pitch = stated(given.figures, "aperture_um"), stated(given.figures, "pitch_mm")
    rows: list[Row] = []
    found: dict[str, Powder | None] = {}
    if aperture is not None:
        found["aperture"] = powder_for_aperture(aperture)
        rows.append(_powder_row(f"aperture of {figure(aperture)} um, five balls across", found["aperture"]))
    if pitch is not None:
        found["pitch"] = powder_for_pitch(pitch)
        rows.append(_powder_row(f"pitch of {figure(pitch)} mm, common practice", found["pitch"]))
    needed = powder_needed(aperture, pitch) if aperture is not None else found.get("pitch")
    if rows:
        sections.append(Section(POWDER, tuple(rows)))
    own = stated(given.figures, "powder_type")
    if own is not None and aperture is not None:
        verdicts.append(powder_type(int(own), given.alloy.composition, aperture, pitch))
    figures["powder_needed"] = {name: None if powder is None else powder.type for name, powder in found.items()}
    return needed


def _powder_row(told: str, powder: Powder | None) -> Row:
    if powder is None:
        return {"asked by": told, "coarsest type": "none", "main range, um": "–", "source": "–"}
    source = f"{powder.source} ({powder.grade})"
    size = f"{figure(powder.low_um)} to {figure(powder.high_um)}"
    return {"asked by": told, "coarsest type": str(powder.type), "main range, um": size, "source": source}


def _stencil(
    given: PrintAsked, sections: list[Section], verdicts: list[Verdict], cautions: list[str], figures: dict[str, Any]
) -> None:
    aperture, foil = stated(given.figures, "aperture_um"), stated(given.figures, "foil_um")
    if aperture is None or foil is None:
        missing = " and ".join(n for n, v in (("aperture", aperture), ("foil", foil)) if v is None)
        cautions.append(f"Not known: {missing}. Release from the stencil is not judged.")
        return
    length = stated(given.figures, "length_um") or aperture
    width_mm, length_mm, foil_mm = aperture / 1000, length / 1000, foil / 1000
    ratio = float(rectangle_area_ratio(length_mm, width_mm, foil_mm))
    verdicts.append(stencil(width_mm, length_mm, foil_mm, given.fine_foil == "yes"))
    try:
        released = float(transfer_estimate(ratio))
        transfer: float | None = released
        told = f"{small(released, 3)} (planning curve, policy)"
    except InputError as error:
        transfer, told = None, f"not told: the area ratio {problem_of(error)}"
    rows = (
        {"figure": "area ratio, opening over wall", "value": figure(ratio, 3)},
        {"figure": "aspect ratio, width over foil", "value": figure(float(aspect_ratio(width_mm, foil_mm)), 3)},
        {"figure": "transfer, deposit over aperture", "value": told},
    )
    shape = "Square or round, as only one side is stated." if length == aperture else ""
    note = "Area ratio and five balls must both hold. Measure the transfer on a first print."
    sections.append(Section(STENCIL, rows, tuple(filter(None, (shape, note)))))
    figures |= {"area_ratio": ratio, "transfer": transfer}


def _oxide(density: float, needed: Powder | None, sections: list[Section], figures: dict[str, Any]) -> None:
    rows = []
    for powder in powders().values():
        if needed is None or not needed.type <= powder.type <= needed.type + 2:
            continue
        middle = (powder.low_um + powder.high_um) / 2
        oxide = float(oxide_ppm(middle, density))
        rows.append(
            {
                "type": str(powder.type),
                "middle, um": figure(middle, 3),
                "surface, m2/g": small(float(surface_m2_g(middle, density)), 3),
                "oxide, ppm": figure(oxide, 3),
                "oxygen, ppm": figure(float(oxygen_ppm(oxide)), 3),
            }
        )
        figures.setdefault("oxide_ppm", {})[str(powder.type)] = oxide
    if rows:
        note = "Spheres of one size with a skin of 4 nm tin oxide, from memory; finer powder carries more."
        sections.append(Section(OXIDE, tuple(rows), (note,)))


def _under(
    given: PrintAsked,
    onset: Evidence | None,
    sections: list[Section],
    verdicts: list[Verdict],
    cautions: list[str],
    figures: dict[str, Any],
) -> None:
    standoff, peak = stated(given.figures, "standoff_um"), stated(given.figures, "peak_c")
    cure, flow = stated(given.figures, "cure_c"), stated(given.figures, "flow_length_mm")
    if standoff is None:
        cautions.append("The standoff is not known: residue, cleaning and underfill under the part are not judged.")
    else:
        verdicts.append(residue(standoff, given.underfilled == "yes"))
        if given.flux != UNKNOWN:
            verdicts.append(flux_cleaning(given.flux, standoff, given.washed == "yes", peak, given.windowed != "no"))
    rows: list[Row] = []
    if standoff is not None:
        rules = policy().printing
        rows.append({"figure": "standoff", "value": f"{figure(standoff)} um (alert under {rules.residue_alert_um:g})"})
    if flow is not None and standoff:
        seconds = float(underfill_time_s(flow, standoff))
        rows.append(
            {"figure": f"underfill over {figure(flow)} mm", "value": f"{figure(seconds, 2)} s (flow from memory)"}
        )
        figures["underfill_s"] = seconds
    if cure is not None and onset is not None:
        if onset.interval is None:
            why = "holds if it cures 20 K under the remelt onset"
            verdicts.append(
                Verdict("underfill_cure", Outcome.UNKNOWN, "the remelt onset is not known", "practice", threshold=why)
            )
        else:
            rows.append({"figure": "remelt onset", "value": ends(onset.interval, "degC")})
            verdicts.append(underfill_cure(cure, *onset.interval))
    if rows:
        sections.append(Section(UNDER, tuple(rows)))
