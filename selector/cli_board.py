"""The verbs of one joint on a board: `joint`, `window`, `print`, `footprint` and `heat`.

Exit codes: 0 answered, 1 a stop stands or no peak fits, 2 an input that cannot be used.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Any, NoReturn

import typer

from selector.brief import Brief
from selector.catalogue import load
from selector.console import DataOption, JsonOption, console, print_json, progress
from selector.enquiry import joint_asked, joint_case, joint_law, joint_words, window_case, window_words
from selector.enquiry.footprint_case import footprint_asked, footprint_report
from selector.enquiry.heat_case import heat_asked, heat_report
from selector.enquiry.print_case import print_asked, print_report
from selector.enquiry.report import Report, verdict_rows
from selector.errors import Fault, InputError
from selector.record import terminal_board

Text = str | None
AlloyArgument = Annotated[str, typer.Argument(metavar="ALLOY", help="Any spelling: SAC305, Sn-58Bi, 63/37.")]
FIGURE = "A number, or unknown."


def _option(name: str, metavar: str, words: str = FIGURE) -> Any:
    # `--peak` too: the unit stands in the metavar.
    names = (name, name.removesuffix("-c")) if name.endswith("-c") else (name,)
    return typer.Option(*names, metavar=metavar, help=words)


def show(report: Report, as_json: bool) -> NoReturn:
    """Print what was found, and end with 1 where a stop stands."""
    if as_json:
        print_json(report.plain())
    else:
        out = console()
        out.print(report.title, style="bold")
        out.print(report.finding)
        for section in report.sections:
            terminal_board.table(out, section.title, section.rows, section.notes)
        if report.verdicts:
            terminal_board.table(out, "Verdicts", verdict_rows(report.verdicts))
        terminal_board.listed(out, "Not stated, taken", report.defaults)
        terminal_board.listed(out, "Cautions", report.told_cautions)
    raise typer.Exit(1 if report.stops else 0)


def joint(
    alloy: AlloyArgument,
    ball: Annotated[Text, _option("--ball", "ALLOY", "The balls under the part.")] = None,
    powder: Annotated[Text, _option("--powder", "ALLOY", "A second powder in the paste.")] = None,
    powder_share: Annotated[Text, _option("--powder-share", "S", "Its share by mass, 0 to 1, or unknown.")] = None,
    ball_mm: Annotated[Text, _option("--ball-mm", "MM")] = None,
    pad_mm: Annotated[Text, _option("--pad-mm", "MM")] = None,
    aperture_mm: Annotated[Text, _option("--aperture-mm", "MM")] = None,
    pitch_mm: Annotated[Text, _option("--pitch-mm", "MM")] = None,
    foil_um: Annotated[Text, _option("--foil-um", "UM")] = None,
    transfer: Annotated[Text, _option("--transfer", "S", "Deposit over aperture, 0 to 1.3, or unknown.")] = None,
    metal_wt: Annotated[Text, _option("--metal-wt", "WT%")] = None,
    finish: Annotated[Text, _option("--finish", "NAME", "Of the board; a finish, a composition, unknown.")] = None,
    package_finish: Annotated[Text, _option("--package-finish", "NAME", "Of the part's pad.")] = None,
    finish_um: Annotated[Text, _option("--finish-um", "UM", "Outermost layer; the usual one otherwise.")] = None,
    peak: Annotated[Text, _option("--peak-c", "DEGC", "At the joint.")] = None,
    dissolved: Annotated[Text, _option("--dissolved", "S", "Measured share of the ball, 0 to 1.")] = None,
    rework: Annotated[Text, _option("--rework", "ALLOY", "Touched up with this alloy.")] = None,
    rework_share: Annotated[Text, _option("--rework-share", "S", "Of it by mass; the whole span without.")] = None,
    service: Annotated[Text, _option("--service-c", "DEGC", "Hottest service at the joint.")] = None,
    ipc_class: Annotated[Text, _option("--class", "N", "1, 2 or 3.")] = None,
    market: Annotated[Text, _option("--market", "MARKET", "Law of these for the finished joint: EU,UK.")] = None,
    on: Annotated[Text, _option("--on", "DATE", "The day of the law asked about: 2027-07-01.")] = None,
    equipment: Annotated[Text, _option("--equipment", "KIND", "Kind of equipment, as in a brief.")] = None,
    as_json: JsonOption = False,
    data: DataOption = None,
) -> None:
    """Compute where a mixed joint melts: paste, ball, finishes, two powders, rework; zones, stops, height, gold."""
    texts = {
        "paste": alloy, "ball": ball, "powder": powder, "powder_share": powder_share, "ball_mm": ball_mm,
        "pad_mm": pad_mm, "aperture_mm": aperture_mm, "pitch_mm": pitch_mm, "foil_um": foil_um, "transfer": transfer,
        "metal_wt": metal_wt, "finish": finish, "package_finish": package_finish, "finish_um": finish_um,
        "peak_c": peak, "dissolved_share": dissolved, "rework": rework, "rework_share": rework_share,
        "service_c": service, "ipc_class": ipc_class,
    }  # fmt: skip
    catalogue = load(data)
    faults: list[Fault] = []
    contexts = joint_law.typed_contexts(market or "", on or "", equipment or "", faults)
    given = joint_asked.joint_asked(texts, catalogue, more=faults)
    options = {entry.label: entry.option for entry in joint_asked.FIELDS}
    try:
        with progress("melting", 1):
            found = joint_case.answer_joint(given, catalogue)
    except InputError as error:
        # The page names a figure by its label, the command line by its option.
        named = [replace(fault, where=options.get(fault.where, fault.where)) for fault in error.faults]
        raise InputError(error.what, named) from None
    show(joint_law.with_law(joint_words.joint_report(found), joint_law.law_of(found, contexts)), as_json)


def footprint(
    alloy: AlloyArgument,
    compare: Annotated[Text, _option("--compare", "ALLOY", "Beside this alloy.")] = None,
    peak: Annotated[Text, _option("--peak-c", "DEGC")] = None,
    usual_peak: Annotated[Text, _option("--usual-peak-c", "DEGC")] = None,
    grid_factor: Annotated[Text, _option("--grid-factor", "KG/KWH", "CO2 of your grid; none is assumed.")] = None,
    boards_h: Annotated[Text, _option("--boards-h", "N", "Boards an hour through the oven.")] = None,
    joint_mm3: Annotated[Text, _option("--joint-mm3", "MM3", "Metal of one joint.")] = None,
    joints: Annotated[Text, _option("--joints", "N", "Joints a board.")] = None,
    board_mass_g: Annotated[Text, _option("--board-mass-g", "G", "For the heat into it.")] = None,
    solid_j_gk: Annotated[Text, _option("--solid-j-gk", "J/(G K)", "Heat capacity of the solid solder.")] = None,
    liquid_j_gk: Annotated[Text, _option("--liquid-j-gk", "J/(G K)", "Of the liquid solder.")] = None,
    latent_j_g: Annotated[Text, _option("--latent-j-g", "J/G", "Heat of melting of the solder.")] = None,
    price: Annotated[list[str] | None, _option("--price", "Bi=35", "Your own price, USD/kg; may be repeated.")] = None,
    dated: Annotated[str, _option("--dated", "DAY", "Of what day your prices are; today otherwise.")] = "",
    as_json: JsonOption = False,
    data: DataOption = None,
) -> None:
    """Tell the energy, CO2, cost, supply and embodied carbon of an alloy, beside another."""
    texts = {
        "alloy": alloy, "compare": compare, "peak_c": peak, "usual_peak_c": usual_peak, "grid_factor": grid_factor,
        "boards_h": boards_h, "joint_mm3": joint_mm3, "joints": joints, "dated": dated,
        "board_mass_g": board_mass_g, "solid_j_gk": solid_j_gk, "liquid_j_gk": liquid_j_gk, "latent_j_g": latent_j_g,
    }  # fmt: skip
    catalogue = load(data)
    show(footprint_report(footprint_asked(texts, price or (), catalogue), catalogue), as_json)


def heat(
    alloy: AlloyArgument,
    thickness_um: Annotated[Text, _option("--thickness-um", "UM", "Of the joint or die attach.")] = None,
    area_mm2: Annotated[Text, _option("--area-mm2", "MM2", "Of it, voids included.")] = None,
    void_share: Annotated[Text, _option("--void-share", "S", "Of the area, 0 to 0.99; 0 to 0.5 without.")] = None,
    power_w: Annotated[Text, _option("--power-w", "W", "Through the joint.")] = None,
    service: Annotated[Text, _option("--service-c", "DEGC", "Cold side of the joint in service.")] = None,
    metal_w_mk: Annotated[Text, _option("--metal-w-mk", "W/(M K)", "Measured; the catalogue's without.")] = None,
    ipc_class: Annotated[Text, _option("--class", "N", "1, 2 or 3.")] = None,
    layer: Annotated[list[str] | None, _option("--layer", "die=2.6ppm@60K", "May be repeated.")] = None,
    join: Annotated[
        list[str] | None, _option("--join", "die+board=5mm/0.1mm", "Half length/height; may be repeated.")
    ] = None,
    barrel_copper_um: Annotated[Text, _option("--barrel-copper-um", "UM", "Plated copper of a hole.")] = None,
    rate_um_s: Annotated[Text, _option("--rate-um-s", "UM/S", "Measured, copper into this solder.")] = None,
    kept_copper_um: Annotated[Text, _option("--kept-copper-um", "UM", "What must stay of it.")] = None,
    as_json: JsonOption = False,
    data: DataOption = None,
) -> None:
    """Tell resistance, rise and hot side of a joint against its remelt onset; strains of a stack; copper lost."""
    texts = {
        "alloy": alloy, "thickness_um": thickness_um, "area_mm2": area_mm2, "void_share": void_share,
        "power_w": power_w, "service_c": service, "metal_w_mk": metal_w_mk, "ipc_class": ipc_class,
        "barrel_copper_um": barrel_copper_um, "rate_um_s": rate_um_s, "kept_copper_um": kept_copper_um,
    }  # fmt: skip
    catalogue = load(data)
    show(heat_report(heat_asked(texts, layer or (), join or (), catalogue), catalogue), as_json)


def register(app: typer.Typer, read_brief: Callable[[str], Brief]) -> None:
    """Add the verbs to the command line.

    Parameters
    ----------
    app : Typer
    read_brief : callable
        Opens a brief by file or shipped name.
    """
    app.command()(joint)

    @app.command()
    def window(
        alloy: AlloyArgument,
        brief: Annotated[str, _option("--brief", "BRIEF", "Parts, board, superheat and spread of a brief.")] = "",
        part: Annotated[
            list[str] | None, _option("--part", "NAME=DEGC", "Or NAME=kind, NAME=unknown; may be repeated.")
        ] = None,
        package: Annotated[
            list[str] | None, _option("--package", "NAME=MMxMM3", "Thickness x volume, for J-STD-020.")
        ] = None,
        step: Annotated[str, _option("--step", "NAME", "Of the brief's steps; the one with most room without.")] = "",
        ball: Annotated[Text, _option("--ball", "ALLOY", "Balls that must stay solid.")] = None,
        superheat_k: Annotated[Text, _option("--superheat-k", "K")] = None,
        spread_k: Annotated[Text, _option("--spread-k", "K")] = None,
        usual_peak: Annotated[Text, _option("--usual-peak-c", "DEGC", "For warpage.")] = None,
        reference_c: Annotated[Text, _option("--reference-c", "DEGC", "Where the package is flat.")] = None,
        pitch_mm: Annotated[Text, _option("--pitch-mm", "MM", "Ball pitch, for the permitted bow.")] = None,
        low_bow_mm: Annotated[
            Text, _option("--low-bow-mm", "MM", "Measured bow at the liquid joint, with sign.")
        ] = None,
        high_bow_mm: Annotated[Text, _option("--high-bow-mm", "MM")] = None,
        one_thickness_mm: Annotated[
            Text, _option("--one-thickness-mm", "MM", "Lower layer of the package, for its bow.")
        ] = None,
        one_modulus_gpa: Annotated[Text, _option("--one-modulus-gpa", "GPA")] = None,
        one_ppm_k: Annotated[Text, _option("--one-ppm-k", "PPM/K", "Its expansion.")] = None,
        other_thickness_mm: Annotated[Text, _option("--other-thickness-mm", "MM", "Upper layer.")] = None,
        other_modulus_gpa: Annotated[Text, _option("--other-modulus-gpa", "GPA")] = None,
        other_ppm_k: Annotated[Text, _option("--other-ppm-k", "PPM/K")] = None,
        package_edge_mm: Annotated[Text, _option("--package-edge-mm", "MM", "Edge or diagonal.")] = None,
        as_json: JsonOption = False,
        data: DataOption = None,
    ) -> None:
        """Tell the reflow window: liquidus and superheat against parts, laminate, film and adhesive; warpage."""
        texts = {
            "alloy": alloy, "ball": ball, "superheat_k": superheat_k, "spread_k": spread_k,
            "usual_peak_c": usual_peak, "reference_c": reference_c, "pitch_mm": pitch_mm, "low_bow_mm": low_bow_mm,
            "high_bow_mm": high_bow_mm, "one_thickness_mm": one_thickness_mm, "one_modulus_gpa": one_modulus_gpa,
            "one_ppm_k": one_ppm_k, "other_thickness_mm": other_thickness_mm, "other_modulus_gpa": other_modulus_gpa,
            "other_ppm_k": other_ppm_k, "package_edge_mm": package_edge_mm,
        }  # fmt: skip
        catalogue = load(data)
        opened = read_brief(brief) if brief else None
        given = window_case.window_asked(texts, part or (), package or (), catalogue, opened, step=step)
        show(window_words.window_report(window_case.answer_window(given, catalogue)), as_json)

    @app.command(name="print")
    def print_(
        alloy: AlloyArgument,
        brief: Annotated[str, _option("--brief", "BRIEF", "Its powder type.")] = "",
        aperture_um: Annotated[
            Text, _option("--aperture-um", "UM", "The narrow side of the smallest aperture.")
        ] = None,
        length_um: Annotated[Text, _option("--length-um", "UM", "Its long side; square or round without.")] = None,
        pitch_mm: Annotated[Text, _option("--pitch-mm", "MM")] = None,
        foil_um: Annotated[Text, _option("--foil-um", "UM")] = None,
        powder_type: Annotated[Text, _option("--powder-type", "N", "1 to 8.")] = None,
        standoff_um: Annotated[Text, _option("--standoff-um", "UM", "Gap under the part.")] = None,
        flux: Annotated[Text, _option("--flux", "CLASS", "no-clean or water-soluble.")] = None,
        washed: Annotated[Text, _option("--washed", "YES", "Whether washing under the part is proved.")] = None,
        underfilled: Annotated[Text, _option("--underfilled", "YES", "Whether underfill follows.")] = None,
        windowed: Annotated[Text, _option("--windowed", "YES", "Whether a ground land is printed in windows.")] = None,
        fine_foil: Annotated[
            Text, _option("--fine-foil", "YES", "Whether the foil is coated or electroformed.")
        ] = None,
        peak_c: Annotated[Text, _option("--peak-c", "DEGC", "At the joint.")] = None,
        cure_c: Annotated[Text, _option("--cure-c", "DEGC", "Of the underfill.")] = None,
        flow_length_mm: Annotated[Text, _option("--flow-length-mm", "MM", "How far underfill flows.")] = None,
        as_json: JsonOption = False,
        data: DataOption = None,
    ) -> None:
        """Tell powder, stencil, transfer and oxide of a print, and what is under the part."""
        texts = {
            "alloy": alloy, "aperture_um": aperture_um, "length_um": length_um, "pitch_mm": pitch_mm,
            "foil_um": foil_um, "powder_type": powder_type, "standoff_um": standoff_um, "flux": flux, "washed": washed,
            "underfilled": underfilled, "windowed": windowed, "fine_foil": fine_foil, "peak_c": peak_c,
            "cure_c": cure_c, "flow_length_mm": flow_length_mm,
        }  # fmt: skip
        catalogue = load(data)
        opened = read_brief(brief) if brief else None
        show(print_report(print_asked(texts, catalogue, opened), catalogue), as_json)

    app.command()(footprint)
    app.command()(heat)
