"""Heat through the joint of an alloy and the strains of a stack around it; asked, answered, in words."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from selector import asked
from selector.asked import Named
from selector.brief import Brief, Service
from selector.catalogue import Catalogue
from selector.catalogue.evidence import USABLE, Evidence, nothing
from selector.constants import constant
from selector.durability.service import service_heat
from selector.enquiry.fields import Field, Given, choice, defaults_told, read_figures, stated
from selector.enquiry.report import Report, Row, Section, ends, numbers, problem_of, small
from selector.enquiry.stack_lines import TypedJoin, TypedLayer, interfaces, typed_joins, typed_layers
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN
from selector.figures import NOT_KNOWN, figure, signed, spread
from selector.melting.onset import NAME as ONSET
from selector.melting.onset import liquid_as_frozen, remelt_onset
from selector.melting.store import melting_of
from selector.process.dissolution import time_to_limit_s
from selector.process.heat import resistance_k_w, rise_k
from selector.process.stack import Interface
from selector.ranges import Range, range_of
from selector.units import ZERO_C_IN_K
from selector.verdict import Outcome, Verdict

PATH, STACK, COPPER = "Heat path", "Interfaces of the stack", "Copper into the solder"
CONDUCTIVITY = "thermal_conductivity_w_mk"
VOIDS = (0.0, 0.5)
SMALL_STRAIN = 0.1
FIELDS = (
    Field("thickness_um", "Joint thickness, um", allowed=Range(1, 5000, "um")),
    Field("area_mm2", "Joint area, mm2", allowed=Range(0.01, 1e5, "mm2")),
    Field("void_share", "Voids, share of the area", span=VOIDS),
    Field("power_w", "Power through it, W"),
    Field("service_c", "Cold side in service, degC"),
    Field("metal_w_mk", "Conductivity of your own, W/(m K)"),
    Field("barrel_copper_um", "Copper of a barrel, um"),
    Field("rate_um_s", "Its rate into the solder, um/s"),
    Field("kept_copper_um", "Copper that must stay, um", constant("copper kept").value, "default, from memory"),
)
ONE_WAY = "R = t / (k A (1 - v)): straight through this layer alone; spreading in die and board is not in it."
VOID_CAUTION = "Voids count as spread out and through the whole layer; one large void under a hot spot is far worse."
COLD = "The cold side is stated, not computed: the way from there to the air is not in it."
BOUND = "Shear strain is the free mismatch over the height, between stiff layers: an upper bound."
HOLDS = "Elastic layers and small strains; no bending, underfill or creep is in it, and no life follows from it."


@dataclass(frozen=True)
class HeatAsked:
    """What is asked.

    Parameters
    ----------
    alloy : Named
    figures : mapping
    ipc_class : int or None
    layers, joins : tuple
        Of the stack.
    """

    alloy: Named
    figures: Mapping[str, Given]
    ipc_class: int | None
    layers: tuple[TypedLayer, ...]
    joins: tuple[TypedJoin, ...]


@dataclass(frozen=True)
class _Path:
    """The heat path: ends of every figure, None where it is unknown; what is missing, and the onset."""

    metal_w_mk: Evidence
    resistance_k_w: tuple[float, float] | None
    rise_k: tuple[float, float] | None
    hot_c: tuple[float, float] | None
    missing: tuple[str, ...]
    onset: Evidence


def heat_asked(
    texts: Mapping[str, str | None],
    layers: Sequence[str],
    joins: Sequence[str],
    catalogue: Catalogue,
    on_page: bool = False,
) -> HeatAsked:
    """Return what is asked, from texts by name, layers as `die=2.6ppm@60K` and joints as `die+board=5mm/0.1mm`.

    Parameters
    ----------
    texts : mapping
        The figures, `alloy` and `ipc_class`.
    layers, joins : sequence of str
    catalogue : Catalogue
    on_page : bool
        Whether faults name labels instead of options.

    Raises
    ------
    InputError
        Every fault at once.
    """
    faults: list[Fault] = []
    found = asked.named([("", texts.get("alloy") or "")], catalogue, faults, cover=False)
    figures = read_figures(FIELDS, texts, faults, on_page)
    ipc = choice("Class" if on_page else "--class", texts.get("ipc_class"), ("1", "2", "3", UNKNOWN), faults)
    barrel, kept = figures["barrel_copper_um"], stated(figures, "kept_copper_um")
    if barrel.value is not None and kept is not None and barrel.value < kept:
        where = barrel.field.label if on_page else barrel.field.option
        faults.append(Fault(where, "is thinner than what must stay", barrel.text, f"at least {figure(kept)} um"))
    own = typed_layers(layers, "Layer" if on_page else "--layer", faults)
    # A joint may name a layer whose own line is at fault: that one is told once.
    names = dict.fromkeys(text.rpartition("=")[0].strip() for text in layers)
    joined = typed_joins(joins, [name for name in names if name], "Joint" if on_page else "--join", faults)
    if own and not joins:
        faults.append(Fault("Joints" if on_page else "--join", "names no interface", allowed="die+board=5mm/0.1mm"))
    asked.refuse(faults)
    return HeatAsked(found[0], figures, None if ipc == UNKNOWN else int(ipc), own, joined)


def heat_report(given: HeatAsked, catalogue: Catalogue) -> Report:
    """Return resistance, rise and hot side of the joint against its remelt onset, and every interface of the stack.

    Raises
    ------
    InputError
        A resistance that no joint has.
    """
    path = _path(given, catalogue)
    verdict = _verdict(given, path, catalogue)
    met = interfaces(given.layers, given.joins)
    sections = [_path_section(given, path, catalogue)]
    sections += [_stack_section(met)] if met else []
    seconds = _seconds(given)
    sections += [_copper_section(given, seconds)] if given.figures["barrel_copper_um"].value is not None else []
    return Report(
        f"{given.alloy.name}: heat path and stack",
        _finding(given, path, verdict, met),
        tuple(sections),
        (verdict,),
        defaults_told({name: entry for name, entry in given.figures.items() if name != "kept_copper_um" or seconds}),
        _cautions(given, path),
        {
            "conductivity_w_mk": _plain(path.metal_w_mk),
            "void_share": list(given.figures["void_share"].ends or ()),
            "resistance_k_w": numbers(path.resistance_k_w or ()),
            "rise_k": numbers(path.rise_k or ()),
            "hot_side_c": numbers(path.hot_c or ()),
            "remelt_onset_c": numbers(path.onset.interval or ()),
            "missing": list(path.missing),
            "interfaces": [_plain_interface(join, found) for join, found in met],
            "barrel_s": seconds,
        },
    )


def _path(given: HeatAsked, catalogue: Catalogue) -> _Path:
    metal = _conductivity(given, catalogue)
    thickness, area = stated(given.figures, "thickness_um"), stated(given.figures, "area_mm2")
    power, cold = stated(given.figures, "power_w"), stated(given.figures, "service_c")
    stands = (
        ("the thermal conductivity", metal.interval),
        ("the thickness", thickness),
        ("the area", area),
        ("the power", power),
        ("the cold side", cold),
    )
    missing = tuple(name for name, value in stands if value is None)
    resistance = rise = hot = None
    voids = given.figures["void_share"].ends
    if metal.interval is not None and thickness is not None and area is not None and voids is not None:
        low, high = metal.interval
        resistance = (
            float(resistance_k_w(thickness / 1000, area, high, min(voids))),
            float(resistance_k_w(thickness / 1000, area, low, max(voids))),
        )
    if resistance is not None and power is not None:
        rise = float(rise_k(power, resistance[0])), float(rise_k(power, resistance[1]))
    if rise is not None and cold is not None:
        hot = cold + rise[0], cold + rise[1]
    return _Path(metal, resistance, rise, hot, missing, onset_of(given.alloy, catalogue))


def _conductivity(given: HeatAsked, catalogue: Catalogue) -> Evidence:
    own = stated(given.figures, "metal_w_mk")
    unit = range_of("w_mk").unit
    if own is not None:
        return Evidence(CONDUCTIVITY, unit, own, own, own, "as stated", "stated", "as stated")
    held = catalogue.alloys.get(given.alloy.name)
    return nothing(CONDUCTIVITY, unit, why="not in the catalogue") if held is None else held.of(CONDUCTIVITY)


def onset_of(alloy: Named, catalogue: Catalogue) -> Evidence:
    """Return the remelt onset of an alloy, degC: of the catalogue, else computed with its half-width, or unknown."""
    held = catalogue.alloys.get(alloy.name)
    if held is not None:
        return remelt_onset(held)
    try:
        found = melting_of([alloy.composition])[0]
    except InputError as error:
        return nothing(ONSET, "degC", why=f"not computed: {problem_of(error)}")
    if found.onset_low_c is None or found.onset_high_c is None:
        return nothing(ONSET, "degC", why="not computed")
    # Outwards, so that no figure is read finer than it is known.
    low, high = _outwards(found.onset_low_c - found.half_width_k, found.onset_high_c + found.half_width_k)
    return Evidence(ONSET, "degC", None, low, high, found.grade, "computed", "computed-melting")


def _verdict(given: HeatAsked, path: _Path, catalogue: Catalogue) -> Verdict:
    """Return the service rule on the hot side, at both ends of its span."""
    held = catalogue.alloys.get(given.alloy.name)
    liquid = None if held is None else partial(liquid_as_frozen, held)

    def judged(at_c: float | str) -> Verdict:
        # Past the range of a brief, so not validated as one: a joint that would boil is judged all the same.
        heat = Service().model_copy(update={"maximum_c": at_c})
        brief = Brief(title="one joint", ipc_class=given.ipc_class or UNKNOWN).model_copy(update={"service": heat})
        found = service_heat(brief, path.onset, liquid)
        threshold = found.threshold.replace("if service stays", "if the hot side stays")
        return replace(found, subject="hot side of the joint", edits=(), threshold=threshold)

    if path.hot_c is None:
        cold = stated(given.figures, "service_c")
        least = None if cold is None else judged(_outwards(cold, cold)[0])
        if least is not None and least.outcome is Outcome.FAIL:
            # The hot side is no cooler than the cold one, whatever the rise.
            return replace(least, reason=f"{least.reason}; that is the cold side, whatever the rise")
        found = judged(UNKNOWN)
        known = path.onset.interval is not None
        return replace(found, reason=f"not known: {', '.join(path.missing)}") if known else found
    low, high = _outwards(*path.hot_c)
    coolest, hottest = judged(low), judged(high)
    if hottest.outcome is not Outcome.FAIL or coolest.outcome is Outcome.FAIL:
        return hottest
    reason = f"{hottest.reason}; at {figure(low)} degC, the lower end of the hot side, it is no stop"
    return replace(hottest, outcome=Outcome.UNKNOWN, reason=reason, threshold=judged(UNKNOWN).threshold)


def _outwards(low: float, high: float) -> tuple[float, float]:
    return math.floor(round(low * 10, 6)) / 10, math.ceil(round(high * 10, 6)) / 10


def _seconds(given: HeatAsked) -> float | None:
    barrel, rate, kept = (stated(given.figures, name) for name in ("barrel_copper_um", "rate_um_s", "kept_copper_um"))
    return None if barrel is None or rate is None or kept is None else float(time_to_limit_s(barrel, rate, kept))


def _finding(given: HeatAsked, path: _Path, verdict: Verdict, met: Sequence[tuple[TypedJoin, Interface | None]]) -> str:
    told = []
    if path.resistance_k_w is None:
        needed = [name for name in path.missing if name not in ("the power", "the cold side")]
        told.append(f"The resistance is not known: {', '.join(needed)}.")
    else:
        rise = "" if path.rise_k is None else f", a rise of {ends(path.rise_k, 'K', 3)}"
        told.append(f"The joint takes {ends(path.resistance_k_w, 'K/W', 3)}{rise}.")
    if path.hot_c is not None and path.onset.interval is not None:
        room = path.onset.interval[0] - path.hot_c[1]
        words = {Outcome.PASS: "it holds", Outcome.FAIL: "a stop"}.get(verdict.outcome, "open")
        told.append(f"Hot side {ends(path.hot_c, 'degC')}, {signed(room, 'K')} to the remelt onset: {words}.")
    strains = [(found.shear_strain, join) for join, found in met if found is not None]
    if strains:
        most, join = max(strains, key=lambda entry: entry[0])
        told.append(f"Most shear at {join.one} to {join.other}: at most {small(most, 3)}.")
    return " ".join(told)


def _path_section(given: HeatAsked, path: _Path, catalogue: Catalogue) -> Section:
    metal, onset, figures = path.metal_w_mk, path.onset, given.figures
    voids, unit = figures["void_share"], range_of("w_mk").unit
    told = spread(metal.value, metal.low, metal.high)
    rows = [
        _row("thermal conductivity", told if told == NOT_KNOWN else f"{told} {unit}", _rests(metal)),
        _row("thickness", figures["thickness_um"].text, "as stated"),
        _row("area", figures["area_mm2"].text, "as stated"),
        _row("voids", ends(voids.ends or ()), "as stated" if voids.value is not None else "taken: common practice"),
        _row("thermal resistance", ends(path.resistance_k_w or (), "K/W", 3), "t / (k A (1 - v))"),
        _row("power", figures["power_w"].text, "as stated"),
        _row("rise", ends(path.rise_k or (), "K", 3), "P R"),
        _row("cold side", figures["service_c"].text, "as stated"),
        _row("hot side", ends(path.hot_c or (), "degC"), "cold side and rise"),
        _row("remelt onset", ends(onset.interval or (), "degC"), _rests(onset)),
    ]
    if path.hot_c is not None and path.onset.interval is not None:
        room = sorted(path.onset.interval[0] - hot for hot in path.hot_c)
        rows.append(_row("onset over hot side", ends(room, "K"), "least onset"))
    rows = [{**row, "rests on": "–"} if row["value"] == NOT_KNOWN and row["rests on"] == "as stated" else row
            for row in rows]  # fmt: skip
    held = catalogue.alloys.get(given.alloy.name)
    notes = [ONE_WAY]
    others = () if held is None else held.of(CONDUCTIVITY).candidates
    for entry in others:
        if entry.standing != USABLE and entry.figures:
            why = entry.standing_reason or entry.condition
            notes.append(f"Not used: {entry.told} {unit}, {entry.source} ({why}).")
    return Section(PATH, tuple(rows), tuple(notes))


def _row(name: str, value: str, rests: str) -> Row:
    return {"figure": name, "value": value, "rests on": rests}


def _rests(found: Evidence) -> str:
    if found.interval is None:
        return found.rule if found.source == "none" else found.source
    return found.source if found.grade == "as stated" else f"{found.source} ({found.origin}, {found.grade})"


def _stack_section(met: Sequence[tuple[TypedJoin, Interface | None]]) -> Section:
    rows = []
    for join, found in met:
        strain = None if found is None else found.shear_strain
        rows.append(
            {
                "interface": f"{join.one} to {join.other}",
                "half length, mm": figure(join.half_length_mm),
                "height, mm": figure(join.height_mm),
                "free mismatch, um": NOT_KNOWN if found is None else small(found.mismatch_um, 3),
                "shear strain, at most": NOT_KNOWN if strain is None else small(strain, 3),
                "holds": _validity(join, strain),
            }
        )
    return Section(STACK, tuple(rows), (BOUND, HOLDS))


def _validity(join: TypedJoin, strain: float | None) -> str:
    if strain is None or join.height_mm is None or join.half_length_mm is None:
        return "–"
    if strain > SMALL_STRAIN:
        return f"no: over {SMALL_STRAIN:g}, not small"
    return "as a bound" if join.height_mm < join.half_length_mm else "no: taller than its half length"


def _copper_section(given: HeatAsked, seconds: float | None) -> Section:
    figures = given.figures
    rows = (
        {
            "barrel": figures["barrel_copper_um"].text,
            "must stay": figures["kept_copper_um"].text,
            "rate": figures["rate_um_s"].text,
            "time in solder, at most": NOT_KNOWN if seconds is None else f"{small(seconds, 3)} s",
        },
    )
    note = "The rate must be measured at this alloy, temperature and flow; they matter strongly, and none is assumed."
    return Section(COPPER, rows, (note,))


def _cautions(given: HeatAsked, path: _Path) -> tuple[str, ...]:
    voids, cold = given.figures["void_share"], stated(given.figures, "service_c")
    told = [VOID_CAUTION, COLD]
    if voids.value is None:
        told.insert(0, f"The void share is not known: {figure(VOIDS[0])} to {figure(VOIDS[1])} of the area is taken.")
    if path.metal_w_mk.interval is None:
        told.insert(0, "No thermal conductivity that can be used is held for this alloy, and none is assumed.")
    elif path.metal_w_mk.grade != "as stated":
        told.append("The conductivity is that near room temperature; hot solder conducts less.")
    if cold is not None and path.onset.interval is not None:
        meant = round(cold - ZERO_C_IN_K, 6)
        if cold >= path.onset.interval[0] and meant > -100:
            told.insert(0, f"The cold side is over the remelt onset: {figure(cold)}? If kelvin, {figure(meant)} degC.")
    return tuple(told)


def _plain(found: Evidence) -> dict[str, Any]:
    return {
        "value": found.value,
        "low": found.low,
        "high": found.high,
        "source": found.source,
        "origin": found.origin,
        "grade": found.grade,
    }


def _plain_interface(join: TypedJoin, found: Interface | None) -> dict[str, Any]:
    strain = None if found is None else found.shear_strain
    return {
        "one": join.one,
        "other": join.other,
        "half_length_mm": join.half_length_mm,
        "height_mm": join.height_mm,
        "mismatch_um": None if found is None else found.mismatch_um,
        "shear_strain_at_most": strain,
        "holds": _validity(join, strain),
    }
