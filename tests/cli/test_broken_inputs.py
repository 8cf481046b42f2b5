"""Broken briefs and tables through the real command line: code 2, every fault named with its value, no harm done."""

import csv
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from selector.catalogue.tables import TABLES
from selector.datafiles import data_folder

HEAD = 'schema_version = 1\ntitle = "t"\n'
SERVICE = f"{HEAD}[service]\n"
PART = f'{HEAD}[[parts]]\nname = "p"\n'
LARGEST_MESSAGE = 10_000
ALIVE_WITHIN_S = 60
MOST_MEMORY = 4 * 2**30

Seen = tuple[str, str]  # a place and the value that stood there; both must stand on one line of the message
Seed = Callable[[Path], Seen]


@pytest.fixture
def place(tmp_path, monkeypatch) -> Path:
    """Return an empty folder that is also the current one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def files(folder: Path) -> dict[str, bytes | None]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None for path in folder.rglob("*")
    }


def check_refusal(done: object, seen: list[Seen], count: int | None) -> None:
    """Fail unless a run refused its input for these faults, and for `count` faults where that is known."""
    assert done.code == 2, (done.out, done.err)
    assert done.out == ""
    assert "Traceback" not in done.err
    heading, *lines = done.err.splitlines()
    for where, value in seen:
        assert any(where in line and value in line for line in lines), (where, value, done.err)
    if count is not None:
        assert heading.endswith(f"cannot be used: {count} fault{'s' if count != 1 else ''}."), done.err
        assert len(lines) == count
    assert all(char.isprintable() or char == "\n" for char in done.err), "a control character reaches the terminal"
    assert len(done.err) < LARGEST_MESSAGE, "the message floods the screen"


def preference(**fields: str) -> str:
    given = {
        "criterion": '"drop"',
        "points": "[[0, 0], [4, 100]]",
        "swing": "10",
        "reason": '"r"',
        "author": '"a"',
    } | fields
    return "[[preferences]]\n" + "".join(f"{name} = {value}\n" for name, value in given.items())


ALL_THREE = "".join(
    preference(criterion=f'"{name}"') for name in ("process_headroom_k", "pasty_range_k", "service_headroom_k")
)
ESCAPE = "\\u001b[31mred\\u0007"  # as TOML writes it: the parsed text holds the raw characters
# As found in the wild: a long figure that a scan by lines takes for text, since a text of several lines ends before it.
HIDDEN_FIGURE = '["""\n"" """, 0x' + "F" * 5_000 + ', "b"]'

# name: (the brief, what must be named on one line each)
BRIEFS: dict[str, tuple[str | bytes, list[Seen]]] = {
    "empty file": ("", [("brief.toml: title", "is missing")]),
    "missing title": ("schema_version = 1\n", [("brief.toml: title", "is missing")]),
    "blank title": ('title = "  "\n', [("title", "'  '")]),
    "nan": (f"{SERVICE}maximum_c = nan\n", [("service.maximum_c: is not a finite number", "got nan")]),
    "infinity": (f"{SERVICE}maximum_c = inf\n", [("service.maximum_c: is not a finite number", "got inf")]),
    "minus infinity": (f"{SERVICE}minimum_c = -inf\n", [("service.minimum_c", "got -inf")]),
    "overflow to infinity": (f"{PART}rating_c = 1e999\n", [("parts[0].rating_c", "got inf")]),
    "true for a number": (f"{SERVICE}cycles_per_day = true\n", [("service.cycles_per_day", "got True")]),
    "true for a class": (f"{HEAD}ipc_class = true\n", [("ipc_class: is not a number", "got True")]),
    "text for a number": (f'{PART}rating_c = "260"\n', [("parts[0].rating_c: is not a number", "got '260'")]),
    "number for text": ("title = 7\n", [("title: is not text", "got 7")]),
    "number for a flag": (f"{HEAD}[use]\nworn = 1\n", [("use.worn: is not true or false", "got 1")]),
    "fraction for a whole number": (f"{HEAD}ipc_class = 2.5\n", [("ipc_class: is not a whole number", "got 2.5")]),
    "inverted service range": (
        f"{SERVICE}minimum_c = 80\nmaximum_c = 20\n",
        [("service.minimum_c: lies above service.maximum_c", "got 80; allowed: at most 20")],
    ),
    "cycles wider than the service range": (
        f"{SERVICE}minimum_c = 0\nmaximum_c = 50\ncyclic_range_k = 51\n",
        [("service.cyclic_range_k", "got 51; allowed: at most 50 K")],
    ),
    "unknown element": (
        f'{HEAD}[[bans]]\nelement = "Xx"\nlimit_ppm = 1\nreason = "r"\n',
        [("bans[0].element", "got 'Xx'")],
    ),
    "two parts of one name": (
        f'{PART}[[parts]]\nname = "p"\n',
        [("parts[1].name: repeats parts[0].name", "got 'p'")],
    ),
    "two bans of one element": (
        HEAD + '[[bans]]\nelement = "Sb"\nlimit_ppm = 1\nreason = "r"\n' * 2,
        [("bans[1].element: repeats bans[0].element", "got 'Sb'")],
    ),
    "key given twice": (f'{HEAD}title = "u"\n', [("brief.toml: is not valid TOML", "line 3")]),
    "table given twice": (f"{SERVICE}[service]\n", [("brief.toml: is not valid TOML", "line 4")]),
    "not TOML": ("title: t\n", [("brief.toml: is not valid TOML", "line 1")]),
    "unknown field": (f"{PART}ratng_c = 260\n", [("parts[0].ratng_c", "got 260"), ("ratng_c", "mean rating_c?")]),
    "unknown table": (f"{HEAD}[proces]\nform = 1\n", [("proces: is not a field", "did you mean process?")]),
    "wrong choice": (f'{HEAD}[process]\nform = "dust"\n', [("process.form", "got 'dust'; allowed: 'paste'")]),
    "wrong route": (f'{HEAD}[process]\nroutes = ["reflow", "laser"]\n', [("process.routes[1]", "got 'laser'")]),
    "date as text": (
        f'{HEAD}[[markets]]\nmarket = "EU"\ndate = "2027-09-01"\n',
        [("markets[0].date: is not a date", "got '2027-09-01'")],
    ),
    "no such day": (f'{HEAD}[[markets]]\nmarket = "EU"\ndate = 2027-02-30\n', [("brief.toml", "line 5")]),
    "table for a list": (f'{HEAD}[parts]\nname = "p"\n', [("parts: is not a list", "got {'name': 'p'}")]),
    "text for a table": (f'{HEAD}use = "home"\n', [("use: is not a table of fields", "got 'home'")]),
    "hotter than any oven": (f"{PART}rating_c = 601\n", [("parts[0].rating_c", "got 601; allowed: -200 to 600 degC")]),
    "negative content": (
        f'{HEAD}[[bans]]\nelement = "Sb"\nlimit_ppm = -1\nreason = "r"\n',
        [("bans[0].limit_ppm", "got -1; allowed: 0 to 1e+06 ppm")],
    ),
    "class 4": (f"{HEAD}ipc_class = 4\n", [("ipc_class: lies outside the range", "got 4; allowed: 1 to 3")]),
    "ball that is no alloy": (f'{PART}ball_alloy = "Sn-200Ag"\n', [("parts[0].ball_alloy", "got 'Sn-200Ag'")]),
    "version 2": ("schema_version = 2\ntitle = 't'\n", [("schema_version", "got 2; allowed: 1")]),
    "version as a float": ("schema_version = 1.0\ntitle = 't'\n", [("schema_version", "got 1.0; allowed: 1")]),
    "unknown criterion": (
        HEAD + preference(criterion='"beauty"'),
        [("preferences[0].criterion: is not a criterion", "got beauty; allowed: process_headroom_k")],
    ),
    "falling levels": (
        HEAD + preference(points="[[4, 0], [0, 100]]"),
        [("preferences[0].points: levels do not rise", "got [[4, 0], [0, 100]]")],
    ),
    "worths short of 100": (
        HEAD + preference(points="[[0, 0], [4, 90]]"),
        [("preferences[0].points: worths do not span 0 to 100", "got [[0, 0], [4, 90]]")],
    ),
    "nan among points": (
        HEAD + preference(points="[[0, 0], [nan, 100]]"),
        [("preferences[0].points", "got [[0, 0], [nan, 100]]")],
    ),
    "three that add up to a constant": (
        HEAD + ALL_THREE,
        [("preferences: weigh one thing twice", "pasty_range_k, process_headroom_k, service_headroom_k")],
    ),
    "no weight at all": (HEAD + preference(swing="0"), [("preferences: put no swing points", "at least one above 0")]),
    "10 MB": (HEAD + "# " + "x" * 10_000_000, [("brief.toml: is too large", "got 10,000,033 bytes")]),
    "UTF-16": ('title = "t"\n'.encode("utf-16"), [("brief.toml, line 1: is not UTF-8 text", "byte 0xff")]),
    "latin-1": ('schema_version = 1\ntitle = "Pümpe"\n'.encode("latin-1"), [("brief.toml, line 2", "byte 0xfc")]),
    "NUL byte": (b'schema_version = 1\ntitle = "t\0"\n', [("brief.toml, line 2: holds a NUL byte", "\\x00")]),
    "5,000 digits": (
        f"{SERVICE}maximum_c = {'9' * 5_000}\n",
        [("brief.toml, line 4, maximum_c: number is too long", "got 999999999999…")],
    ),
    "5,000 hexadecimal digits": (
        f"{SERVICE}maximum_c = 0x{'F' * 5_000}\n",
        [("brief.toml, line 4, maximum_c: number is too long", "got 0xFFFFFFFFFF…")],
    ),
    "5,000 octal digits in a list": (
        f"{HEAD}parts = [0o{'7' * 5_000}]\n",
        [("brief.toml, line 3, parts: number is too long", "got [0o777")],
    ),
    "5,000 digits with underscores": (
        f"{SERVICE}maximum_c = 1{'_000' * 1_700}\n",
        [("brief.toml, line 4, maximum_c: number is too long", "got 1_000_000_00…")],
    ),
    "hidden hexadecimal digits": (
        f"{SERVICE}maximum_c = {HIDDEN_FIGURE}\n",
        [("service.maximum_c: is not a number", "an integer too long")],
    ),
    "100,000 brackets": (f"{HEAD}parts = {'[' * 100_000}\n", [("brief.toml", "brackets are nested too deeply")]),
    "100,000 closed brackets": (
        f"{HEAD}parts = {'[' * 100_000}{']' * 100_000}\n",
        [("brief.toml", "brackets are nested too deeply")],
    ),
    "10,000 inline tables": (
        f"{HEAD}service = {'{a = ' * 10_000}1{'}' * 10_000}\n",
        [("brief.toml", "brackets are nested too deeply")],
    ),
    "100,000 brackets at the head": (f"{HEAD}{'[' * 100_000}\n", [("brief.toml: is not valid TOML", "line 3")]),
    # Unguarded, 100,000 names take all memory and 300,000 quotation marks an hour: those stand below, in a process that
    # is held short.
    "dotted key of 20,000 names": (
        f"{HEAD}{'.'.join('a' * 20_000)} = 1\n",
        [("brief.toml, line 3: names are nested too deeply", "got 'a.a.a.")],
    ),
    "dotted quoted key": (
        f"title.{' . '.join(['a b'.join(2 * [chr(34)])] * 3_000)} = 1\n",
        [("brief.toml, line 1: names are nested too deeply", "got 'title.")],
    ),
    "dotted table of 20,000 names": (
        f"{HEAD}[{'.'.join('a' * 20_000)}]\n",
        [("brief.toml, line 3: names are nested too deeply", "got '[a.a.a.")],
    ),
    "quotation marks without end": (
        'title = "' + '\\"' * 10_000 + "\n",
        [("brief.toml: is not valid TOML", "line 1")],
    ),
    "escape sequence in a value": (
        f'{HEAD}incumbent = "{ESCAPE}"\n',
        [("incumbent: is empty, too long or not printable", "got '\\x1b[31mred\\x07'")],
    ),
    "escape sequence in a key": (f'{HEAD}"{ESCAPE}" = 1\n', [("'\\x1b[31mred\\x07': is not a field", "got 1")]),
    "line break in a key": (f'{HEAD}"a\\nb" = 1\n', [("'a\\nb': is not a field of the brief", "got 1")]),
    "raw escape sequence": (f'{HEAD}"\x1b[31m" = 1\n', [("brief.toml: is not valid TOML", "'\\x1b'")]),
    "raw escape sequence before a long figure": (
        f'{HEAD}"\x1b[31m" = {"9" * 5_000}\n',
        [('brief.toml, line 3, "\\x1b[31m": number is too long', "got 999")],
    ),
    "text that runs backwards": ('title = "\u202eevil"\n', [("title", "got '\\u202eevil'")]),
    "text of 300,000 characters": (f'title = "{"a" * 300_000}"\n', [("title", "(300,002 characters)")]),
    "key of 300,000 characters": (f"{HEAD}{'a' * 300_000} = 1\n", [("aaaa…: is not a field", "got 1")]),
    "table of 50,000 fields": (
        f"{HEAD}[use]\nworn = {{{', '.join(f'a{i} = 1' for i in range(50_000))}}}\n",
        [("use.worn: is not true or false", "got {'a0': 1")],
    ),
    "three at once": (
        "schema_version = 2\ntitle = 7\nipc_class = 9\n",
        [("schema_version", "got 2"), ("title", "got 7"), ("ipc_class", "got 9")],
    ),
    "eight at once": (
        'title = "t"\nincumbnt = "SAC305"\n[use]\nequipment = "toaster"\nworn = "yes"\n'
        "[service]\nminimum_c = 90\nmaximum_c = 10\ncycles_per_day = nan\n"
        '[[parts]]\nname = "p"\nrating_c = "hot"\n[[parts]]\nname = "p"\n'
        '[[bans]]\nelement = "Unobtainium"\nlimit_ppm = 1\nreason = "r"\n',
        [
            ("incumbnt", "did you mean incumbent?"),
            ("use.equipment", "got 'toaster'"),
            ("use.worn", "got 'yes'"),
            ("service.minimum_c", "got 90"),
            ("service.cycles_per_day", "got nan"),
            ("parts[0].rating_c", "got 'hot'"),
            ("parts[1].name", "got 'p'"),
            ("bans[0].element", "got 'Unobtainium'"),
        ],
    ),
    "five of preferences": (
        HEAD
        + preference(points="[[0, 0]]", swing="-1")
        + preference(points='[[0, "a"], [1, 100]]', swing="inf", author='""'),
        [
            ("preferences[0].points", "got [[0, 0]]"),
            ("preferences[0].swing", "got -1"),
            ("preferences[1].points", "got [[0, 'a'], [1, 100]]"),
            ("preferences[1].swing", "got inf"),
            ("preferences[1].author", "got ''"),
            ("preferences[1].criterion: repeats preferences[0].criterion", "got 'drop'"),
        ],
    ),
}
# A near-name hint stands on the line of its own fault; every other pair is one fault.
COUNTS = {"unknown field": 1}


@pytest.mark.parametrize("name", BRIEFS)
def test_a_broken_brief_is_refused(name, run, place):
    content, seen = BRIEFS[name]
    brief = place / "brief.toml"
    brief.write_bytes(content if isinstance(content, bytes) else content.encode())
    before = files(place)
    done = run("shortlist", brief)
    check_refusal(done, seen, COUNTS.get(name, len(seen)))
    assert files(place) == before


@pytest.mark.parametrize("output", ["--json", "--csv"])
def test_no_machine_gets_half_an_answer(output, run, place):
    (place / "brief.toml").write_text(f"{SERVICE}maximum_c = nan\n")
    check_refusal(run("shortlist", "brief.toml", output), [("service.maximum_c", "got nan")], 1)


def test_challenge_refuses_a_broken_brief_too(run, place):
    (place / "brief.toml").write_text(f"{SERVICE}maximum_c = nan\n")
    check_refusal(run("challenge", "SAC305", "brief.toml"), [("service.maximum_c", "got nan")], 1)


def test_a_missing_brief(run, place):
    check_refusal(run("shortlist", "gone.toml"), [("gone.toml: does not exist", "check the spelling")], 1)
    assert files(place) == {}


def test_a_folder_for_a_brief(run, place):
    check_refusal(run("shortlist", place), [(f"{place}: is a folder", "allowed: a file")], 1)
    assert files(place) == {}


def test_a_name_that_no_shipped_brief_has(run, place):
    seen = [("is not a shipped brief", "got 'skin-path'; allowed: motor-drive, river-logger, sensor-stack, skin-patch")]
    check_refusal(run("shortlist", "skin-path"), seen, 1)


def test_a_path_with_an_escape_sequence(run, place):
    check_refusal(run("shortlist", "\x1b[31mred.toml"), [("\\x1b[31mred.toml", "does not exist")], 1)


def test_a_path_with_a_nul_byte(run, place):
    check_refusal(run("shortlist", "a\0b.toml"), [("'a\\x00b.toml'", "is no path")], 1)


# ---- tables ----


@pytest.fixture
def tables(place) -> Path:
    """Return a copy of the shipped tables."""
    folder = place / "tables"
    folder.mkdir()
    for name in TABLES:
        shutil.copy(data_folder() / f"{name}.csv", folder)
    return folder


def cells_of(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def write_cells(path: Path, cells: list[list[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(cells)


def line_of(cells: list[list[str]], where: dict[str, str]) -> int:
    """Return the line of the first row with these cells; no shipped cell holds a line break."""
    for number, row in enumerate(cells[1:], start=2):
        if dict(zip(cells[0], row, strict=True)).items() >= where.items():
            return number
    raise AssertionError(f"no row {where}")


def put(table: str, where: dict[str, str], column: str, value: str, shown: str | None = None, named: str = "") -> Seed:
    """Return a seed that writes `value` into one cell; the fault names the column `named` where not that one."""

    def seed(folder: Path) -> Seen:
        path = folder / f"{table}.csv"
        cells = cells_of(path)
        line = line_of(cells, where)
        cells[line - 1][cells[0].index(column)] = value
        write_cells(path, cells)
        return f"{table}.csv, row {line}, {named or column}: ", f"got {shown or repr(value)}"

    return seed


def huge_cell(table: str, where: dict[str, str], column: str) -> Seed:
    """Return a seed that makes a cell larger than any reader of such files takes; the fault knows no column."""

    def seed(folder: Path) -> Seen:
        place, _ = put(table, where, column, "x" * 200_000)(folder)
        return place.removesuffix(f", {column}: "), "cells of at most 131,072 characters"

    return seed


def repeat(table: str, where: dict[str, str], column: str, **changes: str) -> Seed:
    """Return a seed that adds a row again, some of its cells changed, at the end of the table."""

    def seed(folder: Path) -> Seen:
        path = folder / f"{table}.csv"
        cells = cells_of(path)
        copy = dict(zip(cells[0], cells[line_of(cells, where) - 1], strict=True)) | changes
        write_cells(path, [*cells, list(copy.values())])
        return f"{table}.csv, row {len(cells) + 1}, {column}: ", f"got '{copy[column]}'"

    return seed


def column_gone(table: str, column: str) -> Seed:
    def seed(folder: Path) -> Seen:
        path = folder / f"{table}.csv"
        cells = cells_of(path)
        place = cells[0].index(column)
        write_cells(path, [row[:place] + row[place + 1 :] for row in cells])
        return f"{table}.csv, row 1, {column}", "the column is missing"

    return seed


def column_more(table: str, column: str) -> Seed:
    def seed(folder: Path) -> Seen:
        path = folder / f"{table}.csv"
        heading, *rows = cells_of(path)
        write_cells(path, [[*heading, column], *([*row, ""] for row in rows)])
        return f"{table}.csv, row 1: is no column", f"got {column!r}"

    return seed


def bytes_of(table: str, change: Callable[[bytes], bytes], where: str, value: str) -> Seed:
    """Return a seed that changes a table as a file."""

    def seed(folder: Path) -> Seen:
        path = folder / f"{table}.csv"
        path.write_bytes(change(path.read_bytes()))
        return where, value

    return seed


def gone(table: str) -> Seed:
    def seed(folder: Path) -> Seen:
        (folder / f"{table}.csv").unlink()
        return f"{table}.csv", "does not exist"

    return seed


SOLIDUS = {"alloy": "SAC305", "property": "solidus_c", "source": "compiled-table-2010"}
LIQUIDUS = SOLIDUS | {"property": "liquidus_c"}
RANGE = {"alloy": "SAC305", "property": "shear_mpa", "source": "memory-review-literature"}  # 32 (27 to 45)
LEAD_ROW = {"alloy": "Pb-5Sn", "element": "Pb"}

# name: (seeds, number of faults; None where one seed breaks several rules)
FOLDERS: dict[str, tuple[list[Seed], int | None]] = {
    "nan": ([put("observations", SOLIDUS, "value", "NaN")], 1),
    "infinity": ([put("observations", SOLIDUS, "value", "-inf")], 1),
    "true": ([put("elements", {"symbol": "Ag"}, "atomic_mass", "true")], 1),
    "text for a number": ([put("prices", {"element": "Ag"}, "usd_kg", "dear")], 1),
    "number with an underscore": ([put("observations", SOLIDUS, "value", "2_17")], 1),
    "number of 100,000 digits": (
        [put("observations", SOLIDUS, "value", "9" * 100_000, "'9999999999")],
        1,
    ),
    "solidus above liquidus": ([put("observations", SOLIDUS, "value", "230")], 1),
    "low above value": ([put("observations", RANGE, "low", "40", "'40 / 32 / 45'", named="value")], 1),
    "colder than cold": ([put("observations", LIQUIDUS, "value", "-300", "'-300")], None),
    "sum of 99": ([put("compositions", LEAD_ROW, "wt_percent", "94", "\"99 wt% for 'Pb-5Sn'\"")], 1),
    "unknown element": ([put("compositions", LEAD_ROW, "element", "Xx")], None),
    "alloy given twice": ([repeat("alloys", {"alloy": "SAC305"}, "alloy")], 1),
    "observation given twice": ([repeat("observations", SOLIDUS, "observation")], 1),
    "unknown source": ([put("observations", SOLIDUS, "source", "hearsay")], 1),
    "unknown alloy": ([put("observations", SOLIDUS, "alloy", "Sn-99Xx")], 1),
    "wrong choice": ([put("observations", SOLIDUS, "grade", "superb")], 1),
    "missing column": ([column_gone("observations", "grade")], 1),
    "column too many": ([column_more("observations", "colour")], 1),
    "column with an escape sequence": ([column_more("bands", "\x1b[31mred")], 1),
    "column given twice": (
        [
            bytes_of(
                "sources",
                lambda raw: raw.replace(b"how_read", b"citation", 1),
                "sources.csv, row 1: column named twice",
                "got 'citation'",
            )
        ],
        1,
    ),
    "missing file": ([gone("bands")], 1),
    "UTF-16": (
        [bytes_of("bands", lambda raw: raw.decode().encode("utf-16"), "bands.csv, line 1: is not UTF-8", "byte 0xff")],
        1,
    ),
    "latin-1": (
        [bytes_of("alloys", lambda raw: raw + "é".encode("latin-1"), "alloys.csv, line", "byte 0xe9")],
        1,
    ),
    "NUL byte": (
        [bytes_of("supply", lambda raw: raw.replace(b"\n", b"\n\0", 1), "supply.csv, line 2: holds a NUL", "\\x00")],
        1,
    ),
    "huge cell": ([huge_cell("observations", SOLIDUS, "condition")], 1),
    "10 MB": (
        [bytes_of("prices", lambda raw: raw + b"x" * 10_000_000, "prices.csv: is too large", "allowed: at most")],
        1,
    ),
    "empty table": ([bytes_of("sources", lambda raw: b"", "sources.csv: is empty", "allowed: a heading")], 1),
    "row too short": (
        [bytes_of("elements", lambda raw: raw + b"Sn,tin\n", "elements.csv, row ", "wrong number of cells; got 2")],
        1,
    ),
    "escape sequence": ([put("observations", SOLIDUS, "condition", "\x1b]0;x\x07")], 1),
    "escape sequence for a standing": ([put("observations", SOLIDUS, "standing", "\x1b[31m")], None),
    "unknown level": ([put("bands", {"property": "drop_class"}, "level_best", "splendid")], 1),
    "three at once": (
        [
            put("observations", SOLIDUS, "value", "NaN"),
            put("compositions", LEAD_ROW, "wt_percent", "94", '"99 wt%'),
            put("bands", {"property": "wetting_class"}, "grade", "superb"),
        ],
        3,
    ),
    "eight at once": (
        [
            put("observations", SOLIDUS, "value", "inf"),
            put("observations", LIQUIDUS, "source", "hearsay"),
            put("observations", RANGE, "grade", "superb"),
            put("elements", {"symbol": "Ag"}, "atomic_mass", "0"),
            put("sources", {}, "kind", "rumour"),
            put("supply", {"element": "Ag"}, "flagged", "maybe"),
            put("alloys", {"alloy": "SAC305"}, "listed", "true"),
            column_more("prices", "colour"),
        ],
        8,
    ),
    "faults and a missing file": ([put("observations", SOLIDUS, "value", "NaN"), gone("bands"), gone("supply")], 3),
}


@pytest.mark.parametrize("name", FOLDERS)
def test_broken_tables_are_refused(name, run, tables):
    seeds, count = FOLDERS[name]
    seen = [seed(tables) for seed in seeds]
    before = files(tables.parent)
    done = run("shortlist", "skin-patch", "--data", tables)
    check_refusal(done, seen, count)
    assert files(tables.parent) == before


@pytest.mark.parametrize("command", [("alloys",), ("show", "SAC305"), ("challenge", "SAC305", "skin-patch")])
def test_every_command_checks_the_tables(command, run, tables):
    seen = put("observations", SOLIDUS, "value", "NaN")(tables)
    check_refusal(run(*command, "--data", tables), [seen], 1)


def test_sound_tables_are_taken(run, tables):
    before = files(tables.parent)
    done = run("shortlist", "skin-patch", "--data", tables)
    assert (done.code, done.err) == (0, "")
    assert files(tables.parent) == before


@pytest.mark.parametrize("what", ["missing", "file"])
def test_no_folder_of_tables(what, run, place):
    folder = place / "tables"
    if what == "file":
        folder.write_text("not a folder\n")
    before = files(place)
    check_refusal(run("alloys", "--data", folder), [(f"{name}.csv", "") for name in TABLES], len(TABLES))
    assert files(place) == before


# ---- the nastiest once more, each in a process of its own ----


def hold_short() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


def in_a_process(*arguments: object) -> object:
    done = subprocess.run(
        [sys.executable, "-m", "selector", *map(str, arguments)],
        cwd=data_folder().parent,
        capture_output=True,
        timeout=ALIVE_WITHIN_S,
        preexec_fn=hold_short,
        check=False,
    )
    return SimpleNamespace(code=done.returncode, out=done.stdout.decode(), err=done.stderr.decode())


@pytest.mark.parametrize(
    "name",
    [
        "100,000 closed brackets",
        "hidden hexadecimal digits",
        "escape sequence in a key",
    ],
)
def test_the_nastiest_briefs_in_a_process(name, tmp_path):
    content, seen = BRIEFS[name]
    assert isinstance(content, str)
    brief = tmp_path / "brief.toml"
    brief.write_text(content, encoding="utf-8")
    check_refusal(in_a_process("shortlist", brief), seen, len(seen))
    assert [entry.name for entry in tmp_path.iterdir()] == ["brief.toml"]


@pytest.mark.parametrize(
    ("line", "seen"),
    [
        (f"{'.'.join('a' * 100_000)} = 1", ("brief.toml, line 3: names are nested too deeply", "a.a.a.a.")),
        (f"[{'.'.join('a' * 100_000)}]", ("brief.toml, line 3: names are nested too deeply", "a.a.a.a.")),
        ('incumbent = "' + '\\"' * 300_000, ("brief.toml: is not valid TOML", "line 3")),
    ],
    ids=["dotted key", "dotted table", "quotation marks"],
)
def test_what_would_take_all_time_or_memory(line, seen, tmp_path):
    brief = tmp_path / "brief.toml"
    brief.write_text(f"{HEAD}{line}\n", encoding="utf-8")
    check_refusal(in_a_process("shortlist", brief), [seen], 1)
    assert [entry.name for entry in tmp_path.iterdir()] == ["brief.toml"]


def test_the_nastiest_tables_in_a_process(tables):
    seen = [seed(tables) for seed in FOLDERS["eight at once"][0]]
    before = files(tables.parent)
    check_refusal(in_a_process("shortlist", "skin-patch", "--data", tables), seen, 8)
    assert files(tables.parent) == before
