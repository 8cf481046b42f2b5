"""What one measurement would do to an alloy's place, in words: it narrows, it may settle, and others may do as much."""

from collections.abc import Sequence

from selector.findings import title_of
from selector.robustness import NOTICEABLE, Measurement
from selector.scoring.criteria import CRITERIA


def level_told(criterion: str, text: str) -> str:
    """Return a level in words; where levels are bare numbers, which end is best."""
    levels = CRITERIA[criterion].levels
    if not levels or not levels[0].isdigit() or text == "unknown":
        return text
    return f"{text} (best)" if text == levels[0] else f"{text}; {levels[0]} is best"


def effect(found: Sequence[Measurement], place: str) -> str:
    """Return the first of some measurements, what it does to a place, and how many others do about as much.

    Parameters
    ----------
    found : sequence of Measurement
        At least one, the best first.
    place : str
        Whose place: "its place", "the place of SAC305".
    """
    best = found[0]
    alike = sum(entry.places_mean - best.places_mean < NOTICEABLE for entry in found)
    settles = f"and settles it in {_percent(best.settles)} of outcomes" if best.settles > 0 else "but settles nothing"
    told = (
        f"{title_of(best.criterion)} of {best.alloy}, now {level_told(best.criterion, best.now)}, narrows {place} most,"
        f" {settles}: from {best.places_now} to {best.places_mean:.1f} places open on average,"
        " with the weights as stated"
    )
    return f"{told}; {alike} figures are about equal in this" if alike > 1 else told


def _percent(share: float) -> str:
    return "under 1 %" if share < 0.01 else f"{100 * share:.0f} %"
