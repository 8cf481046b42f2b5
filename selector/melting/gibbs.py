"""Gibbs energy of phases and its slope by site fraction, for many compositions at once.

Two kinds: substitutional solutions (Redlich-Kister-Muggianu), all of a set of elements stacked so that one call serves
them all, and compounds with sublattices (compound energy formalism). The site axis comes first, then the columns.
J/mol of formula unit, kelvin. Source: common practice in CALPHAD (J. Alloys Compd. 320 (2001) 161, from memory).
"""

from dataclasses import dataclass
from functools import cache
from itertools import combinations

import numpy as np

from selector.melting.parameters import LIQUID, FloatArray, Parameter, Phase, thermo

R_J_MOL_K = 8.3145  # as pycalphad has it, so that both engines minimise the same function
SMALLEST_FRACTION = 1e-300
FORBIDDEN_J = 1e7  # stands in for an element that a phase does not take up


@dataclass(frozen=True)
class Triple:
    """A ternary interaction of three elements, with the element that a composition-dependent term belongs to."""

    sites: tuple[int, int, int]
    own: int | None
    rows: np.ndarray


@dataclass(frozen=True)
class Strengths:
    """The parameters of a stack of solutions, gathered for columns: energies (sites, C), pairs (orders, pairs, C)."""

    pure: FloatArray
    pairs: FloatArray
    triples: tuple[FloatArray, ...]

    def take(self, columns: np.ndarray) -> "Strengths":
        """Return some columns."""
        triples = tuple(strength[columns] for strength in self.triples)
        return Strengths(self.pure[:, columns], self.pairs[:, :, columns], triples)


@dataclass(frozen=True)
class Solutions:
    """Substitutional solutions in one set of elements, stacked.

    Parameters
    ----------
    phases : tuple of Phase
    elements : tuple of str
        Sites stand in this order.
    pure_rows : array (phases, elements), int
        Rows of the table of parameters; -1 where the phase does not take the element.
    first, second : arrays (pairs,), int
    pair_rows : array (orders, phases, pairs), int
        -1 where there is no such interaction.
    triples : tuple of Triple
    """

    phases: tuple[Phase, ...]
    elements: tuple[str, ...]
    pure_rows: np.ndarray
    first: np.ndarray
    second: np.ndarray
    pair_rows: np.ndarray
    triples: tuple[Triple, ...]
    scatter_first: FloatArray
    scatter_second: FloatArray

    @property
    def site_moles(self) -> FloatArray:
        """Return moles a site: one sublattice of one mole."""
        return np.ones(len(self.elements))

    @property
    def site_element(self) -> np.ndarray:
        """Return the element of each site."""
        return np.arange(len(self.elements))

    @property
    def sublattices(self) -> tuple[slice, ...]:
        """Return the one sublattice."""
        return (slice(0, len(self.elements)),)

    moles = 1.0

    def gather(self, values: FloatArray, phase: np.ndarray, column: np.ndarray) -> Strengths:
        """Return the parameters for pairs of phase and column.

        Parameters
        ----------
        values : array (parameters, N)
        phase, column : arrays (C,), int
            Which phase of the stack, at which column of `values`.
        """
        rows = self.pure_rows[phase].T
        pure = np.where(rows < 0, FORBIDDEN_J, values[rows, column])
        rows = np.moveaxis(self.pair_rows[:, phase], 1, 2)
        pairs = np.where(rows < 0, 0.0, values[rows, column])
        triples = []
        for triple in self.triples:
            row = triple.rows[phase]
            triples.append(np.where(row < 0, 0.0, values[row, column]))
        return Strengths(pure, pairs, tuple(triples))

    def energy(self, strengths: Strengths, x: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return reference plus excess energy without the entropy of mixing, and its slope by site fraction.

        Parameters
        ----------
        strengths : Strengths
        x : array (elements, C)

        Returns
        -------
        energy : array (C,), slope : array (elements, C)
        """
        one, other = x[self.first], x[self.second]
        gap, both = one - other, one * other
        term, by_gap = np.zeros_like(gap), np.zeros_like(gap)
        for strength in strengths.pairs[::-1]:
            by_gap = by_gap * gap + term
            term = term * gap + strength
        bent = both * by_gap
        slope = strengths.pure + self.scatter_first @ (other * term + bent) + self.scatter_second @ (one * term - bent)
        energy = (strengths.pure * x).sum(axis=0) + (both * term).sum(axis=0)
        for triple, strength in zip(self.triples, strengths.triples, strict=True):
            a, b, c = triple.sites
            weight: FloatArray | float = 1.0
            if triple.own is not None:
                weight = x[triple.own] + (1.0 - x[a] - x[b] - x[c]) / 3.0
                whole = strength * x[a] * x[b] * x[c]
                for site in triple.sites:
                    slope[site] += whole * ((1.0 if site == triple.own else 0.0) - 1.0 / 3.0)
            slope[a] += strength * weight * x[b] * x[c]
            slope[b] += strength * weight * x[a] * x[c]
            slope[c] += strength * weight * x[a] * x[b]
            energy = energy + strength * weight * x[a] * x[b] * x[c]
        return energy, slope

    def potentials(self, strengths: Strengths, t_k: FloatArray, x: FloatArray) -> FloatArray:
        """Return chemical potentials (elements, C), J/mol.

        Absent elements stand at about -700 RT, low enough that no solid takes them up.
        """
        energy, slope = self.energy(strengths, x)
        ideal = R_J_MOL_K * t_k * np.log(np.maximum(x, SMALLEST_FRACTION))
        potentials: FloatArray = energy + slope - (x * slope).sum(axis=0) + ideal
        return potentials

    def curvature(self, strengths: Strengths, t_k: FloatArray, x: FloatArray) -> FloatArray:
        """Return second derivatives (elements, elements, C) of the energy with its entropy of mixing."""
        n = len(self.elements)
        hessian = np.zeros((n, n, x.shape[1]))
        hessian[range(n), range(n)] = R_J_MOL_K * t_k / np.maximum(x, 1e-12)
        i, j = self.first, self.second
        one, other = x[i], x[j]
        gap, both = one - other, one * other
        term, by_gap, twice = np.zeros_like(gap), np.zeros_like(gap), np.zeros_like(gap)
        for strength in strengths.pairs[::-1]:
            twice = twice * gap + 2 * by_gap
            by_gap = by_gap * gap + term
            term = term * gap + strength
        np.add.at(hessian, (i, i), 2 * other * by_gap + both * twice)
        np.add.at(hessian, (j, j), -2 * one * by_gap + both * twice)
        cross = term + gap * by_gap - both * twice
        hessian[i, j] += cross
        hessian[j, i] += cross
        for triple, strength in zip(self.triples, strengths.triples, strict=True):
            a, b, c = triple.sites
            weight: FloatArray | float = 1.0
            by_site = dict.fromkeys(triple.sites, 0.0)
            if triple.own is not None:
                weight = x[triple.own] + (1.0 - x[a] - x[b] - x[c]) / 3.0
                by_site = {site: (1.0 if site == triple.own else 0.0) - 1.0 / 3.0 for site in triple.sites}
            for p, q, rest in ((a, b, c), (a, c, b), (b, c, a)):
                cross = strength * x[rest] * (weight + by_site[p] * x[p] + by_site[q] * x[q])
                hessian[p, q] += cross
                hessian[q, p] += cross
                hessian[rest, rest] += 2 * strength * by_site[rest] * x[p] * x[q]
        return hessian


@dataclass(frozen=True)
class Product:
    """A parameter times site fractions: an end member of a compound, or an interaction on one sublattice."""

    row: int
    sites: tuple[int, ...]
    pair: tuple[int, int] | None
    order: int


@dataclass(frozen=True)
class Compound:
    """A compound with sublattices in one set of elements.

    Parameters
    ----------
    phase : Phase
    elements : tuple of str
    site_element : array (sites,), int
    site_moles : array (sites,)
    sublattices : tuple of slice
    products : tuple of Product
    """

    phase: Phase
    elements: tuple[str, ...]
    site_element: np.ndarray
    site_moles: FloatArray
    sublattices: tuple[slice, ...]
    products: tuple[Product, ...]

    @property
    def moles(self) -> float:
        """Return moles of atoms a formula unit."""
        return sum(self.phase.site_ratios)

    @property
    def is_line(self) -> bool:
        """Return whether the composition is fixed."""
        return all(part.stop - part.start == 1 for part in self.sublattices)

    def composition(self, y: FloatArray) -> FloatArray:
        """Return mole fractions (elements, C) of site fractions (sites, C)."""
        x = np.zeros((len(self.elements), y.shape[1]))
        np.add.at(x, self.site_element, self.site_moles[:, None] * y)
        return x / self.moles

    def energy(self, values: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return energy (C,) without the entropy of mixing, and slope (sites, C), from `values` (parameters, C)."""
        energy, slope = np.zeros(y.shape[1]), np.zeros_like(y)
        for product in self.products:
            value = values[product.row]
            factors = [y[site] for site in product.sites]
            whole = np.prod(factors, axis=0)
            extra: FloatArray | float = 1.0
            if product.pair is not None and product.order:
                first, second = product.pair
                gap = y[first] - y[second]
                extra = gap**product.order
                by_gap = value * whole * product.order * gap ** (product.order - 1)
                slope[first] += by_gap
                slope[second] -= by_gap
            energy += value * whole * extra
            for k, site in enumerate(product.sites):
                others = [factor for n, factor in enumerate(factors) if n != k]
                slope[site] += value * extra * np.prod(others, axis=0)
        return energy, slope


@dataclass(frozen=True)
class Lines:
    """Compounds of fixed composition in one set of elements: mole fractions (elements, phases) and their rows."""

    phases: tuple[Phase, ...]
    compositions: FloatArray
    rows: np.ndarray
    moles: FloatArray

    def forces(self, values: FloatArray, mu: FloatArray) -> FloatArray:
        """Return driving forces (phases, N), J/mol of atoms, under planes mu (elements, N)."""
        forces: FloatArray = self.compositions.T @ mu - values[self.rows] / self.moles[:, None]
        return forces


@dataclass(frozen=True)
class System:
    """Every phase of the shipped tables that a set of elements can form."""

    elements: tuple[str, ...]
    liquid: Solutions
    solutions: Solutions
    compounds: tuple[Compound, ...]
    lines: Lines

    def liquid_strengths(self, values: FloatArray) -> Strengths:
        """Return the liquid's parameters for every column of `values`."""
        count = values.shape[1]
        return self.liquid.gather(values, np.zeros(count, dtype=int), np.arange(count))


@cache
def system(elements: tuple[str, ...]) -> System:
    """Return the phases of a set of elements, which stands in alphabetical order."""
    single: list[Phase] = []
    compounds: list[Compound] = []
    lines: list[Compound] = []
    for phase in thermo().phases.values():
        if not all(set(sublattice) & set(elements) for sublattice in phase.constituents):
            continue
        if len(phase.constituents) == 1:
            single.append(phase)
        else:
            compound = _compound(phase, elements)
            (lines if compound.is_line else compounds).append(compound)
    return System(
        elements,
        _solutions([phase for phase in single if phase.id == LIQUID], elements),
        _solutions([phase for phase in single if phase.id != LIQUID], elements),
        tuple(compounds),
        Lines(
            tuple(line.phase for line in lines),
            np.array([line.composition(np.ones((len(line.site_moles), 1)))[:, 0] for line in lines])
            .reshape(-1, len(elements))
            .T,
            np.array([line.products[0].row for line in lines], dtype=int),
            np.array([line.moles for line in lines]),
        ),
    )


def _within(phase: Phase, elements: tuple[str, ...]) -> dict[Parameter, int]:
    return {
        parameter: row
        for row, parameter in enumerate(thermo().parameters)
        if parameter.phase == phase.id and all(e in elements for part in parameter.constituents for e in part)
    }


def _solutions(phases: list[Phase], elements: tuple[str, ...]) -> Solutions:
    n = len(elements)
    pairs = list(combinations(range(n), 2))
    known = [_within(phase, elements) for phase in phases]
    orders = 1 + max((p.order for table in known for p in table if len(p.constituents[0]) == 2), default=0)
    pure = np.full((len(phases), n), -1)
    rows = np.full((orders, len(phases), len(pairs)), -1)
    first, second = np.array(pairs, dtype=int).reshape(-1, 2).T
    triples: dict[tuple[tuple[int, int, int], int | None], np.ndarray] = {}
    for s, table in enumerate(known):
        for parameter, row in table.items():
            at = tuple(elements.index(e) for e in parameter.constituents[0])
            if len(at) == 1:
                pure[s, at[0]] = row
            elif len(at) == 2:
                # The tables name the elements of a pair in alphabetical order, which signs the odd orders.
                rows[parameter.order, s, pairs.index((at[0], at[1]))] = row
            else:
                several = sum(other.constituents == parameter.constituents for other in table) > 1
                key = (at[0], at[1], at[2]), at[parameter.order] if several else None
                triples.setdefault(key, np.full(len(phases), -1))[s] = row
    eye = np.eye(n)
    return Solutions(
        tuple(phases),
        elements,
        pure,
        first,
        second,
        rows,
        tuple(Triple(sites, own, rows_of) for (sites, own), rows_of in triples.items()),
        eye[:, first],
        eye[:, second],
    )


def _compound(phase: Phase, elements: tuple[str, ...]) -> Compound:
    kept = [[e for e in sublattice if e in elements] for sublattice in phase.constituents]
    sites = [(s, element) for s, sublattice in enumerate(kept) for element in sublattice]
    where = {site: k for k, site in enumerate(sites)}
    edges = np.cumsum([0, *map(len, kept)])
    products = []
    for parameter, row in _within(phase, elements).items():
        given = parameter.constituents
        mixed = next((s for s, names in enumerate(given) if len(names) == 2), None)
        pair = None if mixed is None else (where[mixed, given[mixed][0]], where[mixed, given[mixed][1]])
        on = tuple(where[s, element] for s, names in enumerate(given) for element in names)
        products.append(Product(row, on, pair, parameter.order))
    return Compound(
        phase,
        elements,
        np.array([elements.index(element) for _, element in sites]),
        np.array([phase.site_ratios[s] for s, _ in sites]),
        tuple(slice(int(edges[s]), int(edges[s + 1])) for s in range(len(kept))),
        tuple(products),
    )
