"""What a durability function answers: a number with its span, its limits of validity and where it comes from.

"No data" is an answer too, with its reason; it is never replaced by a figure of another alloy.
"""

from dataclasses import dataclass

from selector.durability.safety import SCREENING_ONLY
from selector.figures import spread

FAILS, SHORT, OPEN = "fails", "short of what is asked", "open"


@dataclass(frozen=True)
class Estimate:
    """One screened quantity.

    Parameters
    ----------
    name : str
        The quantity, unit included.
    unit : str
    value : float or None
        None where nothing is known, or only ends are.
    low, high : float or None
        The span; None where nothing is known.
    law : str
        Which published set, law or policy it was made with.
    source : str
        Ids of `sources.csv`, joined by "; ".
    origin, grade : str
        As in the catalogue; a recalled constant is `memory` and `low`.
    flags : tuple of str
        Limits of validity that the inputs touch, or that always hold for this law.
    why : str
        Where there is no number: the reason.
    cautions : tuple of str
        What has to be said beside any number.
    standing : str
        `FAILS`, `SHORT` or `OPEN` where a demand or the policy is missed, or may be; empty where none is.
    """

    name: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    law: str
    source: str
    origin: str
    grade: str
    flags: tuple[str, ...] = ()
    why: str = ""
    cautions: tuple[str, ...] = (SCREENING_ONLY,)
    standing: str = ""

    @property
    def is_known(self) -> bool:
        """Return whether anything is known of the quantity."""
        return self.low is not None

    @property
    def text(self) -> str:
        """Return value and span with the unit, or "no data" with the reason."""
        if not self.is_known:
            return f"no data: {self.why}"
        return f"{spread(self.value, self.low, self.high)} {self.unit}".strip()


def no_data(name: str, unit: str, why: str, source: str, flags: tuple[str, ...] = ()) -> Estimate:
    """Return an estimate that says why there is no number."""
    return Estimate(name, unit, None, None, None, "none", source, "practice", "low", flags, why)
