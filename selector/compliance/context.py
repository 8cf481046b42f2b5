"""What a composition is used for and what of it is judged: the facts that decide which law reaches it.

Everything may be left out. What is left out is not known, and what is not known never helps a verdict to a pass.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from types import MappingProxyType
from typing import Literal, get_args

from selector import fields
from selector.brief import Brief, MarketDate, Use
from selector.compliance.amounts import FIGURES as FIGURES
from selector.compliance.amounts import Ban as Ban
from selector.compliance.amounts import amount_faults
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN, DateKind, Equipment
from selector.units import exact

Judged = Literal["alloy", "certificate", "mixture", "joint", "article", "finish"]
JUDGED = MappingProxyType(
    {
        "alloy": "the nominal alloy, standing for the joint it makes and for the solder as sold",
        "certificate": "the analysed composition of one lot",
        "mixture": "the solder as sold, flux included",
        "joint": "the finished joint, with all that is dissolved in it",
        "article": "a part or product of which the solder is a share by mass",
        "finish": "the plating of a termination",
    }
)
Market = Literal[fields.Market, "Minnesota", "Canada", "Saudi Arabia"]
WORLD = "world"
# A product sold in a state is sold in the country too.
WITHIN = MappingProxyType({"California": "US", "Minnesota": "US"})
MARKET_CODES = MappingProxyType(
    {
        "EU": "EU",
        "UK": "UK",
        "US": "US",
        "CN": "China",
        "JP": "Japan",
        "KR": "Korea",
        "TW": "Taiwan",
        "IN": "India",
        "EAEU": "Eurasian Union",
        "US-CA": "California",
        "US-MN": "Minnesota",
        "CA": "Canada",
        "SA": "Saudi Arabia",
    }
)
ELECTRICAL = (
    "household appliance",
    "information and telecommunication",
    "consumer",
    "lighting",
    "tool",
    "toy or sports",
    "medical device",
    "monitoring and control",
    "vending machine",
    "other electrical",
)
# The official categories of electrical equipment; two of them are divided where days differ.
CATEGORIES = MappingProxyType(
    {
        "household appliance": ("1", "2"),
        "information and telecommunication": ("3",),
        "consumer": ("4",),
        "lighting": ("5",),
        "tool": ("6",),
        "toy or sports": ("7",),
        "medical device": ("8", "8 in vitro"),
        "monitoring and control": ("9", "9 industrial"),
        "vending machine": ("10",),
        "other electrical": ("11",),
    }
)
DIVIDED = MappingProxyType({"8": "in-vitro", "9": "industrial-instrument"})
USES = MappingProxyType(
    {
        "accessible": "the user can touch the part",
        "automotive": "in a vehicle",
        "brazing": "joined above 450 degC",
        "ce-declared": "CE-marked, with the EU declaration in English",
        "child-product": "made for children of 12 or younger",
        "china-catalogue": "in the Chinese compliance catalogue",
        "display-over-4-inch": "a video display with a screen over 4 inches",
        "electrical": "electrical or electronic equipment",
        "eurasia-listed": "listed in TR EAEU 037/2016",
        "implant": "an active implant",
        "in-vitro": "an in-vitro diagnostic device",
        "india-listed": "listed in Schedule I of the Indian rules",
        "industrial-instrument": "an industrial monitoring or control instrument",
        "japan-listed": "one of the seven Japanese product kinds",
        "jewellery": "jewellery or a hair accessory",
        "korea-listed": "among the listed Korean product types",
        "lead-finish-contract": "the contract asks for lead in tin finishes",
        "lead-free-plan-contract": "the contract asks for a lead-free control plan",
        "medical": "a medical device",
        "metal-importer": "you import the raw metal into the EU",
        "military": "military equipment",
        "minnesota-listed": "one of the product kinds of Minn. Stat. 325E.3892",
        "mouth-contact": "a small child can put it into the mouth",
        "patient-path": "touches the inside of the body, or carries medicines, body liquids or gases",
        "portable-battery": "inside a portable battery",
        "potable-water": "wetted by drinking water",
        "public-sale": "what is judged is sold to the general public",
        "saudi-listed": "in a listed Saudi product group",
        "renewal-filed": "a renewal of the exemption was filed in time",
        "sec-reporting": "you report to the securities regulator of the US",
        "skin-contact": "in prolonged contact with skin",
        "space": "sent to space",
        "space-agency-contract": "the contract invokes the rules of a space agency",
        "supply-to-us": "supplied from China to the United States",
        "taiwan-listed": "under Taiwanese commodity inspection",
        "toy": "a toy",
        "wrist-worn": "worn on the wrist",
    }
)
# A fact that another one settles.
IMPLIED = MappingProxyType({"wrist-worn": ("skin-contact",), "toy": ("child-product",)})
MAKES_EQUIPMENT: Mapping[str, Equipment] = MappingProxyType(
    {
        "automotive": "vehicle",
        "implant": "active implant",
        "medical": "medical device",
        "military": "military",
        "space": "space",
    }
)
# Equipment that is no jewellery, no toy and nothing a child is meant to have.
FAR_FROM_CONSUMERS = ("vehicle", "space", "military", "active implant")
CONSUMER_USES = ("child-product", "jewellery", "minnesota-listed", "mouth-contact", "toy", "wrist-worn")
APPLICATIONS = (
    "audio transducer",
    "board joint",
    "ceramic ball-grid array",
    "deep cold",
    "defibrillator",
    "die attach",
    "engine control",
    "first-level joint",
    "flip chip",
    "hand-held engine control",
    "hermetic seal",
    "infrared imaging",
    "internal solder",
    "laminated glazing",
    "lamp",
    "magnetic resonance",
    "microprocessor pins",
    "mobile medical device",
    "network equipment board",
    "overmoulding",
    "planar capacitor",
    "superconducting circuit",
    "thin transformer wire",
    "ultrasonic transducer",
    "voice coil",
)
FORMS = ("bar", "paste", "powder", "preform", "wire")


@dataclass(frozen=True)
class Context:
    """What is judged, of what use, where and when.

    Parameters
    ----------
    on : date
        The day that is asked about.
    date_kind : str
        What happens on that day: placed on market, manufactured, imported.
    markets : frozenset of str
        Empty: every rule is judged for itself, whatever its market.
    judged : str
        One of `JUDGED`.
    equipment : str
        As in a brief; "unknown" where it is not known.
    yes, no : frozenset of str
        Words of `USES` that hold, and that do not hold. What stands in neither is not known.
    application : str
        One of `APPLICATIONS`: which joint it is. "unknown" where it is not known.
    form : str
        One of `FORMS`, or "unknown".
    figures : tuple of (str, Fraction)
        Of `FIGURES`, what is known.
    traces : tuple of (str, Fraction)
        Measured contents by element, ppm. Judged beside the nominal composition; the worse answer holds.
    declared : frozenset of str or None
        Named constituents and declared dopants; None: those of the nominal composition, or not known where the
        composition is a certificate's.
    customer : frozenset of str
        Ids of customer rules that a customer really asks for.
    bans : tuple of Ban
        Bans of the customer in figures.
    """

    on: date
    date_kind: DateKind = "placed on market"
    markets: frozenset[str] = frozenset()
    judged: Judged = "alloy"
    equipment: Equipment = UNKNOWN
    yes: frozenset[str] = frozenset()
    no: frozenset[str] = frozenset()
    application: str = UNKNOWN
    form: str = UNKNOWN
    figures: tuple[tuple[str, Fraction], ...] = ()
    traces: tuple[tuple[str, Fraction], ...] = ()
    declared: frozenset[str] | None = None
    customer: frozenset[str] = frozenset()
    bans: tuple[Ban, ...] = ()

    def __hash__(self) -> int:
        """Return a hash of what mostly differs: contexts are keys of what is kept, and the whole is slow to hash."""
        return hash((self.on, self.judged, self.equipment, self.application, self.yes, self.no, self.markets))

    def holds(self, use: str) -> bool | None:
        """Return whether a word of `USES` holds; None where it is not known."""
        return True if use in self.yes else False if use in self.no else None

    def figure(self, name: str) -> Fraction | None:
        """Return a figure, None where it is not known."""
        return next((value for key, value in self.figures if key == name), None)

    def with_traces(self, traces: Mapping[str, Fraction]) -> "Context":
        """Return the same with other measured contents, ppm."""
        return replace(self, traces=tuple(sorted(traces.items())))

    @property
    def categories(self) -> tuple[str, ...]:
        """Return the official categories that the equipment may be of; empty where it is not known."""
        found = CATEGORIES.get(self.equipment, ())
        if len(found) == 2 and found[0] in DIVIDED:
            special = self.holds(DIVIDED[found[0]])
            return found if special is None else found[1:] if special else found[:1]
        return found


def context(
    on: date,
    uses: Iterable[str] = (),
    *,
    date_kind: DateKind = "placed on market",
    markets: Iterable[str] = (),
    judged: Judged = "alloy",
    equipment: Equipment = UNKNOWN,
    application: str = UNKNOWN,
    form: str = UNKNOWN,
    figures: Mapping[str, Fraction] | None = None,
    traces: Mapping[str, Fraction] | None = None,
    declared: Iterable[str] | None = None,
    customer: Iterable[str] = (),
    bans: Iterable[Ban] = (),
) -> Context:
    """Return a checked context, with what follows from its words.

    Parameters
    ----------
    on : date
    uses : iterable of str
        Words of `USES`; `not-` before one says that it does not hold.
    date_kind, markets, judged, equipment, application, form, figures, traces, declared, customer, bans
        As in `Context`.

    Raises
    ------
    InputError
        Every word that is not known, every pair that contradicts, every figure, trace and ban out of its range, an
        element that is none or banned twice.
    """
    faults: list[Fault] = []
    yes: set[str] = set()
    no: set[str] = set()
    for word in uses:
        plain = word.removeprefix("not-")
        if plain not in USES:
            faults.append(Fault("use", "is not a known word", shown(word), ", ".join(USES), "put not- before a denial"))
        (no if word.startswith("not-") else yes).add(plain)
    for word in sorted(yes & no):
        faults.append(Fault("use", "is said and denied", shown(word), "one of the two"))
    kinds = {MAKES_EQUIPMENT[word] for word in yes if word in MAKES_EQUIPMENT}
    if equipment != UNKNOWN:
        kinds.add(equipment)
    if len(kinds) > 1:
        faults.append(Fault("use", "name more than one kind of equipment", ", ".join(sorted(kinds)), "one kind"))
    for what, value, allowed in (
        ("kind of equipment", equipment, get_args(Equipment)),
        ("application", application, (*APPLICATIONS, UNKNOWN)),
        ("form", form, (*FORMS, UNKNOWN)),
        ("what is judged", judged, tuple(JUDGED)),
        ("kind of date", date_kind, get_args(DateKind)),
        *(("market", market, tuple(MARKET_CODES.values())) for market in markets),
        *(("figure", name, tuple(FIGURES)) for name in figures or {}),
    ):
        if value not in allowed:
            faults.append(Fault(what, "is not one of the choices", shown(value), ", ".join(allowed)))
    bans = tuple(bans)
    faults += amount_faults(figures or {}, traces or {}, bans)
    if faults:
        raise InputError("the use", faults)
    for word, also in IMPLIED.items():
        if word in yes:
            yes.update(set(also) - no)
    for place in set(markets) & set(WITHIN):
        markets = (*markets, WITHIN[place])
    found = next(iter(kinds), UNKNOWN)
    if found in ELECTRICAL:
        yes.add("electrical")
    if found in FAR_FROM_CONSUMERS:
        no |= {*CONSUMER_USES} - yes
    return Context(
        on,
        date_kind,
        frozenset(markets),
        judged,
        found,
        frozenset(yes),
        frozenset(no),
        application,
        form,
        tuple(sorted((figures or {}).items())),
        tuple(sorted((traces or {}).items())),
        None if declared is None else frozenset(declared),
        frozenset(customer),
        bans,
    )


def bans_of(brief: Brief) -> tuple[Ban, ...]:
    """Return a brief's bans, with exact limits."""
    return tuple(Ban(row.element, exact(row.limit_ppm), row.reason) for row in brief.bans)


def of_use(use: Use, entry: MarketDate | None) -> Context:
    """Return what a brief says of its use, for one of its markets; for none, as a customer's ban asks, where None.

    The brief knows nothing of die attach or of batteries, so exemptions and rules that hang on these stay open.
    """
    equipment = use.equipment
    if equipment == UNKNOWN:
        equipment = "vehicle" if use.automotive is True else "medical device" if use.medical is True else UNKNOWN
    denied = {
        "wrist-worn": use.worn is False,
        "jewellery": use.worn is False,
        "patient-path": use.medical is False,
        "skin-contact": use.skin_contact is False,
        **dict.fromkeys(CONSUMER_USES, equipment in FAR_FROM_CONSUMERS),
    }
    no = {word for word, holds in denied.items() if holds}
    uses = ["skin-contact"] if use.skin_contact is True else []
    return context(
        date.max if entry is None else entry.date,
        [*uses, *(f"not-{word}" for word in sorted(no))],
        date_kind="placed on market" if entry is None else entry.date_kind,
        markets=() if entry is None else (entry.market,),
        judged="joint",
        equipment=equipment,
    )
