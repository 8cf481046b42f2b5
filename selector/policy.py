"""The thresholds of `data/rules/practice.toml`, typed: policy and common practice, never law."""

from fractions import Fraction
from functools import cache

from pydantic import BaseModel, ConfigDict

from selector.datafiles import data_folder, read_toml
from selector.units import exact


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)
    source: str


class Remelt(_Table):
    """Where a joint counts as remelting: of what is computed, and by composition where nothing is."""

    mass_fraction_percent: float
    trace_mass_percent: float
    gathered_within_k: float
    near_share: float
    bismuth_eutectic_above_wt: float
    bismuth_trace_above_wt: float
    bismuth_eutectic_low_c: float
    bismuth_eutectic_high_c: float
    with_lead_above_wt: float
    with_lead_low_c: float
    with_lead_high_c: float
    with_indium_above_wt: float
    with_indium_low_c: float
    with_indium_eutectic_up_to_c: float
    indium_trace_above_wt: float
    indium_trace_c: float
    indium_rich_from_wt: float
    lead_tin_c: float


class HeatLimit(BaseModel):
    """Service heat against the remelt onset, both in kelvin."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    alert_ratio: float
    alert_margin_k: float
    stop_ratio: float


class Band(BaseModel):
    """What a homologous temperature below an edge means; the last has no edge."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    below: float | None = None
    text: str


class ServiceHeat(_Table):
    """Heat limits by product class, and what a homologous temperature means."""

    class_1_2: HeatLimit
    class_3: HeatLimit
    band: tuple[Band, ...]


class ClassAndCycling(_Table):
    """Where bismuth-rich grades are not taken."""

    bismuth_rich_above_wt: float
    highest_class: int
    cyclic_range_max_k: float
    service_max_c: float


class LeadWithBismuth(_Table):
    """Where lead met by bismuth or indium stops or asks a question."""

    stop_above_bismuth_wt: float
    watch_from_bismuth_wt: float
    lead_counts_above_wt: float
    indium_counts_from_wt: float

    def counts(self, element: str, wt: Fraction) -> bool:
        """Return whether a content of lead, bismuth or indium, wt%, counts: lead above its limit, the others from it.

        Raises
        ------
        KeyError
            Another element.
        """
        if element == "Pb":
            return wt > exact(self.lead_counts_above_wt)
        return wt >= exact({"Bi": self.watch_from_bismuth_wt, "In": self.indium_counts_from_wt}[element])

    def is_reactive(self, bismuth_wt: Fraction, indium_wt: Fraction) -> bool:
        """Return whether an alloy holds enough bismuth or indium to ask about lead."""
        return self.counts("Bi", bismuth_wt) or self.counts("In", indium_wt)

    def is_rich(self, bismuth_wt: Fraction) -> bool:
        """Return whether bismuth is enough that lead in the joint stops it."""
        return bismuth_wt > exact(self.stop_above_bismuth_wt)

    def stops(self, bismuth_wt: Fraction, indium_wt: Fraction) -> bool:
        """Return whether bismuth, indium or both together are enough that lead stops the joint; less is a question."""
        return self.counts("In", indium_wt) or self.is_rich(bismuth_wt + indium_wt)


class Corrosion(_Table):
    """Indium and zinc against sweat or chloride."""

    indium_stop_wt: float
    indium_watch_wt: float
    zinc_stop_wt: float
    zinc_watch_wt: float


class Steps(_Table):
    """Soldering steps: the margin that earlier joints keep."""

    margin_k: float
    gap_least_k: float
    soften_ratio: float
    most_assignments: int


class SecondSide(_Table):
    """Weight of a part against what liquid solder holds, by area and by edge."""

    g_per_in2: float
    g_per_cm2: float
    edge_design_mg_mm: float
    edge_pull_off_low_mg_mm: float
    edge_pull_off_high_mg_mm: float
    safety: float


class ConditionRule(_Table):
    """Hot end of a cycling test against the onset."""

    margin_k: float
    ratio: float


class Fatigue(_Table):
    """Where the life equation holds."""

    strain_max: float
    mean_low_c: float
    mean_high_c: float
    height_least_um: float
    transition_low_c: float
    transition_high_c: float
    scatter: float


class Creep(_Table):
    """The proxy's factor, and where creep laws are compared and stop."""

    diffusion_factor: float
    rate_per_s: float
    rate_most_per_s: float
    low_stress_mpa: float
    low_stress_c: float


class GoldLimit(_Table):
    """One published limit of gold in a joint."""

    wt: float
    text: str


class Gold(_Table):
    """Gold in a joint; the first limit is used."""

    watch_indium_wt: float
    no_agreed_bismuth_wt: float
    limit: tuple[GoldLimit, ...]


class Electromigration(_Table):
    """Current density of a joint."""

    fine_a_cm2: float
    review_a_cm2: float
    stop_a_cm2: float
    stop_above_c: float
    reactive_from_wt: float
    onset_ratio: float


class Galvanic(_Table):
    """Difference of standard potentials."""

    flag_v: float
    active_from_wt: float
    zinc_from_wt: float


class Materials(_Table):
    """Which row of the material sets an alloy falls under."""

    bismuth_rich_wt: float
    indium_rich_wt: float
    gold_rich_wt: float


class TinPest(_Table):
    """Where tin may turn to powder in the cold, and what keeps it from that."""

    below_c: float
    inhibited_bi_sb_wt: float
    inhibited_pb_wt: float
    tin_from_wt: float
    dopant_wt: float
    silver_alloyed_wt: float


class Powder(_Table):
    """Fine powder of reactive metal."""

    fine_from_type: int
    reactive_from_wt: float


class MixedJoint(_Table):
    """Two alloys in one joint."""

    molten_mass_share: float
    stop_drop_k: float
    hot_tear_k_um_k_um: float


class Window(_Table):
    """Peak over the liquidus."""

    superheat_k: float
    superheat_low_k: float
    superheat_high_k: float
    spread_k: float
    usual_peak_c: float
    rework_superheat_low_k: float
    rework_superheat_high_k: float


class Printing(_Table):
    """Aperture, powder, standoff and underfill."""

    balls: float
    area_ratio: float
    area_ratio_fine_foil: float
    aspect_ratio: float
    transfer_area_ratio: tuple[float, ...]
    transfer_share: tuple[float, ...]
    residue_alert_um: float
    residue_clear_um: float
    residue_blocks_um: float
    cure_margin_low_k: float
    cure_margin_k: float


class Warpage(_Table):
    """Bow of a package at the peak."""

    reference_c: float
    closing_share: float


class Policy(BaseModel):
    """All thresholds of practice."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    remelt: Remelt
    service: ServiceHeat
    class_and_cycling: ClassAndCycling
    lead_with_bismuth: LeadWithBismuth
    corrosion: Corrosion
    steps: Steps
    second_side: SecondSide
    test_condition: ConditionRule
    fatigue: Fatigue
    creep: Creep
    gold: Gold
    electromigration: Electromigration
    galvanic: Galvanic
    materials: Materials
    tin_pest: TinPest
    powder: Powder
    mixed_joint: MixedJoint
    window: Window
    printing: Printing
    warpage: Warpage


@cache
def policy() -> Policy:
    """Return the thresholds of practice that ship with the product."""
    return Policy.model_validate(read_toml(data_folder() / "rules" / "practice.toml", "the rules of practice"))
