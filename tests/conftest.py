"""What several test folders share: the tree as git sees it, a running page, and one visit to it."""

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
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
HEALTHY_WITHIN_S = 90
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
