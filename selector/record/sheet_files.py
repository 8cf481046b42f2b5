"""The composition sheet as files: CSV and XLSX for a spreadsheet, one HTML page to read and print.

In a spreadsheet text stays text, whatever it begins with, and numbers stay numbers.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING

from selector.compliance.context import JUDGED
from selector.compliance.finding import Finding
from selector.compliance.saved import Asked, saved
from selector.composition import decimal_text
from selector.record.compliance import NOT_ADVICE, rows
from selector.record.plain import csv_text, guarded
from selector.record.sheet import MEASURED, NO_DECLARATION, Sheet, written
from selector.record.templates import embedded, environment, style
from selector.verdict import SEVERITY, Outcome

if TYPE_CHECKING:
    from jinja2 import Environment
    from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

KINDS = ("law", "customer", "quality", "supply-risk", "information")
CONTENT_COLUMNS = ("element", "substance", "cas", "wt_percent", "ppm", "basis")
VERDICT_COLUMNS = (
    "rule_id",
    "rule_set",
    "kind",
    "outcome",
    "duty",
    "measured_ppm",
    "limit_ppm",
    "margin_ppm",
    "exemption",
    "exemption_until",
    "reason",
    "source",
    "clause",
    "next_change",
    "as_of",
    "known_to",
)
NUMBERS = ("wt_percent", "ppm", "measured_ppm", "limit_ppm", "margin_ppm")
CSV_COLUMNS = ("part", "item", "value", *CONTENT_COLUMNS[2:], *VERDICT_COLUMNS[1:3], *VERDICT_COLUMNS[4:])


def head(sheet: Sheet) -> list[tuple[str, str]]:
    """Return what the sheet is, of what and under which rules, as pairs of title and text."""
    return [
        ("sheet of", sheet.name),
        ("composition", str(sheet.composition)),
        ("standing", NO_DECLARATION),
        ("verdicts", sheet.headline),
        ("judged as", "; ".join(dict.fromkeys(f"{c.judged}: {JUDGED[c.judged]}" for c in sheet.contexts))),
        ("markets", "; ".join(asked(sheet))),
        ("use", _use(sheet)),
        ("made", str(sheet.made)),
        ("data", sheet.data_hash),
        ("Meltwise", sheet.version),
    ]


def asked(sheet: Sheet) -> list[str]:
    """Return each question of the sheet: markets, kind of day and day."""
    return [
        f"{', '.join(sorted(context.markets)) or 'every market with rules'}: {context.date_kind} {context.on}"
        for context in sheet.contexts
    ]


def _use(sheet: Sheet) -> str:
    told = []
    for context in sheet.contexts:
        words = [*sorted(context.yes), *(f"not {word}" for word in sorted(context.no))]
        more = [context.equipment, context.application, context.form]
        figures = [f"{name} {decimal_text(value)}" for name, value in context.figures]
        told.append(", ".join([word for word in (*more, *words, *figures) if word != "unknown"]) or "not known")
    return "; ".join(dict.fromkeys(told))


def content_rows(sheet: Sheet) -> list[dict[str, str]]:
    """Return the substances as text cells; nominal contents add up to exactly 100 wt%."""
    nominal = written(sheet.composition)
    return [
        {
            "element": entry.element,
            "substance": entry.name,
            "cas": entry.cas,
            "wt_percent": decimal_text(entry.wt_percent) if entry.basis == MEASURED else nominal[entry.element],
            "ppm": decimal_text(entry.ppm),
            "basis": entry.basis,
        }
        for entry in sheet.contents
    ]


def verdict_rows(sheet: Sheet) -> list[dict[str, str]]:
    """Return every finding as text cells, those that do not apply too."""
    return [{name: row[name] for name in VERDICT_COLUMNS} for row in rows(sheet.findings)]


def sheet_csv(sheet: Sheet) -> str:
    """Return the sheet as CSV: one row a fact, the first cell says what kind of row it is."""
    table: list[dict[str, str]] = []

    def add(part: str, item: str, value: str = "", **cells: str) -> None:
        blank = dict.fromkeys(CSV_COLUMNS, "")
        table.append({**blank, "part": part, "item": guarded(item), "value": guarded(value), **cells})

    for item, value in head(sheet):
        add("sheet", item, value)
    for item, value in sheet.certificate.fields:
        add("certificate", item, value)
    for caution in sheet.cautions:
        add("caution", "watch", caution)
    for row in content_rows(sheet):
        add("content", row["element"], row["substance"], **{k: row[k] for k in CONTENT_COLUMNS[2:]})
    for row in verdict_rows(sheet):
        cells = {name: row[name] for name in VERDICT_COLUMNS if name in CSV_COLUMNS}
        add("verdict", row["rule_id"], row["outcome"], **cells)
    for entry in sheet.rule_dates:
        add("rule set", entry.rule_set, entry.market, kind=entry.kind, known_to=str(entry.known_to))
    return csv_text(table)


def sheet_xlsx(sheet: Sheet) -> bytes:
    """Return the sheet as a workbook: composition with certificate, verdicts, rule sets."""
    import xlsxwriter  # type: ignore[import-untyped]

    out = BytesIO()
    settings = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(out, settings) as book:
        book.set_properties({"title": f"Composition sheet {sheet.name}", "comments": NO_DECLARATION})
        bold = book.add_format({"bold": True})
        wrapped = book.add_format({"text_wrap": True, "valign": "top"})
        page = book.add_worksheet("Composition")
        page.set_column(0, 0, 14)
        page.set_column(1, 1, 40)
        page.set_column(2, 6, 13)
        line = 0
        for item, value in (*head(sheet), *(("watch", text) for text in sheet.cautions)):
            page.write_string(line, 0, guarded(item), bold)
            page.write_string(line, 1, guarded(value), wrapped)
            line += 1
        page.write_string(line + 1, 0, "certificate", bold)
        for below, (item, value) in enumerate(sheet.certificate.fields, line + 2):
            page.write_string(below, 0, item)
            page.write_string(below, 1, guarded(value))
        _table(page, line + 3 + len(sheet.certificate.fields), CONTENT_COLUMNS, content_rows(sheet), bold)
        verdicts = book.add_worksheet("Verdicts")
        verdicts.set_column(0, len(VERDICT_COLUMNS) - 1, 16)
        verdicts.set_column(VERDICT_COLUMNS.index("reason"), VERDICT_COLUMNS.index("reason"), 60)
        verdicts.freeze_panes(1, 1)
        _table(verdicts, 0, VERDICT_COLUMNS, verdict_rows(sheet), bold)
        dates = book.add_worksheet("Rule sets")
        dates.set_column(0, 3, 24)
        listed = [
            {"rule_set": d.rule_set, "kind": d.kind, "market": d.market, "known_to": str(d.known_to)}
            for d in sheet.rule_dates
        ]
        _table(dates, 0, ("rule_set", "kind", "market", "known_to"), listed, bold)
    return out.getvalue()


def _table(
    page: "Worksheet", line: int, columns: Iterable[str], table: Iterable[Mapping[str, str]], bold: object
) -> None:
    """Write rows under a heading; text by `write_string`, so that nothing is taken for a formula or a link."""
    names = tuple(columns)
    for index, name in enumerate(names):
        page.write_string(line, index, name, bold)
    for number, row in enumerate(table, line + 1):
        for index, name in enumerate(names):
            if name in NUMBERS and row[name]:
                page.write_number(number, index, float(row[name]))
            elif row[name]:
                page.write_string(number, index, guarded(row[name]))


def sheet_html(sheet: Sheet) -> str:
    """Return the sheet as one HTML page that fetches and runs nothing, and that `comply --recheck` reads again."""
    block = saved({sheet.name: sheet.composition}, [Asked(context, "everything") for context in sheet.contexts])
    content = {"kind": "composition sheet", "alloy": sheet.name, "data_hash": sheet.data_hash, "compliance": block}
    aside = [entry for entry in sheet.findings if entry.outcome is Outcome.NOT_APPLICABLE]
    return (
        _environment()
        .get_template("sheet.html.j2")
        .render(
            sheet=sheet,
            asked=asked(sheet),
            use=_use(sheet),
            judged=dict(head(sheet))["judged as"],
            standing=NO_DECLARATION,
            not_advice=NOT_ADVICE,
            contents=content_rows(sheet),
            kinds=[(kind, _worst_first(sheet, kind)) for kind in dict.fromkeys((*KINDS, *_kinds(sheet)))],
            aside=[f"{name} {count}" for name, count in Counter(entry.rule_set for entry in aside).items()],
            css=style(),
            data=embedded(content),
        )
    )


def _kinds(sheet: Sheet) -> Iterable[str]:
    return (entry.kind for entry in sheet.told)


def _worst_first(sheet: Sheet, kind: str) -> list[Finding]:
    return sorted((e for e in sheet.told if e.kind == kind), key=lambda entry: SEVERITY.index(entry.outcome))


@cache
def _environment() -> "Environment":
    found = environment().overlay()
    found.filters = {
        **environment().filters,
        "content": lambda value: "" if value is None else decimal_text(value),
        "margin": lambda value: "" if value is None else ("+" if value >= 0 else "") + decimal_text(value),
    }
    return found
