"""The verb `life`: what service does to a joint of one alloy, screened.

Exit codes: 0 answered, 1 something is rejected or fails what is asked, 2 an input that cannot be used, or that an
equation does not hold for.
"""

from dataclasses import fields, replace
from typing import Annotated

import typer

from selector.asked import refuse
from selector.asked_compliance import ReadBrief
from selector.asked_life import asked_of, materials
from selector.catalogue import load
from selector.compliance.typed import element_of
from selector.console import CsvOption, DataOption, JsonOption, console, print_json
from selector.errors import Fault, InputError
from selector.lifetime.asked import Asked
from selector.lifetime.screens import life_of
from selector.record import life_words, terminal_life
from selector.record.plain import csv_text, guarded

Kelvin = Annotated[float | None, typer.Option(metavar="K")]
Celsius = Annotated[float | None, typer.Option(metavar="DEGC")]
Number = Annotated[float | None, typer.Option(metavar="N")]
Ppm = Annotated[float | None, typer.Option(metavar="PPM/K")]
Um = Annotated[float | None, typer.Option(metavar="UM")]
Flag = Annotated[bool | None, typer.Option()]


# Options that are not called as their figure is, less its unit.
OPTIONS = {
    "stiffness_n_mm": "--lead-n-mm",
    "condition": "--test",
    "test_density_a_cm2": "--test-density",
    "test_joint_c": "--test-joint",
    "service maximum": "--service-max",
}


def _named(name: str) -> str:
    """Return a figure with its option; what follows from several figures has none."""
    if name in OPTIONS:
        return f"{name} ({OPTIONS[name]})"
    held = {entry.name for entry in fields(Asked)}
    return f"{name} (--{name.removesuffix('_c').replace('_', '-')})" if name in held else name


def register(app: typer.Typer, read_brief: ReadBrief) -> None:
    """Add the verb to the command line; `read_brief` opens a brief by file or name."""

    @app.command()
    def life(
        alloy: Annotated[str, typer.Argument(metavar="ALLOY", help="Any spelling: SAC305, Sn-58Bi, 63/37.")],
        brief: Annotated[str | None, typer.Option("--brief", metavar="F", help="Whose service and use count.")] = None,
        use: Annotated[
            str, typer.Option("--use", metavar="NAME", help="A default use from data/environments.csv, to start from.")
        ] = "",
        service_max: Celsius = None,
        service_min: Celsius = None,
        swing_k: Kelvin = None,
        dwell_min: Annotated[float | None, typer.Option(metavar="MIN", help="Half-cycle dwell.")] = None,
        cycles_per_day: Number = None,
        years: Number = None,
        distance_mm: Annotated[float | None, typer.Option(metavar="MM", help="From the neutral point.")] = None,
        height_um: Um = None,
        board_ppm: Ppm = None,
        part_ppm: Ppm = None,
        lead_n_mm: Annotated[
            float | None, typer.Option(metavar="N/MM", help="Stiffness of a compliant lead; leadless without it.")
        ] = None,
        area_mm2: Annotated[float | None, typer.Option(metavar="MM2", help="Effective area under a lead.")] = None,
        condition: Annotated[str, typer.Option("--test", metavar="TC3", help="A standard cycling test.")] = "",
        test_cycles_per_day: Number = None,
        test_dwell_min: Annotated[float | None, typer.Option(metavar="MIN", help="Hot dwell of the test.")] = None,
        gold_um: Um = None,
        print_um: Um = None,
        solder_mg: Annotated[float | None, typer.Option(metavar="MG")] = None,
        pad_area_mm2: Annotated[float | None, typer.Option(metavar="MM2", help="All area under gold.")] = None,
        current_a: Annotated[float | None, typer.Option(metavar="A")] = None,
        opening_um: Um = None,
        test_density: Annotated[
            float | None, typer.Option(metavar="A/CM2", help="Of a test under current; with --test-joint.")
        ] = None,
        test_joint: Annotated[float | None, typer.Option(metavar="DEGC", help="The joint in that test.")] = None,
        metal: Annotated[
            str | None,
            typer.Option("--metal", metavar="Cu", help="What stays under the joint; Cu unless the brief says."),
        ] = None,
        humid: Flag = None,
        sealed: Flag = None,
        vacuum: Flag = None,
        coldest: Annotated[float | None, typer.Option(metavar="DEGC", help="Storage and transport too.")] = None,
        underfill_ppm: Ppm = None,
        underfill_poisson: Number = None,
        underfill_glass: Celsius = None,
        plane_ppm: Annotated[float | None, typer.Option(metavar="PPM/K", help="Of part and board, in plane.")] = None,
        solder_ppm: Ppm = None,
        mixed: Annotated[bool, typer.Option("--mixed", help="A joint of two alloys, or reacted.")] = False,
        material: Annotated[
            list[str] | None,
            typer.Option("--set", metavar="KIND=VALUE", help="flux=no-clean, standoff=40, cleaning=none; repeat it."),
        ] = None,
        as_json: JsonOption = False,
        as_csv: CsvOption = False,
        data: DataOption = None,
    ) -> None:
        """Screen what service does to a joint: heat, creep, fatigue, tests, gold, current, corrosion, cold, drop."""
        faults: list[Fault] = []
        chosen = materials(material or [], faults)
        refuse(faults)
        stated = {
            "service_max_c": service_max,
            "service_min_c": service_min,
            "swing_k": swing_k,
            "dwell_min": dwell_min,
            "cycles_per_day": cycles_per_day,
            "years": years,
            "distance_mm": distance_mm,
            "height_um": height_um,
            "board_ppm": board_ppm,
            "part_ppm": part_ppm,
            "stiffness_n_mm": lead_n_mm,
            "area_mm2": area_mm2,
            "condition": condition,
            "test_cycles_per_day": test_cycles_per_day,
            "test_dwell_min": test_dwell_min,
            "gold_um": gold_um,
            "print_um": print_um,
            "solder_mg": solder_mg,
            "pad_area_mm2": pad_area_mm2,
            "current_a": current_a,
            "opening_um": opening_um,
            "test_density_a_cm2": test_density,
            "test_joint_c": test_joint,
            "metal": metal and (element_of("metal", metal.capitalize(), []) or metal),
            "humid": humid,
            "sealed": sealed,
            "vacuum": vacuum,
            "coldest_c": coldest,
            "underfill_ppm": underfill_ppm,
            "underfill_poisson": underfill_poisson,
            "underfill_glass_c": underfill_glass,
            "plane_ppm": plane_ppm,
            "solder_ppm": solder_ppm,
            "is_mixed": mixed,
            "materials": chosen,
        }
        found = None if brief is None else read_brief(brief)
        answered = life_of(asked_of(alloy, load(data), found, use, stated))
        if answered.faults:
            named = [replace(fault, where=_named(fault.where)) for fault in answered.faults]
            raise InputError("what was stated of the joint", named)
        if as_json:
            print_json(life_words.plain(answered))
        elif as_csv:
            rows = [{key: guarded(cell) for key, cell in row.items()} for row in life_words.rows(answered)]
            print(csv_text(rows), end="")
        else:
            terminal_life.show(console(), answered)
        raise typer.Exit(1 if life_words.fails(answered) else 0)
