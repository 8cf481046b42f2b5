"""The README's two lines do what it says, word for word, in a clean copy of the tree."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SET_UP = "python3 -m venv .venv && .venv/bin/python -m pip install"


def one_liners():
    """Return the lines of code in the README that set the project up."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    fenced = [line for block in re.findall(r"^```[^\n]*\n(.*?)^```", text, re.M | re.S) for line in block.splitlines()]
    indented = [line for line in text.splitlines() if line.startswith(("    ", "\t"))]
    return list(dict.fromkeys(line.strip() for line in (*fenced, *indented) if SET_UP in line))


def test_the_readme_has_one_line_for_the_pages_and_one_for_the_tests():
    lines = one_liners()
    assert len(lines) == 2
    assert lines[0].endswith(" -m streamlit run app.py")
    assert lines[1].endswith(" -m pytest")


@pytest.mark.slow
def test_both_lines_work_in_a_clean_copy(tmp_path, clone, serve):
    pages, tests = one_liners()
    folder = clone(tmp_path / "clone")
    # `python3` is to be the one that these tests run on.
    path = os.pathsep.join([str(Path(sys.base_prefix) / "bin"), os.environ["PATH"]])
    with serve(pages, folder, tmp_path / "pages.log", PATH=path) as server:
        shown = server.visit()
        log = server.log_text()
    assert shown == []
    assert "Traceback" not in log
    assert "localhost" in log

    collected = subprocess.run(
        f"{tests} --collect-only -q",
        shell=True,
        cwd=folder,
        env=os.environ | {"PATH": path},
        capture_output=True,
        text=True,
    )
    assert collected.returncode == 0, collected.stdout[-3000:] + collected.stderr[-3000:]
    numbers = [int(number) for number in re.findall(r"^tests/\S+\.py: (\d+)$", collected.stdout, re.M)]
    assert sum(numbers) > 0
