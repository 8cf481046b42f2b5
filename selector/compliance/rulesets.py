"""Dated rule sets of law under `data/rules/`, one file an instrument, typed on reading."""

from datetime import date
from functools import cache

from pydantic import BaseModel, ConfigDict

from selector.datafiles import data_folder, read_toml


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Substance(_Row):
    """An element that an instrument limits: content at most `limit_ppm` mg/kg of the basis."""

    element: str
    limit_ppm: int
    in_force_from: date


class Exemption(_Row):
    """An entry that may lift a limit, for uses that the tool cannot see."""

    element: str
    at_least_ppm: int
    entry: str
    text: str
    valid_until: date | None = None


class RuleSet(_Row):
    """One instrument as known on a date."""

    rule: str
    market: str
    instrument: str
    source: str
    known_to: date
    basis: str
    in_scope: tuple[str, ...]
    out_of_scope: tuple[str, ...]
    substance: tuple[Substance, ...]
    exemption: tuple[Exemption, ...] = ()


@cache
def rule_sets() -> tuple[RuleSet, ...]:
    """Return every rule set of law that ships with the product, by file name."""
    folder = data_folder() / "rules"
    return tuple(
        RuleSet.model_validate(read_toml(path, f"the rule set {path.name}"))
        for path in sorted(folder.glob("*.toml"))
        if path.name != "practice.toml"
    )
