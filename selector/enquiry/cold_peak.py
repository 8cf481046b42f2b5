"""A peak at which nothing solders: under the liquidus of the alloy, where that is known at all."""

from collections.abc import Sequence

from selector.asked import Named
from selector.catalogue import Catalogue
from selector.enquiry.fields import Given
from selector.enquiry.window_case import liquidus_of
from selector.errors import Fault


def cold_peak(peak: Given, alloys: Sequence[Named | None], catalogue: Catalogue, on_page: bool) -> list[Fault]:
    """Return a fault where a stated peak lies under the lower end of every alloy's liquidus.

    Parameters
    ----------
    peak : Given
    alloys : sequence of Named or None
        Of which one has to melt: the powders of a paste.
    catalogue : Catalogue
    on_page : bool
        Whether the fault names the label of the field instead of its option.
    """
    ends = [liquidus_of(alloy, catalogue)[0] for alloy in alloys if alloy is not None]
    known = [end[0] for end in ends if end is not None]
    if peak.value is None or len(known) < len(ends) or not known or peak.value >= min(known):
        return []
    where = peak.field.label if on_page else peak.field.option
    return [
        Fault(where, "does not melt the paste", f"{peak.value:g} degC", f"at least its liquidus, {min(known):g} degC")
    ]
