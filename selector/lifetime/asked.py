"""What is known of a joint, its service and its tests, and what a brief says of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from selector.board.use import base_metal, flag, is_humid, materials_around
from selector.brief import Brief, known
from selector.catalogue.evidence import Evidence
from selector.composition import Composition
from selector.fields import UNKNOWN


@dataclass(frozen=True)
class Asked:
    """What is known of joint, service and tests; None where nobody has said.

    Parameters
    ----------
    name : str
    composition : Composition
    onset : Evidence
        Remelt onset, degC.
    is_mixed : bool
        A joint of two alloys, or reacted.
    default_use : str
        The row of the use environments that some of it comes from; empty for none.
    density_g_cm3 : float or None
        Of the alloy, for the gold under a print.
    service_max_c, service_min_c, swing_k : float or None
        Of the joint; `swing_k` of one cycle.
    dwell_min, cycles_per_day, years : float or None
        Half-cycle dwell; how often; how long the product lives.
    allowed_share : float or None
        Share of products that may have failed by the end of `years`.
    distance_mm, height_um, board_ppm, part_ppm : float or None
        Of a leadless joint, or of a leaded one with stiffness and area.
    stiffness_n_mm, area_mm2 : float or None
        Of a compliant lead along its diagonal, and the effective area of its joint.
    condition, test_cycles_per_day, test_dwell_min
        A standard cycling test by name, and how it is run.
    gold_um, print_um, solder_mg, pad_area_mm2 : float or None
        Gold under a print of its own size, or in a joint of known mass.
    current_a, opening_um : float or None
    test_density_a_cm2, test_joint_c : float or None
        Of a test under current, Joule heat included.
    metal : str
        Element that stays under the joint.
    humid, sealed, vacuum, high_reliability : bool or None
    coldest_c : float or None
        Service, storage or transport.
    underfill_ppm, underfill_poisson, underfill_glass_c, plane_ppm, solder_ppm : float or None
    materials : mapping
        Kind -> value of the material set, without the alloy.
    answers : mapping
        Of the safety questions.
    """

    name: str
    composition: Composition
    onset: Evidence
    is_mixed: bool = False
    default_use: str = ""
    density_g_cm3: float | None = None
    service_max_c: float | None = None
    service_min_c: float | None = None
    swing_k: float | None = None
    dwell_min: float | None = None
    cycles_per_day: float | None = None
    years: float | None = None
    allowed_share: float | None = None
    distance_mm: float | None = None
    height_um: float | None = None
    board_ppm: float | None = None
    part_ppm: float | None = None
    stiffness_n_mm: float | None = None
    area_mm2: float | None = None
    condition: str = ""
    test_cycles_per_day: float | None = None
    test_dwell_min: float | None = None
    gold_um: float | None = None
    print_um: float | None = None
    solder_mg: float | None = None
    pad_area_mm2: float | None = None
    current_a: float | None = None
    opening_um: float | None = None
    test_density_a_cm2: float | None = None
    test_joint_c: float | None = None
    metal: str = "Cu"
    humid: bool | None = None
    sealed: bool | None = None
    vacuum: bool | None = None
    high_reliability: bool | None = None
    coldest_c: float | None = None
    underfill_ppm: float | None = None
    underfill_poisson: float | None = None
    underfill_glass_c: float | None = None
    plane_ppm: float | None = None
    solder_ppm: float | None = None
    materials: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    answers: Mapping[str, bool | None] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def onset_low_c(self) -> float | None:
        """Return the lower end of the onset: the weakest place rules."""
        return None if self.onset.interval is None else self.onset.interval[0]

    @property
    def mean_c(self) -> float | None:
        """Return the mean temperature of the joint over its cycle, degC."""
        if self.service_max_c is None or self.swing_k is None:
            return None
        return self.service_max_c - self.swing_k / 2


def _printed_um(brief: Brief) -> float | None:
    """Return the height of the print: the foil, by the share of the opening that prints where that is stated."""
    foil_um, transfer = known(brief.printing.foil_um), known(brief.printing.transfer_share)
    return None if foil_um is None else round(foil_um * (1.0 if transfer is None else transfer), 6)


def from_brief(brief: Brief) -> dict[str, object]:
    """Return what a brief says of service and use, by the names of `Asked`; what it leaves open is left out."""
    use, heat = brief.use, brief.service
    told: dict[str, object] = {
        "service_max_c": known(heat.maximum_c),
        "service_min_c": known(heat.minimum_c),
        "swing_k": known(heat.cyclic_range_k),
        "cycles_per_day": known(heat.cycles_per_day),
        "coldest_c": known(heat.minimum_c),
        "humid": is_humid(brief),
        "vacuum": flag(brief.materials.vacuum),
        "metal": base_metal(brief) or None,
        "sealed": flag(use.sealed),
        "high_reliability": None if known(brief.ipc_class) is None else brief.ipc_class == 3,
    }
    own = brief.life
    told |= {
        "dwell_min": known(own.dwell_min),
        "years": known(own.years),
        "allowed_share": known(own.failed_share),
        "distance_mm": known(own.distance_mm),
        "height_um": known(own.height_um),
        "board_ppm": known(own.board_ppm_k),
        "part_ppm": known(own.part_ppm_k),
        "print_um": _printed_um(brief),
        "current_a": known(own.current_a),
        "opening_um": known(own.opening_um),
    }
    stated = {kind: value for kind, value in materials_around(brief).items() if value is not None}
    told["materials"] = MappingProxyType(stated) if stated else None
    hurts = [flag(use.medical), flag(use.automotive)]
    answers: dict[str, bool | None] = {
        "can_hurt": True if True in hurts or brief.ipc_class == 3 else None,
        "skin_contact": flag(use.skin_contact),
        "contract_field": None if use.equipment == UNKNOWN else use.equipment in ("space", "military"),
    }
    return {name: value for name, value in told.items() if value is not None} | {"answers": MappingProxyType(answers)}
