"""What is known of a composition: nominal contents, what was measured, and what the alloy names as its own."""

from fractions import Fraction
from typing import NamedTuple

from selector.compliance.context import Context
from selector.composition import Composition

ZERO = Fraction(0)


class Contents(NamedTuple):
    """Contents by element, which of them were measured, and which are named constituents (None: not known).

    `stated` holds the nominal contents of elements for which a measurement says otherwise.
    """

    ppm: dict[str, Fraction]
    measured: frozenset[str]
    named: frozenset[str] | None
    stated: dict[str, Fraction]

    def of(self, element: str) -> Fraction:
        """Return the content of an element in ppm, 0 where nothing names it."""
        return self.ppm.get(element, ZERO)


def contents(composition: Composition, context: Context) -> Contents:
    """Return what a composition holds in its context: measured traces beside the nominal contents."""
    ppm = {element: composition.ppm(element) for element, _ in composition.parts}
    traces = dict(context.traces)
    measured = frozenset(traces) | (frozenset(ppm) if context.judged == "certificate" else frozenset())
    named = context.declared
    if named is None and context.judged != "certificate":
        named = frozenset(ppm)
    stated = {element: ppm[element] for element, content in traces.items() if ppm.get(element, content) != content}
    return Contents({**ppm, **traces}, measured, named, stated)
