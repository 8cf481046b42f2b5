"""What is stated of a joint, its service and its tests, judged before any screen: each figure, and two that disagree.

A figure that cannot be is refused whether or not a screen asks for it. Ranges are those of the brief where it has them.
"""

from selector.brief_checks import MIN_A_DAY
from selector.durability.validity import Bound
from selector.errors import Fault
from selector.figures import figure
from selector.lifetime.asked import Asked

SERVICE_MAX = "service maximum"
# Parameter of an equation -> the name of `Asked` under which it was stated.
OWN_NAMES = {
    "height_mm": "height_um",
    "mismatch_ppm_k": "board_ppm",
    "finish_um": "gold_um",
    "density_ratio": "test_density_a_cm2",
    "test_c": "test_joint_c",
    "use_c": "service_max_c",
    "use.low_c": "swing_k",
    "use.high_c": "service_max_c",
    "use.cycles_per_day": "cycles_per_day",
    "use.hot_dwell_min": "dwell_min",
    "test.cycles_per_day": "test_cycles_per_day",
    "test.hot_dwell_min": "test_dwell_min",
    "underfill_ppm_k": "underfill_ppm",
    "poisson": "underfill_poisson",
    "lateral_ppm_k": "plane_ppm",
    "solder_ppm_k": "solder_ppm",
    "environment": "use",
    SERVICE_MAX: "service_max_c",
}
RANGES: tuple[tuple[str, float, float, str, bool], ...] = (
    # Name of `Asked`, low, high, unit, whether the low end itself is refused.
    ("service_min_c", -200, 450, "degC", False),
    ("coldest_c", -200, 450, "degC", False),
    ("swing_k", 0, 400, "K", False),
    ("dwell_min", 0, 100_000, "min", True),
    ("cycles_per_day", 0, 100_000, "a day", False),
    ("years", 0, 100, "years", False),
    ("distance_mm", 0, 200, "mm", True),
    ("height_um", 0, 5000, "um", True),
    ("board_ppm", -20, 500, "ppm/K", False),
    ("part_ppm", -20, 500, "ppm/K", False),
    ("stiffness_n_mm", 0, 1e6, "N/mm", True),
    ("area_mm2", 0, 1e6, "mm2", True),
    ("test_cycles_per_day", 0, 20_000, "a day", True),
    ("test_dwell_min", 0, 100_000, "min", True),
    ("gold_um", 0, 200, "um", False),
    ("print_um", 1, 1000, "um", False),
    ("solder_mg", 0, 1e7, "mg", True),
    ("pad_area_mm2", 0, 1e6, "mm2", True),
    ("current_a", 0, 1000, "A", False),
    ("opening_um", 1, 5000, "um", False),
    ("test_density_a_cm2", 0, 1e8, "A/cm2", True),
    ("test_joint_c", -200, 450, "degC", False),
    ("underfill_glass_c", -100, 450, "degC", False),
)


def stated_faults(asked: Asked) -> list[Fault]:
    """Return every figure that cannot be, and every two that cannot be together, by the names of `Asked`.

    Parameters
    ----------
    asked : Asked
    """
    bounds = [
        Bound(name, value, low, high, unit, above=above)
        for name, low, high, unit, above in RANGES
        if (value := getattr(asked, name)) is not None
    ]
    wrong = [fault for bound in bounds if (fault := bound.fault) is not None]
    found = [Fault(fault.where, _problem(fault.problem), fault.value, fault.allowed) for fault in wrong]
    bad = {fault.where for fault in found}
    low, high, swing = asked.service_min_c, asked.service_max_c, asked.swing_k
    if low is not None and high is not None and "service_min_c" not in bad:
        if low > high:
            found.append(Fault("service_min_c", "lies above the maximum", f"{low:g}", f"at most {figure(high)} degC"))
        elif swing is not None and swing > high - low and "swing_k" not in bad:
            told = "is wider than minimum to maximum of service"
            found.append(Fault("swing_k", told, f"{swing:g}", f"at most {figure(high - low)} K"))
    for dwell, often in (("dwell_min", "cycles_per_day"), ("test_dwell_min", "test_cycles_per_day")):
        minutes, cycles = getattr(asked, dwell), getattr(asked, often)
        if minutes is None or cycles is None or {dwell, often} & bad or (dwell == "dwell_min" and asked.default_use):
            # Some default uses, unconfirmed, were recalled with more dwell than their cycles leave room for.
            continue
        # A half-cycle dwell stands twice in a cycle, the hot dwell of a test once.
        held = minutes * cycles * (2 if dwell == "dwell_min" else 1)
        if held > MIN_A_DAY:
            told = f"{cycles:g} cycles a day hold {figure(held)} min of dwell"
            found.append(Fault(often, "leaves no day for its dwell", told, f"at most {MIN_A_DAY} min a day"))
    return found


def by_own_name(fault: Fault) -> Fault:
    """Return a fault of an equation under the name of `Asked` by which its input was stated."""
    own = OWN_NAMES.get(fault.where)
    return fault if own is None or fault.where == SERVICE_MAX else Fault(own, *_rest(fault))


def _rest(fault: Fault) -> tuple[str, str, str, str]:
    return fault.problem, fault.value, fault.allowed, fault.remedy


def _problem(text: str) -> str:
    return text if "finite" in text else "lies outside the range"
