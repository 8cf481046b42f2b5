"""Soldering steps as people give them: tables of a TOML file, rows of a page, words at a verb; all faults at once."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from selector.brief import Brief, known
from selector.catalogue import Catalogue
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN
from selector.process.reflow import heat_limits
from selector.process.steps import PartLimit, Step

WHAT = "the soldering steps"
FIELDS = ("name", "limit_c", "limits", "allowed", "superheat_k", "spread_k", "may_remelt", "reworks", "meets")
HOTTEST_LIMIT = "degC, or unknown"
MOST_STEPS = 12


def steps_of(tables: Sequence[Mapping[str, Any]], catalogue: Catalogue, what: str = WHAT) -> tuple[Step, ...]:
    """Return the steps that plain tables describe, in their order.

    Parameters
    ----------
    tables : sequence of mapping
        `name`; `limit_c`, or `limits` of name -> degC, "unknown" where nobody knows; `allowed` alloys in any spelling;
        `superheat_k`, `spread_k`; `may_remelt`, `reworks`, `meets`: earlier steps by name.
    catalogue : Catalogue
        For the alloys' names.
    what : str
        The input, for its faults.

    Raises
    ------
    InputError
        Every fault of every table.
    """
    faults: list[Fault] = []
    if not 0 < len(tables) <= MOST_STEPS:
        faults.append(
            Fault("steps", "are too many" if tables else "are missing", str(len(tables)), f"1 to {MOST_STEPS}")
        )
    steps = tuple(_step(table, f"steps[{place}]", catalogue, faults) for place, table in enumerate(tables))
    if faults:
        raise InputError(what, faults)
    return steps


def _step(table: Mapping[str, Any], where: str, catalogue: Catalogue, faults: list[Fault]) -> Step:
    faults += [
        Fault(f"{where}.{shown(key)}", "is not a field of a step", allowed=", ".join(FIELDS))
        for key in table
        if key not in FIELDS
    ]
    name = table.get("name")
    if not isinstance(name, str) or not name.strip():
        faults.append(Fault(f"{where}.name", "is missing", shown(name), "a word for the step"))
        name = where
    limits = _limits(table, where, faults)
    meets = table.get("meets")
    return Step(
        name.strip(),
        limits,
        _allowed(table.get("allowed"), f"{where}.allowed", catalogue, faults),
        _number(table.get("superheat_k"), f"{where}.superheat_k", "K", faults),
        _number(table.get("spread_k"), f"{where}.spread_k", "K", faults),
        _names(table.get("may_remelt"), f"{where}.may_remelt", faults) or (),
        str(table.get("reworks") or ""),
        None if meets == UNKNOWN else _names(meets, f"{where}.meets", faults),
    )


def _limits(table: Mapping[str, Any], where: str, faults: list[Fault]) -> tuple[PartLimit, ...]:
    given = table.get("limits")
    if given is not None and not isinstance(given, Mapping):
        faults.append(Fault(f"{where}.limits", "is not a table of limits", shown(given), "part = degC"))
        given = None
    named = dict(given or {})
    if table.get("limit_c") is not None:
        named = {"limit": table["limit_c"], **named}
    return tuple(
        PartLimit(str(part), None if value == UNKNOWN else _number(value, f"{where}.{part}", HOTTEST_LIMIT, faults))
        for part, value in named.items()
    )


def _allowed(value: Any, where: str, catalogue: Catalogue, faults: list[Fault]) -> tuple[str, ...] | None:
    names = _names(value, where, faults)
    if not names:
        return None
    found = []
    for name in names:
        try:
            found.append(catalogue.find(name).id)
        except InputError as error:
            faults += [replace(fault, where=f"{where}: {fault.where}") for fault in error.faults]
    return tuple(dict.fromkeys(found))


def _names(value: Any, where: str, faults: list[Fault]) -> tuple[str, ...] | None:
    if value is None:
        return None
    if not isinstance(value, list | tuple) or not all(isinstance(entry, str) for entry in value):
        faults.append(Fault(where, "is not a list of names", shown(value), '["...", "..."]'))
        return None
    return tuple(entry.strip() for entry in value)


def _number(value: Any, where: str, allowed: str, faults: list[Fault]) -> float | None:
    if value is None or value == UNKNOWN:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        faults.append(Fault(where, "is not a number", shown(value), allowed))
        return None
    return float(value)


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
            table["limit_c"] = _typed(limit, f"--step {shown(text)}", faults)
        if name in tables:
            faults.append(Fault("--step", "is given twice", shown(name)))
        tables[name] = table
    for option, texts, field in (("--allow", allowed, "allowed"), ("--meets", meets, "meets")):
        for text in texts:
            name, equals, rest = (part.strip() for part in text.partition("="))
            if not equals or name not in tables:
                faults.append(Fault(option, "names no step", shown(text), f"one of {', '.join(tables)}, with ="))
                continue
            tables[name][field] = [] if rest == "none" else [part.strip() for part in rest.split(",") if part.strip()]
    return list(tables.values())


def _typed(text: str, where: str, faults: list[Fault]) -> Any:
    if text == UNKNOWN:
        return UNKNOWN
    try:
        return float(text)
    except ValueError:
        faults.append(Fault(where, "has no temperature after its colon", shown(text), "die attach:340"))
        return None


def tables_of(brief: Brief) -> list[dict[str, Any]]:
    """Return the tables of a brief's steps; of one that names none, one step with everything that its board bears."""
    given = getattr(brief, "steps", ())
    if given:
        return [_plain_table(entry.model_dump()) for entry in given]
    process = brief.process
    table: dict[str, Any] = {"name": "board", "limits": {e.name: _or_unknown(e.limit_c) for e in heat_limits(brief)}}
    table |= {"superheat_k": known(process.superheat_k), "spread_k": known(process.board_spread_k)}
    return [{key: value for key, value in table.items() if value is not None}]


def _or_unknown(value: float | None) -> float | str:
    return UNKNOWN if value is None else value


def _plain_table(table: Mapping[str, Any]) -> dict[str, Any]:
    """Return a table without what was left open: a limit that nobody gave asks nothing."""
    return {key: value for key, value in table.items() if value not in (None, UNKNOWN, (), "") or key == "limit_c"}
