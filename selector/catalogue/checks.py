"""Checks a folder of foreign tables in full before use: each cell by its schema, then what spans rows or tables.

Imported only where foreign tables enter, since pandera is slow to import.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from fractions import Fraction
from functools import partial
from pathlib import Path

import pandas as pd
import pandera.pandas as pa

from selector import composition as spelling
from selector.catalogue import CORE_PROPERTIES, NEWEST_PRICES, plain_name
from selector.catalogue.bands import SCALES
from selector.catalogue.derived import REFERENCE_ALLOY
from selector.catalogue.evidence import USABLE
from selector.catalogue.schemas import LEVELS, LOWEST, MOST_COLUMNS, SCHEMAS, WORDS, exact
from selector.catalogue.tables import Row
from selector.datafiles import read_numbered
from selector.errors import Fault, InputError, shown

Rows = list[tuple[int, Row]]  # each row with the line of the file on which it begins
Sound = Mapping[str, Rows]  # the tables that could be read and have every column


def check_folder(folder: Path) -> None:
    """Refuse a folder of tables unless every table keeps every rule.

    Raises
    ------
    InputError
        One, with every fault of every table: "observations.csv, row 17, value" counts lines, the heading being 1.
    """
    faults: list[Fault] = []
    sound: dict[str, Rows] = {}
    for name, schema in SCHEMAS.items():
        try:
            heading, rows = read_numbered(folder / f"{name}.csv", f"the table {name}.csv")
        except InputError as error:
            faults.extend(error.faults)
            continue
        if len(heading) > MOST_COLUMNS:
            found, allowed = f"{len(heading):,}", f"at most {MOST_COLUMNS}"
            faults.append(Fault(f"{name}.csv, row 1", "too many columns", found, allowed))
            continue
        faults.extend(_column_faults(schema, heading, rows))
        if set(schema.columns) <= set(heading):
            sound[name] = rows
    for check, needed in CROSS_CHECKS:
        if sound.keys() >= set(needed):
            faults.extend(check(sound))
    if faults:
        raise InputError(f"the folder of tables {folder}", faults)


def _column_faults(schema: pa.DataFrameSchema, heading: list[str], rows: Rows) -> Iterator[Fault]:
    frame = pd.DataFrame([list(row.values()) for _, row in rows], columns=heading, dtype=str)
    try:
        schema.validate(frame, lazy=True)
        return
    except pa.errors.SchemaErrors as error:
        cases = error.failure_cases.to_dict("records")
    in_cells = []
    for case in cases:
        found = str(case["failure_case"])
        if case["check"] == "column_in_dataframe":
            remedy = "add the column; where nothing is known, leave its cells empty if the schema lets you"
            yield Fault(f"{schema.name}.csv, row 1, {found}", "the column is missing", remedy=remedy)
        elif case["check"] == "column_in_schema":
            allowed = ", ".join(schema.columns)
            yield Fault(f"{schema.name}.csv, row 1", "is no column of this table", shown(found), allowed, "remove it")
        else:
            in_cells.append((int(case["index"]), str(case["column"]), str(case["check"]), found))
    for index, name, problem, found in sorted(in_cells, key=lambda case: case[0]):
        yield _fault(str(schema.name), rows[index][0], name, problem, found)


def _fault(table: str, line: int, name: str, problem: str, value: str, allowed: str = "", remedy: str = "") -> Fault:
    allowed = allowed or SCHEMAS[table].columns[name].metadata["allowed"]
    return Fault(f"{table}.csv, row {line}, {name}", problem, shown(value), allowed, remedy or "correct the cell")


def _keys(sound: Sound) -> Iterator[Fault]:
    """No two rows of a table have the same key; keys of one column are checked with the column."""
    for name, rows in sound.items():
        key = SCHEMAS[name].metadata["key"]
        first: dict[tuple[str, ...], int] = {}
        for line, row in rows if len(key) > 1 else ():
            value = tuple(row[part] for part in key)
            if first.setdefault(value, line) != line:
                problem, allowed = f"repeats row {first[value]}", f"each {' and '.join(key)} once"
                yield _fault(name, line, key[-1], problem, ", ".join(value), allowed, "remove one of the rows")


def _references(sound: Sound) -> Iterator[Fault]:
    """A cell that names a row of another table finds it there."""
    for name, rows in sound.items():
        for cell, declared in SCHEMAS[name].columns.items():
            target, _, key = declared.metadata["refers"].partition(".")
            known = {row[key] for _, row in sound.get(target, ())}
            for line, row in rows if target in sound else ():
                if row[cell] and row[cell] not in known:
                    problem, remedy = f"is not in {target}.csv", f"add it to {target}.csv, or check the spelling"
                    yield _fault(name, line, cell, problem, row[cell], f"a {key} of that table", remedy)


def _names(sound: Sound) -> Iterator[Fault]:
    """No two alloys share a name, whatever the case; the reference of all costs is there."""
    owners: dict[str, str] = {}
    for line, row in sound["alloys"]:
        for cell, names in (("alloy", [row["alloy"]]), ("names", row["names"].split(";"))):
            for name in filter(None, map(plain_name, names)):
                if (owner := owners.setdefault(name, row["alloy"])) != row["alloy"]:
                    yield _fault("alloys", line, cell, f"names {shown(owner)} already", name, "a name of its own")
    if all(row["alloy"] != REFERENCE_ALLOY for _, row in sound["alloys"]):
        problem, remedy = f"{REFERENCE_ALLOY}, which all costs relate to, is missing", "copy its rows from data/"
        yield Fault("alloys.csv, alloy", problem, remedy=remedy)


def _compositions(sound: Sound) -> Iterator[Fault]:
    """Every alloy has a composition of known elements, of exactly 100 wt%, and as its names spell it."""
    groups: dict[str, Rows] = {}
    for line, row in sound["compositions"]:
        groups.setdefault(row["alloy"], []).append((line, row))
        if row["element"] not in spelling.atomic_masses():
            allowed = "an element symbol such as Sn, Ag, Cu, Bi, In, Sb, Zn, Pb, Au"
            yield _fault("compositions", line, "element", "is not a known element", row["element"], allowed)
    whole: dict[str, dict[str, Fraction]] = {}
    for alloy, rows in groups.items():
        figures = [(row["element"], exact(row["wt_percent"])) for _, row in rows]
        amounts = [(symbol, figure) for symbol, figure in figures if figure is not None]
        total = sum((figure for _, figure in amounts), Fraction(0))
        if total == spelling.HUNDRED:
            whole[alloy] = dict(amounts)
        elif len(amounts) == len(rows):
            found = f"{spelling.decimal_text(total)} wt% for {shown(alloy)}"
            yield _fault("compositions", rows[0][0], "wt_percent", "amounts do not add up", found, "exactly 100")
    for line, row in sound.get("alloys", ()):
        if row["alloy"] not in groups:
            yield _fault("alloys", line, "alloy", "has no row in compositions.csv", row["alloy"], "at least one row")
        for cell, names in (("alloy", [row["alloy"]]), ("names", row["names"].split(";"))):
            for name in names if row["alloy"] in whole else ():
                with suppress(InputError):  # a name in words spells no composition
                    spelled = spelling.parse(name)
                    if dict(spelled.parts) != whole[row["alloy"]]:
                        allowed = f"the amounts of compositions.csv, where the name reads as {spelled}"
                        yield _fault("alloys", line, cell, "spells other amounts", name.strip(), allowed)


def _observations(sound: Sound) -> Iterator[Fault]:
    """Figures in order and possible, one unit a property, words where words are meant, pairs the right way up."""
    units: dict[str, str] = dict(CORE_PROPERTIES)
    tops: dict[tuple[str, str], Fraction] = {}
    usable = [(line, row, exact(row["value"])) for line, row in sound["observations"] if row["standing"] == USABLE]
    for _, row, figure in usable:
        if row["property"] == "liquidus_c" and figure is not None:
            key = row["alloy"], row["source"]
            tops[key] = max(figure, tops.get(key, figure))
    for line, row, figure in usable:
        top = tops.get((row["alloy"], row["source"]))
        if row["property"] == "solidus_c" and figure is not None and top is not None and figure > top:
            problem, allowed = "solidus above the liquidus of one source", f"at most {float(top):g}"
            yield _fault("observations", line, "value", problem, row["value"], allowed)
    for line, row in sound["observations"]:
        fault = partial(_fault, "observations", line)
        cells = [row[name] for name in ("low", "value", "high")]
        figures = [figure for figure in map(exact, cells) if figure is not None]
        least = LOWEST.get(row["property"], 0) if row["property"] in CORE_PROPERTIES else -1e9
        unit = units.setdefault(row["property"], row["unit"])
        if figures != sorted(figures):
            yield fault("value", "figures out of order", " / ".join(cells), "low <= value <= high")
        if figures and min(figures) < least:
            yield fault("value", "lies below what is possible", f"{float(min(figures)):g}", f"at least {least:g}")
        if row["unit"] != unit:
            yield fault("unit", f"differs from the unit of {row['property']}", row["unit"], unit, "convert it")
        if row["unit"] == WORDS and (any(cells) or not row["text"]):
            yield fault("text", "a row in words needs words and no figures", row["text"], "text, and no figures")
        if row["unit"] != WORDS and not any(cells):
            yield fault("value", "states no figure", "", "a value, a low or a high")


def _reasons(sound: Sound) -> Iterator[Fault]:
    """A row set aside says why."""
    for name in sound.keys() & {"observations", "prices"}:
        for line, row in sound[name]:
            if row["standing"] != USABLE and not row["standing_reason"]:
                yield _fault(
                    name, line, "standing_reason", f"is empty for a row {shown(row['standing'])}", "", "a reason"
                )


def _bands(sound: Sound) -> Iterator[Fault]:
    """Levels belong to their scale; the best is not behind the worst, the likeliest lies between."""
    for line, row in sound["bands"]:
        scale = SCALES.get(row["property"], LEVELS)
        names = [name for name in ("level_best", "level", "level_worst") if row[name] in LEVELS]
        places = [scale.index(row[name]) for name in names if row[name] in scale]
        for name in names:
            if row[name] not in scale:
                problem = f"is no level of {row['property']}"
                yield _fault("bands", line, name, problem, row[name], ", ".join(scale))
        if places != sorted(places) and row["property"] in SCALES:
            found = " / ".join(row[name] for name in names)
            allowed = f"best, likeliest, worst in the order {', '.join(scale)}"
            yield _fault("bands", line, "level_best", "levels out of order", found, allowed)


def _needs(sound: Sound) -> Iterator[Fault]:
    """Every element in use has a density and one usable price on the newest list; no list gives two."""
    used = {row["element"] for _, row in sound["compositions"]}
    prices = Counter((row["element"], row["price_list"]) for _, row in sound["prices"] if row["standing"] == USABLE)
    for line, row in sound["elements"]:
        if row["symbol"] in used:
            prices.setdefault((row["symbol"], NEWEST_PRICES), 0)
            if not row["density_g_cm3"]:
                problem = f"is empty for {row['symbol']}, which an alloy needs"
                yield _fault("elements", line, "density_g_cm3", problem, "", "a density in g/cm3")
    for (symbol, named), count in sorted(prices.items()):
        if count != 1:
            problem = f"{count or 'no'} usable price{'s' * (count > 1)} of {shown(symbol)} on the list {shown(named)}"
            remedy = "mark the others `not comparable`, with the reason" if count else "add a row"
            yield Fault("prices.csv, usd_kg", problem, "", "one usable row for each element and list", remedy)


CROSS_CHECKS: tuple[tuple[Callable[[Sound], Iterator[Fault]], tuple[str, ...]], ...] = (
    (_keys, ()),
    (_references, ()),
    (_names, ("alloys",)),
    (_compositions, ("compositions",)),
    (_observations, ("observations",)),
    (_reasons, ()),
    (_bands, ("bands",)),
    (_needs, ("compositions", "elements", "prices")),
)
