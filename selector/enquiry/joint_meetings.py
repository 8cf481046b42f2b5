"""Which metals meet in one joint, over every corner of what is not known; each powder and a touch-up by itself."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from selector.enquiry.joint_asked import JointAsked
from selector.enquiry.joint_unsized import PASTE
from selector.joint.contributors import Contributor, mass_of
from selector.joint.stops import Meeting, meetings
from selector.units import exact
from selector.verdict import Outcome, Verdict, worst


def powders_apart(given: JointAsked, contributors: Sequence[Contributor], share: float) -> tuple[Contributor, ...]:
    """Return what melts in with the powders of the paste one by one: what one brings may meet what the other brings."""
    if given.powder is None or not 0 < share < 1:
        return tuple(contributors)
    second = exact(share)
    found: list[Contributor] = []
    for entry in contributors:
        if entry.name == PASTE:
            named = f"powder {given.powder.name}"
            found.append(
                Contributor(f"powder {given.paste.name}", given.paste.composition, entry.mass_mg * (1 - second))
            )
            found.append(Contributor(named, given.powder.composition, entry.mass_mg * second))
        else:
            found.append(entry)
    return tuple(found)


def met_by_content(given: JointAsked, held: Sequence[tuple[Contributor, ...]]) -> list[Verdict]:
    """Return one verdict a pair of metals, of all that melts in, with a touch-up at its own share or at half."""
    known = given.figures["rework_share"].value
    share = Fraction(1, 2) if known is None else exact(known)
    if given.rework is not None and share == 1:
        return []
    found = []
    for contributors in dict.fromkeys(held):
        new: tuple[Contributor, ...] = ()
        if given.rework is not None and share:
            mass = mass_of(contributors) * share / (1 - share)
            new = (Contributor(f"rework with {given.rework.name}", given.rework.composition, mass),)
        found.append(meetings((*contributors, *new)))
    return worst_of(found)


def worst_of(cases: Sequence[tuple[Meeting, ...]]) -> list[Verdict]:
    """Return one verdict a pair of metals: where only some cases fail, it is open and says what would decide."""
    found = []
    for pair in dict.fromkeys(met.pair for case in cases for met in case):
        own = [met.verdict for case in cases for met in case if met.pair == pair]
        verdict = worst(own)
        everywhere = len(own) == len(cases) and all(each.outcome is verdict.outcome for each in own)
        if verdict.outcome is Outcome.FAIL and not everywhere:
            hope = "holds if no finish brings lead" if "Pb" in pair else "holds if measured shares show it"
            verdict = replace(verdict, outcome=Outcome.UNKNOWN, threshold=hope)
        found.append(replace(verdict, subject="-".join(pair)))
    return found
