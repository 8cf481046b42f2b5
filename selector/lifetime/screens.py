"""What service does to one alloy's joint: every screen of durability in one answer, grouped, none of them merged.

What a screen needs and nobody stated is said as not asked; what its equation does not hold for is refused by name, and
the rest is answered all the same. No number stands without its law, source, span and flags.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from selector.durability import (
    acceleration,
    creep,
    drop,
    electromigration,
    fatigue,
    galvanic,
    legality,
    safety,
    service,
    strain,
    tin_pest,
    underfill,
)
from selector.durability.constants import condition_data
from selector.durability.environments import DAYS_PER_YEAR
from selector.durability.estimate import FAILS, OPEN, SHORT, Estimate, no_data
from selector.errors import Fault, InputError
from selector.figures import figure
from selector.joint import finish
from selector.joint.geometry import USUAL_METAL_WT, metal_volume_share
from selector.lifetime.asked import Asked
from selector.lifetime.stated import SERVICE_MAX, by_own_name, stated_faults
from selector.process.material_sets import alloy_kind, material_set
from selector.verdict import Verdict

ONE_PERCENT = 0.01
Answer = Estimate | Verdict
# What service heat enters: not asked where it melts the joint.
HOT = frozenset({"Heat", "Creep", "Thermal fatigue", "Acceleration of a test", "Current", "Underfill"})
NOT_ASKED = "not asked: the service maximum cannot be"


@dataclass(frozen=True)
class Group:
    """One screen or a few of a kind.

    Parameters
    ----------
    title : str
    answers : tuple of Estimate or Verdict
    missing : tuple of str
        What would have to be stated for more.
    notes : tuple of str
    """

    title: str
    answers: tuple[Answer, ...] = ()
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Life:
    """Everything that durability says of a joint.

    Parameters
    ----------
    asked : Asked
    groups : tuple of Group
    faults : tuple of Fault
        Inputs that an equation refuses, by name.
    cautions : tuple of str
        Once for all of it: what has to be said where a failure can hurt, and the questions still open.
    """

    asked: Asked
    groups: tuple[Group, ...]
    faults: tuple[Fault, ...]
    cautions: tuple[str, ...]


def life_of(asked: Asked) -> Life:
    """Return every screen of durability for a joint.

    Parameters
    ----------
    asked : Asked
    """
    faults: list[Fault] = []
    groups = []
    heat = _too_hot(asked)
    for title, make in SCREENS.items():
        if heat is not None and title in HOT:
            groups.append(Group(title, notes=(f"refused: {heat}",) if title == "Heat" else (NOT_ASKED,)))
            continue
        try:
            groups.append(Group(title, *make(asked)))
        except InputError as error:
            faults += error.faults
            groups.append(Group(title, notes=tuple(f"refused: {fault}" for fault in error.faults)))
    faults = [*([] if heat is None else [heat]), *stated_faults(asked), *map(by_own_name, faults)]
    # One fault an input: what it can be at all goes before what an equation asks of it.
    faults = list({fault.where: fault for fault in reversed(faults)}.values())[::-1]
    holds_metal = any(asked.composition.wt(element) for element in ("Pb", "Cd"))
    cautions = safety.safety_cautions({**asked.answers, "lead_or_cadmium": holds_metal})
    return Life(asked, tuple(groups), tuple(dict.fromkeys(faults)), cautions)


def _too_hot(asked: Asked) -> Fault | None:
    """Return the one fault of a service that melts the joint, by the name a person knows; the rest hangs on it."""
    if asked.service_max_c is None:
        return None
    try:
        service.homologous_state(asked.service_max_c, asked.onset)
    except InputError as error:
        return replace(error.faults[0], where=SERVICE_MAX, problem="reaches the remelt onset of the joint")
    return None


Made = tuple[tuple[Answer, ...], tuple[str, ...], tuple[str, ...]]


def _lacking(asked: Asked, *names: str) -> tuple[str, ...]:
    return tuple(name for name in names if getattr(asked, name) is None)


def _heat(asked: Asked) -> Made:
    if asked.service_max_c is None:
        return (), ("service_max_c",), ()
    return (service.homologous_state(asked.service_max_c, asked.onset),), (), ()


def _creep(asked: Asked) -> Made:
    onset_c = asked.onset_low_c
    if asked.service_max_c is None or onset_c is None:
        return (), _lacking(asked, "service_max_c"), () if onset_c is not None else ("the remelt onset is not known",)
    onset = asked.onset.interval
    if onset is not None and onset[0] <= asked.service_max_c < onset[1]:
        # Heat says that it is open; past the lower end no rate can be told.
        why = f"at the lower end of its onset, {figure(onset_c)} degC, the joint melts in service"
        both = (("creep proxy", "decades"), ("creep strength", "MPa"))
        return tuple(no_data(name, unit, why, asked.onset.source) for name, unit in both), (), ()
    laws = creep.creep_strengths(asked.composition, asked.service_max_c, onset_c, is_mixed=asked.is_mixed)
    note = "the proxy and the laws are two things and never merged; equal homologous heat is not equal strength"
    return (creep.creep_proxy(asked.service_max_c, onset_c), *laws), (), (note,)


def _strains(asked: Asked) -> list[tuple[str, float]]:
    """Return the cyclic strain with what it was made by; both normalisers of a leaded joint."""
    distance, height, swing = asked.distance_mm or 0.0, (asked.height_um or 0.0) / 1000, asked.swing_k or 0.0
    board, part = asked.board_ppm or 0.0, asked.part_ppm or 0.0
    if asked.stiffness_n_mm is None:
        return [("leadless", strain.leadless_strain(distance, height, board, part, swing))]
    mismatch = abs(board - part)
    found = strain.leaded_strains(asked.stiffness_n_mm, distance, mismatch, swing, asked.area_mm2 or 0.0, height)
    return [(f"leaded, {entry.psi:g} psi ({entry.source})", value) for entry, value in found]


def _fatigue(asked: Asked) -> Made:
    needs = ["service_max_c", "swing_k", "dwell_min", "distance_mm", "height_um", "board_ppm", "part_ppm"]
    needs += [] if asked.stiffness_n_mm is None else ["area_mm2"]
    missing = _lacking(asked, *needs)
    family_only = fatigue.fatigue_life(asked.composition, 0.01, 50.0, 15.0, is_mixed=asked.is_mixed)
    if not family_only[0].is_known:
        return family_only, (), ()
    if missing:
        return (), missing, ()
    slope = fatigue.slope_of("leadless" if asked.stiffness_n_mm is None else "leaded")
    cold_c = (asked.service_max_c or 0.0) - (asked.swing_k or 0.0)
    answers: list[Answer] = []
    still: tuple[str, ...] = ()
    for label, value in _strains(asked):
        answers.append(_strain(label, value))
        if value == 0:
            still = ("no mismatch or no swing: no strain, and no cycles to failure by it",)
            continue
        for life in fatigue.fatigue_life(
            asked.composition,
            value,
            asked.mean_c or 0.0,
            asked.dwell_min or 0.0,
            cold_end_c=cold_c,
            height_um=asked.height_um,
        ):
            answers += [life, *_shares(asked, life, slope)]
    notes = (
        *still,
        f"mean joint temperature {figure(asked.mean_c)} degC, cold end {figure(cold_c)} degC",
    )
    return tuple(answers), _lacking(asked, "cycles_per_day", "years"), notes


def _strain(label: str, value: float) -> Estimate:
    law = f"first order, {label}, empirical factor 1 of 0.5 to 1.5"
    flags = ("small strain; boards that do not yield",)
    name = "cyclic shear strain"
    return Estimate(
        name, "%", 100 * value, 100 * value, 100 * value, law, "memory-fatigue-guides", "computed", "low", flags
    )


def _shares(asked: Asked, life: Estimate, slope: float) -> list[Estimate]:
    """Return cycles to 1 % failed and the share failed over life, each with the span of the median."""
    if life.value is None or life.low is None or life.high is None:
        return []
    law = f"Weibull slope {slope:g}, median by {life.law}"
    common = (law, life.source, life.origin, "low")
    medians = (life.value, life.low, life.high)
    one, low, high = (fatigue.cycles_to(ONE_PERCENT, median, slope) for median in medians)
    flags = ("the span is that of the median; the slope is a rule of thumb",)
    found = [Estimate("cycles to 1 % failed", "cycles", one, low, high, *common, flags)]
    if asked.cycles_per_day is not None and asked.years is not None:
        cycles = asked.cycles_per_day * asked.years * DAYS_PER_YEAR
        shares = [100 * fatigue.failed_share(cycles, median, slope) for median in medians]
        told = (*flags, f"{figure(cycles)} cycles over {figure(asked.years)} years")
        share = Estimate("failed over life", "%", shares[0], shares[2], shares[1], *common, told)
        found.append(_against(share, asked.allowed_share))
    return found


def _against(share: Estimate, allowed: float | None) -> Estimate:
    """Return the failed share with its standing against the share that may have failed."""
    if allowed is None or share.value is None or share.low is None or share.high is None:
        return share
    most = 100 * allowed
    standing = FAILS if share.low > most else SHORT if share.value > most else OPEN if share.high > most else "holds"
    return replace(share, standing=standing, flags=(*share.flags, f"{figure(most)} % allowed"))


def _tests(asked: Asked) -> Made:
    if asked.onset.interval is None:
        return (), (), ("the remelt onset is not known: no test condition can be judged",)
    low, high = asked.onset.interval
    held = condition_data().condition
    chosen = [legality.condition(asked.condition)] if asked.condition else list(held)
    answers: list[Answer] = []
    for entry in chosen:
        memory = ", from memory" if entry.origin == "memory" else ""
        subject = f"{entry.id}, {entry.low_c:g} to {entry.high_c:g} degC{memory}"
        answers.append(replace(legality.may_be_tested(entry.high_c, low, high), subject=subject))
    note = f"hottest test that the onset allows: {figure(legality.hottest_test_c(low))} degC"
    return tuple(answers), (), (note,)


def _acceleration(asked: Asked) -> Made:
    names = ("service_max_c", "swing_k", "dwell_min", "cycles_per_day", "test_dwell_min", "test_cycles_per_day")
    missing = _lacking(asked, *names) + (() if asked.condition else ("condition",))
    if missing:
        return (), missing, ()
    test = legality.condition(asked.condition)
    top, swing = asked.service_max_c or 0.0, asked.swing_k or 0.0
    use = acceleration.Cycle(top - swing, top, asked.cycles_per_day or 0.0, asked.dwell_min or 0.0)
    run = acceleration.Cycle(test.low_c, test.high_c, asked.test_cycles_per_day or 0.0, asked.test_dwell_min or 0.0)
    found = acceleration.acceleration_span(
        asked.composition, use, run, onset_c=asked.onset_low_c, is_mixed=asked.is_mixed
    )
    return (found,), (), ()


def _gold(asked: Asked) -> Made:
    ends = _gold_ends(asked)
    if ends is None:
        own = finish.gold_in_joint(asked.composition)
        return (own,), ("gold_um",), ("only what the alloy itself holds: the finish is not stated",)
    if asked.solder_mg is not None and asked.pad_area_mm2 is not None:
        mg, mm2 = asked.solder_mg, asked.pad_area_mm2
        low, high = (float(finish.finish_share_wt(mm2, um, finish.GOLD_G_CM3, mg)) for um in ends)
        note = "all gold is taken to dissolve"
    elif asked.print_um is not None and asked.density_g_cm3 is not None:
        height, dense = asked.print_um, asked.density_g_cm3
        share = float(metal_volume_share(USUAL_METAL_WT / 100, dense))
        low, high = (float(finish.areal_wt(um, finish.GOLD_G_CM3, height, share, dense)) for um in ends)
        note = f"all gold is taken to dissolve, and {USUAL_METAL_WT:g} wt% of the paste to be metal"
    else:
        return (), ("print_um",), ("or the solder of the joint, mg, with its area under gold, mm2",)
    return (finish.gold_in_joint(asked.composition, low, high),), (), (note,)


def _gold_ends(asked: Asked) -> tuple[float, float] | None:
    """Return the gold on the pad, um, as stated, or as the table has it of the pad finish; None where neither is."""
    if asked.gold_um is not None:
        return asked.gold_um, asked.gold_um
    return finish.gold_um(asked.materials.get("finish", ""))


def _current(asked: Asked) -> Made:
    missing = _lacking(asked, "current_a", "opening_um", "service_max_c")
    if missing or asked.onset_low_c is None:
        return (), missing, ()
    density = electromigration.current_density_a_cm2(asked.current_a or 0.0, asked.opening_um or 0.0)
    use_c, onset_c = asked.service_max_c or 0.0, asked.onset_low_c
    found: list[Answer] = [electromigration.electromigration(asked.composition, density, use_c, onset_c)]
    notes = ["Joule heat has to be in the service temperature"]
    test = asked.test_density_a_cm2, asked.test_joint_c
    if test == (None, None):
        return tuple(found), (), tuple(notes)
    if test[0] is None or test[1] is None:
        return tuple(found), _lacking(asked, "test_density_a_cm2", "test_joint_c"), tuple(notes)
    if density == 0:
        return tuple(found), (), (*notes, "no current in use: no ratio to a test")
    if asked.is_mixed:
        why = "a mixed or reacted joint: no constants are known"
        found.append(no_data(electromigration.RATIO, electromigration.RATIO_UNIT, why, "none"))
    else:
        found.append(electromigration.black_span(asked.composition, test[0] / density, use_c, test[1], onset_c))
        notes.append(
            f"test at {figure(test[0], 3)} A/cm2 and {figure(test[1])} degC, use at {figure(density, 3)} A/cm2"
        )
    return tuple(found), (), tuple(notes)


def _surface(asked: Asked) -> Made:
    couple = galvanic.galvanic(
        asked.composition,
        asked.metal,
        humid=asked.humid,
        sealed=asked.sealed,
        vacuum=asked.vacuum,
        high_reliability=asked.high_reliability,
    )
    return (couple, tin_pest.tin_pest(asked.composition, asked.coldest_c)), _lacking(asked, "coldest_c"), ()


def _drop(asked: Asked) -> Made:
    speed = drop.pulse_speed_m_s()
    note = f"the usual board-level pulse, 1500 g for 0.5 ms, is a fall of {figure(drop.drop_height_m(speed), 3)} m"
    return (drop.drop_life(asked.composition),), (), (note,)


def _underfill(asked: Asked) -> Made:
    missing = _lacking(asked, "underfill_ppm", "underfill_poisson", "plane_ppm", "solder_ppm", "swing_k")
    if missing:
        return (), missing, ()
    value = 100 * underfill.underfill_strain(
        asked.underfill_ppm or 0.0,
        asked.underfill_poisson or 0.0,
        asked.plane_ppm or 0.0,
        asked.solder_ppm or 0.0,
        asked.swing_k or 0.0,
    )
    flags = ("above 0 the joint is pulled when it warms", "below the glass transition; a screen, no life")
    law = "linear elasticity, polymer held in the plane"
    found = Estimate("strain across the joint", "%", value, value, value, law, "policy", "computed", "low", flags)
    if asked.underfill_glass_c is None or asked.service_max_c is None:
        return (found,), _lacking(asked, "underfill_glass_c", "service_max_c"), ()
    told = underfill.underfill_concerns(
        asked.underfill_ppm or 0.0, asked.underfill_glass_c, asked.service_max_c, asked.solder_ppm or 0.0
    )
    return (found,), (), told or ("nothing speaks against this underfill here, which proves no life",)


def _materials(asked: Asked) -> Made:
    if not asked.materials:
        return (), ("flux, standoff, cleaning, underfill, coating and finish around the joint",), ()
    chosen: dict[str, str | None] = {"alloy": alloy_kind(asked.composition), **asked.materials}
    return material_set(chosen), (), ("rows of common practice; a row is no qualification",)


SCREENS: Mapping[str, Callable[[Asked], Made]] = MappingProxyType(
    {
        "Heat": _heat,
        "Creep": _creep,
        "Thermal fatigue": _fatigue,
        "Test conditions": _tests,
        "Acceleration of a test": _acceleration,
        "Gold": _gold,
        "Current": _current,
        "Corrosion and cold": _surface,
        "Drop": _drop,
        "Underfill": _underfill,
        "Material set": _materials,
    }
)
