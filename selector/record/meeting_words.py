"""What a meeting comes to, in sentences to read out and rows to check."""

from collections.abc import Sequence

from selector.figures import figure
from selector.meeting import FEWEST, Meeting
from selector.scoring.concordance import W_WARNING

SHOWN = 3
VEILED = (
    "Alloys stand under letters until the weights are frozen and somebody lifts them. Letters keep honest people"
    " honest: whoever opens other pages or the files can work the names out."
)
MINUTES = "Write the mark into the minutes: only there can nobody change it afterwards."
MOVING = (
    "One weight of the group's mean moves alone, from the least to the greatest that a member gives, the others in"
    " their ratios. That is no mix of the members, so a pair on which all agree under any mix may turn here."
)


def sentence(meeting: Meeting) -> str:
    """Return what a chairman reads out."""
    firsts = [_firsts(meeting, voice.ranks) for voice in meeting.voices]
    lead = meeting.in_order(meeting.group_ranks)[0]
    sure = sum(ahead == lead for ahead, _ in meeting.agreed)
    rest = len(meeting.alloys) - 1
    if len(set(firsts)) == 1:
        head = f"All {len(meeting.voices)} members put {firsts[0]} first."
    else:
        places = "; ".join(
            f"{voice.name} puts {first} first" for voice, first in zip(meeting.voices, firsts, strict=True)
        )
        head = f"The members do not agree on the first place: {places}. On the mean of their weights {lead} leads."
    figures = sum(ahead == lead for ahead, _ in meeting.agreed_on_figures)
    whom = f"all the other {rest}" if sure == rest else f"{sure} of the other {rest}"
    return (
        f"{head} Under any mix of their weights {lead} stands above {whom}, every open figure taken at its worst, and"
        f" above {figures} whatever the open figures."
    )


def _firsts(meeting: Meeting, ranks: Sequence[int]) -> str:
    """Return who stands first, with all who share the place."""
    return " and ".join(name for name, rank in zip(meeting.alloys, ranks, strict=True) if rank == 1)


def state(meeting: Meeting) -> tuple[str, ...]:
    """Return how far the meeting is, and who settled what when."""
    lines = [
        f"{'Weights frozen' if event.kind == 'frozen' else 'Letters lifted'} by {event.by} at"
        f" {event.at:%Y-%m-%d %H:%M}, mark {event.fingerprint}."
        for event in meeting.agenda.events
    ] or [f"Open: weights may still change. Mark of what stands now: {meeting.fingerprint}."]
    if meeting.agenda.events:
        lines.append(MINUTES)
    if meeting.changed:
        lines.append(f"Changed since it was frozen: the mark is now {meeting.fingerprint}. What was agreed is void.")
    if meeting.veiled:
        lines.append(VEILED)
    return tuple(lines)


def order_rows(meeting: Meeting) -> list[dict[str, object]]:
    """Return for each alloy its place on the mean, by voting power, and for each member."""
    return [
        {
            "alloy": meeting.alloys[i],
            "mean": meeting.group_ranks[i],
            **({"by votes": meeting.by_votes_ranks[i]} if meeting.by_votes_ranks else {}),
            **{voice.name: voice.ranks[i] for voice in meeting.voices},
        }
        for i in sorted(range(len(meeting.alloys)), key=lambda i: meeting.group_ranks[i])
    ]


def weight_rows(meeting: Meeting) -> list[dict[str, object]]:
    """Return for each criterion the weights of the mean, by votes and of each member, percent."""
    return [
        {
            "criterion": title,
            "mean": round(100 * meeting.group[j], 1),
            **({"by votes": round(100 * meeting.by_votes[j], 1)} if meeting.by_votes else {}),
            **{voice.name: round(100 * voice.weights[j], 1) for voice in meeting.voices},
            "spread": round(100 * _spread([voice.weights[j] for voice in meeting.voices]), 1),
        }
        for j, title in enumerate(meeting.criteria)
    ]


def _spread(shares: Sequence[float]) -> float:
    return max(shares) - min(shares)


def voice_rows(meeting: Meeting) -> list[dict[str, object]]:
    """Return for each member their first three, what would change them, and where they differ most."""
    return [
        {
            "member": voice.name,
            "asked by": voice.kind,
            "votes": figure(voice.votes),
            "first three": ", ".join(voice.first),
            "what would change the first": voice.overturn or "no change of weights",
            "differs most on": voice.farthest,
            "tau-b with the mean": figure(voice.with_group, 3),
        }
        for voice in meeting.voices
    ]


def moving_lines(meeting: Meeting) -> tuple[str, ...]:
    """Return the criteria whose spread of weights moves the first three, the one that turns most pairs first."""
    agreed = set(meeting.agreed)

    def told(over: str, under: str) -> str:
        held = " (though under any mix all keep them as they are)" if (under, over) in agreed else ""
        return f"{over} overtakes {under}{held}"

    return tuple(
        f"{entry.criterion}, from {100 * entry.lowest:.0f} to {100 * entry.highest:.0f} % (mean"
        f" {100 * entry.group:.0f} %): " + "; ".join(told(over, under) for over, under in entry.overtakes)
        for entry in sorted(meeting.moving, key=lambda entry: -len(entry.overtakes))
    )


def agreed_lines(meeting: Meeting) -> tuple[str, ...]:
    """Return, for each alloy that all put above some others, which; the alloys by their place on the mean."""
    lines = []
    for name in meeting.in_order(meeting.group_ranks):
        under = [behind for ahead, behind in meeting.agreed if ahead == name]
        sure = {behind for ahead, behind in meeting.agreed_on_figures if ahead == name}
        if under:
            told = ", ".join(f"{other} (whatever the figures)" if other in sure else other for other in under)
            lines.append(f"{name} above {told}")
    return tuple(lines)


def concordance_line(meeting: Meeting) -> str:
    """Return Kendall's W with its warning."""
    few = " With so few members it says little." if len(meeting.voices) == FEWEST else ""
    return f"Kendall's W {figure(meeting.concordance, 3)}. {W_WARNING}{few}"


def plain(meeting: Meeting) -> dict[str, object]:
    """Return everything as plain data: what `panel --json` prints; letters stay letters."""
    return {
        "title": meeting.agenda.title,
        "sentence": sentence(meeting),
        "stage": meeting.stage,
        "blind": meeting.agenda.blind,
        "changed_since_frozen": meeting.changed,
        "fingerprint": meeting.fingerprint,
        # Whoever has it and the list can work the letters out.
        "seed": None if meeting.veiled else meeting.agenda.seed,
        "events": [
            {"kind": event.kind, "at": event.at.isoformat(), "by": event.by, "fingerprint": event.fingerprint}
            for event in meeting.agenda.events
        ],
        "alloys": list(meeting.alloys),
        "criteria": list(meeting.criteria),
        "members": [
            {
                "name": voice.name,
                "kind": voice.kind,
                "votes": voice.votes,
                "weights": list(voice.weights),
                "ranks": list(voice.ranks),
                "tau_b_with_mean": voice.with_group,
            }
            for voice in meeting.voices
        ],
        "mean": {"weights": list(meeting.group), "ranks": list(meeting.group_ranks)},
        "by_votes": {"weights": list(meeting.by_votes), "ranks": list(meeting.by_votes_ranks)}
        if meeting.by_votes
        else None,
        "agreed": [list(pair) for pair in meeting.agreed],
        "agreed_whatever_the_figures": [list(pair) for pair in meeting.agreed_on_figures],
        "moving": [
            {
                "criterion": entry.criterion,
                "lowest": entry.lowest,
                "mean": entry.group,
                "highest": entry.highest,
                "overtakes": [list(pair) for pair in entry.overtakes],
            }
            for entry in meeting.moving
        ],
        "kendall_w": meeting.concordance,
        "data": meeting.decision.data_hash,
        "version": meeting.decision.version,
    }
