"""The command line, run in this process, for every test of it."""

import sys
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from selector.cli import main


@dataclass(frozen=True)
class Done:
    """What a run left behind."""

    code: int
    out: str
    err: str


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
