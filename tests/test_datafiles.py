"""Files that people hand over: every way in which they can be broken ends in an `InputError`."""

import io
from pathlib import Path

import pytest

from selector import datafiles
from selector.datafiles import (
    LARGEST_FILE_BYTES,
    data_folder,
    data_hash,
    decoded,
    page_file,
    parse_toml,
    read_table,
    read_text,
    read_toml,
)
from selector.errors import InputError


def refusal(call, *arguments):
    with pytest.raises(InputError) as caught:
        call(*arguments)
    assert caught.value.what == "the file"
    return caught.value.faults


def written(folder, content, name="some.csv"):
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def test_missing_file(tmp_path):
    (fault,) = refusal(read_text, tmp_path / "nowhere.toml", "the file")
    assert "does not exist" in fault.problem
    assert "nowhere.toml" in fault.where
    assert "spelling" in fault.remedy


def test_folder(tmp_path):
    (fault,) = refusal(read_text, tmp_path, "the file")
    assert fault.problem == "is a folder"


@pytest.mark.parametrize("size", [LARGEST_FILE_BYTES + 1, 10_000_000])
def test_too_large(tmp_path, size):
    (fault,) = refusal(read_text, written(tmp_path, b"x" * size), "the file")
    assert fault.problem == "is too large"
    assert fault.value == f"{size:,} bytes"
    assert "1,000,000 bytes" in fault.allowed


def test_largest_file_is_read(tmp_path):
    assert len(read_text(written(tmp_path, b"x" * LARGEST_FILE_BYTES), "the file")) == LARGEST_FILE_BYTES


class Endless(io.RawIOBase):
    """A device that never ends, whatever size its file says."""

    def read(self, size=-1):
        assert 0 <= size <= LARGEST_FILE_BYTES + 1, "an endless file is read without a bound"
        return b"\0" * size


def test_endless_file_is_cut_off(tmp_path, monkeypatch):
    path = written(tmp_path, "x")
    monkeypatch.setattr(Path, "open", lambda *_, **__: Endless())
    (fault,) = refusal(read_text, path, "the file")
    assert fault.problem == "is too large"


@pytest.mark.parametrize("name", ["a\0b", "x" * 10_000])
def test_impossible_path(tmp_path, name):
    (fault,) = refusal(read_text, tmp_path / name, "the file")
    assert "is no path" in fault.problem or "cannot be read" in fault.problem


def test_path_through_a_file(tmp_path):
    inside = written(tmp_path, "x") / "inside.toml"
    (fault,) = refusal(read_text, inside, "the file")
    assert "cannot be read" in fault.problem


def test_unreadable_file(tmp_path, monkeypatch):
    path = written(tmp_path, "x")

    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    (fault,) = refusal(read_text, path, "the file")
    assert fault.problem == "cannot be read (Permission denied)"


def test_wrong_encoding_names_line_and_byte():
    (fault,) = refusal(decoded, "title = 'x'\nbase = 'Säge'".encode("latin-1"), "the file", "b.toml")
    assert fault.where == "b.toml, line 2"
    assert "0xe4" in fault.value
    assert fault.allowed == "UTF-8"


def test_utf_16_is_refused(tmp_path):
    (fault,) = refusal(read_text, written(tmp_path, "title = 'x'".encode("utf-16")), "the file")
    assert "line 1" in fault.where
    assert "UTF-8" in fault.problem


def test_nul_byte_names_its_line():
    (fault,) = refusal(decoded, b"a\nb\nc\0d", "the file", "b.toml")
    assert fault.where == "b.toml, line 3"
    assert "NUL" in fault.problem


def test_byte_order_mark_is_dropped(tmp_path):
    path = written(tmp_path, b"\xef\xbb\xbfalloy,family\nSn,metal\n")
    assert read_table(path, "the file") == [{"alloy": "Sn", "family": "metal"}]


def test_table_is_read_with_its_cells_trimmed(tmp_path):
    path = written(tmp_path, 'a , b\n 1,"x, y"\n\n2,\n')
    assert read_table(path, "the file") == [{"a": "1", "b": "x, y"}, {"a": "2", "b": ""}]


def test_table_of_a_heading_alone_has_no_rows(tmp_path):
    assert read_table(written(tmp_path, "a,b\n"), "the file") == []


def test_quoted_line_break_stays_in_its_cell(tmp_path):
    assert read_table(written(tmp_path, 'a,b\n"1\n2",3\n'), "the file") == [{"a": "1\n2", "b": "3"}]


def test_carriage_returns_are_read(tmp_path):
    assert read_table(written(tmp_path, b"a,b\r\n1,2\r\n"), "the file") == [{"a": "1", "b": "2"}]


@pytest.mark.parametrize("content", ["", "\n"])
def test_empty_table(tmp_path, content):
    (fault,) = refusal(read_table, written(tmp_path, content), "the file")
    assert fault.problem == "is empty"
    assert "heading" in fault.allowed


def test_every_wrong_row_and_heading_is_named(tmp_path):
    faults = refusal(read_table, written(tmp_path, "a,b,a,b\n1,2,3,4\n1\n1,2,3,4,5\n"), "the file")
    assert [(fault.where, fault.problem, fault.value) for fault in faults] == [
        ("some.csv, row 1", "column named twice", "'a'"),
        ("some.csv, row 1", "column named twice", "'b'"),
        ("some.csv, row 3", "wrong number of cells", "1"),
        ("some.csv, row 4", "wrong number of cells", "5"),
    ]
    assert faults[2].allowed == "4 cells"


def test_huge_cell_is_an_input_error(tmp_path):
    path = written(tmp_path, "a,b\n1,2\n" + "x" * 200_000 + ",2\n")
    (fault,) = refusal(read_table, path, "the file")
    assert fault.where == "some.csv, row 3"
    assert "comma-separated" in fault.problem


def test_quote_that_never_closes_is_an_input_error(tmp_path):
    path = written(tmp_path, 'a,b\n1,"' + "2,3\n" * 50_000)
    (fault,) = refusal(read_table, path, "the file")
    assert "quotation mark" in fault.remedy


def test_toml_is_read(tmp_path):
    assert read_toml(written(tmp_path, 'a = 1\n[b]\nc = "x"\n', "x.toml"), "the file") == {"a": 1, "b": {"c": "x"}}


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a = 1\nb = = 2", "line 2"),
        ("a = 1\na = 2", "line 2"),
        ("a = 1\n\nb = ", "line 3"),
        ('a = "open', "line 1"),
        ("[t]\n[t]", "line 2"),
        ("a = 2027-13-01", "line 1"),
    ],
)
def test_what_is_not_toml_names_its_line(text, line):
    (fault,) = refusal(parse_toml, text, "the file", "b.toml")
    assert fault.where == "b.toml"
    assert "is not valid TOML" in fault.problem
    assert line in fault.problem or "end of document" in fault.problem


@pytest.mark.parametrize(
    "number",
    [
        "1" * 5000,
        "-" + "9" * 41,
        "0x" + "a" * 5000,
        "0b" + "1" * 5000,
        "_".join("1" * 5000),
        "0." + "3" * 5000,
        "1e" + "9" * 5000,
        "[1, [" + "7" * 5000 + "]]",
        "{ x = " + "7" * 5000 + " }",
    ],
    ids=lambda number: number[:12],
)
def test_number_of_absurd_length_names_line_and_key(number):
    (fault,) = refusal(parse_toml, f"a = 1\nipc_class = {number}\n", "the file", "b.toml")
    assert fault.where == "b.toml, line 2, ipc_class"
    assert fault.problem == "number is too long"
    assert "40 digits" in fault.allowed
    assert len(str(fault)) < 200


def test_number_of_absurd_length_on_a_line_of_its_own():
    (fault,) = refusal(parse_toml, "a = [\n" + "1" * 5000 + "\n]", "the file", "b.toml")
    assert fault.where.startswith("b.toml, line 2")


def test_long_digits_in_text_and_comments_are_no_number():
    digits = "1" * 60
    assert parse_toml(f"a = \"{digits}\" # {digits}\nb = '{digits}'", "it", "it") == {"a": digits, "b": digits}
    assert parse_toml("a = " + "1" * 40, "it", "it") == {"a": int("1" * 40)}


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 100_000, "a = " + "[" * 100_000 + "]" * 100_000, "a = " + "{a=" * 9000]
)
def test_deep_nesting(text):
    (fault,) = refusal(parse_toml, text, "the file", "b.toml")
    assert "nested too deeply" in fault.problem


def test_numbers_that_python_will_not_read_are_an_input_error(monkeypatch):
    def choke(_):
        raise ValueError("Exceeds the limit (4300 digits) for integer string conversion")

    monkeypatch.setattr(datafiles.tomllib, "loads", choke)
    (fault,) = refusal(parse_toml, "a = 1", "the file", "b.toml")
    assert "4300 digits" in fault.problem


def test_data_folder_holds_the_tables():
    assert (data_folder() / "alloys.csv").is_file()
    assert (data_folder() / "rules" / "practice.toml").is_file()


def test_data_folder_and_page_inside_a_wheel(tmp_path, monkeypatch):
    package = tmp_path / "site" / "selector"
    shipped = package / "_shipped" / "data"
    shipped.mkdir(parents=True)
    written(shipped, "alloy\n", "alloys.csv")
    monkeypatch.setattr(datafiles, "__file__", str(package / "datafiles.py"))
    assert data_folder.__wrapped__() == shipped
    assert page_file() == package / "_shipped" / "app.py"
    written(package.parent, "", "app.py")
    assert page_file() == package.parent / "app.py"


def test_installation_without_data_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(datafiles, "__file__", str(tmp_path / "selector" / "datafiles.py"))
    with pytest.raises(InputError, match="folder of tables is missing"):
        data_folder.__wrapped__()


def test_data_hash_follows_the_tables_it_names_and_not_line_ends(tmp_path):
    written(tmp_path, "a,b\n1,2\n", "alloys.csv")
    before = data_hash(tmp_path, ["alloys"])
    assert len(before) == 16
    (tmp_path / "stray.csv").mkdir()
    written(tmp_path, "words", "README.md")
    written(tmp_path, "a,b\r\n1,2\r\n", "alloys.csv")
    assert data_hash(tmp_path, ["alloys"]) == before
    written(tmp_path, "a,b\n1,3\n", "alloys.csv")
    assert data_hash(tmp_path, ["alloys"]) != before


def test_data_hash_follows_rules_and_presets_and_not_briefs(tmp_path, monkeypatch):
    for folder in ("rules", "classes", "life", "briefs"):
        (tmp_path / folder).mkdir()
        written(tmp_path, "x = 1\n", f"{folder}/some.toml")
    for name in datafiles.SHIPPED_TABLES:
        written(tmp_path, "alloy\n", f"{name}.csv")
    monkeypatch.setattr(datafiles, "data_folder", lambda: tmp_path)
    before = data_hash(tmp_path, [])
    written(tmp_path, "x = 2\n", "briefs/some.toml")
    assert data_hash(tmp_path, []) == before
    for folder in ("rules", "classes", "life"):
        written(tmp_path, "x = 2\n", f"{folder}/some.toml")
        assert data_hash(tmp_path, []) != before
        before = data_hash(tmp_path, [])
    for name in datafiles.SHIPPED_TABLES:
        written(tmp_path, "alloy\nSn\n", f"{name}.csv")
        assert data_hash(tmp_path, []) != before
        before = data_hash(tmp_path, [])


def test_every_table_that_a_decision_rests_on_counts():
    """A new table of the data has to be put into the hash, or named here as one that no decision rests on."""
    from selector.catalogue.tables import TABLES

    named = {*datafiles.SHIPPED_TABLES, *TABLES}
    assert {path.stem for path in datafiles.data_folder().glob("*.csv")} == named
