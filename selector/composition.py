"""What an alloy is made of: element -> wt%, exact, parsed from every spelling that the trade writes.

A `Composition` holds `Fraction`s that sum to exactly 100 wt%. Floats appear only where numpy needs them.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from types import MappingProxyType

from selector import units
from selector.datafiles import data_folder, read_table
from selector.errors import Fault, InputError, shown

HUNDRED = Fraction(100)
LONGEST_TEXT = 200
SAC_SHORTHAND = MappingProxyType(
    {
        # The trade writes the silver and copper content in tenths of a per cent after the letters.
        "105": {"Ag": "1", "Cu": "0.5"},
        "205": {"Ag": "2", "Cu": "0.5"},
        "305": {"Ag": "3", "Cu": "0.5"},
        "387": {"Ag": "3.8", "Cu": "0.7"},
        "405": {"Ag": "4", "Cu": "0.5"},
    }
)
SAC_PATTERN = re.compile(r"SAC[\s-]?([0-9]+)", re.IGNORECASE | re.ASCII)
TOKEN = re.compile(
    r"(?P<number>[0-9]+(?:\.[0-9]+)?|\.[0-9]+)|(?P<letters>[A-Za-z]+)"
    r"|(?P<minus>\s*(?:-(?:\s*-)+|[:=,;/(]\s*-(?=\s*[0-9.])))|(?P<gap>[\s\-/:;,=%_·–]+)"
)
EXAMPLES = "Sn-3.0Ag-0.5Cu, Sn63Pb37, 58Bi-42Sn, SAC305 or Sn:96.5;Ag:3;Cu:0.5"


@cache
def atomic_masses() -> Mapping[str, Fraction]:
    """Return the standard atomic weights, g/mol, exact as printed (IUPAC 2021 abridged; `data/elements.csv`)."""
    rows = read_table(data_folder() / "elements.csv", "the table of elements")
    return MappingProxyType({row["symbol"]: Fraction(row["atomic_mass"]) for row in rows})


@dataclass(frozen=True)
class Composition:
    """An alloy's nominal composition by mass.

    Parameters
    ----------
    parts : tuple of (str, Fraction)
        Element and wt%, largest first, ties by symbol; sums to exactly 100. Make one with
        `parse`, `from_mapping` or `mixed`, which check it.
    """

    parts: tuple[tuple[str, Fraction], ...]

    def wt(self, element: str) -> Fraction:
        """Return the wt% of an element, 0 where it is absent."""
        return dict(self.parts).get(element, Fraction(0))

    def ppm(self, element: str) -> Fraction:
        """Return the content of an element in mg/kg, exact."""
        return units.ppm(self.wt(element))

    @property
    def elements(self) -> tuple[str, ...]:
        """Return the elements, largest first."""
        return tuple(element for element, _ in self.parts)

    @property
    def matrix(self) -> str:
        """Return the element of largest mass share."""
        return self.parts[0][0]

    def at_percent(self) -> dict[str, Fraction]:
        """Return the composition by atoms, at%, exact for the tabulated atomic weights."""
        masses = atomic_masses()
        moles = {element: wt / masses[element] for element, wt in self.parts}
        total = sum(moles.values())
        return {element: HUNDRED * amount / total for element, amount in moles.items()}

    def designation(self, balance: str | None = None) -> str:
        """Return the composition as the trade writes it: balance element first, then wt% and symbol.

        Parameters
        ----------
        balance : str, optional
            The element to put first without its figure; the largest where left out.
        """
        first = balance or self.matrix
        if first not in self.elements:
            raise InputError(
                "the designation", [Fault("balance", "is not in the alloy", first, ", ".join(self.elements))]
            )
        rest = [f"{decimal_text(wt)}{element}" for element, wt in self.parts if element != first]
        return "-".join([first, *rest])

    def __str__(self) -> str:
        """Return the designation."""
        return self.designation()


def decimal_text(number: Fraction) -> str:
    """Return a fraction as a plain decimal: exact where it ends within eight places, else rounded to four."""
    scaled = number * 10**8
    text = f"{float(number):.4f}" if scaled.denominator != 1 else f"{int(scaled) / 10**8:.8f}"
    return text.rstrip("0").rstrip(".")


def from_mapping(amounts: Mapping[str, object], where: str = "composition", balance: str | None = None) -> Composition:
    """Return the composition of a mapping element -> wt%.

    Parameters
    ----------
    amounts : mapping
        wt% as int, float, decimal text or Fraction. A float counts as the decimal it is written as.
    where : str
        Named in faults.
    balance : str, optional
        The element that makes up the rest to 100 wt%; it must not be in `amounts`.

    Raises
    ------
    InputError
        Unknown elements, negative or zero amounts, text that is no number, a sum other than 100.
    """
    faults: list[Fault] = []
    parts: dict[str, Fraction] = {}
    if balance is not None and balance not in atomic_masses():
        faults.append(_unknown_element(f"{where}, {shown(balance)}", balance))
    for element, amount in amounts.items():
        place = f"{where}, {element}"
        if element not in atomic_masses():
            faults.append(_unknown_element(place, element))
            continue
        try:
            if isinstance(amount, bool) or not isinstance(amount, int | float | str | Fraction):
                raise ValueError
            parts[element] = units.exact(amount)
        except (ValueError, ZeroDivisionError, OverflowError):
            faults.append(Fault(place, "is not a number", shown(amount), "wt% above 0, at most 100"))
            continue
        if not 0 < parts[element] <= HUNDRED:
            faults.append(Fault(place, "lies outside the range", shown(amount), "wt% above 0, at most 100"))
    total = sum(parts.values(), Fraction(0))
    if not faults and balance is not None:
        if balance in parts:
            faults.append(Fault(where, "element given twice", balance, "each element once"))
        elif total >= HUNDRED:
            faults.append(_wrong_sum(where, total, f"below 100, so that {balance} is the balance"))
        else:
            parts[balance] = HUNDRED - total
    elif not faults and total != HUNDRED:
        faults.append(_wrong_sum(where, total, "exactly 100, or the balance element without a figure"))
    if faults:
        raise InputError("the composition", faults)
    return _ordered(parts)


def from_at_percent(amounts: Mapping[str, object], where: str = "composition") -> Composition:
    """Return the composition of a mapping element -> at%, exactly; the inverse of `Composition.at_percent`.

    Raises
    ------
    InputError
        As `from_mapping`, with at% in place of wt%.
    """
    # The same checks hold for at%: the detour through a Composition applies them.
    checked = from_mapping(amounts, where)
    masses = atomic_masses()
    grams = {element: share * masses[element] for element, share in checked.parts}
    total = sum(grams.values(), Fraction(0))
    return _ordered({element: HUNDRED * mass / total for element, mass in grams.items()})


def parse(text: str) -> Composition:
    """Return the composition that a text spells.

    Understood: `Sn-3.0Ag-0.5Cu`, `SnAg3.0Cu0.5`, `Sn63Pb37`, `63Sn37Pb`, `Sn-58Bi`, `58Bi-42Sn`, `Sn58Bi`
    (read as the journals do: the last figure belongs to the element behind it, the first element is the
    balance), `Sn:96.5;Ag:3;Cu:0.5`, `63/37 Sn/Pb`, and SAC with 105, 205, 305, 387 or 405.

    Raises
    ------
    InputError
        With the position in the text: unknown elements, negatives, duplicates, sums other than 100, figures
        that belong to no element.
    """
    stripped = text.strip()
    if not stripped or len(stripped) > LONGEST_TEXT:
        problem = "is empty" if not stripped else "is too long to be an alloy"
        raise InputError(
            "the composition", [Fault("position 1", problem, shown(text), f"a spelling such as {EXAMPLES}")]
        )
    short = SAC_PATTERN.fullmatch(stripped)
    if short:
        amounts = SAC_SHORTHAND.get(short.group(1))
        if amounts is None:
            raise InputError(
                "the composition",
                [
                    Fault(
                        f"{shown(text)}, position {text.index(short.group(1)) + 1}",
                        "is not a tin-silver-copper shorthand known here",
                        shown(stripped),
                        "SAC with " + ", ".join(SAC_SHORTHAND),
                        "write the composition out, for example Sn-3.0Ag-0.5Cu",
                    )
                ],
            )
        return from_mapping(amounts, shown(text), balance="Sn")
    return _assembled(text, _tokens(text))


@dataclass(frozen=True)
class _Token:
    position: int
    element: str | None = None
    number: Fraction | None = None
    glued: bool = False  # stands directly against the token before it


def _tokens(text: str) -> list[_Token]:
    """Cut the text into elements and figures, each with its position counted from 1; refuse what is neither."""
    tokens: list[_Token] = []
    faults: list[Fault] = []
    at, glued = 0, False
    while at < len(text):
        match = TOKEN.match(text, at)
        place = f"{shown(text)}, position {at + 1}"
        if match is None:
            faults.append(Fault(place, "character that belongs in no composition", repr(text[at]), EXAMPLES))
            at, glued = at + 1, False
            continue
        if match["number"]:
            tokens.append(_Token(at + 1, number=Fraction(match["number"]), glued=glued))
        elif match["letters"]:
            offset = at
            for symbol in _symbols(match["letters"]):
                if symbol in atomic_masses():
                    tokens.append(_Token(offset + 1, element=symbol, glued=glued or offset > at))
                else:
                    faults.append(_unknown_element(f"{shown(text)}, position {offset + 1}", symbol))
                offset += len(symbol)
        elif match["minus"]:
            place = f"{shown(text)}, position {match.end()}"
            faults.append(Fault(place, "negative amount", "a minus", "wt% above 0, at most 100"))
        glued = not (match["gap"] or match["minus"])
        at = match.end()
    if faults:
        raise InputError("the composition", faults)
    return tokens


def _symbols(letters: str) -> list[str]:
    """Cut a run of letters into element symbols, by case where mixed, by the table of elements where not."""
    if len(letters) == 1:
        return [letters.upper()]
    if not (letters.isupper() or letters.islower()) or letters in atomic_masses():
        return re.findall(r"[A-Z][a-z]*|[a-z]+", letters)
    known = atomic_masses()
    readings: list[list[str]] = [[]]
    complete: list[list[str]] = []
    while readings:
        taken = readings.pop()
        rest = letters[sum(map(len, taken)) :]
        if not rest:
            complete.append(taken)
        readings.extend(
            [*taken, rest[:n].capitalize()] for n in (1, 2) if len(rest) >= n and rest[:n].capitalize() in known
        )
    # Two-letter symbols first: SNAG is tin and silver, though S, N, A and G could be cut otherwise.
    return min(complete, key=len) if complete else [letters.capitalize()]


def _assembled(text: str, tokens: list[_Token]) -> Composition:
    """Give each figure its element: figures all before, all after, or listed apart from their elements."""
    name = shown(text)
    elements = [token for token in tokens if token.element]
    numbers = [token for token in tokens if token.number is not None]
    faults = [
        Fault(
            f"{name}, position {token.position}",
            "element given twice",
            str(token.element),
            "each element once",
        )
        for index, token in enumerate(elements)
        if token.element in {earlier.element for earlier in elements[:index]}
    ]
    faults += [
        Fault(f"{name}, position {token.position}", "figure with two decimal points", "", "one point in a figure")
        for before, token in pairwise(tokens)
        if token.glued and token.number is not None and before.number is not None
    ]
    if not elements:
        faults.append(Fault(f"{name}, position 1", "names no element", allowed=f"a spelling such as {EXAMPLES}"))
    if faults:
        raise InputError("the composition", faults)
    symbols = [str(token.element) for token in elements]
    amounts = [str(token.number) for token in numbers]
    pattern = "".join("E" if token.element else "N" for token in tokens)
    if pattern == "E":
        return from_mapping({symbols[0]: 100}, name)
    each = re.fullmatch(r"(EN)+|(NE)+|N{2,}E{2,}|E{2,}N{2,}", pattern) and len(symbols) == len(amounts)
    but_one = re.fullmatch(r"E(EN)+|E(NE)+", pattern)
    outside = [
        Fault(
            f"{name}, position {token.position}",
            "amount lies outside the range",
            f"{shown(float(token.number))} wt%",
            "wt% above 0, at most 100",
        )
        for token in numbers
        if token.number is not None and not 0 < token.number <= HUNDRED
    ]
    if outside and (each or but_one):
        raise InputError("the composition", outside)
    if each:
        place = f"{name}, position {_passing(numbers)}"
        return from_mapping(dict(zip(symbols, amounts, strict=True)), place)
    if but_one:
        place = f"{name}, position {_passing(numbers, with_balance=True)}"
        return from_mapping(dict(zip(symbols[1:], amounts, strict=True)), place, balance=symbols[0])
    stray = next((token for token in tokens if token.number is not None), tokens[-1])
    raise InputError(
        "the composition",
        [
            Fault(
                f"{name}, position {stray.position}",
                f"{len(amounts)} figure{'s' if len(amounts) != 1 else ''} for {len(symbols)} elements cannot be"
                " assigned without a guess",
                "",
                f"a figure for every element, or for every one but the first; for example {EXAMPLES}",
                "write decimal points, not commas" if re.search(r"[0-9],[0-9]", text) else "",
            )
        ],
    )


def _passing(numbers: list[_Token], with_balance: bool = False) -> int:
    """Return the position of the figure with which the sum goes too far, else of the last figure."""
    total = Fraction(0)
    for token in numbers:
        total += token.number or 0
        if total > HUNDRED or (with_balance and total == HUNDRED):
            return token.position
    return numbers[-1].position


def _ordered(parts: Mapping[str, Fraction]) -> Composition:
    return Composition(tuple(sorted(parts.items(), key=lambda part: (-part[1], part[0]))))


def _unknown_element(where: str, symbol: str) -> Fault:
    return Fault(
        where,
        "is not an element in the table",
        shown(symbol),
        "an element symbol such as Sn, Ag, Cu, Bi, In, Sb, Zn, Pb, Au",
        "check the spelling",
    )


def _wrong_sum(where: str, total: Fraction, allowed: str) -> Fault:
    return Fault(where, "amounts do not add up", f"{decimal_text(total)} wt%", allowed)


def mixed(shares: Iterable[tuple[Composition, Fraction | int | float | str]]) -> Composition:
    """Return the composition of alloys melted together by mass.

    Parameters
    ----------
    shares : iterable of (Composition, number)
        Each alloy with its mass in any one unit; the masses need not sum to 1.

    Raises
    ------
    InputError
        No alloy, a mass that is negative or no number, or a total of zero.
    """
    try:
        weighed = [(alloy, units.exact(mass)) for alloy, mass in shares]
    except (ValueError, ZeroDivisionError, OverflowError) as error:
        raise InputError(
            "the mixture", [Fault("masses", f"hold something that is no number ({error})", allowed="numbers")]
        ) from None
    total = sum((mass for _, mass in weighed), Fraction(0))
    if total <= 0 or any(mass < 0 for _, mass in weighed):
        raise InputError(
            "the mixture",
            [Fault("masses", "no positive total", str(total), "masses of at least 0, not all 0")],
        )
    parts: dict[str, Fraction] = {}
    for alloy, mass in weighed:
        for element, wt in alloy.parts:
            parts[element] = parts.get(element, Fraction(0)) + wt * mass / total
    return _ordered({element: wt for element, wt in parts.items() if wt})
