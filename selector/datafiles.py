"""Opens what is under `data/`, in a checkout or in an installed wheel.

Each floor reads its own part of the data through this room; nobody else knows where the folder lies.
"""

import csv
import hashlib
import io
import re
import tomllib
from collections import Counter
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from selector.errors import Fault, InputError, shown

LARGEST_FILE_BYTES = 1_000_000
LONGEST_NUMBER = 40
# Tables that a decision rests on and that no folder of a user's own replaces.
SHIPPED_TABLES = (
    "constants",
    "embodied",
    "environments",
    "finishes",
    "material-sets",
    "melting",
    "part_defaults",
    "powders",
    "profile_limits",
    "warpage_limits",
)
DEEPEST = 20
# A quotation mark that is never closed takes the rest of its line: looking for its end again and again takes hours.
QUOTED = re.compile(r'"(?:\\.|[^"\\])*+(?:"|$)|\'[^\']*+(?:\'|$)')
LONG_NUMBER = re.compile(rf"(?<!\w)[0-9]\w{{{LONGEST_NUMBER},}}")
KEY = r'(?:[\w-]{1,100}+|"(?:\\.|[^"\\]){0,100}+"|\'[^\']{0,100}+\')'
DEEP_KEY = re.compile(rf"(?<![\w-]){KEY}(?:[ \t]*+\.[ \t]*+{KEY}){{{DEEPEST}}}")


@cache
def data_folder() -> Path:
    """Return the folder of the shipped data: beside the package in a checkout, inside it in a wheel."""
    package = Path(__file__).parent
    for folder in (package.parent / "data", package / "_shipped" / "data"):
        if (folder / "alloys.csv").is_file():
            return folder
    raise InputError(
        "the installation",
        [Fault("data/", "the folder of tables is missing", remedy="clone again, or install the wheel again")],
    )


def page_file() -> Path:
    """Return the start page, which lies beside the package in a checkout and inside it in a wheel."""
    package = Path(__file__).parent
    beside = package.parent / "app.py"
    return beside if beside.is_file() else package / "_shipped" / "app.py"


def read_text(path: Path, what: str, largest_bytes: int = LARGEST_FILE_BYTES) -> str:
    """Return the text of a file that a person handed over, or say why it cannot be read.

    Parameters
    ----------
    path : Path
    what : str
        Named in faults.
    largest_bytes : int
        What may be read at most; 1 MB where left out.

    Raises
    ------
    InputError
        Missing, a folder, too large, not UTF-8, or holding a NUL byte.
    """
    where = str(path)
    try:
        if path.is_dir():
            raise InputError(what, [Fault(where, "is a folder", allowed="a file")])
        size = path.stat().st_size
        with path.open("rb") as file:
            raw = file.read(largest_bytes + 1)
        if max(size, len(raw)) > largest_bytes:
            raise InputError(
                what,
                [
                    Fault(
                        where,
                        "is too large",
                        f"{max(size, len(raw)):,} bytes",
                        f"at most {largest_bytes:,} bytes",
                    )
                ],
            )
    except FileNotFoundError:
        raise InputError(what, [Fault(where, "does not exist", remedy="check the spelling of the path")]) from None
    except OSError as error:
        raise InputError(what, [Fault(where, f"cannot be read ({error.strerror})")]) from None
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        raise InputError(what, [Fault(shown(where), f"is no path ({error})")]) from None
    return decoded(raw, what, where)


def decoded(raw: bytes, what: str, where: str) -> str:
    """Return bytes as text, refusing anything but UTF-8 without NUL bytes; a byte-order mark is dropped."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise InputError(
            what,
            [
                Fault(
                    f"{where}, line {line}",
                    "is not UTF-8 text",
                    f"byte 0x{raw[error.start]:02x} at position {error.start}",
                    "UTF-8",
                    "save the file as UTF-8",
                )
            ],
        ) from None
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise InputError(what, [Fault(f"{where}, line {line}", "holds a NUL byte", "\\x00", "plain text")])
    return text


def read_table(path: Path, what: str) -> list[dict[str, str]]:
    """Return the rows of a CSV file as text, each with every column of the heading.

    Raises
    ------
    InputError
        An unreadable file, a repeated heading, or rows whose length differs from the heading's.
    """
    return [row for _, row in read_numbered(path, what)[1]]


def read_numbered(path: Path, what: str) -> tuple[list[str], list[tuple[int, dict[str, str]]]]:
    """Return the heading of a CSV file, and its rows as text with the line on which each begins.

    Raises
    ------
    InputError
        As `read_table`.
    """
    text = read_text(path, what)
    reader = csv.reader(io.StringIO(text, newline=""))
    records: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for record in reader:
            records.append((line, record))
            line = reader.line_num + 1
    except csv.Error as error:
        raise InputError(
            what,
            [
                Fault(
                    f"{path.name}, row {line}",
                    f"cannot be read as comma-separated values ({error})",
                    allowed=f"cells of at most {csv.field_size_limit():,} characters",
                    remedy="look for a quotation mark that is never closed",
                )
            ],
        ) from None
    if not records or not records[0][1]:
        raise InputError(what, [Fault(str(path), "is empty", allowed="a heading and rows")])
    heading = [name.strip() for name in records[0][1]]
    faults = [
        Fault(f"{path.name}, row 1", "column named twice", shown(name), "each column once")
        for name, count in sorted(Counter(heading).items())
        if count > 1
    ]
    table = []
    for number, row in records[1:]:
        if not row:
            continue
        if len(row) != len(heading):
            faults.append(
                Fault(
                    f"{path.name}, row {number}",
                    "wrong number of cells",
                    str(len(row)),
                    f"{len(heading)} cells",
                )
            )
            continue
        table.append((number, dict(zip(heading, (cell.strip() for cell in row), strict=True))))
    if faults:
        raise InputError(what, faults)
    return heading, table


def read_toml(path: Path, what: str) -> dict[str, Any]:
    """Return a TOML file as a mapping, or the fault with its line."""
    return parse_toml(read_text(path, what), what, str(path))


def parse_toml(text: str, what: str, where: str) -> dict[str, Any]:
    """Return TOML text as a mapping.

    Raises
    ------
    InputError
        Not TOML, a key given twice, brackets nested too deeply, or a number of absurd length.
    """
    for number, line in enumerate(text.splitlines(), start=1):
        if DEEP_KEY.search(line):  # the time to read one grows with the square of its length
            raise InputError(
                what, [Fault(f"{where}, line {number}", "names are nested too deeply", shown(line), "a few levels")]
            )
        # Hexadecimal and underscored figures count too; text in quotation marks and comments do not.
        if LONG_NUMBER.search(QUOTED.sub('""', line).split("#", 1)[0]):
            key = line.split("=", 1)[0].strip()[:LONGEST_NUMBER]
            raise InputError(
                what,
                [
                    Fault(
                        f"{where}, line {number}, {key}",
                        "number is too long",
                        f"{line.split('=', 1)[-1].strip()[:12]}… ({len(line):,} characters)",
                        f"at most {LONGEST_NUMBER} digits",
                    )
                ],
            )
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(what, [Fault(where, f"is not valid TOML: {error}")]) from None
    except RecursionError:
        raise InputError(what, [Fault(where, "brackets are nested too deeply", allowed="a few levels")]) from None
    except ValueError as error:
        raise InputError(what, [Fault(where, f"is not valid TOML: {error}")]) from None


def data_hash(folder: Path, tables: Iterable[str]) -> str:
    """Return a short hash over what a decision rests on: a folder's tables, and what ships beside them.

    Beside them ship rules, presets, life constants, computed melting and the tables of the calculations on the board.

    Parameters
    ----------
    folder : Path
        Where the tables lie; rules and presets are always the shipped ones.
    tables : iterable of str
        Names of the tables, without ending.
    """
    digest = hashlib.sha256()
    # Rule sets lie in a folder a kind: the place of a file says what it is, so it counts with its content.
    rules = [path for part in ("rules", "classes", "life") for path in sorted((data_folder() / part).rglob("*.toml"))]
    shipped = [data_folder() / f"{name}.csv" for name in SHIPPED_TABLES]
    for path in (*(folder / f"{name}.csv" for name in sorted(tables)), *rules, *shipped):
        digest.update(path.name.encode())
        digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()[:16]
