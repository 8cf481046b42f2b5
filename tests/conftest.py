"""What several test folders share: the tree as git sees it, a running page and one visit to it, small decisions."""

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import settings

# How long an example takes is a matter for benchmarks; on a busy machine a linear program takes long.
settings.register_profile("no clock", deadline=None)
settings.load_profile("no clock")
ROOT = Path(__file__).resolve().parents[1]
HEALTHY_WITHIN_S = 90
LONG = ("setup", "browser", "ui")
CACHE = tempfile.TemporaryDirectory(prefix="melting-")


def pytest_configure() -> None:
    """Keep computed melting of this session in a folder of its own, also while tests are collected."""
    os.environ["MELTWISE_CACHE"] = CACHE.name


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Use every core for a run of the whole, none but one for a named file or a benchmark: workers take seconds."""
    if config.args != config.getini("testpaths") or config.option.markexpr == "benchmark":
        config.option.dist = "no"
        return 0
    return os.cpu_count() or 1


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the folders whose files take longest, so that no worker waits for one of them in the end."""
    items.sort(key=lambda item: next((n for n, name in enumerate(LONG) if name in item.path.parts), len(LONG)))


def pytest_unconfigure() -> None:
    CACHE.cleanup()


@dataclass(frozen=True)
class Server:
    """A page that runs: its address and the file its log goes to."""

    address: str
    log: Path

    def log_text(self) -> str:
        return self.log.read_text(encoding="utf-8", errors="replace")

    def healthy(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.address}/_stcore/health", timeout=5) as answer:
                return answer.status == 200
        except OSError:
            return False

    def visit(self, query: str = "") -> list[str]:
        """Open a session as a browser does, wait for the first script run to end, return the exceptions it shows."""
        from streamlit.proto.BackMsg_pb2 import BackMsg
        from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
        from websockets.sync.client import connect

        hello = BackMsg()
        hello.rerun_script.query_string = query
        shown, elements = [], 0
        address = self.address.replace("http://", "ws://") + "/_stcore/stream"
        with connect(address, subprotocols=["streamlit"], max_size=None, open_timeout=20) as socket_:
            socket_.send(hello.SerializeToString())
            while True:
                message = ForwardMsg.FromString(socket_.recv(timeout=60))
                if message.delta.new_element.HasField("exception"):
                    exception = message.delta.new_element.exception
                    shown.append(f"{exception.type}: {exception.message}")
                elements += message.WhichOneof("type") == "delta"
                if message.WhichOneof("type") == "script_finished":
                    break
        assert elements > 3, "the page drew nothing"
        return shown


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


@contextmanager
def _serve(command: str | list[str], folder: Path, log: Path, **environment: str) -> Iterator[Server]:
    port = free_port()
    settings = {"STREAMLIT_SERVER_PORT": str(port), "STREAMLIT_SERVER_HEADLESS": "true", **environment}
    server = Server(f"http://localhost:{port}", log)
    with log.open("wb") as file:
        process = subprocess.Popen(
            command,
            shell=isinstance(command, str),
            cwd=folder,
            env=os.environ | settings,
            stdin=subprocess.DEVNULL,
            stdout=file,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        try:
            end = time.monotonic() + HEALTHY_WITHIN_S
            while not server.healthy():
                if process.poll() is not None or time.monotonic() > end:
                    pytest.fail(f"the page did not start; its log:\n{server.log_text()}")
                time.sleep(0.1)
            yield server
        finally:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGTERM)
                try:
                    process.wait(timeout=10)
                except subprocess.TimeoutExpired:
                    os.killpg(process.pid, signal.SIGKILL)
                    process.wait()


@pytest.fixture(scope="session")
def serve() -> Callable[..., AbstractContextManager[Server]]:
    """Start a command that serves the page, on a port of its own; `with serve(command, folder, log) as server`."""
    return _serve


@pytest.fixture(scope="session")
def tree() -> list[Path]:
    """Every file of the work tree that git holds or would hold, relative to the root."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    return sorted(Path(name) for name in set(listed.split("\0")) if name and (ROOT / name).is_file())


@pytest.fixture(scope="session")
def clone(tree: list[Path]) -> Callable[[Path], Path]:
    """Copy the work tree, and nothing that git ignores, into a new folder."""

    def copy(folder: Path) -> Path:
        for name in tree:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)
        return folder

    return copy


@pytest.fixture(scope="session")
def decision_of() -> Callable[..., Any]:
    """Return a maker of decisions over a handful of invented alternatives, all admitted.

    It takes a mapping of name to levels (a number, a pair for an interval, None where nothing is known), and the
    preferences as (criterion, points, swing) in the fixed order of the criteria.
    """
    from selector.brief import Preference, from_raw
    from selector.decision import Candidate, Decision, Share
    from selector.figures import spread
    from selector.scoring.criteria import UNKNOWN_LEVEL, Level
    from selector.scoring.presets import Weighing
    from selector.scoring.ranking import normalised
    from selector.scoring.values import FULL, worth, worth_bounds

    def share(criterion: str, points: Any, weight: float, level: Any) -> Share:
        if level is None:
            return Share(criterion, UNKNOWN_LEVEL, weight, None, 0.0, FULL, False)
        low, high = level if isinstance(level, tuple) else (level, level)
        value = (low + high) / 2
        told = Level(value, low, high, spread(value, low, high), "our own", "high")
        return Share(criterion, told, weight, worth(value, points), *worth_bounds(low, high, points), False)

    def make(levels: dict[str, tuple[Any, ...]], preferences: list[tuple[str, Any, float]], **fields: Any) -> Decision:
        weights = normalised([swing for _, _, swing in preferences])
        kept = tuple(
            Preference(criterion=name, points=points, swing=swing, reason="said", author="us", set_on=date(2026, 11, 2))
            for name, points, swing in preferences
        )
        found = []
        for name, row in levels.items():
            shares = tuple(
                share(criterion, points, float(weight), level)
                for (criterion, points, _), weight, level in zip(preferences, weights, row, strict=True)
            )
            low, high = (sum(s.weight * end for s, end in zip(shares, ends, strict=True)) for ends in _ends(shares))
            screened = SimpleNamespace(alloy=SimpleNamespace(id=name))
            found.append(Candidate(screened, None, None, None, None, low, high, shares, ()))  # type: ignore[arg-type]
        order = tuple(sorted(found, key=lambda entry: -entry.score_low))
        brief = from_raw({"title": "invented", **fields})
        return Decision(brief, order, (), (), Weighing("invented", kept), (), "data0", "version0")

    def _ends(shares: tuple[Share, ...]) -> tuple[list[float], list[float]]:
        return [s.worth_low for s in shares], [s.worth_high for s in shares]

    return make


HEADROOM = ("process_headroom_k", ((0.0, 0.0), (20.0, 100.0)), 100.0)
DROP = ("drop", ((0.0, 0.0), (1.0, 30.0), (2.0, 60.0), (3.0, 100.0)), 60.0)
COST = ("relative_cost", ((0.5, 100.0), (1.5, 0.0)), 40.0)


@pytest.fixture(scope="session")
def three(decision_of) -> Any:
    """Return the worked example of docs/weighing.md: worths 100 30 0, 45 30 45, 0 60 100 under 50, 30, 20 %."""
    return decision_of({"A": (20.0, 1.0, 1.5), "B": (9.0, 1.0, 1.05), "C": (0.0, 2.0, 0.5)}, [HEADROOM, DROP, COST])


@pytest.fixture(scope="session")
def open_three(decision_of) -> Any:
    """Return the same with the drop level of C known only to lie between weak and good, and B's cost not at all."""
    levels = {"A": (20.0, 1.0, 1.5), "B": (9.0, 1.0, None), "C": (0.0, (1.0, 3.0), 0.5)}
    return decision_of(levels, [HEADROOM, DROP, COST])
