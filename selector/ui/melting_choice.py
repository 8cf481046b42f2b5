"""What is chosen on the page Melting: compositions as typed, or two of them mixed. Public; it stands in the address."""

import json
from dataclasses import asdict, dataclass, replace

from selector.brief import Brief
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN

FIRST_SHOWN = ("SAC305", "Bi-42Sn")
MOST_ALLOYS = 4
LONGEST_TYPED = 200
LONGEST_CHOICE = 2400
EVEN_PERCENT = 50
NO_TRACE = "none"
BROKEN = "What the address chose for this page could not be read; alloys to start from are shown instead."


@dataclass(frozen=True)
class Choice:
    """What was typed and picked, faults and all.

    Parameters
    ----------
    typed : tuple of str
        Up to four spellings; an empty one asks for nothing.
    mixing : bool
        Whether the first two are mixed; the others then wait.
    percent : int
        Mass share of the second in the mixture.
    trace, trace_wt : str
        An element added to the mixture, or `none`, and its wt% as typed.
    """

    typed: tuple[str, ...]
    mixing: bool = False
    percent: int = EVEN_PERCENT
    trace: str = NO_TRACE
    trace_wt: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "typed", (*self.typed, *[""] * MOST_ALLOYS)[:MOST_ALLOYS])


def first_choice(brief: Brief | None) -> Choice:
    """Return what the page starts from: the alloy in use, which is public, beside one that melts low."""
    in_use = FIRST_SHOWN[0] if brief is None or brief.incumbent == UNKNOWN else brief.incumbent
    return Choice((in_use, next(name for name in reversed(FIRST_SHOWN) if name != in_use)))


def packed(choice: Choice) -> str:
    """Return a choice as text for the address; what was left as it was is left out."""
    plain = asdict(Choice(()))
    told = {key: value for key, value in asdict(choice).items() if key == "typed" or value != plain[key]}
    kept = max((place + 1 for place, text in enumerate(choice.typed) if text), default=0)
    return json.dumps(told | {"typed": choice.typed[:kept]}, ensure_ascii=False, separators=(",", ":"))


def unpacked(text: str) -> Choice:
    """Return the choice that an address carries; spellings may have faults, which the fields tell.

    Raises
    ------
    InputError
        No choice, or one that no page has written.
    """
    try:
        if len(text) > LONGEST_CHOICE:
            raise ValueError
        told = json.loads(text)
        choice = replace(Choice(()), **{**told, "typed": tuple(told["typed"])})
        texts = (*told["typed"], choice.trace, choice.trace_wt)
        whole = type(choice.percent) is int and 0 <= choice.percent <= 100 and type(choice.mixing) is bool
        if not whole or len(told["typed"]) > MOST_ALLOYS or not all(map(_typable, texts)):
            raise ValueError
    except (ValueError, TypeError, KeyError, RecursionError):
        raise InputError("the address", [Fault("m", "is no choice of this page")]) from None
    return choice


def _typable(text: object) -> bool:
    """Return whether a text can have been typed: bounded, and what a browser can send and show."""
    return isinstance(text, str) and len(text) <= LONGEST_TYPED and not any("\ud800" <= c <= "\udfff" for c in text)
