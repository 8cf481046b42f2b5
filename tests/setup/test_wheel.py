"""A wheel, built offline, holds all that the package needs and works from another folder."""

import json
import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow
SHIPPED = "selector/_shipped/"
OFFLINE = {"PIP_NO_INDEX": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}


def run(*command, cwd):
    done = subprocess.run(list(map(str, command)), cwd=cwd, env=os.environ | OFFLINE, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory, clone):
    folder = clone(tmp_path_factory.mktemp("build") / "tree")
    out = folder.parent / "out"
    run(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", out, folder, cwd=folder)
    (built,) = out.glob("meltwise-*.whl")
    return built


@pytest.fixture(scope="module")
def installed(tmp_path_factory, wheel):
    """A fresh environment with the wheel; the packages it needs are lent by the running one, so nothing is fetched."""
    folder = tmp_path_factory.mktemp("installed")
    run(sys.executable, "-m", "venv", "--without-pip", "env", cwd=folder)
    python = folder / "env" / "bin" / "python"
    (packages,) = (folder / "env").glob("lib/python3.*/site-packages")
    (packages / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    run(sys.executable, "-m", "pip", "--python", python, "install", "-q", "--no-deps", wheel, cwd=folder)
    return python


@pytest.fixture
def elsewhere(tmp_path, monkeypatch):
    monkeypatch.delenv("PYTHONPATH", raising=False)
    return tmp_path


def test_the_wheel_holds_the_data_the_page_and_its_settings(wheel, tree):
    held = set(zipfile.ZipFile(wheel).namelist())
    wanted = {path.as_posix() for path in tree if path.parts[0] == "data"} | {"app.py", ".streamlit/config.toml"}
    assert {SHIPPED + name for name in wanted} <= held
    for kind in (
        "alloys.csv",
        "briefs/skin-patch.toml",
        "rules/law/eu-rohs.toml",
        "thermo/parameters.csv",
        "melting.csv",
        "classes/wearable.toml",
    ):
        assert f"{SHIPPED}data/{kind}" in held
    assert {path.as_posix() for path in tree if path.parts[0] == "selector"} <= held
    assert any(name.endswith("licenses/LICENSE") for name in held)
    assert not [name for name in held if name.startswith("tests/")]


def test_the_installed_package_is_the_one_that_answers(installed, elsewhere):
    where = run(installed, "-c", "import selector; print(selector.__file__)", cwd=elsewhere)
    assert Path(where.strip()).is_relative_to(installed.parents[1])


def test_the_command_answers_from_another_folder(installed, elsewhere):
    command = installed.with_name("meltwise")
    decision = json.loads(run(command, "shortlist", "skin-patch", "--json", cwd=elsewhere))
    assert decision["admitted"]
    here = run(sys.executable, "-m", "selector", "version", cwd=Path(__file__).parents[2])
    assert run(command, "version", cwd=elsewhere) == here


def test_the_page_starts_from_another_folder(installed, elsewhere, serve):
    page = run(installed, "-c", "from selector.datafiles import page_file; print(page_file())", cwd=elsewhere).strip()
    command = [str(installed), "-m", "streamlit", "run", page]
    with serve(command, elsewhere, elsewhere / "page.log") as server:
        assert server.visit() == []
        assert "Traceback" not in server.log_text()


def test_the_verb_for_the_pages_starts_them_with_their_own_settings(installed, elsewhere, serve):
    command = [str(installed.with_name("meltwise")), "page"]
    with serve(command, elsewhere, elsewhere / "page.log") as server:
        assert server.visit("brief=motor-drive") == []
        # The default would name every address of this machine; our settings keep the page on this one.
        assert "localhost" in server.log_text()
        assert "Network URL" not in server.log_text()
