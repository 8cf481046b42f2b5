"""The thermodynamic tables of `data/thermo/`, read, checked and turned into coefficients that numpy can evaluate.

An expression is a sum of terms c * T^p * (ln T)^q, in J/mol with T in kelvin, in pieces over temperature; names of
functions (lattice stabilities) are resolved here, so that above this room every parameter is a row of numbers.
"""

import ast
import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from selector.datafiles import data_folder, read_table, read_toml
from selector.errors import Fault, InputError, shown

FloatArray = npt.NDArray[np.float64]
Terms = dict[tuple[int, int], float]
Piece = tuple[float, float, ast.expr]
FILES = ("functions.csv", "parameters.csv", "phases.csv", "sources.csv", "systems.toml")
T_LOW_K, T_HIGH_K = 298.15, 1700.0
ELEMENTS = ("Ag", "Bi", "Cu", "In", "Pb", "Sb", "Sn", "Zn")
LIQUID = "LIQUID"


@dataclass(frozen=True)
class Phase:
    """A phase's model: its sublattices, and how the trade calls it.

    Parameters
    ----------
    id : str
    site_ratios : tuple of float
        Moles of sites a formula unit, one a sublattice.
    constituents : tuple of tuple of str
        Elements that may stand on each sublattice.
    name : str
        `{main}` stands for the element of largest share, for phases whose name follows their composition.
    """

    id: str
    site_ratios: tuple[float, ...]
    constituents: tuple[tuple[str, ...], ...]
    name: str
    note: str


@dataclass(frozen=True)
class Parameter:
    """One parameter of a phase: an end member (`G`) or an interaction (`L`).

    Parameters
    ----------
    constituents : tuple of tuple of str
        Elements on each sublattice, in the table's order, which signs the odd interactions.
    """

    phase: str
    constituents: tuple[tuple[str, ...], ...]
    kind: str
    order: int


@dataclass(frozen=True)
class Thermo:
    """Everything the melting floor computes from.

    Parameters
    ----------
    phases : mapping
    parameters : tuple of Parameter
        In the order of the rows of `coefficients`.
    breaks_k : array (K-1,)
        Where pieces meet.
    exponents : tuple of (int, int)
        Powers of T and of ln T.
    coefficients : array (K, parameters, exponents)
    hash : str
        Of the tables: what a stored result was computed from.
    """

    phases: Mapping[str, Phase]
    parameters: tuple[Parameter, ...]
    breaks_k: FloatArray
    exponents: tuple[tuple[int, int], ...]
    coefficients: FloatArray
    hash: str

    def at(self, t_k: FloatArray) -> FloatArray:
        """Return every parameter at every temperature.

        Parameters
        ----------
        t_k : array (N,), K
            Within 298.15 to 1700 K.

        Returns
        -------
        array (parameters, N), J/mol
        """
        logs = np.log(t_k)
        basis = np.stack([t_k**power * logs**log_power for power, log_power in self.exponents])
        piece = np.searchsorted(self.breaks_k, t_k, side="right")
        values = np.empty((len(self.parameters), len(t_k)))
        for k in np.unique(piece):
            here = piece == k
            values[:, here] = self.coefficients[k] @ basis[:, here]
        return values


def thermo_folder() -> Path:
    """Return the folder of the thermodynamic tables."""
    return data_folder() / "thermo"


@cache
def thermo() -> Thermo:
    """Return the shipped thermodynamic tables.

    Raises
    ------
    InputError
        Every fault of every table.
    """
    return read_thermo(thermo_folder())


def read_thermo(folder: Path) -> Thermo:
    """Return the thermodynamic tables of a folder.

    Raises
    ------
    InputError
        Every fault of every table: unknown phases or elements, expressions that cannot be read, missing functions.
    """
    faults: list[Fault] = []
    phases = _phases(folder, faults)
    functions = _functions(folder, faults)
    rows = read_table(folder / "parameters.csv", "the thermodynamic parameters")
    breaks = {edge for pieces in functions.values() for low, high, _ in pieces for edge in (low, high)}
    read: list[tuple[Parameter, float, float, ast.expr]] = []
    for number, row in enumerate(rows, start=2):
        where = f"parameters.csv, row {number}"
        parameter = _parameter(row, phases, where, faults)
        piece = _row_piece(row, where, functions, faults)
        if parameter is not None and piece is not None:
            low, high, tree = piece
            read.append((parameter, low, high, tree))
            breaks |= {low, high}
    ranges: dict[Parameter, list[tuple[float, float]]] = {}
    for parameter, low, high, _ in read:
        ranges.setdefault(parameter, []).append((low, high))
    for name, pieces in functions.items():
        _covered(f"functions.csv, {name}", [(low, high) for low, high, _ in pieces], faults)
    for parameter, spans in ranges.items():
        _covered(f"parameters.csv, {parameter.phase} {parameter.constituents}", spans, faults)
    if faults:
        raise InputError("the thermodynamic tables", faults)
    inner = np.array(sorted(edge for edge in breaks if T_LOW_K < edge < T_HIGH_K))
    edges = np.array([T_LOW_K, *inner, T_HIGH_K])
    middles = (edges[:-1] + edges[1:]) / 2
    values: dict[Parameter, list[Terms]] = {parameter: [{} for _ in middles] for parameter in ranges}
    for k, middle in enumerate(middles):
        known = {
            name: next(tree for low, high, tree in pieces if low <= middle < high) for name, pieces in functions.items()
        }
        for parameter, low, high, tree in read:
            if low <= middle < high:
                values[parameter][k] = _terms(tree, known)
    exponents = tuple(sorted({key for pieces in values.values() for terms in pieces for key in terms}))
    coefficients = np.zeros((len(middles), len(values), len(exponents)))
    for row_number, pieces_of in enumerate(values.values()):
        for k, terms in enumerate(pieces_of):
            for key, coefficient in terms.items():
                coefficients[k, row_number, exponents.index(key)] = coefficient
    return Thermo(phases, tuple(values), inner, exponents, coefficients, thermo_hash(folder))


def thermo_hash(folder: Path) -> str:
    """Return a short hash over the thermodynamic tables of a folder."""
    digest = hashlib.sha256()
    for name in FILES:
        digest.update(name.encode())
        digest.update((folder / name).read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()[:16]


def _phases(folder: Path, faults: list[Fault]) -> dict[str, Phase]:
    phases = {}
    for number, row in enumerate(read_table(folder / "phases.csv", "the phases"), start=2):
        constituents = _split(row["constituents"])
        place = f"phases.csv, row {number}"
        found = [_number(ratio, f"{place}, site_ratios", faults) for ratio in row["site_ratios"].split(":")]
        ratios = tuple(ratio for ratio in found if ratio is not None)
        if len(ratios) != len(found):
            continue
        unknown = sorted({e for sublattice in constituents for e in sublattice} - set(ELEMENTS))
        if unknown or len(ratios) != len(constituents):
            faults.append(Fault(place, "does not fit", shown(row["constituents"]), "one site ratio a sublattice"))
            continue
        phases[row["phase"]] = Phase(row["phase"], ratios, constituents, row["name"], row["note"])
    return phases


def _functions(folder: Path, faults: list[Fault]) -> dict[str, list[Piece]]:
    functions: dict[str, list[Piece]] = {}
    rows = read_table(folder / "functions.csv", "the functions")
    # A liquid's function is written upon its solid's, which stands above it; none upon itself.
    for number, row in enumerate(rows, start=2):
        above = {name: pieces for name, pieces in functions.items() if name != row["function"]}
        piece = _row_piece(row, f"functions.csv, row {number}", above, faults)
        if piece is not None:
            functions.setdefault(row["function"], []).append(piece)
    return functions


def _row_piece(
    row: dict[str, str], where: str, functions: Mapping[str, list[Piece]], faults: list[Fault]
) -> Piece | None:
    """Return the piece that a row states: from and to which temperature, K, and its expression."""
    low, high = (_number(row[name], f"{where}, {name}", faults) for name in ("t_low_k", "t_high_k"))
    tree = _tree(row["expression"], where, functions, faults)
    if low is None or high is None or tree is None:
        return None
    return low, high, tree


def _number(text: str, where: str, faults: list[Fault]) -> float | None:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if math.isfinite(value):
        return value
    faults.append(Fault(where, "is not a number", shown(text), "a number"))
    return None


def _covered(where: str, spans: list[tuple[float, float]], faults: list[Fault]) -> None:
    """Tell where pieces leave a temperature out, or give it twice: either would be read as something else, silently."""
    allowed = f"pieces that meet, from {T_LOW_K:g} K or less to {T_HIGH_K:g} K or more"
    within = sorted((max(low, T_LOW_K), min(high, T_HIGH_K)) for low, high in spans)
    reached = T_LOW_K
    for low, high in [*(span for span in within if span[0] < span[1]), (T_HIGH_K, T_HIGH_K)]:
        if low > reached:
            faults.append(Fault(where, "has no piece", f"{reached:g} to {low:g} K", allowed))
        elif low < reached:
            faults.append(Fault(where, "has two pieces", f"{low:g} to {min(reached, high):g} K", allowed))
        reached = max(high, reached)


def _parameter(row: dict[str, str], phases: Mapping[str, Phase], where: str, faults: list[Fault]) -> Parameter | None:
    constituents = _split(row["constituents"])
    phase = phases.get(row["phase"])
    if phase is None:
        faults.append(Fault(where, "names no phase", shown(row["phase"]), "a phase of phases.csv"))
        return None
    fits = len(constituents) == len(phase.constituents) and all(
        set(given) <= set(allowed) for given, allowed in zip(constituents, phase.constituents, strict=True)
    )
    if not fits or row["kind"] not in ("G", "L") or not row["order"].isdigit():
        faults.append(Fault(where, "does not fit its phase", shown(row["constituents"]), "the phase's sublattices"))
        return None
    return Parameter(row["phase"], constituents, row["kind"], int(row["order"]))


def _split(text: str) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(name.strip().capitalize() for name in part.split(",")) for part in text.split(":"))


def _tree(text: str, where: str, functions: Mapping[str, object], faults: list[Fault]) -> ast.expr | None:
    """Return an expression that `_terms` can take apart, checked."""
    allowed = "a sum of products of numbers, T, T**n, LN(T) and functions"
    try:
        tree = ast.parse(text.strip(), mode="eval").body
    except SyntaxError:
        faults.append(Fault(where, "cannot be read", shown(text), allowed))
        return None
    unknown = sorted({node.id for node in ast.walk(tree) if isinstance(node, ast.Name)} - {"T", "LN", *functions})
    if unknown:
        faults.append(Fault(where, "names no function", ", ".join(unknown), "a function of functions.csv"))
        return None
    try:
        _terms(tree, dict.fromkeys(functions, ast.Constant(1.0)))
    except _OddTermError as error:
        faults.append(Fault(where, "holds something else than sums and products", shown(str(error)), allowed))
        return None
    return tree


class _OddTermError(ValueError):
    """A part of an expression that is none of the allowed ones."""


def _terms(tree: ast.expr, known: Mapping[str, ast.expr]) -> Terms:
    """Return an expression as coefficients by powers of T and ln T."""
    match tree:
        case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
            return {(0, 0): float(value)}
        case ast.Name(id="T"):
            return {(1, 0): 1.0}
        case ast.Name(id=name):
            return _terms(known[name], known)
        case ast.Call(func=ast.Name(id="LN"), args=[ast.Name(id="T")]):
            return {(0, 1): 1.0}
        case ast.UnaryOp(op=ast.UAdd(), operand=operand):
            return _terms(operand, known)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return {key: -value for key, value in _terms(operand, known).items()}
        case ast.BinOp(left=ast.Name(id="T"), op=ast.Pow(), right=exponent):
            power = _terms(exponent, known)
            if set(power) == {(0, 0)} and power[0, 0].is_integer():
                return {(int(power[0, 0]), 0): 1.0}
        case ast.BinOp(left=left, op=ast.Add() | ast.Sub() as op, right=right):
            total = dict(_terms(left, known))
            sign = 1 if isinstance(op, ast.Add) else -1
            for key, value in _terms(right, known).items():
                total[key] = total.get(key, 0.0) + sign * value
            return total
        case ast.BinOp(left=left, op=ast.Mult(), right=right):
            product: Terms = {}
            for (p, q), one in _terms(left, known).items():
                for (r, s), other in _terms(right, known).items():
                    product[p + r, q + s] = product.get((p + r, q + s), 0.0) + one * other
            return product
    raise _OddTermError(ast.unparse(tree))


def systems_table(folder: Path) -> dict[str, object]:
    """Return the grades of systems as the table holds them."""
    return read_toml(folder / "systems.toml", "the grades of systems")
