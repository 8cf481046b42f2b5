"""Opens what is under `data/`, in a checkout or in an installed wheel.

Each floor reads its own part of the data through this room; nobody else knows where the folder lies.
"""

import csv
import hashlib
import io
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from selector.errors import Fault, InputError

LARGEST_FILE_BYTES = 1_000_000
LONGEST_NUMBER = 40


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


def read_text(path: Path, what: str) -> str:
    """Return the text of a file that a person handed over, or say why it cannot be read.

    Raises
    ------
    InputError
        Missing, a folder, over 1 MB, not UTF-8, or holding a NUL byte.
    """
    where = str(path)
    try:
        if path.is_dir():
            raise InputError(what, [Fault(where, "is a folder", allowed="a file")])
        size = path.stat().st_size
        if size > LARGEST_FILE_BYTES:
            raise InputError(
                what,
                [Fault(where, "is too large", f"{size:,} bytes", f"at most {LARGEST_FILE_BYTES:,} bytes")],
            )
        raw = path.read_bytes()
    except FileNotFoundError:
        raise InputError(what, [Fault(where, "does not exist", remedy="check the spelling of the path")]) from None
    except OSError as error:
        raise InputError(what, [Fault(where, f"cannot be read ({error.strerror})")]) from None
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
    text = read_text(path, what)
    rows = list(csv.reader(io.StringIO(text, newline="")))
    if not rows:
        raise InputError(what, [Fault(str(path), "is empty", allowed="a heading and rows")])
    heading = [name.strip() for name in rows[0]]
    faults = [
        Fault(f"{path.name}, row 1", "column named twice", repr(name), "each column once")
        for name in sorted({name for name in heading if heading.count(name) > 1})
    ]
    table = []
    for number, row in enumerate(rows[1:], start=2):
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
        table.append(dict(zip(heading, (cell.strip() for cell in row), strict=True)))
    if faults:
        raise InputError(what, faults)
    return table


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
        run = 0
        for character in line.split("#", 1)[0]:
            run = run + 1 if character.isdigit() else 0
            if run > LONGEST_NUMBER:
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


def data_hash(folder: Path) -> str:
    """Return a short hash over every table and rule file, so that a decision names the data it rests on."""
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.suffix in {".csv", ".toml"} and "briefs" not in path.parts:
            digest.update(path.relative_to(folder).as_posix().encode())
            digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()[:16]
