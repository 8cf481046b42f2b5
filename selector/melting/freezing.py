"""Freezing without diffusion in the solids (Scheil-Gulliver), many alloys at once on one falling temperature grid.

What froze stays as it froze; what is left of the liquid moves on. This is the segregation of a real joint at its
worst, and the low-melting residue that it ends with is what melts first when the joint is heated again.
Source: Z. Metallkd. 34 (1942) 70 (from memory); the form of the step is this project's (`solidifying`).
"""

from dataclasses import dataclass

import numpy as np

from selector.melting.parameters import T_LOW_K, FloatArray
from selector.melting.solidifying import Melt, molar_mass, molten, slots, solidify
from selector.melting.tangent import demixes

STEP_K = 1.0
LAST_LIQUID = 1e-3
LOOK_EVERY = 5
HALVINGS = 3
BEYOND_K = 0.25
PRESENT = 1e-4
SAME_LIQUID = 2e-3
MOST_PER_STEP = 0.06
SUBSTEPS = 5
LEAP_SHARES = (0.25, 0.5, 0.75)


@dataclass(frozen=True)
class Freezing:
    """How alloys freeze, on one falling grid.

    Parameters
    ----------
    t_k : array (K,), K
        Falling.
    liquid_mass, liquid_moles : array (K, N)
        Fraction still liquid when the temperature is reached, 0 to 1.
    frozen : mapping of (phase, main element) to array (K, N)
        Mass fraction frozen of each solid until then; with `liquid_mass` they sum to 1.
    last_k : array (N,), K
        Where the last liquid freezes; NaN where it does not above 25 degC.
    last_mass : array (N,)
        Mass fraction that freezes there at once.
    invariant : array (N,), bool
        The last liquid froze as an invariant: with as many solids as elements, or without changing.
    settled : array (N,), bool
        False where a step did not come to rest and no invariant explains it: a failure, to be told.
    two_liquids : array (N,), bool
        The liquid wanted to split in two on the way; the model keeps it as one.
    """

    t_k: FloatArray
    liquid_mass: FloatArray
    liquid_moles: FloatArray
    frozen: dict[tuple[str, str], FloatArray]
    last_k: FloatArray
    last_mass: FloatArray
    invariant: np.ndarray
    settled: np.ndarray
    two_liquids: np.ndarray


def scheil(x: FloatArray, elements: tuple[str, ...], liquidus_k: FloatArray, step_k: float = STEP_K) -> Freezing:
    """Freeze alloys of one set of elements without diffusion in the solids.

    Parameters
    ----------
    x : array (elements, N)
        Mole fractions, all above 0.
    elements : tuple of str
    liquidus_k : array (N,), K
        Where each begins to freeze; an alloy with NaN is left alone.
    step_k : float, K

    Returns
    -------
    Freezing

    Notes
    -----
    Validity: no diffusion in the solids, full mixing in the liquid, no undercooling; the splitting of a liquid is
    told, not followed.
    """
    count = x.shape[1]
    grid = step_k * np.arange(np.ceil(np.nanmax(liquidus_k) / step_k) + 1, np.ceil(T_LOW_K / step_k), -1)
    mass = molar_mass(x, elements)
    melt = molten(x, elements)
    moles, grams = np.ones((len(grid), count)), np.ones((len(grid), count))
    history: dict[tuple[str, str], FloatArray] = {}
    last_k, last_mass = np.full(count, np.nan), np.zeros(count)
    invariant, settled, split = np.zeros(count, bool), np.ones(count, bool), np.zeros(count, bool)
    done = ~np.isfinite(liquidus_k)
    for k, t_k in enumerate(grid):
        if k:
            moles[k], grams[k] = moles[k - 1], grams[k - 1]
        columns = np.flatnonzero(~done & (liquidus_k > t_k))
        if len(columns):
            here = melt.take(columns)
            before = melt.take(columns)
            temperature = np.full(len(columns), t_k)
            # Counted on the absolute grid, so that an alloy freezes alike whatever else is in the batch.
            looked = round(t_k / step_k) % LOOK_EVERY == 0
            if looked:
                split[columns] |= demixes(temperature, here.x, elements)
            rest = solidify(here, temperature, elements, (here.left == 1.0) | looked)
            top = np.minimum(t_k + step_k, liquidus_k[columns])
            steep = np.flatnonzero(~rest | (before.left - here.left > MOST_PER_STEP))
            if len(steep):
                # A gap between two liquids may be crossed within one step, where the liquid's composition leaps.
                for share in LEAP_SHARES:
                    between = before.x[:, steep] + share * (here.x[:, steep] - before.x[:, steep])
                    split[columns[steep]] |= demixes(temperature[steep], between, elements)
                rest[steep] = _substeps(here, before, steep, temperature, top, elements)
            stuck = np.flatnonzero(~rest)
            if len(stuck):
                temperature[stuck] = _invariant(here, before, stuck, temperature[stuck], top[stuck], elements)
            closing = np.flatnonzero(~rest | (here.left < LAST_LIQUID))
            full = here.solids >= (before.x > PRESENT).sum(axis=0)
            # A compound that melts as one, or the minimum of a solution, needs fewer solids than elements.
            alike = np.abs(here.x - before.x).max(axis=0) < SAME_LIQUID
            whole = full | (alike & (here.left < before.left / 2))
            invariant[columns] |= ~rest & whole
            settled[columns] &= rest | whole | (before.left < 5 * LAST_LIQUID)
            last_k[columns[closing]] = temperature[closing]
            last_mass[columns[closing]] = _close(here, before, closing, mass[columns], elements)
            melt.put(columns, here)
            moles[k, columns] = here.left
            grams[k, columns] = here.left * molar_mass(here.x, elements) / mass[columns]
            done[columns[closing]] = True
        _book(history, melt, mass, elements, k, len(grid))
        if done.all():
            moles[k:], grams[k:] = moles[k], grams[k]
            for entries in history.values():
                entries[k:] = entries[k]
            break
    return Freezing(grid, grams, moles, history, last_k, last_mass, invariant, settled, split)


def _substeps(
    here: Melt, before: Melt, steep: np.ndarray, low: FloatArray, high: FloatArray, elements: tuple[str, ...]
) -> np.ndarray:
    """Take a step in parts where much freezes at once; return which came to rest.

    In place: `here` is set to the end, `before` and the temperatures to the last part, where that does not come to rest
    or leaves no liquid.
    """
    state = before.take(steep)
    bottom, top = low[steep], high[steep].copy()
    size = (top - bottom) / SUBSTEPS
    rests, going = np.ones(len(steep), dtype=bool), np.ones(len(steep), dtype=bool)
    for _ in range(SUBSTEPS):
        columns = np.flatnonzero(going)
        if not len(columns):
            break
        trial = state.take(columns)
        rest = solidify(trial, top[columns] - size[columns], elements, np.ones(len(columns), dtype=bool))
        moved = columns[rest]
        before.put(steep[moved], state.take(moved))
        state.put(moved, trial.take(np.flatnonzero(rest)))
        top[moved] -= size[moved]
        rests[columns[~rest]] = False
        going = rests & (state.left >= LAST_LIQUID)
    here.put(steep, state)
    stuck = np.flatnonzero(~rests)
    before.put(steep[stuck], state.take(stuck))
    high[steep[stuck]], low[steep[stuck]] = top[stuck], top[stuck] - size[stuck]
    over = np.flatnonzero(rests & (state.left < LAST_LIQUID))
    low[steep[over]] = top[over]
    return rests


def _invariant(
    here: Melt, before: Melt, stuck: np.ndarray, low: FloatArray, high: FloatArray, elements: tuple[str, ...]
) -> FloatArray:
    """Return where, between two temperatures, alloys stop coming to rest; set both states to that edge, in place."""
    edge, low, high = before.take(stuck), low.copy(), high.copy()
    everywhere = np.ones(len(stuck), dtype=bool)
    for _ in range(HALVINGS):
        trial = edge.take(np.arange(len(stuck)))
        middle = (low + high) / 2
        rest = solidify(trial, middle, elements, everywhere)
        settled = np.flatnonzero(rest)
        edge.put(settled, trial.take(settled))
        high, low = np.where(rest, middle, high), np.where(rest, low, middle)
    beyond = edge.take(np.arange(len(stuck)))
    # Some way under the edge the solids' shares are the same and the step is not on a knife's edge.
    solidify(beyond, low - BEYOND_K, elements, everywhere)
    before.put(stuck, edge)
    here.put(stuck, beyond)
    return (low + high) / 2


def _close(here: Melt, before: Melt, closing: np.ndarray, mass: FloatArray, elements: tuple[str, ...]) -> FloatArray:
    """Freeze what is left in the proportions of the last step, in place; return the mass fraction that this was."""
    rest = before.left[closing] * molar_mass(before.x[:, closing], elements)
    grown = here.frozen[:, :, closing] - before.frozen[:, :, closing]
    total = grown.sum(axis=(0, 1))
    scale = np.divide(rest, total, out=np.zeros_like(rest), where=total > 0)
    here.frozen[:, :, closing] = before.frozen[:, :, closing] + grown * scale
    here.left[closing] = 0.0
    fraction: FloatArray = rest / mass[closing]
    return fraction


def _book(
    history: dict[tuple[str, str], FloatArray],
    melt: Melt,
    mass: FloatArray,
    elements: tuple[str, ...],
    k: int,
    steps: int,
) -> None:
    """Write what is frozen at step k into the history, by phase and main element."""
    row = {key: np.zeros(len(mass)) for key in history}
    for p, e in zip(*np.nonzero(melt.frozen.any(axis=2)), strict=True):
        key = (slots(elements)[p], elements[e])
        if key not in history:
            history[key], row[key] = np.zeros((steps, len(mass))), np.zeros(len(mass))
        row[key] += melt.frozen[p, e] / mass
    for key, amounts in row.items():
        history[key][k] = amounts
