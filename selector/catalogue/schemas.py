"""What the eight tables must look like, stated once: it checks foreign tables and writes `data/datapackage.json`.

The columns and their rules are pandera schemas over text, so that a cell is judged as it was written; what spans
rows or tables stands below them. Imported only where foreign tables enter, since pandera is slow to import.
"""

import json
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd
import pandera.pandas as pa

from selector import composition as spelling
from selector.catalogue import CORE_PROPERTIES, FORMS, NEWEST_PRICES, plain_name
from selector.catalogue.bands import SCALES
from selector.catalogue.derived import REFERENCE_ALLOY
from selector.catalogue.evidence import GRADES, ORIGINS, USABLE
from selector.catalogue.tables import Row
from selector.datafiles import LONGEST_NUMBER, read_numbered
from selector.errors import Fault, InputError, shown

STANDINGS = (USABLE, "not comparable", "implausible")
AVAILABLE = ("common", "special", "no", "unknown")
ANSWERS = ("yes", "no", "unknown")
KINDS = (
    "paper",
    "standard",
    "handbook",
    "encyclopedia",
    "statistics",
    "maker table",
    "code table",
    "computed",
    "practice",
    "memory",
)
LEVELS = tuple(dict.fromkeys(level for scale in SCALES.values() for level in scale))
WORDS = "text"  # the unit of an observation that says something in words
LOWEST = {"solidus_c": -273.15, "liquidus_c": -273.15, "density_g_cm3": 0.1}  # of the core properties; others 0
MOST_COLUMNS = 100
DECIMAL = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,2})?")


def is_filled(cell: str) -> bool:
    """Return whether a cell holds anything."""
    return bool(cell)


def is_printable(cell: str) -> bool:
    """Return whether a cell is one line of characters that can be seen."""
    return cell.isprintable()


def is_decimal(cell: str) -> bool:
    """Return whether a cell is empty or a finite decimal number; `NaN`, `inf`, `true` and `1_000` are none."""
    return not cell or (len(cell) <= LONGEST_NUMBER and DECIMAL.fullmatch(cell) is not None)


def is_whole(cell: str) -> bool:
    """Return whether a cell is empty or a whole number without a sign."""
    return not cell or (len(cell) <= LONGEST_NUMBER and cell.isascii() and cell.isdigit())


def is_within(cell: str, low: float, high: float) -> bool:
    """Return whether a cell lies in a closed range; what is no number is another check's business."""
    figure = exact(cell)
    return figure is None or low <= figure <= high


def is_one_of(cell: str, allowed: tuple[str, ...]) -> bool:
    """Return whether a cell is empty or stands in a list."""
    return not cell or cell in allowed


def is_unrepeated(cells: "pd.Series[Any]") -> "pd.Series[bool]":
    """Return for each cell whether no earlier one is the same."""
    return ~(cells.duplicated() & (cells != ""))


def exact(cell: str) -> Fraction | None:
    """Return a cell's figure as an exact fraction, None where it holds none."""
    return Fraction(cell) if cell and is_decimal(cell) else None


def column(
    description: str,
    kind: str = "string",
    *,
    required: bool = True,
    low: float | None = None,
    high: float | None = None,
    one_of: tuple[str, ...] = (),
    unique: bool = False,
    refers: str = "",
) -> pa.Column:
    """Return a column of text cells with its checks, and with what the descriptor says of it as metadata."""
    constraints: dict[str, Any] = {"required": True} if required else {}
    checks = [pa.Check(is_printable, element_wise=True, error="holds characters that cannot be printed")]
    allowed = "one line of text"
    if required:
        checks.append(pa.Check(is_filled, element_wise=True, error="is empty"))
    if kind != "string":
        test = is_whole if kind == "integer" else is_decimal
        words = "whole" if kind == "integer" else "finite decimal"
        allowed = f"a {words} number"
        checks.append(pa.Check(test, element_wise=True, error=f"is not a {words} number"))
    if low is not None and high is not None:
        allowed += f" from {low:g} to {high:,g}"
        constraints |= {"minimum": low, "maximum": high}
        within = partial(is_within, low=low, high=high)
        checks.append(pa.Check(within, name="is_within", element_wise=True, error="lies outside the range"))
    if one_of:
        allowed = ", ".join(one_of)
        constraints["enum"] = list(one_of)
        listed = partial(is_one_of, allowed=one_of)
        checks.append(pa.Check(listed, name="is_one_of", element_wise=True, error="is not one of the list"))
    if unique:
        constraints["unique"] = True
        checks.append(pa.Check(is_unrepeated, error="is given twice"))
    if not required:
        allowed += ", or an empty cell"
    notes = {"type": kind, "constraints": constraints, "allowed": allowed, "refers": refers}
    return pa.Column(str, checks, description=description, metadata=notes)


number = partial(column, kind="number")
whole = partial(column, kind="integer")
source = partial(column, "The source, a row of sources.csv", refers="sources.source")
alloy = partial(column, "The alloy, a row of alloys.csv", refers="alloys.alloy")
element = partial(column, "The element, a row of elements.csv", refers="elements.symbol")
grade = partial(column, "Trust in the row, best first", one_of=GRADES)
origin = partial(column, "How the figure came about", one_of=(*ORIGINS, "practice"))
note = partial(column, "A remark", required=False)
standing = partial(column, "Whether the row may be chosen", one_of=STANDINGS)
reason = partial(column, "Why the row may not be chosen", required=False)


def table(name: str, title: str, key: str, /, **columns: pa.Column) -> pa.DataFrameSchema:
    """Return the schema of a table: these columns and no others, no two rows alike in the columns of `key`."""
    return pa.DataFrameSchema(columns, name=name, title=title, strict=True, metadata={"key": key.split()})


SCHEMAS: Mapping[str, pa.DataFrameSchema] = {
    "alloys": table(
        "alloys",
        "Generic alloys",
        "alloy",
        alloy=column("The trade's usual name, without a maker or brand", unique=True),
        family=column("The family of alloys that it belongs to"),
        names=column("Other spellings, set apart by semicolons", required=False),
        listed=column("Whether it stands in the default list", one_of=("yes", "no")),
        **{form: column(f"How it is sold as {form}", one_of=AVAILABLE) for form in FORMS},
        forms_source=source(),
        note=note(),
    ),
    "compositions": table(
        "compositions",
        "Nominal compositions, exactly 100 wt% an alloy",
        "alloy element",
        alloy=alloy(),
        element=element(),
        wt_percent=number("Nominal content, wt%", low=0.0001, high=100),
        tolerance=column("Tolerance or range in wt%, or `balance`", required=False),
        tolerance_source=source(required=False),
    ),
    "observations": table(
        "observations",
        "What one source says of one property of one alloy",
        "observation",
        observation=column("A lasting id of the row", unique=True),
        alloy=alloy(),
        property=column("The property; a name that ends in `_note` holds words"),
        value=number("The figure as printed", required=False, low=-1e9, high=1e9),
        low=number("The lower end of a printed range", required=False, low=-1e9, high=1e9),
        high=number("The upper end of a printed range", required=False, low=-1e9, high=1e9),
        unit=column("The unit, one for each property; `text` for words"),
        text=column("What the source says in words, reworded", required=False),
        condition=column("Temperature, rate, form and the like", required=False),
        source=source(),
        origin=column("How the figure came about, best first", one_of=ORIGINS),
        grade=grade(),
        standing=standing(),
        standing_reason=reason(),
    ),
    "bands": table(
        "bands",
        "Facts that have an order but no number",
        "alloy property",
        band=column("A lasting id of the row", unique=True),
        alloy=alloy(),
        property=column("The ordered scale", one_of=tuple(SCALES)),
        level_best=column("The best level that the evidence allows", one_of=LEVELS),
        level_worst=column("The worst level that the evidence allows", one_of=LEVELS),
        level=column("The likeliest level", one_of=LEVELS, required=False),
        source=source(),
        origin=origin(),
        grade=grade(),
        note=note(),
    ),
    "elements": table(
        "elements",
        "Chemical elements",
        "symbol",
        symbol=column("The symbol", unique=True),
        name=column("The English name", unique=True),
        atomic_mass=number("Standard atomic weight, g/mol", low=1, high=300),
        density_g_cm3=number("Density near 20 degC, g/cm3", required=False, low=0.1, high=25),
        melting_point_c=number("Melting point, degC", required=False, low=-273.15, high=4000),
        mass_source=source(),
        value_source=source(),
    ),
    "prices": table(
        "prices",
        "Printed prices of elements",
        "element price_list basis",
        element=element(),
        price_list=whole("The year that names the list", low=1900, high=2200),
        usd_kg=number("Price, USD/kg", low=0.001, high=1e7),
        basis=column("Which price it is, and how it was printed"),
        source=source(),
        origin=origin(),
        grade=grade(),
        standing=standing(),
        standing_reason=reason(),
    ),
    "supply": table(
        "supply",
        "Supply of the elements",
        "element",
        element=element(unique=True),
        flagged=column("By-product, or over 60 % of output from one country", one_of=ANSWERS),
        reason=column("Why it is flagged or not"),
        top_country_share_percent=number("Share of the chief country, %", required=False, low=0, high=100),
        critical_us=column("Whether it is on the critical list of the US", one_of=ANSWERS),
        critical_eu=column("Whether it is on the critical list of the EU", one_of=ANSWERS),
        source=source(),
        origin=origin(),
        grade=grade(),
        note=note(),
    ),
    "sources": table(
        "sources",
        "Where the figures come from",
        "source",
        source=column("A lasting id of the source", unique=True),
        citation=column("What it is; people, makers and brands are left unnamed"),
        kind=column("What kind of source it is", one_of=KINDS),
        year=whole("Year, where it is known", required=False, low=1500, high=2200),
        how_read=column("How much of it was read"),
    ),
}

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
    """Every alloy has a composition of known elements, of exactly 100 wt%, and as its name spells it."""
    groups: dict[str, Rows] = {row["alloy"]: [] for _, row in sound.get("alloys", ())}
    for line, row in sound["compositions"]:
        groups.setdefault(row["alloy"], []).append((line, row))
        if row["element"] not in spelling.atomic_masses():
            allowed = "an element symbol such as Sn, Ag, Cu, Bi, In, Sb, Zn, Pb, Au"
            yield _fault("compositions", line, "element", "is not a known element", row["element"], allowed)
    for line, row in sound.get("alloys", ()):
        if not groups[row["alloy"]]:
            yield _fault("alloys", line, "alloy", "has no row in compositions.csv", row["alloy"], "at least one row")
    for name, rows in groups.items():
        figures = [exact(row["wt_percent"]) for _, row in rows]
        amounts = [figure for figure in figures if figure is not None]
        if not rows or len(amounts) < len(rows):
            continue
        if sum(amounts) != spelling.HUNDRED:
            found = f"{spelling.decimal_text(sum(amounts, Fraction(0)))} wt% for {shown(name)}"
            yield _fault("compositions", rows[0][0], "wt_percent", "amounts do not add up", found, "exactly 100")
            continue
        with suppress(InputError):  # a name in words spells no composition
            spelled = spelling.parse(name)
            if dict(spelled.parts) != dict(zip((row["element"] for _, row in rows), amounts, strict=True)):
                allowed = f"{spelled}, as the name reads"
                yield _fault("compositions", rows[0][0], "alloy", "has other amounts than its name", name, allowed)


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
            yield fault("unit", f"differs from the unit of {shown(row['property'])}", row["unit"], unit, "convert it")
        if row["unit"] == WORDS and (any(cells) or not row["text"]):
            yield fault("text", "a row in words needs words and no figures", row["text"], "text, and no figures")
        if row["unit"] != WORDS and not any(cells):
            yield fault("value", "states no figure", "", "a value, a low or a high")


def _reasons(sound: Sound) -> Iterator[Fault]:
    """A row set aside says why."""
    for name in sound.keys() & {"observations", "prices"}:
        for line, row in sound[name]:
            if row["standing"] != USABLE and not row["standing_reason"]:
                yield _fault(name, line, "standing_reason", f"is empty for a row {row['standing']}", "", "a reason")


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


def table_schema() -> dict[str, Any]:
    """Return the descriptor of the tables as a tabular data package, written from the schemas above."""
    return {
        "profile": "tabular-data-package",
        "name": "meltwise-data",
        "title": "Meltwise data tables: generic solder alloys with their evidence",
        "description": "Each figure with its source. The licence is for the selection and arrangement;"
        " single facts are nobody's, and their sources are named row by row.",
        "licenses": [
            {
                "name": "CC-BY-4.0",
                "title": "Creative Commons Attribution 4.0 (selection and arrangement)",
                "path": "https://creativecommons.org/licenses/by/4.0/",
            }
        ],
        "resources": [_resource(schema) for schema in SCHEMAS.values()],
    }


def descriptor_text() -> str:
    """Return the text of `data/datapackage.json`."""
    return json.dumps(table_schema(), indent=2) + "\n"


def _resource(schema: pa.DataFrameSchema) -> dict[str, Any]:
    fields, foreign = [], []
    for name, declared in schema.columns.items():
        notes = declared.metadata
        field = {"name": name, "type": notes["type"], "description": declared.description}
        fields.append(field | ({"constraints": notes["constraints"]} if notes["constraints"] else {}))
        if notes["refers"]:
            resource, key = notes["refers"].split(".")
            foreign.append({"fields": [name], "reference": {"resource": resource, "fields": [key]}})
    return {
        "name": schema.name,
        "path": f"{schema.name}.csv",
        "profile": "tabular-data-resource",
        "title": schema.title,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": {
            "fields": fields,
            "missingValues": [""],
            "primaryKey": schema.metadata["key"],
            **({"foreignKeys": foreign} if foreign else {}),
        },
    }
