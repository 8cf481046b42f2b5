"""Soldering steps of a brief for the planner, and as people type them at a verb or on a page; all faults at once."""

from collections.abc import Mapping, Sequence
from typing import Any

from selector.board.steps import steps_of
from selector.brief import Brief, from_raw, known
from selector.catalogue import Catalogue
from selector.errors import Fault, shown
from selector.fields import UNKNOWN
from selector.figures import figure
from selector.process.reflow import effective_c, heat_limits
from selector.process.steps import PartLimit, Step
from selector.units import meant_unit

WHAT = "the soldering steps"
NOBODY = "none"
TYPED_LIMIT = "lowest limit"
LOWEST_C, HOTTEST_C = 20.0, 450.0


def planned_steps(brief: Brief, catalogue: Catalogue) -> tuple[Step, ...]:
    """Return the steps of a brief as the planner takes them; one with all of its board where it names none.

    Raises
    ------
    InputError
        Alloys that a step allows and the catalogue does not hold.
    """
    return steps_of(brief, catalogue) if brief.steps else (everything_at_once(brief),)


def everything_at_once(brief: Brief) -> Step:
    """Return the one step of a brief that names none: everything on its board goes through it."""
    limits = tuple(PartLimit(limit.name, effective_c(brief, limit)) for limit in heat_limits(brief))
    process = brief.process
    return Step("board", limits, None, known(process.superheat_k), known(process.board_spread_k))


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
    steps: Sequence[str],
    allowed: Sequence[str],
    meets: Sequence[str],
    faults: list[Fault],
    brief: Brief | None = None,
) -> list[dict[str, Any]]:
    """Return tables of steps typed at a verb, and add what is wrong with the others.

    Parameters
    ----------
    steps : sequence of str
        `name:degC`, `name:unknown`, or a name alone where nothing limits it.
    allowed, meets : sequence of str
        `name=alloy,alloy` and `name=step,step`; `name=none` where a step's metal touches no other's.
    faults : list of Fault
    brief : Brief, optional
        Whose steps are meant where none is typed; one that names none has all of its board in one.
    """
    tables: dict[str, dict[str, Any]] = {}
    if not steps and (allowed or meets) and brief is not None:
        tables = {table["name"]: table for table in _brief_tables(brief)}
    for text in steps:
        name, colon, limit = (part.strip() for part in text.rpartition(":")) if ":" in text else (text.strip(), "", "")
        table: dict[str, Any] = {"name": name}
        if colon:
            limit_c = typed_limit(limit, f"--step {shown(text)}", faults)
            table["limits"] = [{"name": TYPED_LIMIT, "limit_c": limit_c}]
        if name in tables:
            faults.append(Fault("--step", "is given twice", shown(name)))
        tables[name] = table
    told: set[tuple[str, str]] = set()
    for option, texts, field in (("--allow", allowed, "allowed"), ("--meets", meets, "meets")):
        for text in texts:
            name, equals, rest = (part.strip() for part in text.partition("="))
            if not equals or name not in tables:
                one_of = f"one of {', '.join(tables)}, with =" if tables else "a step of --step, with ="
                faults.append(Fault(option, "names no step", shown(text), one_of))
                continue
            if (option, name) in told:
                faults.append(Fault(option, "is given twice for a step", shown(text), "once, with commas"))
            told.add((option, name))
            names = typed_names(rest)
            # No name at all would allow every alloy, or leave open what is met.
            if not names and (option == "--allow" or rest != NOBODY):
                faults.append(Fault(option, "names nothing", shown(text), f"{name}=, then names set apart by commas"))
            tables[name][field] = names
    return list(tables.values())


def _brief_tables(brief: Brief) -> list[dict[str, Any]]:
    if brief.steps:
        return [step.model_dump(mode="python") for step in brief.steps]
    step = everything_at_once(brief)
    limits = [{"name": e.name, "limit_c": UNKNOWN if e.limit_c is None else e.limit_c} for e in step.limits]
    return [{"name": step.name, "limits": limits}]


def typed_names(text: str) -> list[str]:
    """Return names set apart by commas; none for `none`."""
    return [] if text.strip() == NOBODY else [part.strip() for part in text.split(",") if part.strip()]


def typed_limit(text: str, where: str, faults: list[Fault]) -> Any:
    """Return a limit as typed, degC or `unknown`; adds a fault and returns `unknown` for anything else."""
    if text.strip() != UNKNOWN:
        try:
            limit_c = float(text)
            # Hotter still is told with every other fault of the steps.
            if HOTTEST_C < limit_c <= 1000:
                meant = meant_unit(limit_c, "degC", LOWEST_C, HOTTEST_C)
                hint = f"{text}? if kelvin, {figure(meant[1])} degC" if meant is not None else ""
                faults.append(Fault(where, "is hotter than any part stands", text, f"at most {HOTTEST_C:g} degC", hint))
                return UNKNOWN
            return limit_c
        except ValueError:
            faults.append(Fault(where, "has no temperature for its limit", shown(text), "degC, or unknown"))
    return UNKNOWN
