"""The lock holds what the project asks for, hashed; nothing in the tree names a registry or a path of a machine."""

import ast
import re
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
ENTRY = re.compile(
    r"^(?P<name>[A-Za-z0-9][\w.-]*)(\[[^\]]*\])?==(?P<version>\S+)(?P<rest>[^\n]*(\n[ \t]+--hash[^\n]*)*)", re.M
)
# What is imported under another name than it is installed by.
INSTALLED_AS = {"pydantic_core": "pydantic", "skcriteria": "scikit-criteria", "vl_convert": "vl-convert-python"}
# Put together here, so that this file does not hold them either.
HOSTS = ["py" + "pi.org", "python" + "hosted", "registry.npm" + "js", "deb.deb" + "ian"]
HOMES = re.compile(r"(?<![\w.-])/(?:home|root|Users|work|opt)/" + r"\w")


def asked(project):
    """Return the requirements of the app and of the test group."""
    return [Requirement(text) for text in (*project["project"]["dependencies"], *project["dependency-groups"]["test"])]


def entries(lock):
    """Return the locked versions of each name with the number of hashes of each."""
    found = {}
    for match in ENTRY.finditer(lock):
        hashes = len(re.findall(r"--hash=sha256:[0-9a-f]{64}\b", match["rest"]))
        found.setdefault(canonicalize_name(match["name"]), []).append((match["version"], hashes))
    return found


def faults(project, lock):
    """Return what is wrong with the lock, in words."""
    locked = entries(lock)
    found = [f"{name}=={version} has no hash" for name in locked for version, hashes in locked[name] if not hashes]
    for requirement in asked(project):
        versions = [version for version, _ in locked.get(canonicalize_name(requirement.name), [])]
        if not versions:
            found.append(f"{requirement.name} is not locked")
        found += [f"{requirement} does not allow {v}" for v in versions if not requirement.specifier.contains(v, True)]
    return found


@pytest.fixture(scope="module")
def project():
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def lock():
    return (ROOT / "requirements.lock").read_text(encoding="utf-8")


def test_every_requirement_is_locked_with_a_version_it_allows_and_hashes(project, lock):
    assert faults(project, lock) == []


def test_every_line_of_the_lock_is_understood(lock):
    lines = [line for line in lock.splitlines() if line and not line.startswith((" ", "#"))]
    assert len(lines) == sum(map(len, entries(lock).values())) > 60


def test_a_requirement_taken_out_of_the_lock_is_noticed(project, lock):
    for requirement in asked(project):
        name = re.escape(canonicalize_name(requirement.name))
        without = re.sub(rf"^{name}(\[[^\]]*\])?==[^\n]*(\n[ \t]+--hash[^\n]*)*\n", "", lock, flags=re.M)
        assert without != lock
        assert f"{requirement.name} is not locked" in faults(project, without)


def test_a_version_that_is_not_allowed_and_a_lost_hash_are_noticed(project, lock):
    old = re.sub(r"^streamlit==\S+", "streamlit==1.0.0", lock, flags=re.M)
    assert [fault for fault in faults(project, old) if "does not allow 1.0.0" in fault]
    bare = re.sub(r"^(streamlit==\S+)[^\n]*(\n[ \t]+--hash[^\n]*)*\n", r"\1\n", lock, flags=re.M)
    assert [fault for fault in faults(project, bare) if fault.startswith("streamlit") and "no hash" in fault]


def test_what_is_imported_is_asked_for_by_name(project, tree):
    """A package that only comes along with another may go when that one drops it."""
    named = {
        "selector": {canonicalize_name(Requirement(text).name) for text in project["project"]["dependencies"]},
        "tests": {canonicalize_name(requirement.name) for requirement in asked(project)},
    }
    own = {path.stem for path in tree if path.parts[0] == "tests"} | {"selector"}
    missing = set()
    for path in tree:
        if path.suffix != ".py" or path.parts[0] not in named:
            continue
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
            modules = []
            if isinstance(node, ast.Import):
                modules = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                modules = [node.module]
            for module in modules:
                top = module.split(".")[0]
                if top not in sys.stdlib_module_names and top not in own:
                    name = canonicalize_name(INSTALLED_AS.get(top, top))
                    if name not in named[path.parts[0]]:
                        missing.add(f"{path}: {name}")
    assert missing == set()


def test_no_file_names_a_registry_or_a_path_of_a_machine(tree):
    found = []
    for path in tree:
        text = (ROOT / path).read_text(encoding="utf-8", errors="replace")
        found += [f"{path}: {host}" for host in HOSTS if host in text.lower()]
        found += [f"{path}: {match[0]}" for match in HOMES.finditer(text)]
        if str(ROOT) in text or str(Path.home()) + "/" in text:
            found.append(f"{path}: where this checkout or home folder lies")
    assert found == []


@pytest.mark.parametrize(
    "text", ["/ho" + "me/someone/x", "file:///ro" + "ot/x", "see /wo" + "rk/main", "`/op" + "t/wheels`"]
)
def test_a_path_of_a_machine_is_recognised(text):
    assert HOMES.search(text)


def test_the_lock_fetches_from_wherever_pip_is_set_up_to(lock):
    assert not re.search(r"https?:|file:|--(extra-)?index-url|--find-links| @ ", lock)


def test_the_other_lock_which_names_hosts_is_not_in_the_tree(tree):
    assert Path("uv.lock") not in tree
