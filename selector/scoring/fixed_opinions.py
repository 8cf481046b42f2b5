"""Second opinions whose order does not depend on who else is on the list: SPOTIS on fixed bounds, geometric value."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.scoring.gate import WHAT, decision_matrix, finite, items
from selector.scoring.second_opinions import Numbers, SecondOpinion, Table, evaluate, opinion
from selector.scoring.values import FULL

LEAST_WORTH = 10.0


def spotis(
    values: Table,
    alternatives: Sequence[str],
    criteria: Sequence[str],
    weights: Numbers,
    bounds: Sequence[Sequence[float]] | NDArray[np.float64],
    ideals: Numbers,
) -> SecondOpinion:
    """Return the order by SPOTIS: weighted distance to an ideal, in shares of fixed bounds.

    Parameters
    ----------
    values : array (m, n)
        Levels, each column in its own unit. One beyond a bound counts as on it, and the note says how many do.
    alternatives, criteria, weights
        As `gate.decision_matrix` takes them.
    bounds : array (n, 2)
        Fixed lower and upper end of each criterion; the anchors, say.
    ideals : sequence of float, length n
        Best level of each criterion, within its bounds: an end, or a target between them.

    Returns
    -------
    SecondOpinion
        Scores are distances, 0 at best, at most 1.

    Raises
    ------
    InputError
        What the gate refuses; bounds that do not rise, an ideal outside them; all faults at once.

    Notes
    -----
    With ideals at the ends, 1 - distance is the additive value of straight lines between the bounds.
    Source: proceedings of the IEEE conference on information fusion, 2020, as kept in a public test suite.
    """
    faults: list[Fault] = []
    names = [f"criterion {shown(name)}" for name in items(criteria, "criteria", None, faults)]
    pairs = items(bounds, "bounds", len(names), faults)
    best = items(ideals, "ideals", len(names), faults)
    ends, targets = np.full((len(names), 2), np.nan), np.full(len(names), np.nan)
    for j, (name, pair, ideal) in enumerate(zip(names, pairs, best, strict=False)):
        known = len(faults)
        given = [finite(end, f"bounds of {name}", faults) for end in items(pair, f"bounds of {name}", 2, faults)]
        targets[j] = finite(ideal, f"ideal of {name}", faults)
        if len(faults) > known:
            continue
        ends[j] = low, high = given
        allowed = f"{low:g} to {high:g}"
        if low >= high:
            faults.append(Fault(f"bounds of {name}", "do not rise", allowed))
        elif not low <= targets[j] <= high:
            faults.append(Fault(f"ideal of {name}", "is outside its bounds", f"{targets[j]:g}", allowed))
    if faults:
        raise InputError(WHAT, faults)
    # The direction is in the ideal; the gate wants one all the same.
    table = decision_matrix(values, alternatives, criteria, weights, ["higher"] * len(names)).matrix.to_numpy()
    inside = np.clip(table, ends[:, 0], ends[:, 1])
    matrix = decision_matrix(inside, alternatives, criteria, weights, ["higher"] * len(names))
    distance = evaluate("SPOTIS", matrix, ends, targets)["distance"]
    note = "Distance to the ideal on fixed bounds: lower is better."
    clipped = int((inside != table).sum())
    if clipped:
        note += f" {clipped} level{'s' if clipped > 1 else ''} beyond a bound counted as on it."
    label = "SPOTIS on fixed bounds, independent of the list"
    return opinion("SPOTIS", label, alternatives, distance, -distance, note)


def geometric_value(
    worths: Table,
    alternatives: Sequence[str],
    criteria: Sequence[str],
    weights: Numbers,
    least: float = LEAST_WORTH,
) -> SecondOpinion:
    """Return the order by the weighted geometric mean of worths: one poor worth is made up for less easily.

    Parameters
    ----------
    worths : array (m, n)
        0 to 100.
    alternatives, criteria, weights
        As `gate.decision_matrix` takes them.
    least : float
        What the worst anchor counts, above 0 and below 100: a worth of 0 would wipe out everything else. Worths are
        squeezed between it and 100. The order depends on it, and the note says so.

    Returns
    -------
    SecondOpinion
        Scores from `least` to 100.

    Raises
    ------
    InputError
        What the gate refuses; worths outside 0 to 100; `least` out of range.
    """
    faults = []
    if isinstance(least, bool) or not isinstance(least, int | float) or not 0 < least < FULL:
        faults.append(Fault("least worth", "cannot be used", shown(least), "above 0 and below 100"))
    matrix = decision_matrix(worths, alternatives, criteria, weights, ["higher"] * len(list(criteria)))
    table, shares = matrix.matrix.to_numpy(), matrix.weights.to_numpy()
    faults += [
        Fault(f"alternative {shown(alternatives[i])}, criterion {shown(criteria[j])}", "is no worth",
              shown(table[i, j]), "0 to 100")
        for i, j in np.argwhere((table < 0) | (table > FULL))
    ]  # fmt: skip
    if faults:
        raise InputError(WHAT, faults)
    squeezed = least + (FULL - least) * table / FULL
    logs = np.zeros(len(table))
    for column in range(table.shape[1]):
        logs = logs + shares[column] * np.log(squeezed[:, column])
    scores = np.exp(logs)
    note = f"Weighted geometric mean of worths: higher is better; the worst anchor counts {least:g} of 100."
    return opinion("Geometric value", "Geometric value, independent of the list", alternatives, scores, scores, note)
