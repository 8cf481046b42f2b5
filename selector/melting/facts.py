"""Computed melting beside what is tabulated, and where the two disagree."""

from dataclasses import dataclass

from selector.catalogue import Alloy
from selector.catalogue.evidence import Evidence, nothing
from selector.figures import figure, spread
from selector.melting.computed import Computed, computed_melting
from selector.melting.onset import CONFLICT_K, EVIDENCE_GRADE, SOURCE

FACTS = {
    "computed_solidus_c": ("solidus_c", "solidus after homogenising, at equilibrium"),
    "computed_t98_c": ("t98_c", "98 % by mass liquid at equilibrium: what a data sheet's liquidus is held against"),
    "computed_liquidus_c": ("liquidus_c", "the last solid dissolves; calorimetry may miss the last per cent"),
    "computed_first_liquid_c": ("last_liquid_c", "first liquid as frozen, after Scheil-Gulliver"),
}


@dataclass(frozen=True)
class Conflict:
    """A computed temperature that lies more than 3 K outside the tabulated interval.

    Parameters
    ----------
    tabulated : Evidence
    computed : Evidence
    apart_k : float
        Signed distance of the computed value from the nearer end, K.
    """

    tabulated: Evidence
    computed: Evidence
    apart_k: float

    @property
    def text(self) -> str:
        """Return both sides in one sentence."""
        told = spread(self.tabulated.value, self.tabulated.low, self.tabulated.high)
        return (
            f"{self.tabulated.name}: tabulated {told} degC ({self.tabulated.source}), computed"
            f" {figure(self.computed.value)} degC ({self.computed.name}): {figure(abs(self.apart_k), 2)} K"
            f" {'above' if self.apart_k > 0 else 'below'}"
        )


def computed_facts(alloy: Alloy) -> tuple[Evidence, ...]:
    """Return the computed temperatures of an alloy, degC, each with its interval by grade."""
    row = computed_melting(alloy.composition)
    return tuple(_fact(name, row, *entry) for name, entry in FACTS.items())


def _fact(name: str, row: Computed | None, field: str, meaning: str) -> Evidence:
    value = None if row is None else getattr(row, field)
    if row is None or value is None or row.half_width_k is None:
        status = "not computed" if row is None else row.status
        return nothing(name, "degC", why=status if status != "computed" else "the solver gave no checked answer")
    rule = f"{meaning}; {row.grade}, to about {figure(row.half_width_k)} K"
    ends = (value - row.half_width_k, value + row.half_width_k)
    return Evidence(name, "degC", value, *ends, EVIDENCE_GRADE[row.grade], "computed", SOURCE, rule, cautions=row.why)


def melting_conflicts(alloy: Alloy) -> tuple[Conflict, ...]:
    """Return where computed and tabulated melting disagree by more than 3 K; the liquidus is held against T98."""
    facts = {entry.name: entry for entry in computed_facts(alloy)}
    found = []
    for tabulated, computed in (("solidus_c", "computed_solidus_c"), ("liquidus_c", "computed_t98_c")):
        listed, own = alloy.of(tabulated), facts[computed]
        if listed.interval is None or own.value is None:
            continue
        low, high = listed.interval
        apart = own.value - high if own.value > high else min(own.value - low, 0.0)
        if abs(apart) > CONFLICT_K:
            found.append(Conflict(listed, own, apart))
    return tuple(found)


def all_facts(alloy: Alloy, onset: Evidence) -> tuple[Evidence, ...]:
    """Return every property of an alloy in one list: tabulated and derived, the remelt onset, and what is computed."""
    return (*alloy.evidence.values(), onset, *computed_facts(alloy))
