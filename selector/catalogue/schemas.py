"""What the eight tables must look like, stated once: it checks foreign tables and writes `data/datapackage.json`.

The columns and their rules are pandera schemas over text, so that a cell is judged as it was written. Imported only
where foreign tables enter, since pandera is slow to import.
"""

import json
import re
from collections.abc import Mapping
from fractions import Fraction
from functools import partial
from typing import Any

import pandas as pd
import pandera.pandas as pa

from selector.catalogue import FORMS
from selector.catalogue.bands import SCALES
from selector.catalogue.evidence import GRADES, ORIGINS, USABLE
from selector.datafiles import LONGEST_NUMBER

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
integer = partial(column, kind="integer")
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
        cas=column("CAS Registry Number of the metal or element, the last digit a check", unique=True),
        atomic_mass=number("Standard atomic weight, g/mol", low=1, high=300),
        density_g_cm3=number("Density near 20 degC, g/cm3", required=False, low=0.1, high=25),
        melting_point_c=number("Melting point, degC", required=False, low=-273.15, high=4000),
        mass_source=source(),
        value_source=source(),
        cas_source=source(),
    ),
    "prices": table(
        "prices",
        "Printed prices of elements",
        "element price_list basis",
        element=element(),
        price_list=integer("The year that names the list", low=1900, high=2200),
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
        year=integer("Year, where it is known", required=False, low=1500, high=2200),
        how_read=column("How much of it was read"),
    ),
}


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
