"""The house stands: a floor imports only floors below it, heavy packages stay in their room, modules stay short."""

import ast
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# Lowest first. The package itself holds nothing but its version.
FLOORS = (
    "errors",
    "units",
    "figures",
    "ranges",
    "datafiles",
    "constants",
    "composition",
    "verdict",
    "fields",
    "brief_board",
    "brief_checks",
    "brief",
    "link",
    "policy",
    "catalogue",
    "melting",
    "joint",
    "durability",
    "process",
    "compliance",
    "board",
    "screening",
    "scoring",
    "decision",
    "findings",
    "weighing_marks",
    "robustness",
    "leaning",
    "measurement_words",
    "meeting",
    "meeting_folder",
    "challenge",
    "planning",
    "lifetime",
    "record",
    "console",
    "asked",
    "asked_compliance",
    "enquiry",
    "asked_steps",
    "asked_routes",
    "asked_life",
    "cli_board",
    "cli_melting",
    "cli_compliance",
    "cli_weighing",
    "cli_steps",
    "cli_life",
    "cli",
    "ui",
)
LINES = 400
PAGE_LINES = 150
# Not loaded before someone asks for what they do.
HEAVY = ("altair", "matplotlib", "pandas", "pandera", "pycalphad", "scipy", "sklearn", "skcriteria", "streamlit")


@dataclass(frozen=True)
class Imported:
    """One import: the module named, the functions it stands in, and whether only a type checker sees it."""

    module: str
    functions: tuple[str, ...] = ()
    types_only: bool = False

    @property
    def top(self):
        return self.module.split(".")[0]

    @property
    def floor(self):
        parts = self.module.split(".")
        return parts[1] if len(parts) > 1 else ""


def imports(text):
    """Return every import of a module's text, in functions and under TYPE_CHECKING too."""
    found = []

    def walk(node, functions, types_only):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.Import):
                found.extend(Imported(alias.name, functions, types_only) for alias in child.names)
            elif isinstance(child, ast.ImportFrom):
                assert child.level == 0, "imports are absolute"
                # `from selector import units` names a floor; `from selector.units import exact` names it already.
                inside = child.module == "selector"
                names = [f"{child.module}.{alias.name}" if inside else child.module for alias in child.names]
                found.extend(Imported(name, functions, types_only) for name in names)
            elif isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef):
                walk(child, (*functions, child.name), types_only)
            elif isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
                walk(child, functions, True)
            else:
                walk(child, functions, types_only)

    walk(ast.parse(text), (), False)
    return found


def climbs(floor, text):
    """Return the floors that a module of `floor` imports though they are not below it."""
    allowed = {*FLOORS[: FLOORS.index(floor) + 1], "__version__", ""}
    return sorted({item.floor for item in imports(text) if item.top == "selector" and item.floor not in allowed})


MODULES = {path.relative_to(ROOT / "selector").as_posix(): path for path in sorted((ROOT / "selector").rglob("*.py"))}
ROOMS = {name: path for name, path in MODULES.items() if name not in {"__init__.py", "__main__.py"}}


def floor_of(name):
    return name.split("/")[0].removesuffix(".py")


def read(path):
    return path.read_text(encoding="utf-8")


def test_every_module_stands_on_a_floor_and_every_floor_exists():
    assert {floor_of(name) for name in ROOMS} == set(FLOORS)


@pytest.mark.parametrize("name", ROOMS)
def test_a_floor_imports_only_what_is_below(name):
    assert climbs(floor_of(name), read(ROOMS[name])) == []


def test_the_package_itself_imports_nothing_and_the_roof_only_what_it_needs():
    assert imports(read(MODULES["__init__.py"])) == []
    assert [item.floor for item in imports(read(MODULES["__main__.py"]))] == ["cli"]
    assert [item.floor for item in imports(read(ROOT / "app.py"))] == ["ui"]


@pytest.mark.parametrize(
    ("floor", "text", "found"),
    [
        ("units", "from selector.brief import Brief", ["brief"]),
        ("units", "from selector import brief", ["brief"]),
        ("units", "import selector.ui.state", ["ui"]),
        ("joint", "def f():\n    from selector.durability import duty", ["durability"]),
        ("joint", "if TYPE_CHECKING:\n    from selector.decision import Decision", ["decision"]),
        ("units", "from selector import attic", ["attic"]),
        ("joint", "from selector.joint import contamination\nfrom selector import __version__, units", []),
    ],
)
def test_an_import_upwards_is_noticed(floor, text, found):
    assert climbs(floor, text) == found


def rooms_that_import(package):
    return [(name, item) for name, path in MODULES.items() for item in imports(read(path)) if item.top == package]


def test_streamlit_is_known_to_the_pages_and_to_the_verb_that_opens_them():
    found = rooms_that_import("streamlit")
    assert found
    assert all(floor_of(name) == "ui" or (name, item.functions) == ("cli.py", ("page",)) for name, item in found)


def test_pycalphad_is_known_only_to_melting_and_only_inside_functions():
    found = rooms_that_import("pycalphad")
    assert found
    assert all(floor_of(name) == "melting" and (item.functions or item.types_only) for name, item in found)


@pytest.mark.parametrize(("package", "floors"), [("skcriteria", {"scoring"}), ("scipy", {"scoring", "melting"})])
def test_heavy_packages_are_loaded_only_inside_functions_of_their_floors(package, floors):
    found = rooms_that_import(package)
    assert {floor_of(name) for name, _ in found} == floors
    assert all(item.functions or item.types_only for _, item in found)


def test_pandera_is_known_only_to_the_checks_of_tables_which_load_only_inside_functions():
    rooms = {name for name, _ in rooms_that_import("pandera")}
    assert rooms == {
        "catalogue/schemas.py",
        "catalogue/board_schemas.py",
        "catalogue/life_schemas.py",
        "catalogue/checks.py",
    }
    modules = {f"selector.{name.removesuffix('.py').replace('/', '.')}" for name in rooms}
    found = [(name, item) for name, item in rooms_that_import("selector") if item.module in modules]
    assert found
    assert all(name in rooms or item.functions or item.types_only for name, item in found)


@pytest.mark.parametrize("name", MODULES)
def test_a_module_stays_short(name):
    lines = len(read(MODULES[name]).splitlines())
    limit = PAGE_LINES if name.startswith("ui/pages/") else LINES
    assert lines <= limit


def test_the_start_page_is_a_router_and_no_room_is_called_utils():
    assert len(read(ROOT / "app.py").splitlines()) < 30
    assert not [name for name in MODULES if "utils" in name]


def test_nothing_opens_the_reference_folder(tree):
    # Put together here, so that this file does not hold it either.
    folder = "shared/" + "reference"
    python = [path for path in tree if path.suffix == ".py" and path.parts[0] in {"selector", "tests"}]
    assert python
    assert [path for path in python if folder in read(ROOT / path)] == []


@pytest.mark.parametrize("module", ["selector", "selector.cli", "selector.decision", "selector.record.charts"])
def test_an_import_loads_nothing_heavy(module):
    ask = f"import {module}, sys; print(*[name for name in {HEAVY!r} if name in sys.modules])"
    loaded = subprocess.run([sys.executable, "-c", ask], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert loaded.split() == []


def test_a_shortlist_loads_nothing_heavy():
    """Tables that ship were checked when they were made: no schema is loaded to read them."""
    ask = (
        "import sys\nfrom selector.cli import app\n"
        "app(['shortlist', 'skin-patch', '--json'], standalone_mode=False)\n"
        f"print(*[name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", ask], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stderr.split() == []
