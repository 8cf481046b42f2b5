"""The remelt onset of an alloy as typed: the catalogue's, else computed, and never one on which no limit may rest."""

import math

from selector.asked import Named
from selector.catalogue import Catalogue
from selector.catalogue.evidence import Evidence, nothing
from selector.enquiry.report import problem_of
from selector.errors import InputError
from selector.melting.coverage import INDICATIVE
from selector.melting.onset import EVIDENCE_GRADE, NAME, SOURCE, UNIT, remelt_onset
from selector.melting.store import melting_of

NO_LIMIT = "computed melting is indicative only: no limit may rest on it"


def onset_of(alloy: Named, catalogue: Catalogue) -> Evidence:
    """Return the remelt onset, degC, by which every rule judges the alloy; nothing where none may be rested on."""
    held = catalogue.alloys.get(alloy.name)
    if held is not None:
        return remelt_onset(held)
    try:
        found = melting_of([alloy.composition], full=False)[0]
    except InputError as error:
        return nothing(NAME, UNIT, why=f"not computed: {problem_of(error)}")
    if found.onset_interval_c is None or found.grade == INDICATIVE:
        return nothing(NAME, UNIT, why="not computed" if found.onset_interval_c is None else NO_LIMIT)
    ends = outwards(*found.onset_interval_c)
    return Evidence(NAME, UNIT, None, *ends, EVIDENCE_GRADE[found.grade], "computed", SOURCE)


def outwards(low: float, high: float) -> tuple[float, float]:
    """Return the ends of an interval to a tenth, outwards, so that no figure is read finer than it is known."""
    return math.floor(round(low * 10, 6)) / 10, math.ceil(round(high * 10, 6)) / 10
