"""What other methods say, in sentences: first whom they cover at all, and whether the leader is among them."""

from collections import Counter

from selector.decision import Decision
from selector.figures import figure
from selector.scoring.concordance import W_WARNING
from selector.scoring.panel import Panel
from selector.scoring.second_opinions import SecondOpinion


def speaks_of_the_leader(decision: Decision, found: Panel) -> bool:
    """Return whether the alloy that leads is among those that the methods could judge."""
    return bool(found.opinions) and decision.admitted[0].alloy.id in found.opinions[0].alternatives


def covered(decision: Decision, found: Panel) -> str:
    """Return how many of the admitted the methods cover, and whether the leader is among them."""
    if found.refused or not found.opinions:
        return f"None was asked: {found.refused}."
    some, lead = len(found.opinions[0].alternatives), decision.admitted[0].alloy.id
    head = f"They cover {some} of {len(decision.admitted)} admitted alloys, those that have every value"
    if speaks_of_the_leader(decision, found):
        return f"{head}; {lead}, which leads, is among them."
    return f"{head}; {lead}, which leads, is not among them, so they say nothing of it."


def chair(decision: Decision, found: Panel) -> str:
    """Return what a chairman adds of other methods: whom most put first, or that they cannot speak of the leader."""
    if not decision.admitted:
        return ""
    lead = decision.admitted[0].alloy.id
    if not speaks_of_the_leader(decision, found):
        return f"Other methods cannot speak of {lead}."
    firsts = [first_of(opinion) for opinion in found.opinions]
    others = Counter(name for first in firsts if lead not in first for name in first)
    apart = sum(lead not in first for first in firsts)
    if 2 * apart <= len(firsts):
        return f"Of {len(firsts)} other methods {len(firsts) - apart} put {lead} first as well."
    named = ", ".join(f"{name} ({count})" for name, count in others.most_common())
    return f"Most other methods put another alloy first, {apart} of {len(firsts)}: {named}."


def first_of(opinion: SecondOpinion) -> tuple[str, ...]:
    """Return whom a method puts first, with all who share the place."""
    best = min(opinion.ranks)
    return tuple(name for name, rank in zip(opinion.alternatives, opinion.ranks, strict=True) if rank == best)


def agreement_text(decision: Decision, found: Panel, tau: float | None) -> str:
    """Return how far one method agrees with our order, and of which alloys alone."""
    some = len(found.opinions[0].alternatives)
    without = "" if speaks_of_the_leader(decision, found) else f", {decision.admitted[0].alloy.id} not among them,"
    return f"Kendall tau-b with our order of these {some} alloys{without} {figure(tau, 3)}"


def concordance_text(found: Panel) -> str:
    """Return Kendall's W with its warning; empty where it is not defined."""
    if found.concordance is None:
        return ""
    some = len(found.opinions[0].alternatives)
    told = f"Kendall's W over all orders of these {some} alloys, ours included: {figure(found.concordance, 3)}."
    return f"{told} {W_WARNING}"


def lines(decision: Decision, found: Panel) -> tuple[str, ...]:
    """Return everything as sentences, whom they cover first."""
    told = [covered(decision, found)]
    for opinion, tau in zip(found.opinions, found.agreements, strict=True):
        first = " and ".join(first_of(opinion))
        told.append(f"{opinion.label}: puts {first} first; {agreement_text(decision, found, tau)}.")
    told += [text for text in (concordance_text(found), *(entry.text for entry in found.partings)) if text]
    if found.left_out:
        told.append(f"Left out of them for a missing value: {', '.join(found.left_out)}.")
    return tuple(told)
