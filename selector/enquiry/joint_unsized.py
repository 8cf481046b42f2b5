"""A joint of which nobody knows how much paste meets how much ball: all that melts into it, but no masses.

Content still tells which metals meet and what the law may say: a finish, a second powder and a touch-up count here too.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import product

from selector.catalogue import Catalogue
from selector.composition import Composition
from selector.enquiry.joint_asked import BY_NAME, COPPER, JointAsked
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN
from selector.joint.blends import SHARES
from selector.joint.contributors import Contributor
from selector.joint.finish import pick_up
from selector.melting.mixing import blend
from selector.units import exact

LEADED = "tin-lead"
# As much metal over a pad as common joints have; no figure of the answer rests on it.
NOMINAL_MM2, NOMINAL_MG = 1.0, Fraction(1)
PASTE = "paste"
# Shares of paste at which the joint that is touched up may stand: a grid, beside that of the touch-up.
TOUCHED_UP_AT = ("0.02", "0.2", "0.5", "0.9")
NO_MASS = "what a finish brings meets solder of unknown mass: state the ball's diameter and the aperture"
Corner = tuple[str, tuple[Contributor, ...]]


def finishes(
    given: JointAsked, area_mm2: float, catalogue: Catalogue
) -> Iterator[tuple[tuple[str, ...], tuple[Contributor, ...], tuple[Contributor, ...]]]:
    """Yield (what was taken, metal of the board's finish, of the part's) in every corner of what is not known."""
    board = (COPPER, LEADED) if given.finish == UNKNOWN else (given.finish,)
    package = (COPPER, LEADED) if given.package_finish == UNKNOWN else (given.package_finish,)
    for one, other in product(board, package):
        outer = given.figures["finish_um"].value if one == given.finish and one not in (COPPER, LEADED) else None
        told = [f"{side} finish {name}" for side, name, ends in
                (("board", one, board), ("part", other, package)) if len(ends) > 1]  # fmt: skip
        yield (
            tuple(told),
            pick_up(one, area_mm2, catalogue, "finish of the board", outer),
            pick_up(other, area_mm2, catalogue, "finish of the part"),
        )


def paste_of(given: JointAsked) -> Composition:
    """Return the paste, both powders together.

    Raises
    ------
    InputError
        A second powder of unknown share: the span over two unknown shares is not told.
    """
    share = given.figures["powder_share"].value
    if given.powder is None:
        return given.paste.composition
    if share is None:
        told = "is not known, and neither is how much paste meets how much ball"
        allowed = "a share by mass; or the ball's diameter with pad or aperture"
        raise InputError("the joint", [Fault(BY_NAME["powder_share"].label, told, allowed=allowed)])
    return blend(given.paste.composition, given.powder.composition, exact(share))


def mixtures(given: JointAsked) -> list[tuple[str, Composition]]:
    """Return the joint over the share of its paste, each with that share in words."""
    assert given.ball is not None
    paste = paste_of(given)
    return [(f"{share} of paste", blend(given.ball.composition, paste, share)) for share in TOUCHED_UP_AT]


def corners(given: JointAsked, catalogue: Catalogue, share: str = "0.5") -> dict[tuple[Contributor, ...], str]:
    """Return all that melts into the joint in every corner, masses nominal, each with its name.

    Parameters
    ----------
    given : JointAsked
    catalogue : Catalogue
    share : str
        Of the paste in paste and ball, by mass.
    """
    paste = paste_of(given)
    found: dict[tuple[Contributor, ...], str] = {}
    assert given.ball is not None
    solder = (
        Contributor(PASTE, paste, NOMINAL_MG * exact(share)),
        Contributor("ball", given.ball.composition, NOMINAL_MG * (1 - exact(share))),
    )
    for told, under, over in finishes(given, NOMINAL_MM2, catalogue):
        found.setdefault((*solder, *under, *over), ", ".join((f"{share} of paste", *told)))
    return found


def lawful_corners(given: JointAsked, catalogue: Catalogue) -> tuple[Corner, ...]:
    """Return the corners at the least and the most paste, also as if next to nothing of a finish came with it."""
    found: dict[tuple[Contributor, ...], str] = {}
    for share in (SHARES[0], SHARES[-1]):
        own = corners(given, catalogue, share)
        solder = next(iter(own))[:2]
        found |= own
        found.setdefault(solder, f"{share} of paste, next to nothing of a finish")
    return tuple((told, contributors) for contributors, told in found.items())


def brings_others(given: JointAsked, catalogue: Catalogue) -> bool:
    """Return whether a finish may bring an element that neither paste nor ball holds: then no onset is computed."""
    assert given.ball is not None
    held = {*paste_of(given).elements, *given.ball.composition.elements}
    return any(
        not set(entry.composition.elements) <= held
        for _, under, over in finishes(given, NOMINAL_MM2, catalogue)
        for entry in (*under, *over)
    )
