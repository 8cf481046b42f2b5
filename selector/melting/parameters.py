"""The thermodynamic tables of `data/thermo/`, read, checked and turned into coefficients that numpy can evaluate.

An expression is a sum of terms c * T^p * (ln T)^q, in J/mol with T in kelvin, in pieces over temperature; names of
functions (lattice stabilities) are resolved here, so that above this room every parameter is a row of numbers.
"""

import ast
import hashlib
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
        tree = _tree(row["expression"], where, faults)
        if parameter is not None and tree is not None:
            low, high = float(row["t_low_k"]), float(row["t_high_k"])
            read.append((parameter, low, high, tree))
            breaks |= {low, high}
    if faults:
        raise InputError("the thermodynamic tables", faults)
    inner = np.array(sorted(edge for edge in breaks if T_LOW_K < edge < T_HIGH_K))
    edges = np.array([T_LOW_K, *inner, T_HIGH_K])
    middles = (edges[:-1] + edges[1:]) / 2
    ranges: dict[Parameter, list[tuple[float, float]]] = {}
    for parameter, low, high, _ in read:
        ranges.setdefault(parameter, []).append((low, high))
    values: dict[Parameter, list[Terms]] = {parameter: [{} for _ in middles] for parameter in ranges}
    for k, middle in enumerate(middles):
        known = {name: _piece(pieces, middle) for name, pieces in functions.items()}
        for parameter, low, high, tree in read:
            if low <= middle < high:
                try:
                    values[parameter][k] = _terms(tree, known)
                except KeyError as error:
                    faults.append(Fault(f"parameters.csv, {parameter.phase}", "names no function", str(error)))
        for parameter, spans in ranges.items():
            if not any(low <= middle < high for low, high in spans):
                place = f"parameters.csv, {parameter.phase} {parameter.constituents}"
                faults.append(Fault(place, "has no piece", f"{middle:.0f} K", f"{T_LOW_K:g} to {T_HIGH_K:g} K"))
    if faults:
        raise InputError("the thermodynamic tables", faults)
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
        ratios = tuple(float(ratio) for ratio in row["site_ratios"].split(":"))
        unknown = sorted({e for sublattice in constituents for e in sublattice} - set(ELEMENTS))
        if unknown or len(ratios) != len(constituents):
            place = f"phases.csv, row {number}"
            faults.append(Fault(place, "does not fit", shown(row["constituents"]), "one site ratio a sublattice"))
            continue
        phases[row["phase"]] = Phase(row["phase"], ratios, constituents, row["name"], row["note"])
    return phases


def _functions(folder: Path, faults: list[Fault]) -> dict[str, list[tuple[float, float, ast.expr]]]:
    functions: dict[str, list[tuple[float, float, ast.expr]]] = {}
    for number, row in enumerate(read_table(folder / "functions.csv", "the functions"), start=2):
        tree = _tree(row["expression"], f"functions.csv, row {number}", faults)
        if tree is not None:
            piece = (float(row["t_low_k"]), float(row["t_high_k"]), tree)
            functions.setdefault(row["function"], []).append(piece)
    # A liquid's function is written upon its solid's: resolve the plain ones first.
    return dict(sorted(functions.items(), key=lambda item: not item[0].startswith("GHSER")))


def _piece(pieces: list[tuple[float, float, ast.expr]], middle: float) -> ast.expr:
    # Beyond its last piece a function goes on with it; `read_thermo` keeps temperatures within 1700 K.
    return next((tree for low, high, tree in pieces if low <= middle < high), pieces[-1][2])


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


def _tree(text: str, where: str, faults: list[Fault]) -> ast.expr | None:
    try:
        return ast.parse(text.strip(), mode="eval").body
    except SyntaxError:
        faults.append(Fault(where, "cannot be read", shown(text), "a sum of terms in T and LN(T)"))
        return None


def _terms(tree: ast.expr, known: Mapping[str, ast.expr]) -> Terms:
    """Return an expression as coefficients by powers of T and ln T."""
    match tree:
        case ast.Constant(value=int() | float() as value):
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
            return {(int(_terms(exponent, known)[0, 0]), 0): 1.0}
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
    raise InputError(
        "the thermodynamic tables",
        [Fault("expression", "holds something else than sums and products", shown(ast.unparse(tree)))],
    )


def systems_table(folder: Path) -> dict[str, object]:
    """Return the grades of systems as the table holds them."""
    return read_toml(folder / "systems.toml", "the grades of systems")
