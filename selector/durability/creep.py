"""How fast a joint creeps: a proxy for every alloy, and published laws for a few. The two are never merged.

Proxy: I = -(q/ln 10)(1/Th - 1), decades of rate below the one at the onset; q about 18 by the correlation of
self-diffusion (memory), Th homologous temperature of the remelt onset. It sees neither strength nor precipitates.
Law (Garofalo): rate = A sinh(alpha s)^n exp(-(Q/R)/T); strength at a rate:
s = asinh((rate/A exp((Q/R)/T))^(1/n))/alpha.
s stress in tension, MPa; T, K; A 1/s; alpha 1/MPa; Q/R K. Steady creep in tension. Sets: `data/life/creep.toml`, all
recalled; published sets part below about 75 degC and 10 MPa, where joints are.
"""

import math

from selector.composition import Composition
from selector.durability.constants import CreepLaw, creep_data
from selector.durability.estimate import Estimate, no_data
from selector.durability.family import BISMUTH, INDIUM, MIXED, family_of
from selector.durability.service import homologous
from selector.durability.validity import Bound, hold
from selector.errors import Fault
from selector.policy import policy
from selector.units import activation_k, kelvin, mpa


def creep_proxy(service_c: float, onset_c: float) -> Estimate:
    """Return the proxy: decades of creep rate below the rate at the remelt onset; lower creeps less.

    Parameters
    ----------
    service_c : float
        Temperature of the joint.
    onset_c : float
        Lowest remelt onset of the joint.

    Raises
    ------
    InputError
        A service that reaches the onset.
    """
    hold(
        "the creep proxy",
        Bound("service_c", service_c, -200, unit="degC"),
        Bound("onset_c", onset_c, service_c, unit="degC", above=True, remedy="the joint melts in service"),
    )
    factor = policy().creep.diffusion_factor
    value = -factor / math.log(10) * (1 / homologous(service_c, onset_c) - 1)
    flags = (
        "equal homologous temperature gives equal proxy: it sees no strength and no precipitates",
        "from memory: Q about 17 to 18 R Tm",
    )
    law = f"self-diffusion proxy, q = {factor:g}"
    return Estimate("creep proxy", "decades", value, value, value, law, policy().creep.source, "memory", "low", flags)


def amplitude_and_alpha(law: CreepLaw, temperature_c: float) -> tuple[float, float]:
    """Return A, 1/s, and alpha, 1/MPa, of a law at a temperature.

    Raises
    ------
    InputError
        A temperature outside the range that the source states, or from the alloy's melting on.
    """
    cold = -100 if law.low_c is None else law.low_c
    hot = law.melts_c if law.high_c is None else law.high_c
    hold(law.name, Bound("temperature_c", temperature_c, cold, hot, "degC", below=law.high_c is None))
    temperature_k = kelvin(temperature_c)
    amplitude = law.a_per_s
    if law.a_zero_k is not None:
        amplitude *= (law.a_zero_k - temperature_k) / temperature_k
    if law.alpha_per_mpa is not None:
        return amplitude, law.alpha_per_mpa
    breakdown = (law.stress or 0.0) - (law.stress_per_k or 0.0) * temperature_k
    return amplitude, 1 / (mpa(breakdown) if law.stress_unit == "psi" else breakdown)


def creep_rate(law: CreepLaw, stress_mpa: float, temperature_c: float) -> float:
    """Return the steady creep rate by one law, 1/s.

    Parameters
    ----------
    law : CreepLaw
    stress_mpa : float
        In tension.
    temperature_c : float

    Raises
    ------
    InputError
        Outside the law's range, or beyond its breakdown: rates over 1e-3 per s are nonsense.
    """
    hold(law.name, Bound("stress_mpa", stress_mpa, law.low_mpa or 0, law.high_mpa or 100, "MPa", above=not law.low_mpa))
    amplitude, alpha = amplitude_and_alpha(law, temperature_c)
    argument = min(alpha * stress_mpa, 500.0)  # of what overflows, the refusal below is the answer
    rate = float(amplitude * math.sinh(argument) ** law.n * math.exp(-law.q_over_r_k / kelvin(temperature_c)))
    most = policy().creep.rate_most_per_s
    if not rate <= most:
        told = f"{stress_mpa:g} MPa gives {rate:.2g} 1/s"
        allowed = f"rates up to {most:g} 1/s"
        hold(
            law.name,
            faults=(
                Fault("stress_mpa", "lies beyond the law's breakdown", told, allowed, "ask for the strength instead"),
            ),
        )
    return rate


def creep_strength(law: CreepLaw, temperature_c: float, rate_per_s: float | None = None) -> float:
    """Return the stress, MPa, that gives a creep rate by one law; 1e-7 per s unless another is given.

    Parameters
    ----------
    law : CreepLaw
    temperature_c : float
    rate_per_s : float, optional

    Raises
    ------
    InputError
        Outside the law's range of temperature, or a rate not above 0 or beyond breakdown.
    """
    rules = policy().creep
    rate = rules.rate_per_s if rate_per_s is None else rate_per_s
    hold(law.name, Bound("rate_per_s", rate, 0, rules.rate_most_per_s, "1/s", above=True))
    amplitude, alpha = amplitude_and_alpha(law, temperature_c)
    argument = rate / amplitude * math.exp(law.q_over_r_k / kelvin(temperature_c))
    return math.asinh(argument ** (1 / law.n)) / alpha


def creep_strengths(
    alloy: Composition, service_c: float, onset_c: float | None = None, *, is_mixed: bool = False
) -> tuple[Estimate, ...]:
    """Return the creep strength at service by every published law of an alloy's family, side by side.

    Parameters
    ----------
    alloy : Composition
    service_c : float
    onset_c : float, optional
        Lowest remelt onset of the joint; a service that reaches it is refused.
    is_mixed : bool
        A joint of two alloys, or reacted: no data.

    Returns
    -------
    tuple of Estimate
        MPa for 1e-7 per s; one without a number where no law holds, or for each law out of its range.

    Raises
    ------
    InputError
        A service that reaches the onset.
    """
    bounds = [Bound("service_c", service_c, -200, unit="degC")]
    if onset_c is not None:
        bounds.append(
            Bound("onset_c", onset_c, service_c, unit="degC", above=True, remedy="the joint melts in service")
        )
    hold("the creep strength", *bounds)
    family = family_of(alloy, is_mixed)
    laws = [law for law in creep_data().law if law.family == family]
    if not laws:
        held = {entry.family: entry for entry in creep_data().without}
        entry = held[family if family in (BISMUTH, MIXED) else "other"]
        why = f"{entry.why}; pure indium has one, which is none of its alloys" if family == INDIUM else entry.why
        return (no_data("creep strength", "MPa", why, entry.source, _trends(alloy, family)),)
    return tuple(_strength(law, alloy, service_c) for law in laws)


def _trends(alloy: Composition, family: str) -> tuple[str, ...]:
    """Return what was seen in print of this alloy's creep, or of other bismuth grades': trends, no rates."""
    names = (str(alloy), alloy.designation())
    return tuple(
        f"seen, for trends only, {entry.alloy}: {entry.text} ({entry.source})"
        for entry in creep_data().trend
        if entry.alloy in names or (family == BISMUTH and "Bi" in entry.alloy)
    )


def _strength(law: CreepLaw, alloy: Composition, service_c: float) -> Estimate:
    name, unit = "creep strength", "MPa"
    if (law.low_c is not None and service_c < law.low_c) or (law.high_c is not None and service_c > law.high_c):
        why = f"{law.name} holds from {law.low_c:g} to {law.high_c:g} degC"
        return no_data(name, unit, why, law.source)
    rules = policy().creep
    flags = ["constants from memory, the paper not read"]
    if law.low_c is None:
        flags.append("the range of temperature and stress that was tested is not known")
    if law.alloy not in (str(alloy), alloy.designation()):
        flags.append(f"measured on {law.alloy}, shown for {alloy.designation()}")
    value = creep_strength(law, service_c)
    if value < rules.low_stress_mpa:
        flags.append(f"below {rules.low_stress_mpa:g} MPa published sets part from each other")
    if service_c < rules.low_stress_c:
        flags.append(f"below {rules.low_stress_c:g} degC published sets part from each other")
    told = f"{law.name}, stress for {rules.rate_per_s:g} per s"
    return Estimate(name, unit, value, value, value, told, law.source, law.origin, law.grade, tuple(flags))


def arrhenius_ratio(kj_mol: float, from_c: float, to_c: float) -> float:
    """Return how a thermally activated rate changes between two temperatures, exp[(Q/R)(1/T1 - 1/T2)]; a trend.

    Raises
    ------
    InputError
        An energy below 0, or a temperature that cannot be.
    """
    hold(
        "the change of a rate",
        Bound("kj_mol", kj_mol, 0, 500, "kJ/mol"),
        Bound("from_c", from_c, -200, 500, "degC"),
        Bound("to_c", to_c, -200, 500, "degC"),
    )
    return math.exp(activation_k(kj_mol=kj_mol) * (1 / kelvin(from_c) - 1 / kelvin(to_c)))
