"""The thresholds of `data/rules/practice.toml`, typed: policy and common practice, never law."""

from functools import cache

from pydantic import BaseModel, ConfigDict

from selector.datafiles import data_folder, read_toml


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


class ServiceHeat(_Table):
    """Heat limits by product class."""

    class_1_2: HeatLimit
    class_3: HeatLimit


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
    indium_watch_from_wt: float


class Corrosion(_Table):
    """Indium and zinc against sweat or chloride."""

    indium_stop_wt: float
    indium_watch_wt: float
    zinc_stop_wt: float
    zinc_watch_wt: float


class Powder(_Table):
    """Fine powder of reactive metal."""

    fine_from_type: int
    reactive_from_wt: float


class MixedJoint(_Table):
    """Two alloys in one joint."""

    molten_mass_share: float
    stop_drop_k: float
    hot_tear_k_um_k_um: float
    gold_limit_wt: float


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
    powder: Powder
    mixed_joint: MixedJoint
    window: Window
    printing: Printing
    warpage: Warpage


@cache
def policy() -> Policy:
    """Return the thresholds of practice that ship with the product."""
    return Policy.model_validate(read_toml(data_folder() / "rules" / "practice.toml", "the rules of practice"))
