"""Soldering steps of a brief for the planner, and as people type them at a verb or on a page; all faults at once."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from selector.brief import Brief, from_raw, known
from selector.catalogue import Catalogue
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN
from selector.process.reflow import heat_limits
from selector.process.steps import PartLimit, Step

WHAT = "the soldering steps"
NO_REWORK, NOBODY = "none", "none"
TYPED_LIMIT = "lowest limit"


def steps_of(brief: Brief, catalogue: Catalogue) -> tuple[Step, ...]:
    """Return the steps of a brief, its alloys by their names in the catalogue; one with all of its board where none.

    Parameters
    ----------
    brief : Brief
    catalogue : Catalogue

    Raises
    ------
    InputError
        Alloys that a step allows and the catalogue does not hold.
    """
    if not brief.steps:
        return (everything_at_once(brief),)
    faults: list[Fault] = []
    found = []
    for place, entry in enumerate(brief.steps):
        limits = tuple(PartLimit(limit.name, known(limit.limit_c)) for limit in entry.limits)
        allowed = _allowed(entry.allowed, f"steps[{place}].allowed", catalogue, faults)
        meets = None if isinstance(entry.meets, str) else entry.meets
        superheat_k, spread_k = _said(brief, "superheat_k", entry.superheat_k), known(entry.spread_k)
        spread_k = known(brief.process.board_spread_k) if spread_k is None else spread_k
        reworks = "" if entry.reworks == NO_REWORK else entry.reworks
        found.append(Step(entry.name, limits, allowed, superheat_k, spread_k, entry.may_remelt, reworks, meets))
    if faults:
        raise InputError(WHAT, faults)
    return tuple(found)


def _said(brief: Brief, name: str, own: float | str) -> float | None:
    """Return a step's own figure, else that of the brief's process."""
    return known(getattr(brief.process, name)) if known(own) is None else known(own)


def everything_at_once(brief: Brief) -> Step:
    """Return the one step of a brief that names none: everything on its board goes through it."""
    limits = tuple(PartLimit(limit.name, limit.limit_c) for limit in heat_limits(brief))
    process = brief.process
    return Step("board", limits, None, known(process.superheat_k), known(process.board_spread_k))


def _allowed(names: Sequence[str], where: str, catalogue: Catalogue, faults: list[Fault]) -> tuple[str, ...] | None:
    found = []
    for name in names:
        try:
            found.append(catalogue.find(name).id)
        except InputError as error:
            faults += [replace(fault, where=f"{where}: {fault.where}") for fault in error.faults]
    return tuple(dict.fromkeys(found)) or None


def with_steps(brief: Brief | None, tables: Sequence[Mapping[str, Any]]) -> Brief:
    """Return a brief with other steps, checked like one that was read; a bare one where there is none.

    Raises
    ------
    InputError
        Steps that contradict themselves.
    """
    raw = {"title": WHAT} if brief is None else brief.model_dump(mode="python")
    return from_raw({**raw, "steps": [dict(table) for table in tables]}, WHAT)


def typed_steps(
    steps: Sequence[str], allowed: Sequence[str], meets: Sequence[str], faults: list[Fault]
) -> list[dict[str, Any]]:
    """Return tables of steps typed at a verb, and add what is wrong with the others.

    Parameters
    ----------
    steps : sequence of str
        `name:degC`, `name:unknown`, or a name alone where nothing limits it.
    allowed, meets : sequence of str
        `name=alloy,alloy` and `name=step,step`; `name=none` where a step's metal touches no other's.
    faults : list of Fault
    """
    tables: dict[str, dict[str, Any]] = {}
    for text in steps:
        name, colon, limit = (part.strip() for part in text.rpartition(":")) if ":" in text else (text.strip(), "", "")
        table: dict[str, Any] = {"name": name}
        if colon:
            limit_c = typed_limit(limit, f"--step {shown(text)}", faults)
            table["limits"] = [{"name": TYPED_LIMIT, "limit_c": limit_c}]
        if name in tables:
            faults.append(Fault("--step", "is given twice", shown(name)))
        tables[name] = table
    for option, texts, field in (("--allow", allowed, "allowed"), ("--meets", meets, "meets")):
        for text in texts:
            name, equals, rest = (part.strip() for part in text.partition("="))
            if not equals or name not in tables:
                faults.append(Fault(option, "names no step", shown(text), f"one of {', '.join(tables)}, with ="))
                continue
            tables[name][field] = typed_names(rest)
    return list(tables.values())


def typed_names(text: str) -> list[str]:
    """Return names set apart by commas; none for `none`."""
    return [] if text.strip() == NOBODY else [part.strip() for part in text.split(",") if part.strip()]


def typed_limit(text: str, where: str, faults: list[Fault]) -> Any:
    """Return a limit as typed, degC or `unknown`; adds a fault and returns `unknown` for anything else."""
    if text.strip() != UNKNOWN:
        try:
            return float(text)
        except ValueError:
            faults.append(Fault(where, "has no temperature for its limit", shown(text), "degC, or unknown"))
    return UNKNOWN
