"""What each field of the brief is called on a page and in a record, with unit and what may stand in it."""

from dataclasses import dataclass
from types import MappingProxyType
from typing import get_args

from selector import fields


@dataclass(frozen=True)
class Label:
    """A field's title, unit and allowed values in words; `choices` where it is one of a list, `empty` for no entry."""

    title: str
    unit: str = ""
    allowed: str = ""
    choices: tuple[str, ...] = ()
    empty: str = ""

    @property
    def text(self) -> str:
        """Return the title with its unit."""
        return f"{self.title}, {self.unit}" if self.unit else self.title


def _choices(kind: object) -> tuple[str, ...]:
    return tuple(choice for choice in get_args(kind) if choice != fields.UNKNOWN)


TEMPERATURE = "-200 to 600"
SPAN = "0 to 300"
WITHIN = "0 to 100, plus or minus; left out, the limit is exact"
YES_NO = ("yes", "no")
LABELS = MappingProxyType(
    {
        "title": Label("Title", "", "1 to 80 characters"),
        "ipc_class": Label("IPC product class", "", "1, 2 or 3", ("1", "2", "3")),
        "incumbent": Label("Alloy in use now", "", "any spelling"),
        "use.equipment": Label("Kind of equipment", choices=_choices(fields.Equipment)),
        "use.worn": Label("Worn on the body", choices=YES_NO),
        "use.skin_contact": Label("Touches skin", choices=YES_NO),
        "use.sweat_or_chloride": Label("Sweat or chloride", choices=YES_NO),
        "use.sealed": Label("Joints sealed", choices=YES_NO),
        "use.sold_to_public": Label("Sold to the public", choices=YES_NO),
        "use.medical": Label("Medical", choices=YES_NO),
        "use.automotive": Label("Automotive", choices=YES_NO),
        "service.minimum_c": Label("Service minimum", "degC", TEMPERATURE),
        "service.maximum_c": Label("Service maximum", "degC", TEMPERATURE),
        "service.cyclic_range_k": Label("Cyclic range", "K", SPAN),
        "service.cycles_per_day": Label("Cycles", "a day", "0 to 100,000"),
        "service.shock": Label("Falls or shock", choices=YES_NO),
        "board.base": Label("Laminate or film", "", "its name"),
        "board.base_limit_c": Label("Laminate or film rated to", "degC", TEMPERATURE),
        "board.base_limit_plus_minus_k": Label("Laminate or film known to", "K", WITHIN),
        "board.adhesive": Label("Adhesive", "", "its name, or none"),
        "board.adhesive_limit_c": Label("Adhesive rated to", "degC", TEMPERATURE),
        "board.adhesive_limit_plus_minus_k": Label("Adhesive known to", "K", WITHIN),
        "process.superheat_k": Label("Superheat over liquidus", "K", SPAN),
        "process.board_spread_k": Label("Spread over the board", "K", SPAN),
        "process.oven_above_joint_k": Label("Oven air above joint", "K", SPAN),
        "process.heating": Label("Heating", choices=_choices(fields.Heating)),
        "process.form": Label("Form of the solder", choices=_choices(fields.Form)),
        "process.powder_type": Label("Powder type", "", "1 to 8", tuple(map(str, range(1, 9)))),
        "process.routes": Label("Joining routes allowed", choices=_choices(fields.Route)),
        "parts.name": Label("Part", "", "1 to 80 characters, each once"),
        "parts.kind": Label("Kind"),
        "parts.rating_c": Label("Rated to", "degC", TEMPERATURE),
        "parts.rating_plus_minus_k": Label("Rating known to", "K", WITHIN),
        "parts.rating_at": Label("Rating holds for", choices=_choices(fields.RatingPlace)),
        "parts.thickness_mm": Label("Thickness", "mm", "0.01 to 200"),
        "parts.volume_mm3": Label("Volume", "mm3", "0.001 to 1,000,000"),
        "parts.pitch_mm": Label("Pitch", "mm", "0.01 to 200"),
        "parts.ball_diameter_mm": Label("Ball across", "mm", "0.01 to 3, below the pitch"),
        "parts.pad_diameter_mm": Label("Pad across", "mm", "0.01 to 50, below the pitch"),
        "parts.aperture_mm": Label("Stencil opening across", "mm", "0.02 to 50, below the pitch"),
        "parts.ball_alloy": Label("Balls", "", "a composition, or none"),
        "parts.finish": Label("Finish", choices=_choices(fields.Finish)),
        "parts.lead_bearing": Label("Brings lead", choices=YES_NO),
        "printing.foil_um": Label("Foil", "um", "10 to 1000"),
        "printing.aperture_um": Label("Smallest opening across", "um", "20 to 5000, below the smallest pitch"),
        "printing.fine_foil": Label("Foil coated or electroformed", choices=YES_NO),
        "printing.transfer_share": Label("Share of the opening that prints", "", "0.01 to 1.3"),
        "printing.metal_wt": Label("Metal in the paste", "wt%", "50 to 100"),
        "printing.standoff_um": Label("Standoff under the part", "um", "1 to 5000"),
        "mixing.dissolved_share": Label("Share of a ball that dissolves, measured", "", "0 to 1"),
        "mixing.rework_alloy": Label("Reworked with", "", "a composition, or none"),
        "mixing.rework_share": Label("New metal in a reworked joint", "", "0 to 1, by mass"),
        "life.environment": Label("Environment", "", "one of the table of environments"),
        "life.years": Label("Life asked", "years", "0 to 100"),
        "life.failed_share": Label("Failed by then, at most", "", "0 to 1"),
        "life.distance_mm": Label("Farthest joint from the middle", "mm", "0.01 to 200"),
        "life.height_um": Label("Height of the solder", "um", "1 to 5000"),
        "life.board_ppm_k": Label("Expansion of the board", "ppm/K", "-20 to 500"),
        "life.part_ppm_k": Label("Expansion of the part", "ppm/K", "-20 to 500"),
        "life.dwell_min": Label("Dwell of a cycle", "min", "0.01 to 100,000"),
        "life.current_a": Label("Current through a joint", "A", "0 to 1000"),
        "life.opening_um": Label("Round opening that it enters by", "um", "1 to 5000"),
        "materials.flux_class": Label("Flux", choices=_choices(fields.Flux)),
        "materials.cleaning": Label("Wash", choices=_choices(fields.Cleaning)),
        "materials.underfill": Label("Underfill", choices=_choices(fields.Underfill)),
        "materials.underfill_cure_c": Label("Underfill cures at", "degC", TEMPERATURE),
        "materials.coating": Label("Coat", choices=_choices(fields.Coating)),
        "materials.pad_finish": Label("Finish of the pads", choices=_choices(fields.PadFinish)),
        "materials.base_metal": Label("Metal under the joint", choices=_choices(fields.BaseMetal)),
        "materials.humid": Label("Humid", choices=YES_NO),
        "materials.vacuum": Label("In vacuum", choices=YES_NO),
        "footprint.grid_kg_kwh": Label("CO2 of the grid", "kg/kWh", "0 to 2"),
        "footprint.usual_peak_c": Label("Usual peak", "degC", TEMPERATURE),
        "footprint.boards_h": Label("Boards", "an hour", "0.01 to 10,000"),
        "footprint.joints": Label("Joints on a board", "", "1 to 1,000,000"),
        "footprint.joint_volume_mm3": Label("Metal of one joint", "mm3", "0.001 to 1,000,000"),
        "footprint.prices_dated": Label("Own prices are of", "", "a day or month"),
        "footprint.prices": Label("Own prices, USD/kg", "", "such as Sn 31; Ag 900"),
        "steps.name": Label("Step", "", "1 to 80 characters, each once, in order"),
        "steps.limits": Label("Limits, degC", "", "such as film 200; connector 230; ? where not known"),
        "steps.allowed": Label("Alloys allowed", "", "apart by commas; empty for all"),
        "steps.superheat_k": Label("Superheat", "K", SPAN),
        "steps.spread_k": Label("Spread", "K", SPAN),
        "steps.reworks": Label("Reworks the step", "", "a step before it, or none"),
        "steps.may_remelt": Label("May melt the joints of", "", "steps before it, apart by commas"),
        "steps.meets": Label(
            "Touches the metal of", "", "steps before it, apart by commas; none where none", empty="none"
        ),
        "bans.element": Label("Element", "", "a symbol such as Sb, each once"),
        "bans.limit_ppm": Label("Banned above", "ppm", "0 to 1,000,000"),
        "bans.reason": Label("Reason", "", "1 to 400 characters"),
        "markets.market": Label("Market", choices=_choices(fields.Market)),
        "markets.date": Label("Date"),
        "markets.date_kind": Label("The date is that of being", choices=_choices(fields.DateKind)),
        "overrides.rule": Label("Rule set aside"),
        "overrides.alloy": Label("Alloy"),
        "overrides.reason": Label("Reason"),
        "overrides.author": Label("Author"),
    }
)
TABLES = MappingProxyType(
    {
        "markets": "Market",
        "parts": "Part",
        "bans": "Ban",
        "overrides": "Rule set aside",
        "preferences": "Preference",
        "steps": "Step",
    }
)

PROPERTIES = MappingProxyType(
    {
        "solidus_c": "Solidus",
        "liquidus_c": "Liquidus",
        "pasty_range_k": "Pasty range",
        "remelt_onset_c": "Remelt onset",
        "computed_solidus_c": "Solidus, computed",
        "computed_t98_c": "T98 (98 % liquid), computed",
        "computed_liquidus_c": "Liquidus, computed",
        "computed_first_liquid_c": "First liquid as frozen, computed",
        "density_g_cm3": "Density",
        "tensile_mpa": "Tensile strength",
        "yield_mpa": "Yield strength",
        "elongation_percent": "Elongation",
        "youngs_modulus_gpa": "Young's modulus",
        "shear_mpa": "Shear strength",
        "cte_ppm_k": "Thermal expansion",
        "thermal_conductivity_w_mk": "Thermal conductivity",
        "resistivity_uohm_cm": "Resistivity",
        "contact_angle_deg": "Contact angle on copper",
        "brinell_hb": "Brinell hardness",
        "vickers_hv": "Vickers hardness",
        "relative_cost": "Metal cost per cm3",
        "supply_risk_wt": "Metal with supply risk",
        "ductility_class": "Ductility class",
        "drop_class": "Drop class",
        "cycling_rank_mild": "Thermal cycling 0 to 100 degC, rank",
        "cycling_rank_harsh": "Thermal cycling -40 to 125 degC, rank",
        "wetting_class": "Wetting class",
    }
)


def property_title(name: str) -> str:
    """Return what a property is called; one without a title of its own is told by its name."""
    return PROPERTIES.get(name) or name.replace("_", " ")
