"""Facts that have an order but no number: drop class, thermal-cycling rank, wetting class."""

from dataclasses import dataclass
from types import MappingProxyType

SCALES = MappingProxyType(
    {
        # Best first. The meaning of each level stands in docs/catalogue.md (common practice).
        "drop_class": ("good", "fair", "weak", "poor"),
        "cycling_rank_mild": ("1", "2", "3", "4", "5", "6"),
        "cycling_rank_harsh": ("1", "2", "3", "4", "5", "6", "out of range"),
        "wetting_class": ("very good", "good", "fair", "poor"),
    }
)


@dataclass(frozen=True)
class Band:
    """Where an alloy stands on an ordered scale.

    Parameters
    ----------
    name : str
        A key of `SCALES`.
    level : str or None
        The level held likeliest; None where only the ends are known.
    best, worst : str or None
        The ends that cover the disagreement; None where nothing is known.
    source, origin, grade, note : str
    """

    name: str
    level: str | None
    best: str | None
    worst: str | None
    source: str
    origin: str
    grade: str
    note: str

    @property
    def known(self) -> bool:
        """Return whether anything is known."""
        return self.best is not None

    def text(self) -> str:
        """Return the band in words."""
        if not self.known:
            return "unknown"
        if self.best == self.worst:
            return str(self.best)
        return f"{self.level or 'between'} ({self.best} to {self.worst})"


def unknown_band(name: str) -> Band:
    """Return the band of an alloy of which nothing is known."""
    return Band(name, None, None, None, "none", "none", "none", "nothing found")
