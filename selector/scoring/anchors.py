"""Anchors as things that somebody stands up for: drafts taken from a list, stale weights, and levels beyond them.

A weight is given for the step from the worst to the best anchor, so a moved anchor leaves the weight without meaning
until somebody confirms it. A point in between may move: it bends the curve and leaves the step as it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from selector.brief import Preference
from selector.errors import Fault, InputError, shown
from selector.figures import figure
from selector.scoring.criteria import CRITERIA, Level
from selector.scoring.values import FULL, Points

CONFIRMED = " (confirmed: "
LONGEST_REASON = 400  # of a brief's field


@dataclass(frozen=True)
class Step:
    """The levels at which a curve is worth 0 and those at which it is worth 100, in the criterion's unit."""

    worst: tuple[float, ...]
    best: tuple[float, ...]

    @property
    def text(self) -> str:
        """Return the step in words."""
        return f"{' or '.join(map(figure, self.worst))} to {' or '.join(map(figure, self.best))}"


def step(points: Points) -> Step:
    """Return the step from worst to best that a swing weight speaks of."""
    return Step(
        tuple(level for level, worth in points if worth == 0), tuple(level for level, worth in points if worth == FULL)
    )


@dataclass(frozen=True)
class Stale:
    """A weight that was given for another step than the anchors now make."""

    criterion: str
    given_for: Step
    now: Step
    text: str


def stale(before: Sequence[Preference], after: Sequence[Preference]) -> tuple[Stale, ...]:
    """Return the weights of `after` that nobody has confirmed for the anchors they now stand beside, and why.

    Parameters
    ----------
    before, after : sequence of Preference
        The same twice asks about marks alone. `swing_for` says which anchors the swing points were given for; without
        it they were given for the anchors in `before`, and a new criterion is taken as it stands.

    Returns
    -------
    tuple of Stale
        In the order of `after`; only criteria that carry weight.
    """
    earlier = {entry.criterion: entry for entry in before}
    found = []
    for entry in after:
        old = earlier.get(entry.criterion, entry)
        given_for, now = step(entry.swing_for or old.swing_for or old.points), step(entry.points)
        if entry.swing > 0 and given_for != now:
            text = (
                f"{_title(entry.criterion)}: {figure(entry.swing)} swing points were given for the step"
                f" {given_for.text}; the anchors now make it {now.text}"
            )
            found.append(Stale(entry.criterion, given_for, now, text))
    return tuple(found)


def moved(entry: Preference, points: Points, reason: str, author: str, set_on: date) -> Preference:
    """Return a preference with new anchors, signed, that remembers which anchors its swing points were given for."""
    changes = {
        "points": tuple((float(level), float(worth)) for level, worth in points),
        "swing_for": entry.swing_for or entry.points,
        "reason": reason,
        "author": author,
        "set_on": set_on,
        "draft": False,
    }
    return Preference.model_validate({**entry.model_dump(), **changes})


def confirmed(entry: Preference, author: str, set_on: date, swing: float | None = None, reason: str = "") -> Preference:
    """Return a preference whose swing points, old or new, somebody has given for the anchors as they stand now.

    Who set the anchors, when and why stays as it was; who confirmed the weight, when and why stands behind the reason,
    the last one only.
    """
    now = entry.swing if swing is None else swing
    what = "weight" if now == entry.swing else f"weight {figure(now)} instead of {figure(entry.swing)}"
    why = f": {' '.join(reason.split())}" if reason.strip() else ""
    kept = entry.reason.partition(CONFIRMED)[0]
    room = LONGEST_REASON - len(f"{kept}{CONFIRMED}{what} by {author} on {set_on})") - 2
    if len(why) > max(room, 0) + 2:
        fault = Fault(
            "reason", "is too long beside the earlier one", shown(reason), f"at most {max(room, 0)} characters"
        )
        raise InputError("the anchors", [fault])
    told = f"{kept}{CONFIRMED}{what} by {author} on {set_on}{why})"
    return Preference.model_validate({**entry.model_dump(), "swing_for": entry.points, "swing": now, "reason": told})


def draft_from_list(
    criterion: str, levels: Sequence[Level], higher: bool, swing: float, author: str, set_on: date
) -> Preference:
    """Return anchors at the least and greatest known level of a list, marked as a draft.

    Parameters
    ----------
    criterion : str
    levels : sequence of Level
        Of the alloys on the list; unknown ones count for nothing.
    higher : bool
        Whether a higher level is better.
    swing : float
        0 to 100 points.
    author, set_on
        Who asked for the draft, and when.

    Raises
    ------
    InputError
        Fewer than two different known levels: such a list offers no anchors.

    Notes
    -----
    Such anchors make a score depend on the list, which is why the mark travels with them until `moved` takes it off.
    """
    known = [level.value for level in levels if level.value is not None]
    if len(set(known)) < 2:
        allowed, remedy = "two different known levels", "set anchors that can be defended"
        fault = Fault(criterion, "offers no anchors on this list", shown(sorted(set(known))), allowed, remedy)
        raise InputError("the draft anchors", [fault])
    low, high = min(known), max(known)
    points = ((low, 0.0), (high, FULL)) if higher else ((low, FULL), (high, 0.0))
    reason = f"taken from the list: the least and greatest of {len(known)} known levels; to be replaced"
    return Preference(
        criterion=criterion, points=points, swing=swing, reason=reason, author=author, set_on=set_on, draft=True
    )


def drafts(preferences: Sequence[Preference]) -> tuple[str, ...]:
    """Return a sentence for each weighed criterion whose anchors are a draft taken from the list."""
    return tuple(
        f"{_title(entry.criterion)}: the anchors {step(entry.points).text} are a draft taken from the list"
        for entry in preferences
        if entry.draft and entry.swing > 0
    )


@dataclass(frozen=True)
class Clipping:
    """How many alloys lie beyond the anchors of a criterion, where the curve no longer tells them apart.

    Parameters
    ----------
    criterion : str
    below, above : int
        Known levels beyond the lowest and the highest anchor.
    partly : int
        Levels within, whose interval reaches beyond.
    known : int
        Alloys with a known level.
    """

    criterion: str
    below: int
    above: int
    partly: int
    known: int

    @property
    def text(self) -> str:
        """Return the count in words, empty where nothing is clipped."""
        parts = [
            f"{count} {place}"
            for count, place in (
                (self.below, "below the lowest anchor"),
                (self.above, "above the highest anchor"),
                (self.partly, "with an interval that reaches beyond"),
            )
            if count
        ]
        return f"{_title(self.criterion)}: of {self.known} alloys {', '.join(parts)}" if parts else ""


def clipping(preferences: Sequence[Preference], levels: Sequence[Sequence[Level]]) -> tuple[Clipping, ...]:
    """Return the counts for each criterion.

    Parameters
    ----------
    preferences : sequence of n Preference
    levels : sequence of m rows of n Level
    """
    found = []
    for j, entry in enumerate(preferences):
        first, last = entry.points[0][0], entry.points[-1][0]
        known = [row[j] for row in levels if row[j].value is not None]
        below = sum(level.value < first for level in known if level.value is not None)
        above = sum(level.value > last for level in known if level.value is not None)
        partly = sum(
            first <= level.value <= last and (level.low < first or level.high > last)
            for level in known
            if level.value is not None and level.low is not None and level.high is not None
        )
        found.append(Clipping(entry.criterion, below, above, partly, len(known)))
    return tuple(found)


def _title(criterion: str) -> str:
    return CRITERIA[criterion].title if criterion in CRITERIA else criterion
