"""An empty file of answers for each way of asking, to be filled in: nothing in it suggests a number."""

from collections.abc import Sequence
from itertools import combinations

from selector.errors import Fault, InputError, shown
from selector.scoring.weights.answers import KINDS

HOW = {
    "swing": "points 0 to 100 for the step from worst to best, the heaviest 100",
    "direct": "any numbers, 0 or more; their shares count",
    "rank": "heaviest first; equals stand in a list of their own; the order below is the fixed one and says nothing",
    "pairs": "how many times as much the step of `one` is worth as that of `other`: 1/9 (as 0.1111) to 9, every pair",
    "bounds": "[least, most] share of all weight for each, 0 to 1",
    "ratios": "how many times the weight of `under` that of `over` is, least and most; as many as can be defended",
}


def template(kind: str, criteria: Sequence[str]) -> str:
    """Return a file of answers of one kind with its numbers left open.

    Parameters
    ----------
    kind : str
        A key of `KINDS`.
    criteria : sequence of str

    Raises
    ------
    InputError
        A kind that is none.
    """
    if kind not in KINDS:
        fault = Fault("--kind", "is not a way of asking", shown(kind), ", ".join(KINDS))
        raise InputError("the command", [fault])
    head = f'kind = "{kind}"\nauthor = "..."\ndate = 2026-11-25\nreason = "..."\n# {HOW[kind]}\n'
    if kind == "rank":
        return head + "order = [" + ", ".join(f'"{name}"' for name in criteria) + "]\n"
    if kind == "pairs":
        rows = (f'[[pair]]\none = "{one}"\nother = "{other}"\ntimes = ' for one, other in combinations(criteria, 2))
        return head + "\n".join(rows) + "\n"
    if kind == "ratios":
        return head + '[[ratio]]\nover = "..."\nunder = "..."\nleast = \nmost = \n'
    value = "[ , ]" if kind == "bounds" else ""
    return head + f"[{kind}]\n" + "\n".join(f"{name} = {value}" for name in criteria) + "\n"
