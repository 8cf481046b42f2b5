"""How sure an order is, in sentences a chairman can read out and rows a sceptic can check."""

from collections.abc import Sequence
from math import isfinite

from selector.findings import title_of
from selector.leaning import Leaning, leaning
from selector.measurement_words import effect, level_told
from selector.robustness import KNOWLEDGE, Contender, Measurement, Robustness, noticeable
from selector.scoring.acceptability import chance_text
from selector.scoring.ranking import TIE

FEW = 3
FIRST = "drawn first"
# A lead under a twentieth of a point is no lead that a person would speak of.
LEVEL = 0.05
SELDOM = 0.01
FOLDED = "first in under 1 % of draws, and by no such weights as they rank now"


def sentence(found: Robustness) -> str:
    """Return what a chairman reads out: who leads, how firmly, who may overtake, what would settle it."""
    first, others = found.contenders[0], found.contenders[1:]
    if not others:
        return f"{first.alloy} is the only alloy admitted: there is nothing to weigh it against."
    open_rivals = [entry.alloy for entry in others if entry.alloy not in first.never_above]
    level = _level(found)
    head = f"{first.alloy} has the best assured score (lower bound) of {len(found.contenders)} admitted alloys"
    name = "it"
    if level:
        head = f"{listed([first.alloy, *level])} stand level at the head of {len(found.contenders)} admitted alloys"
        name = first.alloy
    known = f"knowing {known_of(found)}"
    if not open_rivals:
        return f"{head}, and firmly: {known}, none of the others can overtake {name}, whatever the open figures."
    hopeless = [entry.alloy for entry in others if not entry.can_lead_at_best]
    text = (
        f"{head}, but not firmly: {known}, {name} is first in {drawn(found, 0)}, and"
        f" {listed(open_rivals)} may stand above it.{more_often(found)}"
    )
    if hopeless:
        text += f" {listed(hopeless)} cannot be first under any such weights, even with open figures at their best."
    return f"{text} {settling(found.measurements)}"


def _level(found: Robustness) -> list[str]:
    """Return who has the leader's score under the stated weights, as the order goes."""
    first, others = found.contenders[0], found.contenders[1:]
    return [entry.alloy for entry in others if first.score_low - entry.score_low <= TIE]


def known_of(found: Robustness) -> str:
    """Return what is known of the weights, and whose weights they are."""
    told = KNOWLEDGE[found.knowledge]
    if found.knowledge == "nothing":
        return told
    origin = found.decision.weighing.origin
    return f"{told} ({origin.partition(':')[0] if origin.startswith('preset') else origin})"


def more_often(found: Robustness) -> str:
    """Return which alloy is first in more draws than the leader, and in how many; empty where none is."""
    row = max(range(len(found.contenders)), key=lambda i: float(found.chances.first[i]))
    if float(found.chances.first[row]) <= float(found.chances.first[0]):
        return ""
    return f" {found.contenders[row].alloy} is first more often, in {drawn(found, row)}."


def companion(found: Robustness) -> str:
    """Return the leader's weighty figures that no interval covers, and whether a likely error of one loses the lead."""
    told = [_leaned_on(entry) for entry in leaning(found.decision)]
    return f"Taken as exact although of low grade: {'; '.join(told)}." if told else ""


def _leaned_on(entry: Leaning) -> str:
    loses = f"loses the lead to {entry.rival}" if entry.rival else "does not lose the lead"
    return (
        f"{title_of(entry.criterion)}, {level_told(entry.criterion, entry.now)} by {entry.source}, carries"
        f" {entry.points:.1f} of {entry.score:.1f} points, and {entry.lapse} {loses}"
    )


def settling(found: Sequence[Measurement]) -> str:
    """Return which measurement would narrow the leader's place most and what that comes to, in one sentence."""
    told = [entry for entry in found if noticeable(entry)]
    if not told:
        return (
            "No single measurement would narrow its place by much: the doubt lies in several figures at once or in the"
            " weights."
        )
    return f"Measuring {effect(told, 'its place')}."


def drawn(found: Robustness, row: int) -> str:
    """Return in how many draws an alloy was first, with the standard error; a zero is a bound, never a "cannot"."""
    return chance_text(float(found.chances.first[row]), found.chances.effective).replace(" %", " % of draws", 1)


def challengers(found: Robustness) -> tuple[str, ...]:
    """Return, for each admitted alloy behind the leader, in one sentence whether and how it can lead."""
    return tuple(_challenger(found, entry) for entry in found.contenders[1:])


def _challenger(found: Robustness, entry: Contender) -> str:
    leader, row = found.contenders[0], found.contenders.index(entry)
    seen = f"{FIRST}: {drawn(found, row)}"
    if entry.alloy in leader.never_above:
        return f"{entry.alloy}: no such weights put it above {leader.alloy}, whatever the open figures."
    if entry.lead > LEVEL:
        return f"{entry.alloy}: some such weights put it first, by up to {entry.lead:.1f} points; {seen}."
    if entry.can_lead:
        return f"{entry.alloy}: under some such weights it shares the first place with {entry.nearest}; {seen}."
    if entry.can_lead_at_best:
        return (
            f"{entry.alloy}: no such weights put it first as it ranks now ({-entry.lead:.1f} points short), but they"
            f" may if open figures fall its way; {seen}."
        )
    return (
        f"{entry.alloy}: no such weights put it first, even with open figures at their best"
        f" ({-entry.lead_at_best:.1f} points short)."
    )


def split(found: Robustness) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the challengers' sentences, whom draws put first most often before the rest, and those to fold away.

    Folded is only who is first in under 1 % of draws and by no admissible weights as it ranks now.
    """
    told = dict(zip(found.contenders[1:], challengers(found), strict=True))
    chance = {entry: float(found.chances.first[row]) for row, entry in enumerate(found.contenders)}
    order = sorted(told, key=lambda entry: (-chance[entry], -entry.lead))
    seldom = [entry for entry in order if chance[entry] < SELDOM and not entry.can_lead]
    return tuple(told[entry] for entry in order if entry not in seldom), tuple(told[entry] for entry in seldom)


def overturn_lines(found: Robustness) -> tuple[str, ...]:
    """Return the smallest changes that bring a rival level with the leader, each in one sentence, and what does not."""
    if len(found.contenders) < 2:
        return ()
    if level := _level(found):
        stands = "stands" if len(level) == 1 else "stand"
        return (f"{listed(level)} {stands} level with {found.leader} already, under the weights as stated.",)
    head = {
        "weights": "Weights: {size:.1f} % of all weight changing hands brings {rival} level ({text}).",
        "value": "One value: {size:.1f} points of worth, 100 being the whole range from worst to best anchor, bring"
        " {rival} level ({text}).",
        "anchor": "One anchor: moving {text} brings {rival} level.",
    }
    told: dict[str, str] = {
        entry.kind: head[entry.kind].format(
            size=100 * entry.size if entry.kind == "weights" else entry.size, rival=entry.rival, text=entry.text
        )
        for entry in found.overturns
    }
    none = {
        "weights": "Weights: none bring a rival level, with figures as they rank now.",
        "value": "One value: none, changed alone, brings a rival level.",
        "anchor": "One anchor: none of a criterion in numbers, moved alone, brings a rival level.",
    }
    return tuple(told.get(kind, none[kind]) for kind in head)


def band_rows(found: Robustness) -> list[dict[str, object]]:
    """Return for each criterion the weight now and the weights between which the leader stays first, percent."""
    return [
        {
            "criterion": title_of(band.criterion),
            "weight": 100 * band.weight,
            "low": 100 * band.low,
            "high": 100 * band.high,
            "below": band.below,
            "above": band.above,
        }
        for band in found.bands
    ]


def contender_rows(found: Robustness) -> list[dict[str, object]]:
    """Return for each admitted alloy its score bounds, the ranks it can take, its leads and how often it was first."""
    return [
        {
            "alloy": entry.alloy,
            "score at least": round(entry.score_low, 1),
            "score at most": round(entry.score_high, 1),
            "best place": entry.best,
            "worst place": entry.worst,
            "greatest lead": _lead(entry.lead),
            "greatest lead at best": _lead(entry.lead_at_best),
            FIRST: drawn(found, row),
        }
        for row, entry in enumerate(found.contenders)
    ]


def _lead(points: float) -> float | str:
    """Return a lead rounded, or a word where there is no rival."""
    return round(points, 1) + 0.0 if isfinite(points) else "no rival"


def listed(names: Sequence[str]) -> str:
    """Return names as a phrase; beyond a few, how many more there are."""
    if len(names) > FEW:
        return f"{', '.join(names[:FEW])} and {len(names) - FEW} more"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def place_texts(found: Robustness) -> list[list[str]]:
    """Return what each cell of the chances says, percent; empty for a place that was never drawn."""
    return [["" if share <= 0 else _percent(100 * share) for share in row] for row in found.chances.shares]


def _percent(share: float) -> str:
    return "<1" if share < 1 else f"{share:.0f}" if share <= 99 or share == 100 else ">99"


def measurement_rows(found: Robustness) -> list[dict[str, object]]:
    """Return the figures that narrow the leader's place, the best first."""
    return [
        {
            "measure": f"{title_of(entry.criterion)} of {entry.alloy}",
            "now": level_told(entry.criterion, entry.now),
            "points open": round(entry.open_points, 1),
            "places open now": entry.places_now,
            "places open after, mean": round(entry.places_mean, 2),
            "settles, % of outcomes": round(100 * entry.settles, 1),
        }
        for entry in found.measurements
    ]
