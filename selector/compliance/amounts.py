"""The amounts that a context knows: figures of the use, measured contents, bans; and the ranges they must lie in."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from selector.composition import atomic_masses
from selector.errors import Fault, shown

FIGURES = MappingProxyType(
    {
        "article_mg": "mass of the article, mg",
        "attach_ms_m": "electrical conductivity of the die attach, MS/m",
        "attach_w_mk": "thermal conductivity of the die attach, W/(m K)",
        "battery_mg": "mass of the battery, mg",
        "blocking_v": "blocking voltage, V",
        "current_a": "current through the joint, A",
        "die_edge_mm": "longest edge of the die, mm",
        "die_mm2": "area of the largest die, mm2",
        "flux_percent": "flux in the mixture as sold, % by mass",
        "interposer_mm2": "area of the interposer, mm2",
        "node_nm": "technology node, nm",
        "overmould_c": "temperature of overmoulding, degC",
        "solder_mg": "mass of the solder, mg",
        "solidus_c": "solidus, degC",
        "transducer_c": "peak working temperature of the transducer, degC",
    }
)
# Restricted somewhere, and in no table of solder metals.
BESIDE_THE_TABLE = ("Be", "Br", "Cl", "F", "I")
PPM_MOST = 1_000_000
FIGURE_MOST = 10**9


@dataclass(frozen=True)
class Ban:
    """An element that a customer bans above a content, with the reason."""

    element: str
    limit_ppm: Fraction
    reason: str


def amount_faults(
    figures: Mapping[str, Fraction], traces: Mapping[str, Fraction], bans: Iterable[Ban]
) -> Iterable[Fault]:
    """Yield numbers out of their range, elements that are none, and an element that is banned twice."""
    contents = [(element, "measured content", ppm) for element, ppm in traces.items()]
    banned: set[str] = set()
    known = {*atomic_masses(), *BESIDE_THE_TABLE}
    for ban in bans:
        contents.append((ban.element, "limit of a ban", ban.limit_ppm))
        if not isinstance(ban.reason, str):
            yield Fault("ban", "has a reason that is no text", shown(ban.reason), "text")
        if ban.element in banned:
            yield Fault("ban", "bans an element for the second time", shown(ban.element), "each element once")
        banned.add(ban.element)
    for element, what, ppm in contents:
        if element not in known:
            yield Fault(what, "is not of an element in the table", shown(element), "a symbol such as Pb")
        if not 0 <= ppm <= PPM_MOST:
            yield Fault(f"{what}, {element}", "lies outside the range", shown(str(ppm)), "0 to 1,000,000 ppm")
    for name, figure in figures.items():
        if not 0 <= figure <= FIGURE_MOST:
            yield Fault(name, "lies outside the range", shown(str(figure)), f"0 to {FIGURE_MOST:,}")
        elif name == "flux_percent" and figure >= 100:
            # A mixture without metal would keep every limit on it.
            yield Fault(name, "leaves no metal", shown(str(figure)), "0 to less than 100 %")
    for whole in ("article_mg", "battery_mg"):
        if whole in figures and figures.get("solder_mg", 0) > figures[whole]:
            told = f"{shown(str(figures['solder_mg']))} mg in {shown(str(figures[whole]))} mg"
            yield Fault("solder_mg", f"is more than {whole}", told, "a part of the whole at most as heavy")
