"""The command line, run in this process, for every test of it."""

import csv
import io
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from selector.cli import main


@dataclass(frozen=True)
class Done:
    """What a run left behind."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        """Return the output read as JSON; words that only some readers take fail."""

        def refuse(word: str) -> None:
            raise AssertionError(f"{word} is no JSON")

        return json.loads(self.out, parse_constant=refuse)

    def rows(self) -> list[dict[str, str]]:
        """Return the output read as CSV."""
        return list(csv.DictReader(io.StringIO(self.out), strict=True))

    def check_refusal(self, *seen: tuple[str, ...]) -> None:
        """Fail unless the input was refused for exactly these faults, each told by its words on one line."""
        assert (self.code, self.out) == (2, ""), (self.out, self.err)
        heading, *lines = self.err.splitlines()
        assert heading.endswith(f"cannot be used: {len(seen)} fault{'s' if len(seen) != 1 else ''}."), self.err
        assert len(lines) == len(seen)
        for words in seen:
            assert any(all(word in line for word in words) for line in lines), (words, self.err)


@pytest.fixture
def run(monkeypatch, capsys) -> Callable[..., Done]:
    """Run the command line in this process."""

    def go(*arguments: object) -> Done:
        monkeypatch.setattr(sys, "argv", ["meltwise", *map(str, arguments)])
        with pytest.raises(SystemExit) as stop:
            main()
        out, err = capsys.readouterr()
        return Done(stop.value.code or 0, out, err)

    return go


@pytest.fixture(scope="session")
def melted(tmp_path_factory) -> Path:
    """Return one folder for everything that these tests compute, so that each alloy is computed once."""
    return tmp_path_factory.mktemp("melted")


@pytest.fixture(autouse=True)
def kept(monkeypatch, melted) -> None:
    """Keep what is computed out of the user's own cache."""
    monkeypatch.setenv("MELTWISE_CACHE", str(melted))
